"""The judge of a run whose sound is taken away, against made sound and a made record."""
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from judge_lost import heard, lost_of_record, silent_ms
from onsets import RATE, load_tones
from scipy.signal import resample_poly

HERE = Path(__file__).resolve().parent
TONES = HERE.parents[1] / "sounds/tones"
PERIOD_MS = 60_000 / 110
# A moment of the boot clock on which a beat lies.
GRID_MS = 1_000_000
SECONDS = 3


def recording(folder, name, from_ms, silent_until=0, seconds=SECONDS):
    """Some seconds from `from_ms` on, with the beats of the grid from `silent_until` on."""
    beat = load_tones(TONES)["beat"]
    sound = np.zeros(seconds * RATE)
    first = int(np.ceil((max(from_ms, silent_until) - GRID_MS) / PERIOD_MS))
    for n in range(first, first + 4 * seconds):
        start = round((GRID_MS + n * PERIOD_MS - from_ms) * RATE / 1000)
        if start + len(beat) < len(sound):
            sound[start:start + len(beat)] += 0.5 * beat
    wav = folder / name
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    frames = range(480, len(sound) + 1, 480)
    pieces = [f"{from_ms * 1_000_000 + n * 1_000_000_000 // RATE} {n}" for n in frames]
    Path(f"{wav}.clock").write_text("\n".join(pieces) + "\n", encoding="utf-8")
    return str(wav)


def test_a_beat_that_sounds_as_the_recording_begins_is_not_dated(tmp_path):
    tones = load_tones(TONES)
    # It began 8 ms before.
    from_ms = GRID_MS + 4 * PERIOD_MS + 8
    wav = recording(tmp_path, "cut.wav", round(from_ms))
    sound, _ = soundfile.read(wav)
    rest = 0.5 * tones["beat"][round(0.008 * RATE):]
    sound[:len(rest)] += rest
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    found = np.array(heard(wav, tones)[0]) - GRID_MS
    assert len(found) == 5
    # The clock's first piece is 10 ms long, and its sound is dated by its end.
    assert np.ptp(found - PERIOD_MS * np.arange(5, 10)) < 0.1
    assert abs(found[0] - 5 * PERIOD_MS) < 1


@pytest.mark.parametrize("cuts_s", [(0.025,), (0.012,), (0.033,)])
def test_a_beat_that_sounds_as_the_recording_ends_is_not_dated(tmp_path, cuts_s):
    tones = load_tones(TONES)
    wav = recording(tmp_path, "cut.wav", GRID_MS + 100)
    sound, _ = soundfile.read(wav)
    for cut in (round(cut_s * RATE) for cut_s in cuts_s):
        sound[-cut:] += 0.5 * tones["beat"][:cut] + 0.4 * tones["receipt"][:cut]
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    found = np.array(heard(wav, tones)[0]) - GRID_MS
    assert np.allclose(found, PERIOD_MS * np.arange(1, 6), atol=1), found


def line(ev, at, src="auto", back=None, **d):
    made = {"ev": ev, "mono_ms": at, "src": src, "d": d}
    return made if back is None else {**made, "at": {"basis": "back", "back_ms": back}}


# Sound taken away twice, once too shortly for the screen to tell.
ROWS = [
    {"fault": "SinkGone", "taken_ms": 1_020_000, "told_ms": 640, "silent_ms": 1500, "opened_ms": 1_021_700,
     "heard_from_ms": 1_021_300, "said_back_ms": 1_022_000, "marked_ms": [[1_020_650, 1_020_800], [1_022_010, 1_022_160]]},
    {"fault": "Busy", "taken_ms": 1_030_000, "told_ms": None, "silent_ms": 400, "opened_ms": 1_030_600,
     "heard_from_ms": 1_030_200, "said_back_ms": 1_030_700, "marked_ms": [[1_030_100, 1_030_250], [1_030_760, 1_030_900]]},
]
LINES = [
    {"ev": "header", "mono_ms": 1_000_000, "src": "auto", "d": {}},
    line("arrest", 1_000_100, "button", back=140, basis="recognised"),
    line("compr_start", 1_000_100, "button", back=140, by="manual"),
    line("airway", 1_002_000, "button", back=120, act="in"),
    line("score", 1_002_000, pattern="continuous"),
    line("sound", 1_020_620, what="lost"),
    line("flag", 1_020_660, "button"),
    line("sound", 1_021_950, what="back"),
    line("flag", 1_022_100, "button", back=80),
    line("flag", 1_030_110, "button"),
    line("flag", 1_030_770, "button"),
]


