#!/usr/bin/env python3
"""How a pack fares in noise and through a small speaker. Figures, not proof: nobody listened.

    small_speaker.py PACK RAW_FOLDER MODEL_FOLDER

Prints, against the limits that README.md gives:
  ESTOI of each clip in pink and vehicle noise at +6 dB(A), full band;
  ESTOI of the pack through a 600 Hz high-pass (a small speaker), pink noise at 0 dB(A);
  A-level gained by the shaping through that speaker at equal true peak;
  ESTOI that a beat ducked by 8 dB costs, pink noise at +6 dB(A);
  the share of clips that the recogniser gets wholly right through the speaker in noise at
  0 dB(A);
  a table of every clip: its ESTOI, and how often the recogniser gets it wholly right.
RAW_FOLDER holds the unshaped clips that render.py wrote. Exit 1 if a limit is missed.
"""
import json
import sys
from pathlib import Path

import hearing
import numpy as np
import soundfile
from pystoi import stoi
import transcript
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import resample_poly, sosfilt
from shaping import true_peak_db

SEEDS = (1, 2, 3)
HEARD_SEEDS = (1, 2)
DUCK_DB = 8
BEATS_PER_MINUTE = 110


def estoi(clean, heard):
    return float(stoi(resample_poly(clean, 5, 12), resample_poly(heard, 5, 12), 10_000,
                      extended=True))


def clip_estoi(sound, kind, snr_db):
    """A clip under 1 s is repeated: the measure needs 30 frames of speech."""
    padded = np.pad(sound, RATE // 10)
    if len(sound) < RATE:
        padded = np.tile(padded, 3)
    return np.mean([estoi(padded, in_noise(padded, a_level(sound), kind, snr_db, seed))
                    for seed in SEEDS])


def beat_cost(speech, beat):
    """The loudest sample of the beat stands DUCK_DB under its own file, as the mixer plays it."""
    train = np.zeros(len(speech) + len(beat))
    for start in np.arange(0, len(speech), RATE * 60 / BEATS_PER_MINUTE).astype(int):
        train[start:start + len(beat)] += beat * 10 ** (-DUCK_DB / 20)
    costs = []
    for seed in SEEDS:
        noisy = in_noise(speech, a_level(speech), "pink", 6, seed)
        costs.append(estoi(speech, noisy) - estoi(speech, noisy + train[:len(speech)]))
    return np.mean(costs)


def main(pack, raw_folder, model_folder):
    sounds = Path(__file__).resolve().parent.parent
    clips = json.loads((sounds / pack / "manifest.json").read_text("ascii"))["clips"]
    shaped = {c["id"]: soundfile.read(sounds / pack / c["file"])[0] for c in clips}
    raw = {name: soundfile.read(f"{raw_folder}/{name}.wav")[0] for name in shaped}
    joined = np.concatenate([np.pad(sound, (0, RATE // 5)) for sound in shaped.values()])
    missed = []

    def show(what, value, low=-np.inf, high=np.inf):
        good = low <= value <= high
        if not good:
            missed.append(what)
        limit = f">= {low}" if high == np.inf else f"<= {high}"
        print(f"{what:62} {value:7.3f}  {limit:9} {'' if good else 'MISSED'}", flush=True)

    means, estois = {}, {}
    for kind, mean_low, each_low in (("pink", 0.60, 0.48), ("vehicle", 0.50, 0.38)):
        each = {name: clip_estoi(sound, kind, 6) for name, sound in shaped.items()}
        estois[kind] = each
        means[kind] = np.mean(list(each.values()))
        show(f"ESTOI, {kind} +6 dB(A), mean", means[kind], mean_low)
        worst = min(each, key=each.get)
        show(f"ESTOI, {kind} +6 dB(A), least ({worst})", each[worst], each_low)
        urgent = {c["id"]: each[c["id"]] for c in clips if c["class"] == "A"}
        worst = min(urgent, key=urgent.get)
        show(f"class A, {kind}, least v pack mean ({worst})",
             round(urgent[worst] - means[kind], 4), -0.10)

    through = sosfilt(SPEAKER, joined)
    show("ESTOI through the small speaker, pink 0 dB(A)",
         np.mean([estoi(joined, in_noise(through, a_level(through), "pink", 0, s))
                  for s in SEEDS]), 0.36)
    def level_at_equal_peak(sound):
        return a_level(sosfilt(SPEAKER, sound)) - true_peak_db(sound)
    show("dB(A) gained by shaping at equal true peak, mean",
         np.mean([level_at_equal_peak(shaped[n]) - level_at_equal_peak(raw[n]) for n in shaped]),
         5.0)
    for tone in ("beat", "beat_first", "beat_last"):
        beat = resample_poly(soundfile.read(sounds / "tones" / f"{tone}.wav")[0], 1, 2)
        show(f"ESTOI cost of {tone} ducked {DUCK_DB} dB", beat_cost(joined, beat),
             high=0.010)

    model = hearing.load(model_folder)
    language = transcript.language_of(pack)
    texts = {c["id"]: transcript.words(c["text"], language) for c in clips}
    right = {}
    for kind in ("pink", "vehicle"):
        wrong, right[kind] = [], dict.fromkeys(shaped, 0)
        for name, sound in shaped.items():
            sound = np.pad(sosfilt(SPEAKER, sound), int(0.4 * RATE))
            for seed in HEARD_SEEDS:
                noisy = in_noise(sound, a_level(sosfilt(SPEAKER, shaped[name])), kind, 0, seed)
                heard = hearing.heard(model, noisy / np.abs(noisy).max() * 0.7, RATE, language)
                if transcript.words(heard, language) == texts[name]:
                    right[kind][name] += 1
                else:
                    wrong.append(f"{name}: {heard}")
        share = 1 - len(wrong) / (len(HEARD_SEEDS) * len(shaped))
        print(f"recogniser, small speaker, {kind} 0 dB(A): {share:.2f} of clips wholly right (no limit)")
        print("   " + " | ".join(wrong))

    print("\n| id | ESTOI +6 dB(A), pink | vehicle | right at 0 dB(A), pink | vehicle |")
    print("|---|---|---|---|---|")
    for name in shaped:
        print(f"| {name} | {estois['pink'][name]:.2f} | {estois['vehicle'][name]:.2f} | "
              f"{right['pink'][name]} of {len(HEARD_SEEDS)} | "
              f"{right['vehicle'][name]} of {len(HEARD_SEEDS)} |")
    if missed:
        sys.exit(f"missed: {', '.join(missed)}")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
