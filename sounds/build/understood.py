#!/usr/bin/env python3
"""How much of each prompt the recogniser understands in noise, and what it takes a prompt for.

    understood.py MODEL_FOLDER [PACK ...]
    understood.py --keep PACK WHAT

Plays every clip of a pack through a small speaker (600 Hz high-pass) in pink and vehicle noise at
0, +6 and +12 dB(A), three seeds each, and writes sounds/understood.json, of the packs named or of
all. ../voice_tables.py makes the tables of docs/voices.md from them. The recogniser has no hint of
the vocabulary. These seeds had no part in the picking of renders.

--keep puts a pack's figures as they stand into compared.json, to compare what comes after with; WHAT says what they are of.

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
import transcript
from noise import RATE, SPEAKER, a_level, in_noise
from scipy.signal import sosfilt

SOUNDS = Path(__file__).resolve().parent.parent
sys.path.append(str(SOUNDS))
from voice_tables import classes, summary  # noqa: E402

RESULTS, COMPARED = SOUNDS / "understood.json", SOUNDS / "compared.json"
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
    language = transcript.language_of(pack)
    clips = json.loads((SOUNDS / pack / "manifest.json").read_text("ascii"))["clips"]
    texts = {c["id"]: transcript.words(c["text"], language) for c in clips}
    results = {}
    for clip in clips:
        name = clip["id"]
        heard = recogniser.of(clip, SOUNDS / pack / clip["file"], language)
        found = [transcript.words(text, language) for text in heard]
        right = [transcript.share_right(texts[name], f) for f in found]
        others = Counter(transcript.taken_for(f, name, texts) or "lost" for f in found[1:])
        others.pop(name, None)
        wrong = Counter(text for text, f in zip(heard, found)
                        if transcript.taken_for(f, name, texts) not in (name, None))
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


def keep(pack, what):
    """The pack's figures, in sum, before it is rendered anew."""
    results = json.loads(RESULTS.read_text("ascii"))["packs"][pack]
    manifest = json.loads((SOUNDS / pack / "manifest.json").read_text("ascii"))
    compared = json.loads(COMPARED.read_text("ascii"))
    compared["packs"].append({"pack": pack, "what": what} | summary(results, classes(manifest, "AB")))
    COMPARED.write_text(json.dumps(compared, indent=1) + "\n", "ascii")


def main(model_folder, *names):
    packs = json.loads(RESULTS.read_text("ascii"))["packs"] if RESULTS.is_file() else {}
    if model_folder == "--keep":
        return keep(*names)
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
