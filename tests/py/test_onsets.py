"""The measuring code measured: recordings made here, whose onsets are known."""
from pathlib import Path

import numpy as np
import pytest
from onsets import RATE, find_tones, find_voices, listen, load_clips, load_tones, overlaps
from scipy.fft import irfft, rfft

SOUNDS = Path(__file__).resolve().parents[2] / "sounds"
PERIOD_MS = 60_000 / 110


@pytest.fixture(scope="module")
def tones():
    return load_tones(SOUNDS / "tones")


@pytest.fixture(scope="module")
def clips():
    return load_clips(SOUNDS / "en-US")


def put(sound, tone, at, gain=1.0):
    """Adds a tone that begins at `at` samples, a fraction included (by its spectrum's phase)."""
    n, part = int(at), at - int(at)
    size = 1 << (len(tone) + 512).bit_length()
    turned = rfft(np.pad(tone, (256, 0)), size) * np.exp(
        -2j * np.pi * np.arange(size // 2 + 1) * part / size)
    moved = irfft(turned, size)[:len(tone) + 512]
    sound[n - 256:n - 256 + len(moved)] += gain * moved[:len(sound) - n + 256]


def beats(tone, seconds, jitter_ms, gain=1.0, missing=()):
    random = np.random.default_rng(7)
    sound, places = np.zeros(int(seconds * RATE)), []
    for n in range(int((seconds - 1) * 1000 / PERIOD_MS)):
        at = (300 + n * PERIOD_MS + random.uniform(-jitter_ms, jitter_ms)) * RATE / 1000
        if n not in missing:
            put(sound, tone, at, gain)
            places.append(at)
    return sound, np.array(places)


@pytest.mark.parametrize("jitter_ms", [0, 0.1, 1, 5, 20])
def test_its_own_error_is_under_two_microseconds(tones, jitter_ms):
    sound, places = beats(tones["beat"], 60, jitter_ms)
    sound = np.round(sound * 32767) / 32767
    found = find_tones(sound, tones)
    assert {f["kind"] for f in found} == {"beat"}
    assert len(found) == len(places)
    error_ms = np.abs(np.array([f["at"] for f in found]) - places) / RATE * 1000
    assert error_ms.max() < 0.002


def test_missing_beats_are_missing_and_none_is_made_up(tones):
    gone = {5, 6, 40}
    sound, places = beats(tones["beat"], 40, 0, missing=gone)
    found = find_tones(sound, tones)
    assert len(found) == len(places)
    assert np.abs(np.array([f["at"] for f in found]) - places).max() < 0.1


def test_under_a_voice_8_db_louder_no_beat_is_lost_or_5_ms_off(tones, clips):
    loudness = {"beat": -17.54, "voice": -14.0}
    gain = 10 ** ((loudness["voice"] - 8 - loudness["beat"]) / 20)
    sound, places = beats(tones["beat"], 80, 5, gain)
    for n, clip in enumerate(clips.values()):
        at = int((1 + 3.2 * n) * RATE)
        clip = clip[:max(0, len(sound) - at)]
        sound[at:at + len(clip)] += clip
    found = [f for f in listen(sound, tones, clips)["tones"]]
    assert [f["kind"] for f in found] == ["beat"] * len(places)
    assert np.abs(np.array([f["at"] for f in found]) - places).max() < 0.005 * RATE


def test_each_tone_is_told_from_every_other(tones):
    sound = np.zeros(30 * RATE)
    order = sorted(tones) * 3
    for n, kind in enumerate(order):
        put(sound, tones[kind], RATE + n * RATE)
    found = find_tones(sound, tones)
    assert [f["kind"] for f in found] == order
    assert all(abs(f["at"] - RATE * (n + 1)) < 0.1 for n, f in enumerate(found))


def test_a_breath_or_receipt_over_a_beat_moves_neither(tones):
    sound, places = beats(tones["beat"], 60, 0)
    for at in places[::9]:
        put(sound, tones["breath"], at - 4_000)
        put(sound, tones["receipt"], at - 1_200)
    found = find_tones(sound, tones)
    at = np.array([f["at"] for f in found if f["kind"] == "beat"])
    assert len(at) == len(places)
    assert np.abs(at - places).max() < 0.5
    for kind, lead in (("breath", 4_000), ("receipt", 1_200)):
        there = np.array([f["at"] for f in found if f["kind"] == kind])
        assert np.abs(there - (places[::9] - lead)).max() < 1


def test_each_clip_is_told_from_every_other_with_the_beat_on(tones, clips):
    sound, _ = beats(tones["beat"], 4 * len(clips) + 4, 0, 0.5)
    for n, clip in enumerate(clips.values()):
        at = int((1 + 4 * n) * RATE)
        sound[at:at + len(clip)] += 0.8 * clip
    voices = find_voices(sound, clips)
    assert [v["id"] for v in voices] == list(clips)
    for n, voice in enumerate(voices):
        assert abs(voice["at_s"] - (1 + 4 * n)) < 0.01
        assert voice["score"] > voice["other_score"] + 0.2
    assert overlaps(voices) == []


def test_two_voices_at_once_are_noticed(clips):
    sound = np.zeros(10 * RATE)
    for name, at in (("dev_stop", 1.0), ("chk_now", 3.5)):
        clip = clips[name]
        sound[int(at * RATE):int(at * RATE) + len(clip)] += clip
    assert overlaps(find_voices(sound, clips)) == [("dev_stop", "chk_now")]
