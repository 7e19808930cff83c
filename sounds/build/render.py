#!/usr/bin/env python3
"""Renders one voice pack: synthesise, cut, shape, listen, keep what is best understood.

    render.py PACK MODEL_FOLDER RAW_FOLDER [ID ...]
    render.py PACK --again RAW_FOLDER

PACK is a tag such as en-US with a table prompts-PACK.toml beside this script. The clips
and renders.json go to sounds/PACK. MODEL_FOLDER is where the recogniser's model is put
together. RAW_FOLDER gets the clips before shaping (for small_speaker.py). With IDs only
those prompts are rendered. --again renders as renders.json says, without the recogniser
(after a change of the shaping). Run manifest.py afterwards.

Of the renders that the recogniser hears as the text, the one that it gets right most
often through a small speaker in noise at 0 dB(A) is kept; of equals, the first.
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
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt

LONGEST_S = {"A": 2.8, "B": 2.8, "C": 3.6, "D": 3.0}
COUNT_LONGEST_S = 0.9
# Between sentences the model leaves 0.7 s, too long for the length that a prompt may have.
SENTENCE_PAUSE_S = 0.35
NOISES = [(kind, seed) for kind in ("pink", "vehicle") for seed in (11, 12, 13, 14)]
assert RATE == SAMPLE_RATE


def render(synthesiser, prompt, say, speed, seed):
    """One unshaped clip, cut to the words and with its pause as the table says."""
    cut = shaping.trim(np.asarray(synthesiser(say, speed=speed, seed=seed), float), RATE)
    if "pause_ms" in prompt or ". " in say:
        pauses_s = np.atleast_1d(prompt.get("pause_ms", 1000 * SENTENCE_PAUSE_S)) / 1000
        cut = shaping.with_pauses(cut, RATE, pauses_s)
    return cut


def renders(synthesiser, name, prompt, voice):
    """Every render that fits in the prompt's length, as (how, unshaped clip)."""
    limit_s = COUNT_LONGEST_S if name.startswith("chk_cd") else LONGEST_S[prompt["class"]]
    says, speeds = prompt.get("say", [prompt["text"]]), prompt.get("speeds", voice["speeds"])
    for speed, say, seed in product(speeds, says, voice["seeds"]):
        cut = render(synthesiser, prompt, say, speed, seed)
        if len(cut) < limit_s * RATE:
            yield {"say": say, "speed": speed, "seed": seed}, cut


def right_in_noise(model, sound, wanted):
    """In how many of NOISES the clip is heard as its text."""
    through = np.pad(sosfilt(SPEAKER, sound), int(0.4 * RATE))
    level = a_level(sosfilt(SPEAKER, sound))
    noisy = (in_noise(through, level, kind, 0, seed) for kind, seed in NOISES)
    heard = (hearing.heard(model, sound / np.abs(sound).max() * 0.7, RATE) for sound in noisy)
    return sum(hearing.words(text) == wanted for text in heard)


def best(model, synthesiser, name, prompt, voice):
    """(how, unshaped, shaped); `how["matches"]` is false if no render was heard as its text."""
    wanted = hearing.words(prompt["text"])
    fallback, passed_over, kept, done = None, [], [], set()
    for how, raw in renders(synthesiser, name, prompt, voice):
        # Another seed changes the breath noise only: once heard, more seeds add nothing.
        if (how["speed"], how["say"]) in done:
            continue
        sound, drive_db = shaping.finish(raw, RATE)
        how["drive_db"] = round(drive_db, 2)
        how["heard"] = hearing.heard(model, sound, RATE)
        how["matches"] = hearing.words(how["heard"]) == wanted
        fallback = fallback or (how, raw, sound)
        if how["matches"]:
            done.add((how["speed"], how["say"]))
            how["right_in_noise"] = f"{right_in_noise(model, sound, wanted)} of {len(NOISES)}"
            kept.append((how, raw, sound))
        else:
            passed_over.append({k: how[k] for k in ("say", "speed", "seed", "heard")})
    if fallback is None:
        sys.exit(f"{name}: every render is too long; shorten the text or add a speed")
    chosen = max(kept, key=lambda k: int(k[0]["right_in_noise"].split()[0]), default=fallback)
    others = [{k: how[k] for k in ("say", "speed", "seed", "right_in_noise")}
              for how, _, _ in kept if how is not chosen[0]]
    return chosen[0] | {"also_right": others, "misheard": passed_over}, *chosen[1:]


def save(target, raw_folder, name, raw, sound):
    soundfile.write(target / f"{name}.wav", sound, RATE, subtype="PCM_16")
    level = 0.89 / np.abs(raw).max()
    soundfile.write(f"{raw_folder}/{name}.wav", raw * level, RATE, subtype="PCM_16")


def main(pack, model_folder, raw_folder, *only):
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
    again = model_folder == "--again"
    record = json.loads(record_path.read_text("ascii")) if only or again else {}
    synthesiser = Hibari(voice=voice["voice"])
    model = None if again else hearing.load(model_folder)

    for name in only or prompts:
        if again:
            how = record[name]
            raw = render(synthesiser, prompts[name], how["say"], how["speed"], how["seed"])
            sound, drive_db = shaping.finish(raw, RATE)
            how["drive_db"] = round(drive_db, 2)
        else:
            how, raw, sound = best(model, synthesiser, name, prompts[name], voice)
        how["phonemes"] = " ".join(synthesiser.phonemize(how["say"]))
        save(target, raw_folder, name, raw, sound)
        record[name] = how
        verdict = how["right_in_noise"] if how["matches"] else "NEVER"
        print(f"{name:11} {len(sound) / RATE:5.2f} s  speed {how['speed']}  {verdict}  "
              f"(also right {[o['right_in_noise'] for o in how['also_right']]}, "
              f"misheard {len(how['misheard'])})  {how['say']} > {how['heard']}", flush=True)
    ordered = {name: record[name] for name in prompts if name in record}
    record_path.write_text(json.dumps(ordered, indent=1) + "\n", "ascii")


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
