"""The judge of a run that is silent by design, against made sound and a made record."""
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from judge_life import expected, judge
from onsets import RATE, load_tones

HERE = Path(__file__).resolve().parent
TONES = HERE.parents[1] / "sounds/tones"
SECONDS = 130
# Of the boot clock: when the recording begins, and the run's zero.
FROM_MS, ZERO_MS = 500_000, 500_700
# The device runs 300 ms after the run's zero, though the line was written later.
BEGAN_MS = ZERO_MS + 300
UNTIL_S = 124
EVERY = np.arange(10, UNTIL_S, 10)
# A voice over the tenth second's tone and one beside the sixtieth's.
VOICES = [(9.5, 2.0), (60.6, 1.0)]


def line(ev, at, src="auto", back=None, **d):
    made = {"ev": ev, "mono_ms": round(at), "src": src, "d": d}
    return made if back is None else {**made, "at": {"basis": "back", "back_ms": back}}


def cue(at_s, len_s, kind="voice", outcome="spoken"):
    start = BEGAN_MS - ZERO_MS + 1000 * at_s
    return line("cue", ZERO_MS + start, kind=kind, start_ms=round(start), len_ms=round(1000 * len_s), outcome=outcome)


RECORD = [
    line("header", ZERO_MS),
    line("arrest", BEGAN_MS - 200, "button", basis="recognised"),
    line("compr_start", BEGAN_MS + 120, "button", back=120, by="mechanical"),
    *(cue(at, 0.3, "life") for at in EVERY),
    *(cue(at, length) for at, length in VOICES),
    cue(35, 2, outcome="held"),
    line("compr_stop", BEGAN_MS + 1000 * UNTIL_S + 200, "button", back=200, reason="device_paused"),
]


def judged(folder, at, beats=(), lines=RECORD, delay=0.080):
    """A recording with a life tone at each of `at`, s after the device began, and a beat at each of `beats`."""
    tones = load_tones(TONES)
    sound = np.zeros(SECONDS * RATE)
    zero = (BEGAN_MS - FROM_MS) / 1000 + delay
    for kind, places in (("life", at), ("beat", beats)):
        for second in places:
            start = round((zero + second) * RATE)
            sound[start:start + len(tones[kind])] += 0.5 * tones[kind][:len(sound) - start]
    wav, record = folder / "life.wav", folder / "run.rec.jsonl"
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    pieces = [f"{FROM_MS * 1_000_000 + n * 1_000_000_000 // RATE} {n}" for n in range(480, len(sound) + 1, 480)]
    Path(f"{wav}.clock").write_text("\n".join(pieces) + "\n", encoding="utf-8")
    record.write_text("".join(json.dumps(one) + "\n" for one in lines), encoding="utf-8")
    done = subprocess.run([sys.executable, HERE / "judge_life.py", wav, record],
                          capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


# The pieces of 60 s are cut at other places of the ten seconds.
@pytest.mark.parametrize("delay", [0.08, 0.35])
def test_every_tone_is_found_once_wherever_the_pieces_are_cut(tmp_path, delay):
    code, said = judged(tmp_path, EVERY, delay=delay)
    assert code == 0, said
    found = json.loads(said.splitlines()[-1])
    # Two of the twelve have a voice over or beside them.
    assert (found["tones"], found["alone"], found["alone_heard"], found["heard"]) == (12, 10, 10, 12), said
    assert found["off_worst_ms"] < 0.1, said
    assert abs(found["delay_ms"] - 1000 * delay) < 10.5, said


def test_beats_are_no_life_and_one_tone_that_is_missing_is_a_fault(tmp_path):
    code, said = judged(tmp_path, [at for at in EVERY if at != 70], beats=[1.3, 62.9, 97.2])
    assert code == 1
    assert said.startswith("no life tone at 70 s\n{"), said


def faults(at, lines=RECORD, delay_ms=80):
    found = BEGAN_MS + delay_ms + 1000 * np.array(sorted(at), dtype=float)
    return judge(*expected(lines), found, 300)[0]


def test_what_was_found_where_it_belongs_has_no_fault():
    assert faults(EVERY) == []


@pytest.mark.parametrize("gone", [20, 120])
def test_each_tone_that_is_missing_is_a_fault(gone):
    assert faults([at for at in EVERY if at != gone]) == [f"no life tone at {gone} s"]


def test_a_rule_that_drops_every_tenth_tone_is_found_out():
    lines = [*RECORD[:-1], line("compr_stop", BEGAN_MS + 1_800_000, "button", reason="device_paused")]
    kept = [at for n, at in enumerate(np.arange(10, 1800, 10)) if n % 10 != 4]
    assert len(faults(kept, lines)) == 18


def test_a_tone_that_a_voice_is_over_may_be_hidden():
    assert faults([at for at in EVERY if at not in (10, 60)]) == []


def test_a_prompt_that_was_not_spoken_hides_nothing():
    lines = [*RECORD[:-1], cue(49.5, 2, outcome="held"), RECORD[-1]]
    assert faults([at for at in EVERY if at != 50], lines) == ["no life tone at 50 s"]


def test_a_tone_out_of_place_is_a_fault():
    assert faults([at + 0.03 * (at == 80) for at in EVERY]) == ["a life tone 30.0 ms off its place, allowed 20"]


def test_a_tone_too_many_is_a_fault_unless_another_sound_brought_it_forth():
    assert faults([*EVERY, 45.0]) == ["a life tone too many at 45.08 s"]
    assert faults([*EVERY, 61.2]) == []


def test_a_run_that_talks_all_the_time_shows_nothing():
    talk = [cue(at - 0.2, 1) for at in EVERY]
    assert faults(EVERY, [*RECORD[:-1], *talk, RECORD[-1]]) == [
        "0 of 12 tones stand alone, at least half and one are wanted"]
