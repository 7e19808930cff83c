#!/usr/bin/env python3
"""Whether a run that is silent by design was alive: a faint tone every ten seconds.

    judge_life.py WAV RECORD

WAV has its clock beside it; RECORD is the run's. Where the tones belong is worked out from the record's marks alone: every ten
seconds from the mark with which the device runs up to the crew's next mark. Life tones are 24 dB below a beat, so nothing
can be said of one that another sound is over or near; which those are, the record tells too.

Held: every tone that stands alone is there, 20 ms to either side of its place; half of all at least stand alone, so
that something is held; and no tone stands alone where none belongs. A capture has a delay of its own: it is the
middle of what all tones show.
"""
import json
import sys
from pathlib import Path

import numpy as np
import soundfile
from judge_lost import when
from onsets import RATE, boot_ms, find_tones, load_tones

EVERY_MS = 10_000
WITHIN_MS = 20
# Farther from its place no tone is looked for: the delay of a capture is less.
LOOK_MS = 500
# Another sound so near hides one, or is taken for one.
ALONE_MS = 700
# Half an hour whole takes 5 GB and most of an hour: it is heard piece by piece, each with what comes before and after it.
PIECE_S = 60
ABOUT_S = 3


def life_tones(wav, tones):
    """Where the life tones of a recording are, in samples."""
    found = []
    with soundfile.SoundFile(wav) as file:
        if file.samplerate != RATE:
            sys.exit(f"{wav}: {file.samplerate} Hz, {RATE} wanted; record it anew")
        for start in range(0, file.frames, PIECE_S * RATE):
            first = max(0, start - ABOUT_S * RATE)
            file.seek(first)
            sound = file.read((PIECE_S + 2 * ABOUT_S) * RATE, dtype="float64", always_2d=True).mean(axis=1)
            at = [first + tone["at"] for tone in find_tones(sound, tones) if tone["kind"] == "life"]
            found += [one for one in at if start <= one < start + PIECE_S * RATE]
    return np.array(found)


def expected(lines):
    """(the places of the tones, the others' spans), ms of the boot clock."""
    marks = sorted((line for line in lines if line["src"] == "button"), key=when)
    first = next((n for n, mark in enumerate(marks)
                  if mark["ev"] == "compr_start" and mark["d"]["by"] == "mechanical"), None)
    if first is None or first + 1 == len(marks):
        sys.exit("no device is running in the record, or nothing was marked after it")
    began, until = when(marks[first]), when(marks[first + 1])
    # Times of cues count from the run's zero, which the header has on the boot clock.
    zero = lines[0]["mono_ms"]
    spoken = [line["d"] for line in lines if line["ev"] == "cue" and line["d"]["outcome"] == "spoken"]
    others = [(zero + cue["start_ms"], zero + cue["start_ms"] + cue["len_ms"])
              for cue in spoken if cue["kind"] != "life"]
    return np.arange(began + EVERY_MS, until, EVERY_MS), others


def stands_alone(at, length, others):
    return all(end + ALONE_MS < at or at + length + ALONE_MS < start for start, end in others)


def judge(places, others, found, length):
    """(faults, figures) of life tones found at these moments; all are ms of the boot clock."""
    alone = [at for at in places if stands_alone(at, length, others)]
    faults = []
    if not alone or 2 * len(alone) < len(places):
        faults.append(f"{len(alone)} of {len(places)} tones stand alone, at least half and one are wanted")
    off = np.array([min(found - at, key=abs, default=np.inf) for at in alone])
    near = off[np.abs(off) <= LOOK_MS]
    delay = float(np.median(near)) if near.size else 0.0

    def second(at):
        return (at - places[0] + EVERY_MS) / 1000

    faults += [f"no life tone at {second(at):.0f} s"
               for at, one in zip(alone, off, strict=True) if abs(one) > LOOK_MS]
    worst = float(np.abs(near - delay).max(initial=0))
    if worst > WITHIN_MS:
        faults.append(f"a life tone {worst:.1f} ms off its place, allowed {WITHIN_MS}")
    # What another sound brought forth is no tone too many, nor what comes before the device runs or after it.
    inside = [at for at in found if len(places) and places[0] - EVERY_MS + LOOK_MS < at < places[-1] + EVERY_MS - LOOK_MS]
    faults += [f"a life tone too many at {second(at):.2f} s" for at in inside
               if np.abs(places - at).min() > LOOK_MS and stands_alone(at - delay, length, others)]
    return faults, {"tones": len(places), "alone": len(alone), "alone_heard": len(near), "heard": len(found),
                    "off_worst_ms": round(worst, 2), "delay_ms": round(delay, 1), "faults": len(faults)}


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    wav = sys.argv[1]
    lines = [json.loads(line) for line in Path(sys.argv[2]).read_text(encoding="utf-8").splitlines()]
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    found = boot_ms(wav, life_tones(wav, tones))
    faults, figures = judge(*expected(lines), found, 1000 * len(tones["life"]) / RATE)
    for line in faults:
        print(line)
    print(json.dumps(figures))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
