#!/usr/bin/env python3
"""Renders one voice pack: synthesise, cut, shape, listen, keep what is best understood.

    render.py PACK MODEL_FOLDER RAW_FOLDER [ID ... | --rest]
    render.py PACK --again MODEL_FOLDER RAW_FOLDER

PACK is a tag such as en-US with a table prompts-PACK.toml beside this script. The clips
and renders.json go to sounds/PACK. MODEL_FOLDER is where the models are put together and, in
voices/, the voice files lie. RAW_FOLDER, named as the pack, gets the clips before shaping (for
small_speaker.py). A table may say that its pack is `like` another: what is the same there, word for
word and sound for sound, is taken over.
With IDs only those prompts are rendered, with --rest those that renders.json has not. --again renders as renders.json says, without the
recogniser (after a change of the shaping). Run manifest.py afterwards.

Of a class A or B prompt every render is tried, and of those that are the fewest times taken for another
prompt through a small speaker in noise at 0 dB(A) the one is kept that is heard as its text and of which
most words are understood there. For the others: where the table says pick = "first", for a pack or a
prompt, the first render that the recogniser hears as the text is kept. Else, of the renders that it hears as the text, the one is kept of which it gets most words
right in that noise; of equals, the first; once that is ENOUGH no
further speed is tried. If it hears none as the text, the one of which it gets most words right, first
without noise.
"""
import json
import shutil
import sys
import tomllib
from itertools import product
from pathlib import Path

import hearing
import numpy as np
import shaping
import soundfile
import speech
import transcript
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt

LONGEST_S = {"A": 2.8, "B": 2.8, "C": 3.6, "D": 3.0}
COUNT_LONGEST_S = 0.9
NOISES = [(kind, seed) for kind in ("pink", "vehicle") for seed in (11, 12, 13, 14)]
# Of a render that is understood as well as this in noise no other speed is tried.
ENOUGH = 0.5
assert RATE == speech.RATE


def renders(synthesiser, name, prompt, voice):
    """Every render that fits in the prompt's length, as (how, unshaped clip)."""
    limit_s = COUNT_LONGEST_S if name.startswith("chk_cd") else LONGEST_S[prompt["class"]]
    says, speeds = prompt.get("say", [prompt["text"]]), prompt.get("speeds", voice["speeds"])
    for speed, say, seed in product(speeds, says, voice["seeds"]):
        cut = synthesiser.say(say, speed, seed, prompt.get("pause_ms"),
                              prompt.get("within_ms"))
        if len(cut) < limit_s * RATE:
            yield {"say": say, "speed": speed, "seed": seed}, cut


def in_the_noises(sound):
    """The clip through the small speaker in each of NOISES."""
    through = np.pad(sosfilt(SPEAKER, sound), int(0.4 * RATE))
    level = a_level(sosfilt(SPEAKER, sound))
    noisy = (in_noise(through, level, kind, 0, seed) for kind, seed in NOISES)
    return [sound / np.abs(sound).max() * 0.7 for sound in noisy]


def in_noise_of(model, how, sound, wanted, language, name=None, texts=None):
    """Adds what is understood in noise to `how`; with a name and all texts, how often it is another."""
    heard = hearing.heard_all(model, in_the_noises(sound), RATE, language)
    found = [transcript.words(text, language) for text in heard]
    if texts is not None:
        taken = [transcript.taken_for(f, name, texts) for f in found]
        how["taken_for_another"] = sum(t not in (None, name) for t in taken)
    how["right_in_noise"] = f"{sum(transcript.same(wanted, f) for f in found)} of {len(NOISES)}"
    how["words_in_noise"] = round(
        sum(transcript.share_right(wanted, f) for f in found) / len(NOISES), 2)


def apart(model, synthesiser, name, prompt, voice, language, texts):
    """As `best`, for a prompt that must not be taken for another."""
    tried = []
    for how, raw in renders(synthesiser, name, prompt, voice):
        sound, drive_db = shaping.finish(raw, RATE)
        how["drive_db"] = round(drive_db, 2)
        how["heard"] = hearing.heard_all(model, [sound], RATE, language)[0]
        how["matches"] = transcript.same(texts[name], transcript.words(how["heard"], language))
        in_noise_of(model, how, sound, texts[name], language, name, texts)
        tried.append((how, raw, sound))
    if not tried:
        return None, None, None
    chosen = min(tried, key=lambda t: (t[0]["taken_for_another"], not t[0]["matches"], -score(t)))
    told = ("say", "speed", "seed", "right_in_noise", "words_in_noise", "taken_for_another")
    others = [{k: how[k] for k in told}
              for how, _, _ in tried if how["matches"] and how is not chosen[0]]
    return chosen[0] | {"also_right": others, "misheard": misheard_of(tried, chosen[0])}, *chosen[1:]


