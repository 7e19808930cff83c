#!/usr/bin/env python3
"""Finds every tone and every voice in a recording, from the recording and the sound files alone.

    onsets.py WAV [--sounds FOLDER] [--lang en-US]

Prints {"seconds", "tones": [{kind, at, gain}], "voices": [{id, at_s, score, other, other_score,
end_s}]}; `at` is in samples of 48 kHz, with a fraction. Tones are found by a matched filter in the band
700-4000 Hz and placed between the samples by a parabola through the filter's peak. Voices are found by
normalised correlation with every clip of the pack, then taken out of the recording by least squares,
so that the tones under them can be heard.
"""
import argparse
import json
import sys
from pathlib import Path

import numpy as np
import soundfile
from scipy.fft import irfft, rfft
from scipy.signal import butter, correlate, fftconvolve, oaconvolve, resample_poly, sosfiltfilt

RATE = 48_000
VOICE_RATE = 12_000
BAND = butter(4, [700, 4000], "band", fs=RATE, output="sos")
PAD = RATE // 10
# The share of a tone's full height from which it counts as there. A beat under a voice is 8 dB
# down (0.4); nothing but the tone itself comes near. Life is 24 dB below a beat and alone.
LEAST = 0.22
VOICE_LEAST = 0.5
FIT_TAPS = 48
MOST_VOICES = 2_000
LONG = ("breath", "attention")
DUCK_BLOCK = RATE // 100
FAR = 3_000
OPENING = RATE // 50
NEAR = 130  # how far a tone may be moved when it is placed afresh, in samples


def load(path):
    """Mono at 48 kHz."""
    sound, rate = soundfile.read(path, dtype="float64", always_2d=True)
    sound = sound.mean(axis=1)
    if rate != RATE:
        sound = resample_poly(sound, RATE, rate)
    return sound


def clock(path):
    """(came, frames, late): when each piece of a recording came, ns of the boot clock; the frames that
    had come with it; how much later than the first that is than the frames say, s. None where no
    clock was written (see `capture.py`)."""
    file = Path(str(path) + ".clock")
    if not file.exists():
        return None
    came, frames = np.loadtxt(file, dtype=np.int64).T
    return came, frames, (came - came[0]) / 1e9 - frames / RATE


def line(path):
    """The straight line through the earliest pieces: seconds late at frame 0, slope, and how far the
    pieces lie about it, s. A piece can come late, never early."""
    _, frames, late = clock(path)
    at = frames / RATE
    # The server fills its buffer when it begins; after that pieces come as they are played.
    parts = np.array_split(np.flatnonzero(at > 2), max(10, min(60, int(at[-1] / 5))))
    first = np.array([part[np.argmin(late[part])] for part in parts if len(part)])
    slope, zero = np.polyfit(at[first], late[first], 1)
    return zero, slope, float(np.abs(late[first] - zero - slope * at[first]).max())


def stretch(path):
    """Seconds of the boot clock in one second of the recording, and how far its pieces lie about the
    line, ms; (1, 0) where no clock was written."""
    if clock(path) is None:
        return 1.0, 0.0
    _, slope, ragged = line(path)
    return 1 + slope, 1000 * ragged


def boot_ms(path, sample):
    """When a sample of the recording came, ms of the boot clock."""
    zero, slope, _ = line(path)
    return clock(path)[0][0] / 1e6 + 1000 * (zero + (1 + slope) * sample / RATE)


def load_tones(folder):
    return {f.stem: load(f) for f in sorted(Path(folder).glob("*.wav"))}


def load_clips(folder):
    manifest = Path(folder) / "manifest.json"
    clips = json.loads(manifest.read_text(encoding="utf-8"))["clips"]
    return {c["id"]: load(Path(folder) / c["file"]) for c in clips}


# Tones


def in_band(sound):
    if len(sound) <= 3 * PAD:
        sound = np.pad(sound, (0, 3 * PAD))
    return sosfiltfilt(BAND, sound)


def template(tone):
    """The tone in the band, with the filter's ringing kept on both sides."""
    return in_band(np.pad(tone, PAD))


def heights(banded, shape):
    """For each sample, how much of the tone begins there, 1 for its full height."""
    padded = np.pad(banded, (PAD, len(shape)))
    energy = float(np.dot(shape, shape))
    return correlate(padded, shape, mode="valid", method="fft") / energy


def peaks(height, least, apart):
    """Largest first; none nearer than `apart` samples to a larger one."""
    inner = height[1:-1]
    at = 1 + np.flatnonzero((inner >= least) & (inner >= height[:-2]) & (inner > height[2:]))
    kept = []
    for n in at[np.argsort(-height[at])]:
        if all(abs(n - k) > apart for k in kept):
            kept.append(int(n))
    return sorted(kept)


def between(height, n):
    """The peak's place by a parabola through three samples, in samples."""
    before, top, after = height[n - 1], height[n], height[n + 1]
    return n + 0.5 * (before - after) / (before - 2 * top + after)


