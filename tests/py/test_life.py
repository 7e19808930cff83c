"""The judge of a run that is silent by design, against made sound with known life tones."""
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from onsets import RATE, load_tones

HERE = Path(__file__).resolve().parent
TONES = HERE.parents[1] / "sounds/tones"
SECONDS = 130


def judged(folder, at, beats=()):
    """A recording with a life tone at each of `at`, s, and a beat at each of `beats`."""
    tones = load_tones(TONES)
    sound = np.zeros(SECONDS * RATE)
    for kind, places in (("life", at), ("beat", beats)):
        for second in places:
            start = round(second * RATE)
            sound[start:start + len(tones[kind])] += 0.5 * tones[kind][:len(sound) - start]
    wav = folder / "life.wav"
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    done = subprocess.run([sys.executable, HERE / "judge_life.py", wav, str(SECONDS)],
                          capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


@pytest.mark.parametrize("first", [2.0, 9.97])
def test_every_tone_is_found_once_wherever_the_pieces_are_cut(tmp_path, first):
    at = np.arange(first, SECONDS - 1, 10)
    code, said = judged(tmp_path, at)
    assert code == 0, said
    found = json.loads(said.splitlines()[-1])
    assert found["life_tones"] == len(at), said
    assert found["off_worst_ms"] < 0.1, said


def test_beats_are_no_life(tmp_path):
    at = np.arange(5.0, SECONDS - 1, 10)
    code, said = judged(tmp_path, at, beats=[1.3, 62.9, 97.2])
    assert code == 0, said
    assert json.loads(said.splitlines()[-1])["not_of_them"] == 0, said


def test_forty_seconds_of_silence_are_a_fault(tmp_path):
    at = [second for second in np.arange(5.0, SECONDS - 1, 10) if not 70 < second < 110]
    code, said = judged(tmp_path, at)
    assert code == 1
    assert "50 s without a life tone, allowed 30" in said
