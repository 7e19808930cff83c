#!/usr/bin/env python3
"""The sound bench: every clip, every tone and a rehearsed run of 20 minutes against the rules of docs/sound.md.

    bench.py --carrybeat PROGRAM             what every test run measures, under a minute
    bench.py --carrybeat PROGRAM --full      everything
    bench.py --carrybeat PROGRAM --write     everything but the ESTOI of clips whose file is the baseline's (with
                                             --full theirs too); then the baseline, the figures and the tables of
                                             docs/sound.md are written anew. Refused if a clip is understood worse
                                             than the one before it by more than the gate allows; --lower takes it
    bench.py --unshaped RAW_FOLDER           the figures of the clips before shaping, from RAW_FOLDER/PACK/ID.wav; a clip
                                             that was not rendered anew keeps its own

Prints each fault and exits 1. A fault that stands in misses.json with its reason is printed as missed; it fails
when it gets worse, and when it is no longer there.
"""
import argparse
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor

# Before numpy is loaded. Two processes on two cores; more threads in each would only wait for one another.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import assets
import course
import house
import intelligible
import noisy
import pages
from house import PACKS

QUICK_RUN_S = 300
WORKERS = 2


def of_tones():
    rows = house.Rows()
    assets.tones(rows, house.load_tones())
    return rows.rows


def of_pack(pack):
    rows = house.Rows()
    assets.prompts(rows, pack, house.load_pack(pack), assets.ducked_beat(house.load_tones()))
    return rows.rows


def of_run(pack, carrybeat, full):
    """The run's rows, and its beats in noise: the beat is the same in each pack, so one has several seeds."""
    rows, tones = house.Rows(), house.load_tones()
    clips = {n: c.sound for n, c in house.load_pack(pack).items()}
    heard = course.measure(rows, pack, carrybeat, tones, clips, compare=full)
    exact = [when / 1000 for _, when in course.exact_beats()]
    spoken = [(v.begin, v.end) for v in heard.voices]
    found = [noisy.of_run(pack, heard.sound, exact, spoken, tones, chain, seed, None if full else QUICK_RUN_S)
             for chain in noisy.CHAINS
             for seed in (noisy.RUN_SEEDS if full and chain != "phone" and pack == PACKS[0] else noisy.RUN_SEEDS[:1])]
    return rows.rows, found


def of_singles(full):
    return noisy.singles(house.load_tones(), noisy.SEEDS if full else noisy.SEEDS[:3])


def of_cost(pack):
    return intelligible.beat_cost(pack, house.load_pack(pack), house.load_tones())


def measure(pool, carrybeat, full, known_groups):
    """(rows, onsets, ESTOI figures, packs)."""
    some = PACKS if full else PACKS[:1]
    runs = [pool.submit(of_run, pack, carrybeat, full) for pack in some]
    singles = pool.submit(of_singles, full)
    costs = [pool.submit(of_cost, pack) for pack in some]
    files = [pool.submit(of_tones), *[pool.submit(of_pack, pack) for pack in PACKS]]
    packs = {pack: house.load_pack(pack) for pack in PACKS}
    unshaped = intelligible.load(intelligible.UNSHAPED, "bench.py --unshaped writes it")
    cells = [*intelligible.CELLS, intelligible.RULE_13] if full else list(intelligible.QUICK)
    baseline = intelligible.load(intelligible.BASELINE, "bench.py --write writes it")["packs"] \
        if intelligible.BASELINE.is_file() else {}
    found = intelligible.measure(pool, packs, cells, unshaped["speech"], baseline, known_groups)
    rows = house.Rows([row for file in files for row in file.result()])
    intelligible.judge_cost(rows, [c.result() for c in costs])
    for pack, clips in packs.items():
        intelligible.judge(rows, pack, clips, found[pack], baseline, unshaped["packs"])
    onsets = singles.result()
    for run in runs:
        more, heard = run.result()
        rows.rows += more
        onsets += heard
    noisy.judge(rows, onsets)
    return rows.rows, onsets, found, packs


def write(rows, onsets, found, packs, lower):
    old = intelligible.load(intelligible.BASELINE, "")["packs"] if intelligible.BASELINE.is_file() else {}
    worse = [f"{pack}/{what} by {fall:.3f}" for pack in packs
             for what, fall in intelligible.falls(old.get(pack, {}), found[pack]).items() if fall > intelligible.MAY_FALL]
    if worse and not lower:
        sys.exit("\n".join(["understood worse than the clip before it:", *worse,
                            "nothing was written; render it again, or take it with --lower"]))
    intelligible.write_baseline(packs, found)
    # The baseline is of these clips now.
    for row in rows:
        if row["rule"] == "12, 13":
            row |= {"faults": {}, "value": 0.0, "name": "", "least": 0.0, "median": 0.0, "most": 0.0}
    intelligible.write(pages.FIGURES, {"format": 1, "rows": rows, "onsets": onsets})
    pages.write()


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--carrybeat", default=house.ROOT / "target" / "debug" / "carrybeat")
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--lower", action="store_true")
    parser.add_argument("--unshaped", metavar="RAW_FOLDER")
    args = parser.parse_args()
    began = time.monotonic()
    with ProcessPoolExecutor(WORKERS) as pool:
        if args.unshaped:
            stray = intelligible.write_unshaped(pool, args.unshaped)
            sys.exit(f"no render, or one of another take: {', '.join(stray)}" if stray else 0)
        full = args.full or args.write
        kept = "" if args.full else "ABCD" if args.write else "CD"
        rows, onsets, found, packs = measure(pool, args.carrybeat, full, kept)
    if args.write:
        write(rows, onsets, found, packs, args.lower)
    faults, missed = pages.faults(rows)
    faults += pages.differences(rows, full)
    for line in missed:
        print(f"missed, known: {line}")
    for line in faults:
        print(line)
    limits = sum(row["low"] is not None or row["high"] is not None for row in rows)
    print(f"{limits} figures with a limit, {len(rows) - limits} without, {len(faults)} faults, {len(missed)} known "
          f"misses, {time.monotonic() - began:.0f} s")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
