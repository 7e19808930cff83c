"""What sounds in a WAV: voices by the clip they are most like, tones by matched filters.

Which voice was meant, and when, is read from the cue list; whether it is there, which it is and where it begins
is read from the WAV. Voices are taken out by least squares; then every stretch that is not silent is taken
apart into tones, the one that explains most first, each placed anew with the others taken out. What is left
is measured, so that nothing sounds which nobody has named. No code is shared with the renderer.
"""
from dataclasses import dataclass, field
from functools import lru_cache

import house  # first: it says where `onsets` lies
import numpy as np
import soundfile
from onsets import between, likeness, place_ducked, take_out, top_of
from scipy.fft import irfft, next_fast_len, rfft
from scipy.signal import correlate, resample_poly

RATE = 48_000
LOW = 12_000
NEAR_S = 0.25
# A stretch is what rises above this; the quietest tone, life, peaks at -27 dB.
FLOOR = 0.008
JOIN = RATE // 100
# A tone explains at least so much of its own energy at full height; a beat under a voice is at 0.4.
LEAST = 0.2
MOST = 12
BLOCK = RATE // 200
STEP, FADE = RATE // 50, RATE // 100
# How far a tone may be moved when it is placed anew, in samples.
NUDGE = 60
# On both sides of a stretch; how far a swell may be out of place at the edge of a voice.
MARGIN = 240
FAR = 3_000
LONG = ("breath", "attention", "sound_back")


@dataclass
class Voice:
    id: str
    at: float
    score: float
    other: str
    other_score: float
    length: int

    @property
    def begin(self):
        return self.at / RATE

    @property
    def end(self):
        return (self.at + self.length) / RATE


@dataclass
class Tone:
    kind: str
    at: float
    gain: float


@dataclass
class Heard:
    sound: object
    rest: object = None          # without voices
    left: object = None          # without voices and tones
    voices: list = field(default_factory=list)
    tones: list = field(default_factory=list)
    missing: list = field(default_factory=list)


def listen(path, cues, tones, clips, compare=True):
    """`clips`: samples by id at 24 kHz. With `compare` each voice is held against every clip of the pack."""
    sound, rate = soundfile.read(path, dtype="float64")
    assert rate == RATE, rate
    heard = Heard(sound)
    find_voices(heard, cues, clips, compare)
    heard.left = heard.rest.copy()
    find_tones(heard, tones)
    return heard


