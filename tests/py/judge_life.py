#!/usr/bin/env python3
"""Whether a run that is silent by design was alive: a faint tone every ten seconds.

    judge_life.py WAV SECONDS

A life tone is 24 dB below a beat: what stands in a voice or beside a tone may look like one, and one may be hidden there.
Held: in some tenth of the ten seconds, 20 ms to either side, there is one nearly every time; of those that SECONDS have
room for at most one in ten is hidden, and no thirty seconds are without one.
"""
import json
import sys
from pathlib import Path

import numpy as np
import soundfile
from onsets import RATE, find_tones, load_tones, stretch

EVERY_S = 10
WITHIN_MS = 20
MOST_APART_S = 30
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


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    wav, seconds = sys.argv[1], float(sys.argv[2])
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    pace, _ = stretch(wav)
    at = life_tones(wav, tones) / RATE * pace
    faults = []
    if len(at) < 2:
        sys.exit(f"{len(at)} life tones in {seconds:.0f} s")
    # The place in the ten seconds at which most of them come.
    off = [(at - one + EVERY_S / 2) % EVERY_S - EVERY_S / 2 for one in at]
    near = [np.abs(row) <= WITHIN_MS / 1000 for row in off]
    best = max(range(len(at)), key=lambda n: int(near[n].sum()))
    others = int(len(at) - near[best].sum())
    worst = float(np.abs(off[best][near[best]]).max()) * 1000
    at = at[near[best]]
    steps = np.diff(at)
    room = int(seconds // EVERY_S)
    if len(at) < room - 1 - room // 10:
        faults.append(f"{len(at)} life tones, {room} have room")
    longest = float(steps.max(initial=0))
    if longest > MOST_APART_S:
        faults.append(f"{longest:.0f} s without a life tone, allowed {MOST_APART_S}")
    for line in faults:
        print(line)
    print(json.dumps({"seconds": round(seconds), "life_tones": len(at), "not_of_them": others, "room_for": room,
                      "off_worst_ms": round(worst, 2), "longest_apart_s": round(longest, 2),
                      "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
