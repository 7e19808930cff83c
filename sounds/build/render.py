#!/usr/bin/env python3
"""Renders one voice pack: synthesise, cut, shape, listen, keep what is best understood.

    render.py PACK MODEL_FOLDER RAW_FOLDER [ID ...]
    render.py PACK --again MODEL_FOLDER RAW_FOLDER

PACK is a tag such as en-US with a table prompts-PACK.toml beside this script. The clips
and renders.json go to sounds/PACK. MODEL_FOLDER is where the models are put together and, in
voices/, the voice files lie. RAW_FOLDER gets the clips before shaping (for small_speaker.py).
With IDs only those prompts are rendered. --again renders as renders.json says, without the
recogniser (after a change of the shaping). Run manifest.py afterwards.

Of the renders that the recogniser hears as the text, the one is kept of which it gets most words
right through a small speaker in noise at 0 dB(A); of equals, the first. If it hears none as the
text, the one of which it gets most words right, first without noise.
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
import speech
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt

LONGEST_S = {"A": 2.8, "B": 2.8, "C": 3.6, "D": 3.0}
COUNT_LONGEST_S = 0.9
NOISES = [(kind, seed) for kind in ("pink", "vehicle") for seed in (11, 12, 13)]
assert RATE == speech.RATE


def renders(synthesiser, name, prompt, voice):
    """Every render that fits in the prompt's length, as (how, unshaped clip)."""
    limit_s = COUNT_LONGEST_S if name.startswith("chk_cd") else LONGEST_S[prompt["class"]]
    says, speeds = prompt.get("say", [prompt["text"]]), prompt.get("speeds", voice["speeds"])
    for speed, say, seed in product(speeds, says, voice["seeds"]):
        cut = synthesiser.say(say, speed, seed, prompt.get("pause_ms"))
        if len(cut) < limit_s * RATE:
            yield {"say": say, "speed": speed, "seed": seed}, cut


def in_the_noises(sound):
    """The clip through the small speaker in each of NOISES."""
    through = np.pad(sosfilt(SPEAKER, sound), int(0.4 * RATE))
    level = a_level(sosfilt(SPEAKER, sound))
    noisy = (in_noise(through, level, kind, 0, seed) for kind, seed in NOISES)
    return [sound / np.abs(sound).max() * 0.7 for sound in noisy]


def best(model, synthesiser, name, prompt, voice, language):
    """(how, unshaped, shaped); `how["matches"]` is false if no render was heard as its text."""
    wanted = hearing.words(prompt["text"], language)
    tried = []
    for how, raw in renders(synthesiser, name, prompt, voice):
        sound, drive_db = shaping.finish(raw, RATE)
        how["drive_db"] = round(drive_db, 2)
        tried.append((how, raw, sound))
    if not tried:
        sys.exit(f"{name}: every render is too long; shorten the text or add a speed")
    clean = hearing.heard_all(model, [sound for _, _, sound in tried], RATE, language)
    for (how, _, _), text in zip(tried, clean):
        how["heard"] = text
        how["matches"] = hearing.words(text, language) == wanted
        how["clean"] = hearing.share_right(wanted, hearing.words(text, language))
    most = max(how["clean"] for how, _, _ in tried)
    kept = [t for t in tried if t[0].pop("clean") == most]
    for how, _, sound in kept:
        heard = hearing.heard_all(model, in_the_noises(sound), RATE, language)
        found = [hearing.words(text, language) for text in heard]
        how["right_in_noise"] = f"{sum(f == wanted for f in found)} of {len(NOISES)}"
        how["words_in_noise"] = round(
            sum(hearing.share_right(wanted, f) for f in found) / len(NOISES), 2)
    chosen = max(kept, key=lambda k: k[0]["words_in_noise"])
    others = [{k: how[k] for k in ("say", "speed", "seed", "right_in_noise", "words_in_noise")}
              for how, _, _ in kept if how is not chosen[0]]
    misheard = [{k: how[k] for k in ("say", "speed", "seed", "heard")}
                for how, _, _ in tried if not how["matches"]]
    how = chosen[0]
    if not how["matches"]:
        misheard = [m for m in misheard if (m["say"], m["speed"], m["seed"])
                    != (how["say"], how["speed"], how["seed"])]
    return how | {"also_right": others, "misheard": misheard}, *chosen[1:]


def save(target, raw_folder, name, raw, sound):
    soundfile.write(target / f"{name}.wav", sound, RATE, subtype="PCM_16")
    level = 0.89 / np.abs(raw).max()
    soundfile.write(f"{raw_folder}/{name}.wav", raw * level, RATE, subtype="PCM_16")


def main(pack, model_folder, raw_folder, *only):
    again = model_folder == "--again"
    if again:
        model_folder, raw_folder, only = raw_folder, only[0], only[1:]
    here = Path(__file__).resolve().parent
    table = tomllib.loads((here / f"prompts-{pack}.toml").read_text("utf-8"))
    prompts, voice = table["prompts"], table["voice"]
    unknown = set(only) - set(prompts)
    if unknown:
        sys.exit(f"{', '.join(sorted(unknown))}: not in prompts-{pack}.toml")
    target = here.parent / pack
    target.mkdir(exist_ok=True)
    Path(raw_folder).mkdir(parents=True, exist_ok=True)
    record_path = target / "renders.json"
    record = json.loads(record_path.read_text("ascii")) if only or again else {}
    synthesiser = speech.of(voice, model_folder)
    language = hearing.language_of(pack)
    model = None if again else hearing.load(model_folder)

    for name in only or prompts:
        if again:
            how = record[name]
            raw = synthesiser.say(how["say"], how["speed"], how["seed"],
                                  prompts[name].get("pause_ms"))
            sound, drive_db = shaping.finish(raw, RATE)
            how["drive_db"] = round(drive_db, 2)
        else:
            how, raw, sound = best(model, synthesiser, name, prompts[name], voice, language)
        how["phonemes"] = synthesiser.phonemes(how["say"])
        save(target, raw_folder, name, raw, sound)
        record[name] = how
        verdict = how["right_in_noise"] if how["matches"] else "NEVER"
        print(f"{name:11} {len(sound) / RATE:5.2f} s  speed {how['speed']}  {verdict}  "
              f"(others {[o['right_in_noise'] for o in how['also_right']]}, "
              f"misheard {len(how['misheard'])})  {how['say']} > {how['heard']}", flush=True)
    ordered = {name: record[name] for name in prompts if name in record}
    record_path.write_text(json.dumps(ordered, indent=1) + "\n", "ascii")


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
