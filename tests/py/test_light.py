"""The judge of the beat light against made frames and made sound with known distances."""
import json
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import pytest
from onsets import RATE, load, load_tones

HERE = Path(__file__).resolve().parent
TONES = HERE.parents[1] / "sounds/tones"
BOOT_NS = 5_000_000_000_000
BEATS = 40
PERIOD_MS = 545.4545


def made(folder, late_ms, leave_out=(), extra=()):
    """A recording of beats and frames read every 4 ms in which the light comes `late_ms` after each."""
    beat = load_tones(TONES)["beat"]
    seconds = 3 + BEATS * PERIOD_MS / 1000 + 1
    sound = np.zeros(int(seconds * RATE))
    at = [3000 + n * PERIOD_MS for n in range(BEATS)]
    for ms in at:
        start = round(ms * RATE / 1000)
        sound[start:start + len(beat)] += 0.5 * beat
    wav = folder / "light.wav"
    with wave.open(str(wav), "wb") as file:
        file.setparams((1, 2, RATE, 0, "NONE", ""))
        file.writeframes((sound * 32767).astype("<i2").tobytes())
    # Each piece came as it was played: a frame's time is its place.
    frames = np.arange(480, len(sound) + 1, 480)
    lines = [f"{BOOT_NS + round(n / RATE * 1e9)} {n}" for n in frames]
    Path(f"{wav}.clock").write_text("\n".join(lines) + "\n", encoding="ascii")
    first = BOOT_NS / 1e6 + 480 / RATE * 1000
    zero = first - 480 / RATE * 1000
    on = [zero + ms + late_ms for n, ms in enumerate(at) if n not in leave_out] + [zero + ms for ms in extra]
    readings = np.arange(zero, zero + seconds * 1000, 4.0)
    shown = [any(0 <= ms - start < 160 for start in on) for ms in readings]
    text = "".join(f"{round((ms - 0.3) * 1e6)} {round(ms * 1e6)} {120.0 if lit else 40.0}\n"
                   for ms, lit in zip(readings, shown, strict=True))
    path = folder / "frames"
    path.write_text(text, encoding="ascii")
    return wav, path


def judged(wav, frames):
    done = subprocess.run([sys.executable, HERE / "judge_light.py", wav, frames],
                          capture_output=True, text=True, check=False)
    return done.returncode, done.stdout


@pytest.mark.parametrize("late_ms", [-15.0, 0.0, 12.0])
def test_a_known_distance_is_found(tmp_path, late_ms):
    code, said = judged(*made(tmp_path, late_ms))
    found = json.loads(said.splitlines()[-1])
    assert code == 0, said
    assert found["light_less_sound_ms"]["n"] >= BEATS - 2
    # The recording's clock begins with the first piece's end; readings are 4 ms apart.
    assert abs(found["light_less_sound_ms"]["p50"] - late_ms) < 3
    assert 1.5 < found["reading_error_ms"]["p50"] < 2.6
    assert 240 < found["readings_a_second"] < 260


@pytest.mark.parametrize(("late_ms", "leave_out", "extra", "told"), [
    (30.0, (), (), "apart at the 95th percentile"),
    (-30.0, (), (), "apart at the 95th percentile"),
    (0.0, (20,), (), "0 lights at the beat"),
    (0.0, (), (8181.0,), "and no beat"),
])
def test_what_is_wrong_is_told(tmp_path, late_ms, leave_out, extra, told):
    code, said = judged(*made(tmp_path, late_ms, leave_out, extra))
    assert code == 1
    assert told in said


def test_a_light_that_is_never_seen_is_no_pass(tmp_path):
    wav, frames = made(tmp_path, 0.0)
    dark = [" ".join([*line.split()[:2], "40.0"]) for line in frames.read_text(encoding="ascii").splitlines()]
    frames.write_text("\n".join(dark) + "\n", encoding="ascii")
    code, _ = judged(wav, frames)
    assert code != 0


def test_the_sound_files_have_a_beat():
    assert len(load(TONES / "beat.wav")) > 100
