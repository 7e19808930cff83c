#!/usr/bin/env python3
"""Renders one voice pack: synthesise, cut, shape, listen, keep the first that is understood.

    render.py PACK MODEL_FOLDER [RAW_FOLDER]

PACK is a tag such as en-US with a table prompts-PACK.toml beside this script. The clips
and renders.json go to sounds/PACK. MODEL_FOLDER is where the recogniser's model is put
together. RAW_FOLDER, if given, gets the clips before shaping (for small_speaker.py).
Run manifest.py afterwards. See README.md for the packages and their hashes.
"""
import json
import sys
import tomllib
from itertools import product
from pathlib import Path

import hearing
import numpy as np
import shaping
import soundfile
from hibari import SAMPLE_RATE, Hibari

LONGEST_S = {"A": 2.8, "B": 2.8, "C": 3.6, "D": 3.0}
COUNT_LONGEST_S = 0.9
# Between sentences the model leaves 0.7 s, too long for the length that a prompt may have.
SENTENCE_PAUSE_S = 0.35


def candidates(synthesiser, prompt, voice):
    says = prompt.get("say", [prompt["text"]])
    pause_s = prompt.get("pause_ms", 1000 * SENTENCE_PAUSE_S) / 1000
    for speed, say, seed in product(voice["speeds"], says, voice["seeds"]):
        sound = np.asarray(synthesiser(say, speed=speed, seed=seed), float)
        cut = shaping.trim(sound, SAMPLE_RATE)
        if "pause_ms" in prompt or ". " in say:
            cut = shaping.with_pause(cut, SAMPLE_RATE, pause_s)
        yield {"say": say, "speed": speed, "seed": seed}, cut


def best(model, synthesiser, name, prompt, voice):
    """The first candidate that fits and is heard as its text; else the first that fits."""
    limit_s = COUNT_LONGEST_S if name.startswith("chk_cd") else LONGEST_S[prompt["class"]]
    fallback, tried = None, []
    for how, raw in candidates(synthesiser, prompt, voice):
        if len(raw) >= limit_s * SAMPLE_RATE:
            continue
        sound, drive_db = shaping.finish(raw, SAMPLE_RATE)
        how["drive_db"] = round(drive_db, 2)
        how["heard"] = hearing.heard(model, sound, SAMPLE_RATE)
        how["matches"] = hearing.words(how["heard"]) == hearing.words(prompt["text"])
        tried.append(how["heard"])
        if how["matches"]:
            return how | {"tried": len(tried)}, raw, sound
        fallback = fallback or (how, raw, sound)
    if fallback is None:
        sys.exit(f"{name}: no render is shorter than {limit_s} s; shorten the text or add a speed")
    return fallback[0] | {"tried": len(tried), "all_heard": sorted(set(tried))}, *fallback[1:]


def main(pack, model_folder, raw_folder=None):
    here = Path(__file__).resolve().parent
    table = tomllib.loads((here / f"prompts-{pack}.toml").read_text("utf-8"))
    target = here.parent / pack
    target.mkdir(exist_ok=True)
    synthesiser, model = Hibari(voice=table["voice"]["voice"]), hearing.load(model_folder)

    renders = {}
    for name, prompt in table["prompts"].items():
        how, raw, sound = best(model, synthesiser, name, prompt, table["voice"])
        how["phonemes"] = " ".join(synthesiser.phonemize(how["say"]))
        soundfile.write(target / f"{name}.wav", sound, SAMPLE_RATE, subtype="PCM_16")
        if raw_folder:
            Path(raw_folder).mkdir(parents=True, exist_ok=True)
            level = 0.89 / np.abs(raw).max()
            soundfile.write(f"{raw_folder}/{name}.wav", raw * level, SAMPLE_RATE, subtype="PCM_16")
        renders[name] = how
        print(f"{name:11} {len(sound) / SAMPLE_RATE:5.2f} s  speed {how['speed']}  "
              f"{how['tried']:2} tried  {'ok' if how['matches'] else 'NEVER'}  {how['heard']}",
              flush=True)
    (target / "renders.json").write_text(json.dumps(renders, indent=1) + "\n", "ascii")


if __name__ == "__main__":
    if len(sys.argv) not in (3, 4):
        sys.exit(__doc__)
    main(*sys.argv[1:])
