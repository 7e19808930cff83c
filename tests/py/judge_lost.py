#!/usr/bin/env python3
"""How sound came back each time it was taken away in one run.

    judge_lost.py LIST.json

LIST holds `record`, the run's record, `before`, a recording of the first stream, and `rows`: what was done (`fault`), the recording from then on (`wav`, with its
clock beside it), and on the boot clock when sound was taken (`taken_ms`), how long it took until the screen said so
(`told_ms`, null if it did not), how long it was gone (`silent_ms`) and when a bare stream could open (`opened_ms`).

Held: the screen says a loss of more than a second within one; the first beat is heard within two seconds of the
moment when a bare stream can open; it lies within 5 ms of the run's exact grid; every mark stands in the record. The
grid's place on the captures' clock is that of the recording made before anything was taken away (`before`): a capture
has a delay of its own, which is the same for each.
"""
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, clock, find_tones, load, load_tones

TOLD_MS = 1000
BACK_MS = 2000
GRID_MS = 5
PER_MINUTE = 110


def beats_ms(path, tones):
    """When each beat of a short recording came, ms of the boot clock: its pieces come late, never early."""
    came, frames, late = clock(path)
    settled = late[frames > 0.2 * RATE]
    zero = came[0] / 1e6 + 1000 * float(settled.min() if len(settled) else late.min())
    found = find_tones(load(path), tones, kinds=("beat",))
    return [zero + 1000 * tone["at"] / RATE for tone in found]


def residue(at_ms, period):
    """How far a moment lies from a grid of this period through 0, from -period/2 on."""
    return (np.asarray(at_ms) + period / 2) % period - period / 2


def around(values, period):
    """The middle of values on a circle: none of them is far from the first beat's."""
    first = values[0]
    return first + float(np.median(residue(np.asarray(values) - first, period)))


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    told = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    period = 60_000 / PER_MINUTE
    faults, rows = [], []
    for n, row in enumerate(told["rows"]):
        beats = beats_ms(row["wav"], tones)
        name = f"{n} {row['fault']}"
        if row["told_ms"] is None and row["silent_ms"] > TOLD_MS + 100 and row["fault"] != "DefaultChanged":
            faults.append(f"{name}: {row['silent_ms']} ms without sound and nothing said")
        if row["told_ms"] is not None and row["told_ms"] > TOLD_MS:
            faults.append(f"{name}: said after {row['told_ms']} ms, allowed {TOLD_MS}")
        after = [at for at in beats if at >= row["opened_ms"] - 50]
        if not after:
            faults.append(f"{name}: no beat in {len(beats)} heard after the stream could open")
            continue
        rows.append({**row, "beats": after, "back_ms": max(0.0, after[0] - row["opened_ms"])})
        if rows[-1]["back_ms"] > BACK_MS:
            faults.append(f"{name}: sound {rows[-1]['back_ms']:.0f} ms after a stream could open, allowed {BACK_MS}")
    lines = [json.loads(line) for line in Path(told["record"]).read_text(encoding="utf-8").splitlines()]
    kinds = [line["ev"] for line in lines]
    for wanted in ("arrest", "compr_start", "airway"):
        if wanted not in kinds:
            faults.append(f"the mark {wanted} is not in the record")
    scores = [line for line in lines if line["ev"] == "score" and line["d"]["pattern"] == "continuous"]
    if len(scores) != 1:
        faults.append(f"{len(scores)} continuous scores in the record, one was begun")
    firsts = []
    if rows:
        grid = around([at % period for at in beats_ms(told["before"], tones)], period)
        firsts = [float(residue(row["beats"][0] - grid, period)) for row in rows]
        for row, off in zip(rows, firsts, strict=True):
            if abs(off) > GRID_MS:
                faults.append(f"{row['fault']} at {row['taken_ms']}: first beat {off:.1f} ms off the grid, allowed {GRID_MS}")
    for line in faults:
        print(line)
    said = [row["told_ms"] for row in rows if row["told_ms"] is not None]
    back = [row["back_ms"] for row in rows]
    print(json.dumps({
        "faults_made": len(told["rows"]), "told": len(said), "told_worst_ms": max(said, default=None),
        "back_median_ms": round(float(np.median(back)), 0) if back else None,
        "back_worst_ms": round(max(back), 0) if back else None,
        "off_grid_worst_ms": round(max(map(abs, firsts)), 2) if firsts else None,
        "by_fault": {name: [round(row["back_ms"]) for row in rows if row["fault"] == name]
                     for name in sorted({row["fault"] for row in rows})},
        "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
