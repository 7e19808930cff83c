"""The comparison finds what is wrong: a WAV mixed here from the expected sounds, then spoilt."""
from pathlib import Path

import numpy as np
import pytest
from compare_rehearsal import cue_faults, voice_faults, wav_faults
from expected import expected
from onsets import RATE, listen, load_clips, load_tones

ROOT = Path(__file__).resolve().parents[2]
# A piece with unbroken beats, breaths, a count and the check itself.
FROM, SECONDS = 86, 42


@pytest.fixture(scope="module")
def case():
    sounds = expected(ROOT / "tests/scripts/five-minutes.json",
                      ROOT / "src-tauri/crates/cycle/protocols/example-adult.toml",
                      ROOT / "sounds/en-US/manifest.json")
    return [dict(s, at_frame=s["at_frame"] - FROM * RATE) for s in sounds
            if FROM < s["at_frame"] / RATE < FROM + SECONDS - 3]


@pytest.fixture(scope="module")
def shapes():
    return load_tones(ROOT / "sounds/tones"), load_clips(ROOT / "sounds/en-US")


def mixed(sounds, shapes):
    tones, clips = shapes
    wav = np.zeros(SECONDS * RATE)
    gain = np.ones(SECONDS * RATE)
    for s in sounds:
        if s["kind"] == "voice":
            gain[s["at_frame"]:s["at_frame"] + len(clips[s["id"]])] = 10 ** (-8 / 20)
    voice = np.zeros(SECONDS * RATE)
    for s in sounds:
        shape = clips[s["id"]] if s["kind"] == "voice" else tones[s["kind"]]
        into = voice if s["kind"] == "voice" else wav
        into[s["at_frame"]:s["at_frame"] + len(shape)] += shape
    return np.clip(wav * gain + voice, -1, 1)


def judge(wav, case, shapes):
    heard = listen(wav, *shapes)
    faults, figures = wav_faults(heard, case, shapes[0], len(wav))
    return faults + voice_faults(heard["voices"], case), figures


def test_the_expected_sounds_pass(case, shapes):
    faults, figures = judge(mixed(case, shapes), case, shapes)
    assert faults == []
    assert figures["outside"] < 0.5


def test_each_fault_is_told(case, shapes):
    def beat(n):
        return [s for s in case if s["kind"] == "beat"][n]

    moved = dict(beat(5), at_frame=beat(5)["at_frame"] + 2)
    spoken = next(s for s in case if s["kind"] == "beat" and s["at_frame"] > 29.05 * RATE)
    late = dict(spoken, at_frame=spoken["at_frame"] + RATE // 150)
    def without(*gone):
        return [s for s in case if s not in gone and s.get("id") not in gone]

    called = next(s for s in case if s.get("id") == "chk_now")
    told = next(s for s in case if s.get("id") == "chk_30")
    beats = [*without(beat(14), beat(5), spoken, called), moved, late, dict(called, id="chk_over")]
    extra = dict(beat(14), at_frame=beat(14)["at_frame"] + 9_000)
    voices = [*without("chk_30", "chk_cd3"), extra, dict(told, at_frame=told["at_frame"] - 600)]
    # Several faults at once, far apart, for listening takes long.
    for spoilt, words in (
            (beats, ("missing: beat", "2.00 samples off", "under speech", "is chk_over, expected chk_now")),
            (voices, ("extra: beat", "voice chk_30 begins", "missing: voice chk_cd3"))):
        faults, _ = judge(mixed(spoilt, shapes), case, shapes)
        for word in words:
            assert any(word in fault for fault in faults), (word, faults)
        assert len(faults) == len(words), faults
        assert cue_faults(spoilt, case)
