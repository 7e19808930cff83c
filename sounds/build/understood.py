#!/usr/bin/env python3
"""How much of each prompt the recogniser understands in noise, and what it takes a prompt for.

    understood.py MODEL_FOLDER [PACK ...]
    understood.py --table

Plays every clip of a pack through a small speaker (600 Hz high-pass) in pink and vehicle noise at
0, +6 and +12 dB(A), three seeds each, and writes sounds/understood.json, of the packs named or of
all. --table prints the figures of that file as the README's tables. The recogniser has no hint of
the vocabulary. These seeds had no part in the picking of renders.

What is heard is taken for the prompt that it is nearest to by its letters (Levenshtein's distance
over the longer of the two), its own where two are as near; farther than half of them it is lost: understood
as nothing.
"""
import json
import sys
from collections import Counter
from pathlib import Path

import hearing
import numpy as np
import soundfile
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt

SOUNDS = Path(__file__).resolve().parent.parent
RESULTS = SOUNDS / "understood.json"
KINDS, SNRS_DB, SEEDS = ("pink", "vehicle"), (0, 6, 12), (1, 2, 3)
CONDITIONS = [(kind, snr) for kind in KINDS for snr in SNRS_DB]


def played(sound):
    """The clip through the small speaker, and the same in each noise, in order."""
    through = sosfilt(SPEAKER, sound)
    level, padded = a_level(through), np.pad(through, int(0.4 * RATE))
    noisy = [in_noise(padded, level, kind, snr, seed)
             for kind, snr in CONDITIONS for seed in SEEDS]
    return [s / np.abs(s).max() * 0.7 for s in (through, *noisy)]


class Heard:
    """What was heard of a file, kept by its hash: after a change only the new clips are heard."""

    def __init__(self, model_folder):
        self.path = Path(model_folder) / "heard.json"
        self.kept = json.loads(self.path.read_text()) if self.path.is_file() else {}
        self.model = hearing.load(model_folder)

    def of(self, clip, path, language):
        key = f"{language} {clip['sha256']}"
        if key not in self.kept:
            sounds = played(soundfile.read(path)[0])
            self.kept[key] = hearing.heard_all(self.model, sounds, RATE, language)
            self.path.write_text(json.dumps(self.kept))
        return self.kept[key]


def measure(recogniser, pack):
    language = hearing.language_of(pack)
    clips = json.loads((SOUNDS / pack / "manifest.json").read_text("ascii"))["clips"]
    texts = {c["id"]: hearing.words(c["text"], language) for c in clips}
    results = {}
    for clip in clips:
        name = clip["id"]
        heard = recogniser.of(clip, SOUNDS / pack / clip["file"], language)
        found = [hearing.words(text, language) for text in heard]
        right = [hearing.share_right(texts[name], f) for f in found]
        others = Counter(hearing.taken_for(f, name, texts) or "lost" for f in found[1:])
        others.pop(name, None)
        wrong = Counter(text for text, f in zip(heard, found)
                        if hearing.taken_for(f, name, texts) not in (name, None))
        results[name] = {
            "sha256": clip["sha256"],
            "clean": round(right[0], 3),
            **{f"{kind} {snr}": round(float(np.mean(right[1 + at:1 + at + len(SEEDS)])), 3)
               for (kind, snr), at in zip(CONDITIONS, range(0, 99, len(SEEDS)))},
            "lost": others.pop("lost", 0),
            "taken_for": dict(sorted(others.items())),
            "heard_as_another": dict(sorted(wrong.items())),
        }
        print(f"{pack} {name:12} clean {right[0]:.2f} noise {np.mean(right[1:]):.2f} "
              f"lost {results[name]['lost']:2} {results[name]['heard_as_another'] or ''}", flush=True)
    return results


def mean(results, key):
    return float(np.mean([r[key] for r in results.values()]))


def noisy(result):
    return float(np.mean([result[f"{kind} {snr}"] for kind, snr in CONDITIONS]))


def tables(packs):
    heads = ["clean", *(f"{kind} {snr}" for kind, snr in CONDITIONS)]
    print(f"| pack | {' | '.join(heads)} | lost | A or B as another |\n|{'---|' * (len(heads) + 3)}")
    for pack, results in packs.items():
        urgent = urgent_of(pack, results)
        times = len(CONDITIONS) * len(SEEDS)
        lost = sum(r["lost"] for r in results.values()) / (times * len(results))
        wrong = sum(sum(r["taken_for"].values()) for r in urgent.values())
        print(f"| {pack} | {' | '.join(f'{mean(results, h):.2f}' for h in heads)} | {lost:.2f} | "
              f"{wrong} of {times * len(urgent)} |")
    for pack, results in packs.items():
        print(f"\n{pack}: of A and B, by {len(CONDITIONS) * len(SEEDS)} noises each\n\n"
              "| prompt | words right | its own | lost | taken for |\n|---|---|---|---|---|")
        for name, r in urgent_of(pack, results).items():
            wrong = sum(r["taken_for"].values())
            own = len(CONDITIONS) * len(SEEDS) - r["lost"] - wrong
            print(f"| {name} | {noisy(r):.2f} | {own} | {r['lost']} | "
                  f"{', '.join(f'{k} {v}' for k, v in r['taken_for'].items())} |")
        worst = sorted(results, key=lambda name: noisy(results[name]))[:10]
        print("\nWorst: " + ", ".join(f"{name} {noisy(results[name]):.2f}" for name in worst))


def urgent_of(pack, results):
    clips = json.loads((SOUNDS / pack / "manifest.json").read_text("ascii"))["clips"]
    return {c["id"]: results[c["id"]] for c in clips if c["class"] in ("A", "B")}


def main(model_folder, *names):
    packs = json.loads(RESULTS.read_text("ascii"))["packs"] if RESULTS.is_file() else {}
    if model_folder == "--table":
        return tables(packs)
    known = sorted(p.parent.name for p in SOUNDS.glob("*-*/manifest.json"))
    unknown = set(names) - set(known)
    if unknown:
        sys.exit(f"{', '.join(sorted(unknown))}: not one of {', '.join(known)}")
    recogniser = Heard(model_folder)
    for pack in names or known:
        packs[pack] = measure(recogniser, pack)
        results = {"format": 1, "recogniser": "faster-whisper, Whisper base int8, window of the clip's length",
                   "speaker": "600 Hz high-pass, fourth order",
                   "noises": [f"{kind} {snr} dB(A)" for kind, snr in CONDITIONS],
                   "seeds": list(SEEDS), "packs": dict(sorted(packs.items()))}
        RESULTS.write_text(json.dumps(results, indent=1) + "\n", "ascii")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(*sys.argv[1:])
