#!/usr/bin/env python3
"""The tones of Carrybeat, from a table.

    recipe.py            write the WAV files beside this script
    recipe.py --check    build them in memory, compare byte for byte, exit 1 if one differs

48 kHz, mono, 16 bit. The same table gives the same bytes on every run: nothing
here is random and nothing is dithered. Needs numpy.
"""
import io
import sys
import wave
from pathlib import Path
from typing import NamedTuple

import numpy as np

RATE = 48_000
# A beat is timed by its first sample, so every tone is open within this time.
ONSET_MS = 0.5


class Tone(NamedTuple):
    id: str
    ms: int                # length
    peak_db: float         # largest sample, dB re full scale
    hz: tuple              # fundamental at the start and at the end (a smooth glide)
    partials: tuple        # (multiple of the fundamental, amplitude), cosine phase
    onset: float           # share of full height reached in the first ONSET_MS
    rise_ms: int           # time to grow from `onset` to full height
    fade_ms: int           # time to fall to nothing, ending on the last sample


# Why the numbers are so:
#  * One unbroken sound each: an alarm is told by its group of pulses, so no tone has a group.
#  * Main energy at 800-2500 Hz: a phone speaker gives little below 600 Hz, and older ears
#    little above 2500 Hz. Beats stay at 1000-1500 Hz, where a click covers least of a voice.
#  * The five cues (breath, life, sound_back, attention, receipt) lie 24-30 % apart in pitch.
#    Breath, attention and receipt, which may sound together with a beat, are also at
#    least 20 % away from the beat of that moment.
#  * The beats have one onset, so that they are timed alike, and differ in pitch and length.
#    They hold their height before they fade: a click that dies away at once is lost under
#    a voice at the 8 dB by which it is ducked.
#  * Attention reaches full height in the first sixth of its length: less does startle.
#  * Life is not to be taken for anything that asks for an act: it is 24 dB under a beat.
TONES = [
    #    id          ms  peak dB        Hz              partials              onset rise fade
    Tone("beat",        34,  -3.0, (1150, 1150), ((1, 1.0),),                        1.0,   0,  12),
    Tone("beat_first",  44,  -3.0, (1440, 1440), ((1, 1.0), (1.5, 0.30)),           1.0,   0,  22),
    Tone("beat_last",  120,  -3.0, (1030, 1030), ((1, 1.0),),                        1.0,   0,  96),
    Tone("breath",     460,  -6.0, (850, 850),   ((1, 1.0), (2, 0.45)),             0.25, 200, 240),
    Tone("attention",  300,  -1.0, (1765, 1765), ((1, 1.0), (4 / 3, 0.55)),         0.25,  50, 150),
    Tone("receipt",     70,  -6.0, (2250, 2250), ((1, 1.0),),                        1.0,   0,  60),
    Tone("sound_back", 480,  -4.0, (1240, 1520), ((1, 1.0), (1.5, 0.35)),           0.25, 120, 200),
    Tone("life",       240, -27.0, (1065, 1065), ((1, 1.0), (2, 0.15)),             0.25, 100, 130),
]


def half_bell(count):
    """Grows smoothly from just above 0 to 1 in `count` samples."""
    return np.sin(np.pi / 2 * np.arange(1, count + 1) / count) ** 2


def samples(tone):
    count = RATE * tone.ms // 1000
    height = np.ones(count)
    rise = RATE * tone.rise_ms // 1000
    height[:rise] = tone.onset + (1 - tone.onset) * half_bell(rise)
    opening = int(RATE * ONSET_MS / 1000)
    height[:opening] *= half_bell(opening)
    fade = RATE * tone.fade_ms // 1000
    height[count - fade:] *= half_bell(fade)[::-1]

    start, end = tone.hz
    hz = start + (end - start) * np.linspace(0, 1, count)
    turns = np.concatenate([[0], np.cumsum(hz[:-1])]) / RATE
    sound = sum(size * np.cos(2 * np.pi * turns * multiple) for multiple, size in tone.partials)
    sound *= height
    # Take the mean out in the shape of the tone itself, so that both ends stay at nothing.
    sound -= height * (sound.sum() / height.sum())
    sound *= 10 ** (tone.peak_db / 20) / np.abs(sound).max()
    return np.round(sound * 32767).astype("<i2")


def wav_bytes(tone):
    out = io.BytesIO()
    with wave.open(out, "wb") as wav:
        wav.setnchannels(1)
        wav.setsampwidth(2)
        wav.setframerate(RATE)
        wav.writeframes(samples(tone).tobytes())
    return out.getvalue()


def main(arguments):
    if arguments not in ([], ["--check"]):
        sys.exit(__doc__)
    folder = Path(__file__).resolve().parent
    differing = 0
    for tone in TONES:
        path = folder / f"{tone.id}.wav"
        built = wav_bytes(tone)
        if not arguments:
            path.write_bytes(built)
        elif not path.is_file():
            differing += 1
            print(f"{path.name}: missing; run recipe.py to write it")
        elif path.read_bytes() != built:
            differing += 1
            print(f"{path.name}: differs from the table; run recipe.py or restore the file")
    if differing:
        sys.exit(1)
    print(f"{len(TONES)} tones {'as the table says' if arguments else 'written'}")


if __name__ == "__main__":
    main(sys.argv[1:])