def top_of(height, n):
    """The height of the same parabola: two peaks may differ by less than half a sample costs."""
    before, top, after = height[n - 1], height[n], height[n + 1]
    return top - 0.125 * (before - after) ** 2 / (before - 2 * top + after)


def find(banded, kind, tone, least=LEAST):
    height = heights(banded, template(tone))
    return [{"kind": kind, "at": between(height, n), "gain": float(height[n])}
            for n in peaks(height, least, int(0.8 * len(tone)))]


def moved(shape, part):
    """The shape begun a fraction of a sample later."""
    turn = np.exp(-2j * np.pi * np.arange(len(shape) // 2 + 1) * part / len(shape))
    return irfft(rfft(shape) * turn, len(shape))


def add(banded, one, shape, sign):
    """Adds or takes away one tone, at the place and height that were found."""
    n = int(np.floor(one["at"]))
    piece = sign * one["gain"] * moved(shape, one["at"] - n)
    start, stop = max(0, n - PAD), min(len(banded), n - PAD + len(shape))
    banded[start:stop] += piece[start - (n - PAD):stop - (n - PAD)]


def settle(banded, found, shapes):
    """Places each tone afresh in what is left when all the others are taken out.

    A long tone's filter has neighbouring peaks of nearly the same height, one period apart; a beat
    inside a breath is enough to lift the wrong one.
    """
    rest = banded.copy()
    for one in found:
        add(rest, one, shapes[one["kind"]], -1)
    for one in sorted(found, key=lambda f: -f["gain"] * np.abs(shapes[f["kind"]]).max()):
        shape = shapes[one["kind"]]
        add(rest, one, shape, 1)
        start = int(one["at"]) - PAD - NEAR
        piece = rest[max(0, start):start + len(shape) + 2 * NEAR]
        piece = np.pad(piece, (max(0, -start), 0))
        piece = np.pad(piece, (0, len(shape) + 2 * NEAR - len(piece)))
        height = correlate(piece, shape, mode="valid", method="fft") / np.dot(shape, shape)
        tops = [n for n in 1 + np.flatnonzero((height[1:-1] >= height[:-2])
                                              & (height[1:-1] > height[2:]))
                if height[n] > 0.9 * height.max()]
        if tops:
            n = max(tops, key=lambda n: top_of(height, n))
            one["at"], one["gain"] = start + PAD + between(height, n), float(top_of(height, n))
        add(rest, one, shape, -1)
    return rest


def place_ducked(rest, one, tone):
    """Places a long tone whose height changes under way, as at the edge of a voice or where the limiter holds it
    and another tone down: of the places where the filter peaks, the one from which the tone explains most,
    its height free in every 10 ms."""
    length = len(tone) // DUCK_BLOCK * DUCK_BLOCK
    blocks = tone[:length].reshape(-1, DUCK_BLOCK)
    energy = np.maximum((blocks ** 2).sum(axis=1), 1e-9)
    middle = int(one["at"])
    first = max(0, middle - FAR)
    piece = np.pad(rest[first:middle + FAR + length], (0, length))
    height = correlate(piece, tone[:length], mode="valid", method="fft")[:2 * FAR]
    tops = 1 + np.flatnonzero((height[1:-1] >= height[:-2]) & (height[1:-1] > height[2:])
                              & (height[1:-1] > 0.5 * height.max()))

    def explained(n):
        share = (piece[n:n + length].reshape(-1, DUCK_BLOCK) * blocks).sum(axis=1)
        return float((np.maximum(share, 0) ** 2 / energy).sum())

    def opened(n):
        """How much of the sound about its beginning is its beginning, and silence before."""
        begun = piece[n:n + OPENING]
        about = piece[max(0, n - OPENING // 2):n + OPENING]
        shape = tone[:OPENING]
        share = max(0.0, float(np.dot(begun, shape)))
        return share ** 2 / (float(np.dot(shape, shape)) * float(np.dot(about, about)) + 1e-9)

    if len(tops):
        told = np.array([explained(n) for n in tops])
        near = tops[told > 0.99 * told.max()]
        one["at"] = first + between(height, max(near, key=opened))


def find_tones(sound, tones, kinds=None, speech=()):
    """`speech`: (from, to) of each voice, in seconds."""
    kinds = [k for k in tones if kinds is None or k in kinds]
    banded = in_band(sound)[:len(sound)]
    shapes = {kind: template(tones[kind]) for kind in kinds}
    found, rest = [], banded.copy()
    if "sound_back" in kinds:
        found = find(rest, "sound_back", tones["sound_back"], 0.4)
        for one in found:
            add(rest, one, shapes["sound_back"], -1)
    for kind in kinds:
        if kind not in ("sound_back", "life"):
            found += find(rest, kind, tones[kind])
    for _ in range(2):
        rest = settle(banded, found, shapes)
    found = [f for f in found if f["gain"] >= LEAST]
    busy = [(a - 0.1, b + 0.2) for a, b in speech]
    busy += [(f["at"] / RATE, (f["at"] + len(tones[f["kind"]])) / RATE) for f in found]
    for one in found:
        begin, end = one["at"] / RATE, (one["at"] + len(tones[one["kind"]])) / RATE
        if one["kind"] in LONG and sum(begin < b and end > a for a, b in busy) > 1:
            add(rest, one, shapes[one["kind"]], 1)
            place_ducked(rest, one, tones[one["kind"]])
            add(rest, one, shapes[one["kind"]], -1)
    if "life" in kinds:
        loud = [f["at"] for f in found]
        found += [f for f in find(rest, "life", tones["life"], 0.5)
                  if f["gain"] < 2 and all(abs(f["at"] - at) > 0.3 * RATE for at in loud)]
    return sorted(found, key=lambda f: f["at"])


# Voices


def likeness(sound, clip):
    """Normalised correlation of the clip with the recording from each sample on."""
    clip = clip - clip.mean()
    top = oaconvolve(sound, clip[::-1], mode="full")[len(clip) - 1:]
    total = np.concatenate([[0], np.cumsum(sound ** 2)])
    ends = np.minimum(np.arange(len(sound)) + len(clip), len(sound))
    energy = total[ends] - total[np.arange(len(sound))]
    floor = 0.03 * float(np.dot(clip, clip))
    return top / np.sqrt(np.maximum(energy, floor) * np.dot(clip, clip))


def find_voices(sound, clips):
    """Each voice with the clip that it is most like, and the next most like.

    The clearest first; it is taken out before the next is looked for, so that two voices at once are
    two voices.
    """
    low = resample_poly(sound, 1, RATE // VOICE_RATE)
    shapes = {name: resample_poly(clip, 1, RATE // VOICE_RATE) for name, clip in clips.items()}
    longest = max(map(len, shapes.values()))
    alike = {name: likeness(low, shape) for name, shape in shapes.items()}
    voices = []
    while len(voices) < MOST_VOICES:
        score, name = max((float(c.max()), name) for name, c in alike.items())
        if score < VOICE_LEAST:
            break
        n = int(np.argmax(alike[name]))
        near = slice(max(0, n - VOICE_RATE // 5), n + VOICE_RATE // 5)
        other = max(((float(c[near].max()), o) for o, c in alike.items() if o != name),
                    default=(0.0, ""))
        voices.append({"id": name, "at_s": n / VOICE_RATE, "score": score, "other": other[1],
                       "other_score": other[0], "end_s": (n + len(shapes[name])) / VOICE_RATE})
        take_out(low, shapes[name], n)
        start, stop = max(0, n - longest), n + len(shapes[name]) + FIT_TAPS
        piece = low[start:stop + longest]
        for one, shape in shapes.items():
            alike[one][start:stop] = likeness(piece, shape)[:stop - start]
        alike[name][max(0, n - VOICE_RATE // 10):n + VOICE_RATE // 10] = 0
    return sorted(voices, key=lambda v: v["at_s"])


def take_out(sound, clip, at):
    """Takes a clip that begins near `at` out of the recording."""
    start, voice = fitted(sound, clip, at)
    stop = min(len(sound), start + len(voice))
    sound[start:stop] -= voice[:stop - start]


def fitted(sound, clip, at):
    """From which sample on a clip that begins near `at` is in the recording, and as what, fitted by a short filter: the
    player's own resampling and level."""
    start = at - FIT_TAPS // 2
    lead = max(0, -start)
    piece = sound[max(0, start):start + len(clip) + FIT_TAPS]
    piece = np.pad(piece, (lead, len(clip) + FIT_TAPS - lead - len(piece)))
    own = correlate(clip, clip, mode="full", method="fft")
    own = own[len(clip) - 1:len(clip) - 1 + FIT_TAPS]
    cross = correlate(piece, clip, mode="valid", method="fft")[:FIT_TAPS]
    table = own[np.abs(np.subtract.outer(np.arange(FIT_TAPS), np.arange(FIT_TAPS)))]
    taps = np.linalg.solve(table + 1e-6 * own[0] * np.eye(FIT_TAPS), cross)
    return max(0, start), fftconvolve(clip, taps)[lead:]


def without_voices(sound, voices, clips):
    out = sound.copy()
    for voice in voices:
        take_out(out, clips[voice["id"]], int(voice["at_s"] * RATE))
    return out


def listen(sound, tones, clips):
    voices = find_voices(sound, clips) if clips else []
    found = find_tones(without_voices(sound, voices, clips), tones,
                       speech=[(v["at_s"], v["end_s"]) for v in voices])
    return {"seconds": len(sound) / RATE, "tones": found, "voices": voices}


def overlaps(voices):
    """Pairs of voices of which the second begins before the first is over."""
    return [(a["id"], b["id"]) for a, b in zip(voices, voices[1:], strict=False)
            if b["at_s"] < a["end_s"] - 0.02]


def main():
    here = Path(__file__).resolve().parents[2] / "sounds"
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("wav")
    parser.add_argument("--sounds", type=Path, default=here)
    parser.add_argument("--lang", default="en-US")
    args = parser.parse_args()
    heard = listen(load(args.wav), load_tones(args.sounds / "tones"),
                   load_clips(args.sounds / args.lang))
    json.dump(heard, sys.stdout)
    print()


if __name__ == "__main__":
    main()
