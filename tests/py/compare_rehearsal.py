#!/usr/bin/env python3
"""Holds a rehearsal's WAV and cue list against what was worked out from script and protocol alone.

    compare_rehearsal.py WAV CUES EXPECTED [--sounds FOLDER]

With `none` for WAV only the cue list is held against the expected sounds.

Every sound of the cue list is the expected one at the expected frame; every tone in the WAV begins within
one sample of its frame outside speech and within 5 ms under it; none is missing, none is extra; every
voice is the expected clip. Prints the figures as one line of JSON, and each fault on a line of its own.
"""
import argparse
import json
import sys
from collections import Counter
from pathlib import Path

import numpy as np
from onsets import RATE, listen, load, load_clips, load_tones, overlaps
from scipy.signal import resample_poly

UNDER_SPEECH = 0.005 * RATE
VOICE_WITHIN_S = 0.005
# What another filter than the mixer's may read beside it: 0.1 dB.
CEILING_DB = -1.0
PIECE_S = 40
# Longer than the longest clip, and the tones around its end.
MARGIN_S = 6
# The duck lets go within 150 ms after a voice.
AFTER_SPEECH_S = 0.15


def name(sound):
    return sound.get("id") or sound["kind"]


def cue_faults(cues, expected):
    """The cue list and the expected list, sound by sound."""
    ours = Counter((c["kind"], c.get("id"), c["at_frame"]) for c in cues)
    theirs = Counter((e["kind"], e.get("id"), e["at_frame"]) for e in expected)
    return [f"cue list {word}: {kind} {prompt or ''} at frame {frame} ({frame / RATE:.3f} s)"
            for word, some in (("lacks", theirs - ours), ("has more", ours - theirs))
            for kind, prompt, frame in sorted(some.elements(), key=lambda s: s[2])]


def pair(expected, found, within):
    """Each expected place with the nearest found one, each used once."""
    pairs, left = [], sorted(found, key=lambda f: f["at"])
    for one in sorted(expected, key=lambda e: e["at_frame"]):
        near = [f for f in left if abs(f["at"] - one["at_frame"]) <= within]
        best = min(near, key=lambda f: abs(f["at"] - one["at_frame"]), default=None)
        if best is not None:
            left.remove(best)
        pairs.append((one, best))
    return pairs, left


def in_speech(at, kind, tones, voices):
    end = at + len(tones[kind])
    return any(at < (v["end_s"] + AFTER_SPEECH_S) * RATE and end > v["at_s"] * RATE
               for v in voices)


def wav_faults(heard, expected, tones, last_frame):
    faults, figures = [], {"outside": 0.0, "under": 0.0, "n_outside": 0, "n_under": 0}
    for kind in tones:
        want = [e for e in expected if e["kind"] == kind
                and e["at_frame"] + len(tones[kind]) <= last_frame]
        found = [f for f in heard["tones"] if f["kind"] == kind
                 and f["at"] + len(tones[kind]) <= last_frame]
        pairs, extra = pair(want, found, 0.05 * RATE)
        for one, best in pairs:
            frame = one["at_frame"]
            if best is None:
                faults.append(f"missing: {kind} at {frame / RATE:.4f} s")
                continue
            off = abs(best["at"] - frame)
            under = in_speech(frame, kind, tones, heard["voices"])
            where, most = ("under", UNDER_SPEECH) if under else ("outside", 1)
            figures[where] = max(figures[where], off)
            figures[f"n_{where}"] += 1
            if off > most:
                faults.append(f"{kind} at {frame / RATE:.4f} s is {off:.2f} samples off, "
                              f"allowed {most:.0f} {where} speech")
        faults += [f"extra: {kind} at {f['at'] / RATE:.4f} s, height {f['gain']:.2f}"
                   for f in extra]
    return faults, figures