def find_voices(heard, cues, clips, compare):
    heard.rest = heard.sound.copy()
    low = {name: resample_poly(clip, LOW, 24_000) for name, clip in clips.items()}
    full = {}
    for cue in (c for c in cues if c["kind"] == "voice"):
        meant, name = cue["at_frame"], cue["id"]
        first = max(0, int(meant - NEAR_S * RATE))
        most = max(map(len, low.values())) * (RATE // LOW) if compare else len(clips[name]) * 2
        piece = resample_poly(heard.rest[first:meant + most + int(NEAR_S * RATE)], LOW, RATE)
        span = int(2 * NEAR_S * LOW)
        tops = {}
        for other in (low if compare else (name,)):
            alike = likeness(piece, low[other])[:span]
            tops[other] = float(alike.max()), int(alike.argmax())
        best = max(tops, key=lambda n: tops[n][0])
        if tops[best][0] < 0.5:
            heard.missing.append(f"voice {name} at {meant / RATE:.3f} s")
            continue
        rival = max((n for n in tops if n != best), key=lambda n: tops[n][0], default="")
        if best not in full:
            full[best] = resample_poly(clips[best], 2, 1)
        at = placed(heard.rest, full[best], first + tops[best][1] * (RATE // LOW))
        length = until(heard.rest, full[best], int(round(at)))
        heard.voices.append(Voice(best, at, tops[best][0], rival, tops.get(rival, (0.0,))[0], length))
        take_out(heard.rest, faded(full[best], length), int(round(at)))


def until(sound, shape, at):
    """How far the clip goes: one that is broken off has no height in the steps of 20 ms that follow, and dies away
    where that leaves least."""
    piece = sound[at:at + len(shape)]
    edges = np.arange(0, len(piece), STEP)
    energy = np.add.reduceat(shape[:len(piece)] ** 2, edges)
    strong = np.flatnonzero(energy > 0.01 * energy.max())
    sounding = [n for n in strong if float(piece[n * STEP:(n + 1) * STEP] @ shape[n * STEP:(n + 1) * STEP][:len(piece) - n * STEP])
                > 0.5 * energy[n]]
    if not sounding or sounding[-1] == strong[-1]:
        return len(shape)
    first = sounding[-1] * STEP
    span = slice(first, first + 4 * STEP)
    def left(length):
        other = piece[span] - np.pad(faded(shape, length), (0, len(shape)))[span][:len(piece[span])]
        return float(other @ other)
    return min(range(first, first + 3 * STEP, 48), key=left)


def faded(shape, length):
    """The clip up to `length`, dying away in 10 ms more."""
    if length >= len(shape):
        return shape
    out = shape[:length + FADE].copy()
    out[length:] *= np.linspace(1, 0, len(out) - length)
    return out


def placed(sound, shape, about):
    """The place of the best fit between samples, near `about`."""
    first = max(1, about - 12)
    height = correlate(sound[first:first + 24 + len(shape)], shape[:len(sound) - first - 24], "valid", method="fft")
    n = 1 + int(np.argmax(height[1:-1]))
    return first + between(height, n)


def find_tones(heard, tones):
    """Fills `tones`; takes them out of `left`."""
    # A tone of the very first sample peaks between this one and the one before.
    heard.left = np.pad(heard.left, (MARGIN, 0))
    active = np.abs(heard.left) > FLOOR
    at = np.flatnonzero(active)
    cuts = np.flatnonzero(np.diff(at) > JOIN)
    for a, b in zip(np.r_[at[:1], at[cuts + 1]], np.r_[at[cuts], at[-1:]] + 1, strict=True):
        heard.tones += apart(heard.left, int(a), int(b), tones)
    heard.left = heard.left[MARGIN:]
    for tone in heard.tones:
        tone.at -= MARGIN
    heard.tones.sort(key=lambda t: t.at)


def apart(left, begin, end, tones):
    """The tones of one stretch, taken out of `left`."""
    begin, end = max(0, begin - MARGIN), min(len(left), end + MARGIN)
    # What is longer than the stretch can only have been cut: it is looked for if nothing shorter is there.
    short = {kind: tone for kind, tone in tones.items() if len(tone) <= end - begin}
    found, rest = pursue(left[begin:end], short, tones) if short else ([], None)
    if not found or np.abs(rest).max() > FLOOR:
        padded = np.pad(left[begin:end], (0, max(map(len, tones.values()))))
        found, rest = pursue(padded, tones, tones)
    left[begin:end] = rest[:end - begin]
    return [Tone(t.kind, t.at + begin, t.gain) for t in found]


def pursue(piece, kinds, tones):
    found, rest = [], piece
    while len(found) < MOST and (new := strongest(rest, kinds)) is not None:
        found.append(new)
        for _ in range(2 if len(found) > 1 else 1):
            for one in found:
                settle(without(piece, [f for f in found if f is not one], tones), one, tones[one.kind])
        rest = without(piece, found, tones)
    for one in found:
        if one.kind in LONG and not level(piece, found, one, tones):
            others = np.pad(without(piece, [f for f in found if f is not one], tones), (MARGIN, 2 * FAR))
            place = {"at": one.at + MARGIN}
            place_ducked(others, place, tones[one.kind])
            one.at = place["at"] - MARGIN
            rest = without(piece, found, tones)
    return found, rest


def level(piece, found, one, tones):
    """Whether the tone has one height from end to end."""
    at, tone = int(round(one.at)), tones[one.kind]
    alone = without(piece, [f for f in found if f is not one], tones)[max(0, at):at + len(tone)]
    gains = block_gains(alone, tone[:len(alone)])[1:-1]
    return len(gains) == 0 or gains.max() - gains.min() < 0.15


def strongest(rest, kinds):
    """The tone that explains most of what is left, if it stands high enough."""
    best = None
    if np.abs(rest).max() < FLOOR:
        return None
    size = next_fast_len(len(rest), real=True)
    turned = rfft(rest, size)
    for kind, tone in kinds.items():
        if len(tone) + 2 > len(rest):
            continue
        energy = float(tone @ tone)
        height = irfft(turned * np.conj(spectrum(kind, tone.tobytes(), size)), size)[:len(rest) - len(tone) + 1] / energy
        n = 1 + int(np.argmax(height[1:-1]))
        gain = float(top_of(height, n))
        least, most = (0.5, 2.0) if kind == "life" else (LEAST, np.inf)
        if least <= gain <= most and (best is None or gain ** 2 * energy > best[0]):
            best = gain ** 2 * energy, Tone(kind, n, gain)
    return best and best[1]


@lru_cache(400)
def spectrum(_kind, tone, size):
    return rfft(np.frombuffer(tone), size)


def settle(rest, one, tone):
    first = max(0, min(int(round(one.at)) - NUDGE, len(rest) - len(tone) - 2))
    height = correlate(rest[first:first + 2 * NUDGE + len(tone)], tone, "valid",
                       method="fft" if len(tone) > 5_000 else "direct") / float(tone @ tone)
    n = 1 + int(np.argmax(height[1:-1]))
    one.at, one.gain = first + between(height, n), float(top_of(height, n))


def without(piece, found, tones):
    """Each tone fitted at its place with a height of its own every 5 ms, as it is at the edge of a voice or where it
    is cut, and taken away."""
    rest = piece.copy()
    for one in sorted(found, key=lambda f: -f.gain * np.abs(tones[f.kind]).max()):
        tone, at = tones[one.kind], int(round(one.at))
        piece_of = rest[at:at + len(tone)]
        gains = block_gains(piece_of, tone[:len(piece_of)])
        middles = (np.arange(len(gains)) + 0.5) * BLOCK
        fitted = np.interp(np.arange(len(tone)), middles, gains) * tone
        rest[at:at + len(tone)] -= fitted[:len(rest) - at]
    return rest


def block_gains(piece, tone):
    """The tone's height in each 5 ms; the last, shorter block belongs to the one before."""
    count = max(1, len(tone) // BLOCK)
    edges = np.arange(count) * BLOCK
    fits = np.add.reduceat(piece * tone, edges)
    energy = np.add.reduceat(tone * tone, edges)
    strong = energy > 1e-4 * energy.sum()
    out = np.where(strong, fits / np.maximum(energy, 1e-12), 0.0)
    for n in np.flatnonzero(~strong):
        out[n] = out[n - 1] if n else 0.0
    return out
