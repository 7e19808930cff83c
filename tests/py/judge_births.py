#!/usr/bin/env python3
"""How long after each process start sound was back.

    judge_births.py WAV '[[quiet, born], ...]'

`quiet` and `born` are places in the capture, in frames: after the old process was gone, and where the new one
was started.
"""
import json
import sys
from pathlib import Path

from onsets import RATE, find_tones, load, load_tones

WITHIN_S = 2.0


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    found = find_tones(load(sys.argv[1]), tones)
    waits, faults = [], []
    for quiet, born in json.loads(sys.argv[2]):
        first = next((t for t in found if t["at"] >= max(quiet, born)), None)
        if first is None:
            faults.append(f"no sound after the start at {born / RATE:.2f} s")
            continue
        waits.append((first["at"] - born) / RATE)
        if waits[-1] > WITHIN_S:
            faults.append(f"sound {waits[-1]:.2f} s after the start at {born / RATE:.2f} s")
    for line in faults:
        print(line)
    print(json.dumps({"kills": len(waits), "worst_s": round(max(waits, default=0), 3),
                      "median_s": round(sorted(waits)[len(waits) // 2], 3) if waits else None,
                      "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
