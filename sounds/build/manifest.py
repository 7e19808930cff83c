#!/usr/bin/env python3
"""Writes manifest.json for the tones and for each pack, from the files as they are.

    manifest.py MODEL_FOLDER [PACK ...]

PACK is a tag such as en-US, or "tones"; without one, all of them.

Lengths are rounded up to whole milliseconds. Loudness (LUFS, ITU-R BS.1770): of a prompt,
integrated, the clip repeated to at least 3 s; of a tone, the loudest 400 ms with silence
around it, since a tone is shorter than a gated measurement needs.
"""
import hashlib
import json
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import numpy as np
import shaping
import soundfile
import speech

SOUNDS = Path(__file__).resolve().parent.parent
LICENCE = "MIT OR Apache-2.0"
FORMAT = 1


def momentary(sound, rate):
    """One 400 ms block with the whole tone in it, or as much of it as is loudest."""
    block = int(0.4 * rate)
    padded = np.pad(sound, block)
    meter = shaping.meter()
    starts = range(0, len(padded) - block, rate // 100)
    return float(max(meter.integrated_loudness(padded[s:s + block]) for s in starts))


def clip(path, name, text, loudness):
    sound, rate = soundfile.read(path)
    return {
        "id": name,
        "text": text,
        "file": path.name,
        "ms": -(-len(sound) * 1000 // rate),
        "lufs": round(loudness(sound, rate), 2),
        "true_peak_db": round(shaping.true_peak_db(sound), 2),
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
    }


def write(folder, manifest):
    (folder / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", "ascii")
    print(f"{folder.name}: {len(manifest['clips'])} clips")


def tones():
    folder = SOUNDS / "tones"
    paths = sorted(folder.glob("*.wav"))
    write(folder, {
        "pack": "tones",
        "format": FORMAT,
        "voice": {"recipe": "recipe.py"},
        "licence": LICENCE,
        "clips": [clip(path, path.stem, "", momentary) for path in paths],
    })


def pack(name, model_folder):
    table_path = SOUNDS / "build" / f"prompts-{name}.toml"
    table = tomllib.loads(table_path.read_text("utf-8"))
    folder = SOUNDS / name
    renders = json.loads((folder / "renders.json").read_text("ascii"))
    voice = table["voice"]
    write(folder, {
        "pack": name,
        "format": FORMAT,
        "voice": {
            **speech.about(voice, model_folder),
            "runtime": f"onnxruntime {version('onnxruntime')}",
            "speeds": sorted({render["speed"] for render in renders.values()}),
            "seeds": sorted({render["seed"] for render in renders.values()}),
            "recogniser": f"faster-whisper {version('faster-whisper')}, Whisper base",
            "licence": "Apache-2.0",
            "each_clip": "renders.json",
        },
        **({"review": table["review"]} if "review" in table else {}),
        "licence": LICENCE,
        "clips": [
            clip(folder / f"{i}.wav", i, prompt["text"], shaping.loudness)
            | {"class": prompt["class"]}
            for i, prompt in table["prompts"].items()
        ],
    })


def main(model_folder, *names):
    tables = sorted((SOUNDS / "build").glob("prompts-*.toml"))
    known = ["tones", *(path.stem.removeprefix("prompts-") for path in tables)]
    unknown = set(names) - set(known)
    if unknown:
        sys.exit(f"{', '.join(sorted(unknown))}: not one of {', '.join(known)}")
    for name in names or known:
        if name == "tones":
            tones()
        else:
            pack(name, model_folder)


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(*sys.argv[1:])
