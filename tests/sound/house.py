"""Where things lie, how a clip is read, and how a figure meets its limit."""
import hashlib
import json
import math
import sys
from dataclasses import dataclass, field
from pathlib import Path

import soundfile

ROOT = Path(__file__).resolve().parents[2]
SOUNDS = ROOT / "sounds"
# The rule tables (classes, numbers, words, syllables) and the second working-out of a script.
for folder in (SOUNDS, ROOT / "tests" / "py"):
    if str(folder) not in sys.path:
        sys.path.append(str(folder))

PACKS = ("en-US", "en-GB", "es-419", "es-ES")
BEATS = ("beat", "beat_first", "beat_last")
CUES = ("breath", "attention", "receipt", "sound_back", "life")
TONE_RATE, VOICE_RATE = 48_000, 24_000


@dataclass
class Clip:
    id: str
    sound: object
    sha256: str
    text: str = ""
    group: str = ""


def read(path, rate):
    sound, found = soundfile.read(path, dtype="float64")
    if found != rate or sound.ndim != 1:
        sys.exit(f"{path}: {found} Hz, {sound.ndim} channels; {rate} Hz and one are wanted")
    return sound


def load_tones(folder=SOUNDS / "tones"):
    return {name: read(Path(folder) / f"{name}.wav", TONE_RATE) for name in (*BEATS, *CUES)}


def load_pack(pack, sounds=SOUNDS):
    folder = Path(sounds) / pack
    clips = json.loads((folder / "manifest.json").read_text("ascii"))["clips"]
    return {c["id"]: Clip(c["id"], read(folder / c["file"], VOICE_RATE),
                          hashlib.sha256((folder / c["file"]).read_bytes()).hexdigest(),
                          c["text"], c["class"]) for c in clips}


@dataclass
class Rows:
    """Figures against their limits. A row is the worst of its kind; every one beyond the limit is named."""
    rows: list = field(default_factory=list)

    def one(self, rule, where, what, value, low=None, high=None, unit=""):
        self.each(rule, where, what, {"": value}, low, high, unit)

    def each(self, rule, where, what, values, low=None, high=None, unit=""):
        """`values` by name; without a limit the row is a figure alone."""
        if not values:
            values = {"nothing to measure": math.nan}
        def beyond(v):
            return max((low - v) if low is not None else -math.inf,
                       (v - high) if high is not None else -math.inf)
        def bad(v):
            return not math.isfinite(v) or (beyond(v) > 0)
        limited = low is not None or high is not None
        worst = max(values, key=lambda n: beyond(values[n]) if math.isfinite(values[n]) else math.inf) \
            if limited else max(values, key=values.get)
        ordered = sorted(values.values())
        self.rows.append({
            "rule": rule, "where": where, "what": what, "unit": unit, "low": low, "high": high,
            "value": plain(values[worst]), "name": worst, "n": len(values),
            "least": plain(ordered[0]), "median": plain(ordered[len(ordered) // 2]), "most": plain(ordered[-1]),
            "faults": {n: plain(v) for n, v in values.items() if limited and bad(v)}})


def plain(value):
    value = float(value)
    if not math.isfinite(value):
        return None
    return float(f"{value:.5g}")


def limit(row):
    low, high = row["low"], row["high"]
    if low is None and high is None:
        return "none"
    if low is None:
        return f"<= {high:g}"
    return f">= {low:g}" if high is None else f"{low:g} to {high:g}"
