#!/usr/bin/env python3
"""Whether at least so many beats are in a recording.

    beats_heard.py WAV LEAST
"""
import sys
from pathlib import Path

from onsets import find_tones, load, load_tones


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    kinds = ("beat", "beat_first", "beat_last")
    n = len(find_tones(load(sys.argv[1]), tones, kinds=kinds))
    print(f"{n} beats heard")
    if n < int(sys.argv[2]):
        sys.exit(f"{n} beats heard, at least {sys.argv[2]} are wanted")


if __name__ == "__main__":
    main()