def best(model, synthesiser, name, prompt, voice, language):
    """(how, unshaped, shaped), None where every render is too long; `how["matches"]` is false if no
    render was heard as its text."""
    wanted = transcript.words(prompt["text"], language)
    tried, kept = [], []
    for how, raw in renders(synthesiser, name, prompt, voice):
        if kept and how["speed"] != tried[-1][0]["speed"] and max(map(score, kept)) >= ENOUGH:
            break
        sound, drive_db = shaping.finish(raw, RATE)
        how["drive_db"] = round(drive_db, 2)
        how["heard"] = hearing.heard_all(model, [sound], RATE, language)[0]
        how["matches"] = transcript.same(wanted, transcript.words(how["heard"], language))
        tried.append((how, raw, sound))
        if how["matches"]:
            if prompt.get("pick", voice.get("pick")) == "first":
                return how | {"also_right": [], "misheard": misheard_of(tried, how)}, raw, sound
            in_noise_of(model, how, sound, wanted, language)
            kept.append(tried[-1])
    if not tried:
        return None, None, None
    if not kept:
        clean = [transcript.share_right(wanted, transcript.words(how["heard"], language))
                 for how, _, _ in tried]
        kept = [t for t, share in zip(tried, clean) if share == max(clean)]
        for how, _, sound in kept:
            in_noise_of(model, how, sound, wanted, language)
    chosen = max(kept, key=score)
    others = [{k: how[k] for k in ("say", "speed", "seed", "right_in_noise", "words_in_noise")}
              for how, _, _ in kept if how is not chosen[0]]
    misheard = misheard_of(tried, chosen[0])
    return chosen[0] | {"also_right": others, "misheard": misheard}, *chosen[1:]


def misheard_of(tried, chosen):
    return [{k: how[k] for k in ("say", "speed", "seed", "heard")}
            for how, _, _ in tried if not how["matches"] and how is not chosen]


def score(kept):
    return kept[0]["words_in_noise"]


def twins(table, synthesiser, here, raw_folder):
    """Prompts that the pack named as `like` has word for word and sound for sound, as rendered there."""
    other = table["voice"].get("like")
    if other is None or not (here.parent / other / "renders.json").is_file():
        return {}
    theirs = tomllib.loads((here / f"prompts-{other}.toml").read_text("utf-8"))["prompts"]
    record = json.loads((here.parent / other / "renders.json").read_text("ascii"))
    found = {}
    for name, prompt in table["prompts"].items():
        how = record.get(name)
        raw = Path(raw_folder).parent / Path(other) / f"{name}.wav"
        if (how and prompt == theirs[name] and raw.is_file()
                and how["phonemes"] == synthesiser.phonemes(how["say"])):
            found[name] = how, raw, here.parent / other / f"{name}.wav"
    return found


def save(target, raw_folder, name, raw, sound):
    soundfile.write(target / f"{name}.wav", sound, RATE, subtype="PCM_16")
    level = 0.89 / np.abs(raw).max()
    soundfile.write(f"{raw_folder}/{name}.wav", raw * level, RATE, subtype="PCM_16")


def write(path, prompts, record):
    ordered = {name: record[name] for name in prompts if name in record}
    path.write_text(json.dumps(ordered, indent=1) + "\n", "ascii")


def main(pack, model_folder, raw_folder, *only):
    again = model_folder == "--again"
    if again:
        model_folder, raw_folder, only = raw_folder, only[0], only[1:]
    here = Path(__file__).resolve().parent
    table = tomllib.loads((here / f"prompts-{pack}.toml").read_text("utf-8"))
    prompts, voice = table["prompts"], table["voice"]
    rest, only = "--rest" in only, tuple(name for name in only if name != "--rest")
    unknown = set(only) - set(prompts)
    if unknown:
        sys.exit(f"{', '.join(sorted(unknown))}: not in prompts-{pack}.toml")
    target = here.parent / pack
    target.mkdir(exist_ok=True)
    Path(raw_folder).mkdir(parents=True, exist_ok=True)
    record_path = target / "renders.json"
    kept = (only or again or rest) and record_path.is_file()
    record = json.loads(record_path.read_text("ascii")) if kept else {}
    if rest:
        only = tuple(name for name in prompts if name not in record)
    synthesiser = speech.of(voice, model_folder)
    language = transcript.language_of(pack)
    model = None if again else hearing.load(model_folder)
    same = {} if again else twins(table, synthesiser, here, raw_folder)
    texts = {name: transcript.words(prompt["text"], language) for name, prompt in prompts.items()}

    too_long = []
    for name in only if rest else only or prompts:
        if name in same:
            record[name], raw, sound = same[name]
            shutil.copy(raw, f"{raw_folder}/{name}.wav")
            shutil.copy(sound, target / f"{name}.wav")
            continue
        if again:
            how = record[name]
            raw = synthesiser.say(how["say"], how["speed"], how["seed"],
                                  prompts[name].get("pause_ms"),
                                  prompts[name].get("within_ms"))
            sound, drive_db = shaping.finish(raw, RATE)
            how["drive_db"] = round(drive_db, 2)
        else:
            if prompts[name]["class"] in "AB":
                how, raw, sound = apart(model, synthesiser, name, prompts[name], voice, language,
                                        texts)
            else:
                how, raw, sound = best(model, synthesiser, name, prompts[name], voice, language)
            if how is None:
                too_long.append(name)
                continue
        how["phonemes"] = synthesiser.phonemes(how["say"])
        save(target, raw_folder, name, raw, sound)
        record[name] = how
        write(record_path, prompts, record)
        verdict = how.get("right_in_noise", "first") if how["matches"] else "NEVER"
        if how.get("taken_for_another"):
            verdict += f", {how['taken_for_another']} times another"
        print(f"{name:11} {len(sound) / RATE:5.2f} s  speed {how['speed']}  {verdict}  "
              f"(others {[o['right_in_noise'] for o in how['also_right']]}, "
              f"misheard {len(how['misheard'])})  {how['say']} > {how['heard']}", flush=True)
    write(record_path, prompts, record)
    if too_long:
        sys.exit(f"{', '.join(too_long)}: every render is too long; shorten the text or add a speed")


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
