#!/usr/bin/env python3
"""Holds the beats of a recording against the exact grid.

    beat_grid.py WAV --as idle|loaded|long|stalls|losses [--per-minute 110] [--skip S]

Undisturbed for a minute, the beat is exact on the device's own clock, and never far from the boot
clock; over ten minutes, and where sound was taken away, it is held against the boot clock alone. The
grid's phase is set once, by the first ten beats after the skip; the limits are those of the table of
targets. Prints each fault and one line of figures.
"""
import argparse
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, find_tones, load, load_tones, stretch

# p99.9, largest, two in a row, end of run, tempo over any 30 s in beats a minute; milliseconds.
LIMITS = {
    "idle": (0.1, 1, 1, 1, 0.02),
    "loaded": (0.1, 1, 1, 1, 0.02),
    "long": (5, 5, 5, 5, 0.02),
    "stalls": (5, 20, 5, 5, 0.02),
    "losses": (5, 20, 5, 5, 0.02),
}
# How far a beat may be from the boot clock where nothing was taken away, ms.
FROM_BOOT_MS = 5
# A grid place without a beat is allowed only where sound was taken away.
MAY_MISS = ("stalls", "losses")
ON_BOOT = ("long", *MAY_MISS)
SPAN_S = 30


def figures(at_ms, period):
    """Errors in ms by grid number, for beats at these times."""
    number = np.round((at_ms - at_ms[0]) / period)
    phase = np.median((at_ms - number * period)[:10])
    return number.astype(int), at_ms - number * period - phase


def worst_tempo(at_ms, number, per_minute):
    """The largest error of the rate over any 30 s, by a line through the beats in it."""
    worst = 0.0
    for n in range(0, len(at_ms), 5):
        inside = (at_ms >= at_ms[n]) & (at_ms < at_ms[n] + SPAN_S * 1000)
        if inside.sum() > 20 and at_ms[-1] - at_ms[n] >= SPAN_S * 1000:
            slope = np.polyfit(number[inside], at_ms[inside], 1)[0]
            worst = max(worst, abs(60_000 / slope - per_minute))
    return worst


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("wav")
    parser.add_argument("--as", dest="how", choices=LIMITS, required=True)
    parser.add_argument("--per-minute", type=int, default=110)
    parser.add_argument("--skip", type=float, default=6)
    args = parser.parse_args()
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    beats = find_tones(load(args.wav), tones, kinds=("beat",))
    if not beats:
        sys.exit("no beat in the recording")
    pace, ragged = stretch(args.wav)
    at = np.array([b["at"] for b in beats]) * 1000 / RATE
    keep = at >= at[0] + args.skip * 1000
    at = at[keep]
    period = 60_000 / args.per_minute
    _, from_boot = figures(at * pace, period)
    if args.how in ON_BOOT:
        at = at * pace
    number, error = figures(at, period)
    size = np.sort(np.abs(error))[::-1]
    missing = sorted(set(range(number[0], number[-1] + 1)) - set(number.tolist()))
    p999 = float(np.percentile(np.abs(error), 99.9))
    rows = [n for n in range(1, len(error)) if min(abs(error[n - 1]), abs(error[n])) >
            LIMITS[args.how][2]]
    tempo = worst_tempo(at, number, args.per_minute)
    limit = LIMITS[args.how]
    faults = []
    if p999 > limit[0]:
        faults.append(f"p99.9 {p999:.3f} ms, allowed {limit[0]}")
    if size[0] > limit[1]:
        faults.append(f"largest {size[0]:.3f} ms, allowed {limit[1]}")
    faults += [f"two beats in a row off by more than {limit[2]} ms at {at[n] / 1000:.2f} s: "
               f"{error[n - 1]:.2f}, {error[n]:.2f}" for n in rows[:10]]
    if abs(error[-1]) > limit[3]:
        faults.append(f"end of the run {error[-1]:.3f} ms off, allowed {limit[3]}")
    if tempo > limit[4]:
        faults.append(f"tempo {tempo:.4f}/min off over 30 s, allowed {limit[4]}")
    boot_worst = float(np.abs(from_boot).max())
    if boot_worst > FROM_BOOT_MS and args.how not in ON_BOOT:
        faults.append(f"{boot_worst:.3f} ms from the boot clock, allowed {FROM_BOOT_MS}")
    if missing and args.how not in MAY_MISS:
        faults.append(f"missing: {len(missing)} beats, the first at number {missing[0]}")
    if at[-1] - at[0] < SPAN_S * 1000:
        faults.append(f"only {(at[-1] - at[0]) / 1000:.1f} s of beats, {SPAN_S} s are judged")
    if len(set(number.tolist())) != len(number):
        faults.append("two beats for one place of the grid")
    for line in faults:
        print(line)
    jumps = [[round(float(at[n]) / 1000, 2), round(float(error[n] - error[n - 1]), 2)]
             for n in range(1, len(error)) if abs(error[n] - error[n - 1]) > 1]
    print(json.dumps({"how": args.how, "beats": len(at), "seconds": round((at[-1] - at[0]) / 1000),
                      "p999_ms": round(p999, 4), "largest_ms": round(float(size[0]), 4),
                      "second_ms": round(float(size[1]), 4), "end_ms": round(float(error[-1]), 4),
                      "tempo_per_min": round(tempo, 5), "missing": len(missing),
                      "jumps_s_ms": jumps[:20], "from_boot_ms": round(boot_worst, 3), "capture_ppm": round((pace - 1) * 1e6, 1),
                      "capture_ragged_ms": round(ragged, 2), "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