def true_peak_faults(sound):
    """ITU-R BS.1770-5: four points a sample. The loud parts alone, with what a filter needs beside them."""
    loud = np.flatnonzero(np.abs(sound) > 0.4)
    most, place = 0.0, 0
    for piece in np.split(loud, 1 + np.flatnonzero(np.diff(loud) > RATE // 10)) if len(loud) else []:
        first = max(0, piece[0] - 200)
        points = np.abs(resample_poly(sound[first:piece[-1] + 200], 4, 1))
        if points.max() > most:
            most, place = float(points.max()), (first + int(points.argmax()) // 4) / RATE
    peak = 20 * np.log10(most) if most else -np.inf
    return [f"true peak {peak:.2f} dB at {place:.3f} s, allowed {CEILING_DB} dB"] if peak > CEILING_DB + 0.1 else []


def voice_faults(voices, expected, within_s=VOICE_WITHIN_S):
    """Every expected voice recognised as that clip, none missing, none extra, none at once."""
    faults, left = [], list(voices)
    want = [(e["id"], e["at_frame"] / RATE) for e in expected if e["kind"] == "voice"]
    for prompt, at in want:
        best = min((v for v in left if abs(v["at_s"] - at) < 1.0),
                   key=lambda v: abs(v["at_s"] - at), default=None)
        if best is None:
            faults.append(f"missing: voice {prompt} at {at:.3f} s")
            continue
        left.remove(best)
        if best["id"] != prompt:
            faults.append(f"voice at {at:.3f} s is {best['id']}, expected {prompt}")
        if abs(best["at_s"] - at) > within_s:
            faults.append(f"voice {prompt} begins at {best['at_s']:.3f} s, expected {at:.3f}")
        if best["other_score"] > best["score"] - 0.1:
            faults.append(f"voice {prompt} at {at:.3f} s: {best['score']:.2f} like it, but "
                          f"{best['other_score']:.2f} like {best['other']}")
    faults += [f"extra: voice {v['id']} at {v['at_s']:.3f} s" for v in left]
    faults += [f"two voices at once: {a} and {b}" for a, b in overlaps(voices)]
    return faults


def listen_in_pieces(sound, tones, clips):
    """The time it takes to find the voices grows with the square of the length: piece by piece, each with so
    much before and after it that nothing which begins in it is cut."""
    heard = {"seconds": len(sound) / RATE, "tones": [], "voices": []}
    for start in range(0, len(sound), PIECE_S * RATE):
        first = max(0, start - MARGIN_S * RATE)
        piece = sound[first:start + (PIECE_S + MARGIN_S) * RATE]
        part = listen(piece, tones, clips)
        for tone in part["tones"]:
            tone["at"] += first
            if start <= tone["at"] + 0.5 < start + PIECE_S * RATE:
                heard["tones"].append(tone)
        for voice in part["voices"]:
            voice["at_s"] += first / RATE
            voice["end_s"] += first / RATE
            # Half a millisecond: a voice at the edge of two pieces is found a little beside its frame.
            if start <= voice["at_s"] * RATE + 24 < start + PIECE_S * RATE:
                heard["voices"].append(voice)
    return heard


def main():
    here = Path(__file__).resolve().parents[2] / "sounds"
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("wav")
    parser.add_argument("cues")
    parser.add_argument("expected")
    parser.add_argument("--sounds", type=Path, default=here)
    parser.add_argument("--lang", default="en-US")
    args = parser.parse_args()
    cues = json.loads(Path(args.cues).read_text(encoding="utf-8"))
    expected = json.loads(Path(args.expected).read_text(encoding="utf-8"))
    if args.wav == "none":
        faults = cue_faults(cues, expected)
        for line in faults:
            print(line)
        print(json.dumps({"check": "rehearsal, cue list alone", "faults": len(faults), "sounds": len(cues)}))
        sys.exit(1 if faults else 0)
    tones = load_tones(args.sounds / "tones")
    sound = load(args.wav)
    heard = listen_in_pieces(sound, tones, load_clips(args.sounds / args.lang))
    faults = cue_faults(cues, expected)
    more, figures = wav_faults(heard, expected, tones, len(sound))
    faults += more + voice_faults(heard["voices"], expected) + true_peak_faults(sound)
    for line in faults:
        print(line)
    print(json.dumps({"check": "rehearsal", "faults": len(faults),
                      "onsets_outside_speech": figures["n_outside"],
                      "worst_samples_outside_speech": round(figures["outside"], 3),
                      "onsets_under_speech": figures["n_under"],
                      "worst_ms_under_speech": round(figures["under"] / RATE * 1000, 4),
                      "voices": len(heard["voices"])}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
