#!/usr/bin/env python3
"""Compares voices for a pack on the same prompts, each rendered once at the same speed.

    compare.py MODEL_FOLDER PACK VOICE ...

Writes into sounds/compared.json, and prints, for each voice: words a minute (median), share of the words that the recogniser gets
right without noise and through a small speaker in pink and vehicle noise at 0 dB(A), and ESTOI in
pink noise at +6 dB(A). With them go the sentences; voices that were compared in other sentences are
dropped from the file. Nothing is picked among renders, so that the voice alone is compared. A voice
of another synthesiser than the pack's is named with it, as kokoro:af_heart.
"""
import json
import re
import sys
import tomllib
from pathlib import Path

import hearing
import numpy as np
import shaping
import speech
import transcript
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt
from small_speaker import clip_estoi

PROMPTS = ("off15", "off50", "dev_stop", "arrest_again", "chk_now", "drug_due", "cup_now",
           "dev_cont")
RESULTS = Path(__file__).resolve().parent.parent / "compared.json"
SPEED = 1.0
SEEDS = (1, 2)


def write(pack, texts, voice, figures):
    results = json.loads(RESULTS.read_text("ascii")) if RESULTS.is_file() else {"format": 1, "voices": {}, "packs": []}
    of_pack = results["voices"].setdefault(pack, {})
    if of_pack.get("texts") != texts:
        of_pack |= {"texts": texts, "speed": SPEED, "seeds": list(SEEDS), "by_voice": {}}
    of_pack["by_voice"][voice] = figures
    results["voices"] = dict(sorted(results["voices"].items()))
    RESULTS.write_text(json.dumps(results, indent=1) + "\n", "ascii")


def main(model_folder, pack, *voices):
    table_path = Path(__file__).resolve().parent / f"prompts-{pack}.toml"
    table = tomllib.loads(table_path.read_text("utf-8"))
    language = transcript.language_of(pack)
    model = hearing.load(model_folder)
    for name in voices:
        other, _, voice = name.rpartition(":")
        asked = {"voice": voice} | ({"synthesiser": other, "phonemes": pack} if other else {})
        synthesiser = speech.of(table["voice"] | asked, model_folder)
        rates, right, estois, misheard = [], {"clean": [], "pink": [], "vehicle": []}, [], []
        for prompt_id in PROMPTS:
            prompt = table["prompts"][prompt_id]
            wanted = transcript.words(prompt["text"], language)
            raw = synthesiser.say(prompt.get("say", [prompt["text"]])[0], SPEED, 0,
                                  prompt.get("pause_ms"), prompt.get("within_ms"))
            sound, _ = shaping.finish(raw, RATE)
            rates.append(60 * len(re.findall(r"\w+", prompt["text"])) * RATE / len(sound))
            estois.append(clip_estoi(sound, "pink", 6))
            through = sosfilt(SPEAKER, sound)
            level, padded = a_level(through), np.pad(through, int(0.4 * RATE))
            sounds = [sound] + [in_noise(padded, level, kind, 0, seed)
                                for kind in ("pink", "vehicle") for seed in SEEDS]
            heard = hearing.heard_all(model, [s / np.abs(s).max() * 0.7 for s in sounds], RATE,
                                      language)
            shares = [transcript.share_right(wanted, transcript.words(t, language)) for t in heard]
            for kind, some in zip(right, (shares[:1], shares[1:3], shares[3:])):
                right[kind] += some
            if shares[0] < 1:
                misheard.append(f"{prompt_id}: {heard[0]}")
        figures = {"words_a_minute": round(float(np.median(rates)), 1),
                   "clean": np.mean(right["clean"]), "pink 0": np.mean(right["pink"]),
                   "vehicle 0": np.mean(right["vehicle"]), "estoi": np.mean(estois)}
        figures = {key: round(float(value), 3) for key, value in figures.items()}
        write(pack, {i: table["prompts"][i]["text"] for i in PROMPTS}, name, figures)
        print(f"{pack} {name}: {figures}; misheard without noise: {'; '.join(misheard) or 'nothing'}", flush=True)


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