def judged(folder, lines, rows=None):
    rows = rows or [{**row, "wav": recording(folder, f"lost-{n}.wav", row["opened_ms"] - 500)}
                    for n, row in enumerate(ROWS)]
    record = folder / "run.rec.jsonl"
    record.write_text("".join(json.dumps(one) + "\n" for one in lines), encoding="utf-8")
    told = {"record": str(record), "before": recording(folder, "before.wav", 1_010_000),
            "rows": rows}
    (folder / "lost.json").write_text(json.dumps(told), encoding="utf-8")
    done = subprocess.run([sys.executable, HERE / "judge_lost.py", folder / "lost.json"],
                          capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def test_a_run_in_which_all_went_well_is_without_fault(tmp_path):
    code, said = judged(tmp_path, LINES)
    assert code == 0, said
    assert json.loads(said.splitlines()[-1])["off_grid_worst_ms"] < 0.2, said
    assert lost_of_record(LINES, ROWS) == []


def test_a_lost_mark_fails_the_run(tmp_path):
    code, said = judged(tmp_path, WITHOUT[6])
    assert code == 1, said
    assert "3 marks flag in the record, 4 were made" in said, said


WITHOUT = {n: LINES[:n] + LINES[n + 1:] for n in range(len(LINES))}


@pytest.mark.parametrize("lines, fault", [
    pytest.param(WITHOUT[1], "0 marks arrest in the record, 1 were made", id="the mark of the start is lost"),
    pytest.param(WITHOUT[6], "0 marks flag at the press 1020650 to 1020800", id="a mark without sound is lost"),
    pytest.param(WITHOUT[8], "0 marks flag at the press 1022010 to 1022160", id="a mark right after is lost"),
    pytest.param([*LINES, line("flag", 1_020_700, "button")], "2 marks flag at the press 1020650",
                 id="a mark is kept twice"),
    pytest.param([*WITHOUT[6], line("flag", 1_025_000, "button")], "0 marks flag at the press 1020650",
                 id="a mark is kept as of another moment"),
    pytest.param([*LINES, line("compr_stop", 1_025_000, "button")], "marks that nobody made: compr_stop",
                 id="a mark that nobody made"),
    pytest.param(WITHOUT[5], "0 SinkGone: the screen told a loss and its end, the record ['back']",
                 id="the loss is not in the record"),
    pytest.param(WITHOUT[7], "0 SinkGone: the screen told a loss and its end, the record ['lost']",
                 id="its end is not in the record"),
    pytest.param([*WITHOUT[7], line("sound", 1_024_000, what="back")], "the record ['lost']",
                 id="its end is told too late"),
    pytest.param([*LINES, line("gap", 1_021_000, ms=2400)], "a gap of 2400 ms at 1021000", id="a gap"),
    pytest.param([*LINES, line("score", 1_021_000, pattern="continuous")], "2 continuous scores",
                 id="the score begins anew"),
])
def test_each_thing_that_is_lost_is_a_fault(lines, fault):
    found = lost_of_record(lines, ROWS)
    assert any(fault in one for one in found), found


def test_another_default_is_silent_until_its_first_beat_and_less_the_time_to_it():
    row = {"fault": "DefaultMoved", "taken_ms": 5000, "silent_ms": 300}
    assert silent_ms(row, [4900, 5400, 5945], 545) == -145
    assert silent_ms({**row, "fault": "DefaultChanged"}, [7645, 8190], 545) == 2100
    assert silent_ms(row, [], 545) == float("inf")
    assert silent_ms({**row, "fault": "SinkGone"}, [7645], 545) == 300


@pytest.mark.parametrize("until, off_grid", [
    pytest.param(900, False, id="what was on its way as the stream was moved"),
    pytest.param(9000, True, id="all that comes later"),
])
def test_a_stream_that_was_moved_is_on_its_grid_a_second_later(tmp_path, until, off_grid):
    taken = 1_010_050
    wav = recording(tmp_path, "lost-0.wav", taken - 200, silent_until=taken, seconds=4)
    sound, _ = soundfile.read(wav)
    cut, by = round((200 + until) * RATE / 1000), round(0.030 * RATE)
    sound[:cut] = np.roll(sound[:cut], by)
    soundfile.write(wav, sound, RATE, subtype="PCM_16")
    row = {"fault": "DefaultMoved", "wav": wav, "taken_ms": taken, "told_ms": None, "silent_ms": 300,
           "opened_ms": taken, "heard_from_ms": taken, "said_back_ms": taken + 2000, "marked_ms": []}
    code, out = judged(tmp_path, [one for one in LINES if one["ev"] not in ("flag", "sound")], [row])
    assert code == int(off_grid), out
    assert ("off the grid, allowed 5" in out) == off_grid, out
    assert abs(json.loads(out.splitlines()[-1])["moved_off_grid_worst_ms"] - 30) < 1, out


@pytest.mark.parametrize("late, said, faults", [
    pytest.param(0, None, (), id="the stream was moved at once"),
    pytest.param(1700, None, ("ms without sound and nothing said",), id="late, and nobody said so"),
    pytest.param(1700, 900, (), id="late, and told"),
    pytest.param(2700, 900, ("after a stream could open, allowed 2000",), id="later than allowed"),
])
def test_another_default_is_judged_by_what_it_is_given(tmp_path, late, said, faults):
    taken = 1_010_050
    wav = recording(tmp_path, "lost-0.wav", taken - 200, silent_until=taken + late, seconds=6)
    row = {"fault": "DefaultMoved", "wav": wav, "taken_ms": taken, "told_ms": said, "silent_ms": 300,
           "opened_ms": taken, "heard_from_ms": taken, "said_back_ms": taken + 3500, "marked_ms": []}
    lines = [one for one in LINES if one["ev"] not in ("flag", "sound")]
    if said is not None:
        lines += [line("sound", taken + said, what="lost"), line("sound", taken + 3000, what="back")]
    code, out = judged(tmp_path, lines, [row])
    assert code == (1 if faults else 0), out
    for fault in faults:
        assert fault in out, out


@pytest.mark.parametrize("begins, sounds, back, late", [
    pytest.param(100, 1500, 1400, False, id="in time"),
    pytest.param(100, 2300, 2200, True, id="too late"),
    pytest.param(2600, 0, 0, False, id="the recording began late, and it sounded before"),
    pytest.param(1200, 3300, 2100, True, id="too late after a recording that began late"),
])
def test_the_time_in_which_nothing_was_recorded_is_not_the_app_s(tmp_path, begins, sounds, back, late):
    opened = 1_021_700
    wav = recording(tmp_path, "lost-0.wav", opened + begins, silent_until=opened + sounds, seconds=6)
    row = {**ROWS[0], "wav": wav, "opened_ms": opened, "heard_from_ms": opened + begins, "said_back_ms": opened + 4000,
           "marked_ms": []}
    lines = [one for one in LINES if one["ev"] != "flag"]
    code, out = judged(tmp_path, lines, [row])
    assert code == int(late), out
    assert ("after a stream could open, allowed 2000" in out) == late, out
    figures = json.loads(out.splitlines()[-1])
    assert back <= figures["back_worst_ms"] <= back + PERIOD_MS + 1, out
    assert abs(figures["after_open_worst_ms"] - figures["back_worst_ms"] - begins) < 2, out


@pytest.mark.parametrize("start_s, sounds, written, under_ms, after_ms, under, off_grid", [
    pytest.param(0.05, (0, 1), True, 0, 0, 1, False, id="the voice alone has what is like a beat"),
    pytest.param(0.05, (0, 1), False, 0, 0, 0, True, id="nothing tells of a voice"),
    pytest.param(0.05, (0, 0.4), True, 0, 0, 1, False, id="it was broken off"),
    pytest.param(0.05, (0, 0.2), True, 0, 0, 0, False, id="it was broken off early"),
    pytest.param(0.05, (0.6, 1), True, 0, 0, 0, False, id="its beginning is missing"),
    pytest.param(-0.8, (0, 1), True, 0, 0, 1, False, id="it began before the recording"),
    pytest.param(0.05, (0, 0), True, 0, 0, 0, False, id="it never began"),
    pytest.param(0.05, (0, 1), True, 30, 30, 1, True, id="all beats are off the grid"),
    pytest.param(0.05, (0, 1), True, 30, 0, 1, True, id="those under the voice are"),
    pytest.param(0.05, (0, 1), True, 0, 30, 1, True, id="those after it are"),
    pytest.param(0.05, (0, 1), True, 6, 0, 1, True, id="those under it are, by little"),
    pytest.param(0.05, (0, 0.4), True, 6, 0, 1, True, id="those under one that was broken off are"),
])
def test_a_voice_is_taken_out_of_the_recording(tmp_path, start_s, sounds, written, under_ms, after_ms, under, off_grid):
    begins = 1_021_700
    wav = recording(tmp_path, "lost-0.wav", begins, silent_until=begins + 300, seconds=6)
    sound, _ = soundfile.read(wav)
    clip, hz = soundfile.read(HERE.parents[1] / "sounds/en-US/chk_over.wav")
    clip = resample_poly(clip, RATE, hz)
    start = round(start_s * RATE)
    end = start + len(clip)
    shifted = [np.roll(sound, round(ms * RATE / 1000)) for ms in (under_ms, after_ms)]
    # Under a voice a beat is 8 dB down: at full loudness, of which this recording has half, 0.4 of it.
    sound = np.concatenate([0.8 * shifted[0][:end], shifted[1][end:]])
    spoken = np.zeros(len(clip))
    part = slice(*(round(share * len(clip)) for share in sounds))
    spoken[part] = 0.8 * clip[part]
    sound[max(0, start):end] += spoken[max(0, -start):]
    soundfile.write(wav, np.clip(sound, -1, 1), RATE, subtype="PCM_16")
    row = {**ROWS[0], "wav": wav, "opened_ms": begins, "heard_from_ms": begins, "said_back_ms": begins + 4000,
           "marked_ms": []}
    at = 21_700 + round(1000 * start_s)
    voice = {"cue": 1, "kind": "voice", "id": "chk_over", "due_ms": at, "start_ms": at,
             "len_ms": round(1000 * len(clip) / RATE)}
    lines = [one for one in LINES if one["ev"] != "flag"]
    if written:
        lines += [line("cue", at + 1_000_000, **voice, outcome=outcome) for outcome in ("asked", "spoken")]
    code, out = judged(tmp_path, lines, [row])
    assert code == int(off_grid), out
    assert ("off the grid, allowed 5" in out) == off_grid, out
    assert json.loads(out.splitlines()[-1])["under_a_voice"] == under, out
