#!/usr/bin/env python3
"""From each beat in captured sound to the beat light in frames that were read meanwhile.

    judge_light.py WAV FRAMES [--within MS]

FRAMES is what watch_light.py wrote. The light is on from the reading that first shows it, and was not on
when the reading before it was asked for: between the two lies the moment, and half of that is its error.
Positive: the light is later than the sound. A beat without a light, and a light without a beat, is a fault; so is
a distance that 5 % of all exceed and that is more than MS (20).
"""
import argparse
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, boot_ms, find_tones, load, load_tones

BEATS = ("beat", "beat_first", "beat_last")
# The light stands 160 ms, a beat comes every 500 ms at least.
PAIR_MS = 200
# Dark and lit must be so far apart to be told.
LEAST_STEP = 8


def lit(frames):
    """(moment, error) of each time the light came on, ms of the boot clock."""
    before, after, level = np.loadtxt(frames).T
    before, after = before / 1e6, after / 1e6
    dark, bright = np.percentile(level, [5, 99])
    if bright - dark < LEAST_STEP:
        sys.exit(f"the light is not seen: {dark:.1f} to {bright:.1f} of 255")
    on = level > (dark + bright) / 2
    rises = 1 + np.flatnonzero(on[1:] & ~on[:-1])
    early, late = before[rises - 1], after[rises]
    return (early + late) / 2, (late - early) / 2, (after[0], before[-1]), np.diff(after)


def beats(wav):
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    found = find_tones(load(wav), tones)
    return np.array([boot_ms(wav, t["at"]) for t in found if t["kind"] in BEATS])


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("wav")
    parser.add_argument("frames")
    parser.add_argument("--within", type=float, default=20)
    args = parser.parse_args()
    on, error, (begin, end), gaps = lit(args.frames)
    heard = beats(args.wav)
    # Beats whose light lies whole within what was watched.
    heard = heard[(heard > begin + PAIR_MS) & (heard < end - PAIR_MS)]
    faults, apart, errors = [], [], []
    for at in heard:
        near = np.flatnonzero(np.abs(on - at) < PAIR_MS)
        if len(near) == 1:
            apart.append(float(on[near[0]] - at))
            errors.append(float(error[near[0]]))
        else:
            faults.append(f"{len(near)} lights at the beat at {at:.0f} ms")
    inside = on[(on > begin + 2 * PAIR_MS) & (on < end - 2 * PAIR_MS)]
    faults += [f"a light at {at:.0f} ms and no beat" for at in inside if not np.any(np.abs(heard - at) < PAIR_MS)]
    if len(apart) < 10:
        faults.append(f"{len(apart)} beats with their light, at least 10 are wanted")
        apart, errors = apart or [float("nan")], errors or [float("nan")]
    p5, p50, p95 = np.percentile(apart, [5, 50, 95])
    size = float(np.percentile(np.abs(apart), 95))
    if not size <= args.within:
        faults.append(f"light and sound are {size:.1f} ms apart at the 95th percentile, allowed: {args.within:.0f}")
    for line in faults:
        print(line)
    print(json.dumps({"light_less_sound_ms": {"n": len(apart), "p5": round(p5, 1), "p50": round(p50, 1),
                                              "p95": round(p95, 1), "size_p95": round(size, 1)},
                      "reading_error_ms": {"p50": round(float(np.median(errors)), 2),
                                           "max": round(max(errors), 2)},
                      "readings_a_second": round(1000 / float(np.mean(gaps))), "rate": RATE,
                      "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
