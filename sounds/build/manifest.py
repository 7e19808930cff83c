#!/usr/bin/env python3
"""Writes manifest.json for the tones and for each pack, from the files as they are.

    manifest.py

Lengths are rounded up to whole milliseconds. Loudness (LUFS, ITU-R BS.1770): of a prompt,
integrated, the clip repeated to at least 3 s; of a tone, the loudest 400 ms with silence
around it, since a tone is shorter than a gated measurement needs.
"""
import hashlib
import json
import tomllib
from importlib.metadata import version
from pathlib import Path

import numpy as np
import shaping
import soundfile
from hibari.voices import sha256_of, voice_path

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


def pack(table_path):
    name = table_path.stem.removeprefix("prompts-")
    table = tomllib.loads(table_path.read_text("utf-8"))
    folder = SOUNDS / name
    renders = json.loads((folder / "renders.json").read_text("ascii"))
    voice = table["voice"]
    write(folder, {
        "pack": name,
        "format": FORMAT,
        "voice": {
            "synthesiser": f"{voice['synthesiser']} {version(voice['synthesiser'])}",
            "voice": voice["voice"],
            "model_sha256": sha256_of(voice_path(voice["voice"], download_missing=False)),
            "runtime": f"onnxruntime {version('onnxruntime')}",
            "speeds": sorted({render["speed"] for render in renders.values()}),
            "seeds": sorted({render["seed"] for render in renders.values()}),
            "recogniser": f"faster-whisper {version('faster-whisper')}, Whisper base",
            "licence": "Apache-2.0",
            "each_clip": "renders.json",
        },
        "licence": LICENCE,
        "clips": [
            clip(folder / f"{i}.wav", i, prompt["text"], shaping.loudness)
            | {"class": prompt["class"]}
            for i, prompt in table["prompts"].items()
        ],
    })


if __name__ == "__main__":
    tones()
    for path in sorted(Path(__file__).resolve().parent.glob("prompts-*.toml")):
        pack(path)
