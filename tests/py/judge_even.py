#!/usr/bin/env python3
"""Whether the beats of a recording were left alone.

    judge_even.py WAV [--per-minute 110]

From the first to the last all are a period apart: none is missing, none is more than 5 ms from its place after the
one before: so much a crowded machine may move one. There are at least 12.
"""
import argparse
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, find_tones, load, load_tones

WITHIN_MS = 5
LEAST = 12
# The recording ends a moment after the program.
LEFT_S = 2.5


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("wav")
    parser.add_argument("--per-minute", type=int, default=110)
    args = parser.parse_args()
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    at = np.array([t["at"] for t in find_tones(load(args.wav), tones, kinds=("beat",))]) * 1000 / RATE
    period = 60_000 / args.per_minute
    steps = np.diff(at)
    faults = []
    if len(at) < LEAST:
        faults.append(f"{len(at)} beats, at least {LEAST} are judged")
    sound = load(args.wav)
    left_s = (len(sound) - at[-1] * RATE / 1000) / RATE if len(at) else len(sound) / RATE
    if left_s > LEFT_S:
        faults.append(f"no beat in the last {left_s:.1f} s, allowed {LEFT_S}")
    worst = float(np.abs(steps - period).max()) if len(steps) else 0.0
    if worst > WITHIN_MS:
        faults.append(f"two beats {worst:.2f} ms off a period, allowed {WITHIN_MS}")
    for line in faults:
        print(line)
    print(json.dumps({"beats": len(at), "worst_ms": round(worst, 3), "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
