"""The cases that are played in the window: few touches, every event, and a list of sounds that a second
calculation agrees with and that the judge holds a recording to."""
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from cases import Case
from cases_marks import OF_TOUCH, compare_marks, marks_of
from expected import expected
from judge_case import BEAT_KINDS, CASES, LIFE_EVERY, every, expected_sounds, hear, judge
from onsets import RATE, load_clips, load_tones

ROOT = Path(__file__).resolve().parents[2]
PROTOCOL = ROOT / "src-tauri/crates/cycle/protocols/example-adult.toml"
MANIFEST = ROOT / "sounds/en-US/manifest.json"
CLIP_MS = {c["id"]: c["ms"] for c in json.loads(MANIFEST.read_text(encoding="utf-8"))["clips"]}
# The project's own limit for the reference case; no source.
MOST_TAPS = 65
# The page's clock at the Start touch, and how long a finger lies: any numbers.
PAGE, AGE, HELD = 70_000.0, 120, 1_700
NAMES = sorted(CASES)
OWN = sorted(OF_TOUCH)


def touches_of(taps):
    """As the page would tell them, had the crew pressed at the second."""
    out = []
    for tap in taps:
        if tap.name != "More":
            down = PAGE + 1_000 * tap.at_s
            held = HELD if tap.name == "Hold to End" else AGE
            out.append({"name": tap.name, "down": down, "up": down + held})
    return out


def played(name):
    taps, sounds_of = CASES[name]
    touches = touches_of(taps)
    c = Case(taps, touches, CLIP_MS)
    return taps, touches, c, sounds_of(c)


def listed(name):
    """Every sound of a case's list: (kind, prompt, ms on the page)."""
    taps, _, c, sounds = played(name)
    out = [(kind, None, at) for kind, at, _ in expected_sounds(sounds)]
    out += [("life", None, at) for at in every(LIFE_EVERY, sounds.lives)]
    out += [(kind, None, at) for kind, at in sounds.tones]
    out += [("receipt", None, c.T(tap.alias)) for tap in taps if tap.makes == "mark"]
    out += [("voice", prompt, at) for prompt, at in sounds.voices]
    return sorted(out, key=lambda s: s[2])


@pytest.mark.parametrize("name", NAMES)
def test_touches_come_in_order_with_room_between_them(name):
    times = [tap.at_s for tap in CASES[name][0] if tap.name != "More"]
    assert times == sorted(times)
    assert all(b - a >= 0.9 for a, b in zip(times, times[1:], strict=False))
    aliases = [tap.alias for tap in CASES[name][0]]
    assert len(aliases) == len(set(aliases))
    assert sum(tap.at_s == 0 for tap in CASES[name][0]) == 1


def test_the_reference_case_needs_few_touches_and_has_every_event():
    taps = CASES["reference-35"][0]
    assert len(touches_of(taps)) <= MOST_TAPS
    assert taps[-1].at_s > 2_100
    left = [(ev, *d.values()) for _, ev, d in marks_of("reference-35", taps)]
    for event in (("arrest", "reported"), ("pads", True), ("shock", False, "us"), ("no_shock",), ("drug", "adrenaline"),
                  ("fit", "open_on"), ("compr_stop", "device_fit"), ("airway", "in", "sga"), ("move", "begin"),
                  ("move", "set_down"), ("cup", "reseat"), ("times", "left_scene"), ("power", "swap_begin"),
                  ("power", "swap_end"), ("rosc",), ("amend", "retract", "mis_tap"), ("compr_stop", "device_fault"),
                  ("rearrest", "manual"), ("end", "handed_over")):
        assert event in left, event
    assert left.count(("compr_stop", "device_fit")) == 3
    assert left.count(("rosc",)) == 2
    names = [tap.name for tap in taps]
    assert names.index("Handed Over") < names.index("Hand Over") < names.index("Make Ready")


@pytest.mark.parametrize("name", OWN)
def test_a_second_calculation_finds_the_same_sounds(name, tmp_path):
    """`expected.py` works them out from the marks; the list was written from the taps."""
    taps, _, c, _ = played(name)
    zero = c.D("start")
    marks = [{"at_s": (c.T("start") - zero) / 1_000, "ev": "start", "d": {"way": "earlier"}}]
    for alias, ev, d in marks_of(name, taps):
        target = {"target": "last"} if ev == "amend" else {}
        marks.append({"at_s": (c.T(alias) - zero) / 1_000, "ev": ev, "d": d | target,
                      "age_ms": int(c.T(alias) - c.D(alias))})
    script = tmp_path / "script.json"
    script.write_text(json.dumps({"name": "invented", "marks": marks, "end_s": marks[-1]["at_s"] + 2}))
    other = [(s["kind"], s.get("id"), s["at_frame"] / 48 + zero) for s in expected(script, PROTOCOL, MANIFEST)]
    # A held End is no mark: the calculation knows nothing of it.
    own = [s for s in listed(name) if s[1] != "hold_end"]
    left = list(own)
    for kind, prompt, at in other:
        near = [s for s in left if s[:2] == (kind, prompt) and abs(s[2] - at) <= 1]
        assert near, f"the list lacks {prompt or kind} at {(at - zero) / 1_000:.3f} s"
        left.remove(near[0])
    assert [(k, p, (at - zero) / 1_000) for k, p, at in left] == []


# A recording as the list has it, told without sound


def heard_as(sounds, zero):
    """What a listener would tell of exactly these sounds."""
    tones = [{"kind": kind, "at": (at - zero) * RATE / 1_000, "gain": 1.0}
             for kind, prompt, at in sounds if prompt is None]
    voices = [{"id": prompt, "at_s": (at - zero) / 1_000, "end_s": (at - zero + CLIP_MS[prompt]) / 1_000,
               "score": 0.95, "other": "undo", "other_score": 0.3}
              for _, prompt, at in sounds if prompt is not None]
    return {"tones": tones, "voices": voices}


def begins(sounds):
    return next(at for kind, _, at in sounds if kind in BEAT_KINDS)


def first(sounds, kind, prompt=None, skip=0):
    return [s for s in sounds if s[0] == kind and (prompt is None or s[1] == prompt)][skip]


def spoilt(sounds):
    """Every way of being wrong, and what must be said of it."""
    beat, breath = first(sounds, "beat", skip=40), first(sounds, "breath", skip=7)
    voice, receipt = first(sounds, "voice", "cup_down"), first(sounds, "receipt", skip=5)
    lost = first(sounds, "voice", "dev_stop")

    def moved(one, ms):
        return [(k, p, at + ms) if (k, p, at) == one else (k, p, at) for k, p, at in sounds]

    yield [s for s in sounds if s != beat], "missing: beat"
    yield [s for s in sounds if s != breath], "missing: breath"
    yield [s for s in sounds if s != lost], "missing: voice dev_stop"
    yield [s for s in sounds if s != receipt], "missing: receipt"
    yield moved(beat, 30), "beat at"
    yield moved(beat, 8), "off its segment's grid"
    yield moved(breath, -30), "breath at"
    yield moved(voice, 150), "voice cup_down at"
    yield moved(receipt, 150), "receipt at"
    yield [*sounds, ("beat", None, beat[2] + 250)], "extra: beat"
    yield [*sounds, ("breath", None, breath[2] + 2_500)], "extra: breath"
    yield [*sounds, ("voice", "off20", voice[2] + 4_000)], "extra: voice off20"
    yield [*sounds, ("attention", None, beat[2] + 100)], "extra: attention"
    yield [*sounds, ("life", None, beat[2] + 250)], "extra: life"
    yield [("voice", "cup_now", s[2]) if s == voice else s for s in sounds], "is cup_now, not cup_down"


@pytest.mark.parametrize("name", NAMES)
def test_a_recording_as_the_list_has_it_passes(name):
    _, touches, _, _ = played(name)
    sounds = listed(name)
    faults, figures = judge(name, heard_as(sounds, begins(sounds)), 1.0, touches)
    assert faults == []
    assert figures["beats"] > 100
    assert figures["beat_from_tap_worst_ms"] < 0.01


@pytest.mark.parametrize("name", NAMES)
def test_each_fault_is_told(name):
    _, touches, _, _ = played(name)
    sounds = listed(name)
    for other, word in spoilt(sounds):
        faults, _ = judge(name, heard_as(sorted(other, key=lambda s: s[2]), begins(sounds)), 1.0, touches)
        assert any(word in fault for fault in faults), (word, faults)
        assert len(faults) <= 2, (word, faults)


@pytest.mark.parametrize("name", OWN)
def test_a_life_tone_by_itself_is_held_to_its_moment(name):
    _, touches, _, sounds = played(name)
    all_of_them = listed(name)
    zero = begins(all_of_them)
    _, figures = judge(name, heard_as(all_of_them, zero), 1.0, touches)
    alone, of = map(int, figures["life_tones_alone"].split(" of "))
    assert of == len(every(LIFE_EVERY, sounds.lives))
    assert alone >= 2
    silent = [s for s in all_of_them if s[0] != "life"]
    faults, _ = judge(name, heard_as(silent, zero), 1.0, touches)
    assert len(faults) == alone


def test_a_touch_that_the_case_does_not_have_is_told():
    taps, touches, _, _ = played("three-minutes")
    for wrong in (touches[:-1], [*touches, touches[-1]], [touches[1], touches[0], *touches[2:]]):
        with pytest.raises(SystemExit):
            Case(taps, wrong, CLIP_MS)
    # A key that lies on the first page of the sheet needs no way to its own.
    shorter = [t for t in touches if t["name"] != "Drugs, Airway"]
    assert Case(taps, shorter, CLIP_MS).T("epi") == Case(taps, touches, CLIP_MS).T("epi")


def test_marks_that_the_keys_do_not_make_are_told():
    taps = CASES["three-minutes"][0]
    lines = [{"src": "button", "ev": ev, "d": dict(d)} for _, ev, d in marks_of("three-minutes", taps)]
    auto = {"src": "auto", "ev": "heartbeat", "d": {}}
    assert compare_marks("three-minutes", taps, [auto, *lines]) == []
    other = [dict(line, d={"reason": "unknown"}) if line["ev"] == "compr_stop" else line for line in lines]
    assert any("off_1" in fault for fault in compare_marks("three-minutes", taps, other))
    assert compare_marks("three-minutes", taps, lines[:-1])


# The same through sound itself


@pytest.fixture(scope="module")
def shapes():
    return load_tones(ROOT / "sounds/tones"), load_clips(ROOT / "sounds/en-US")


def mixed(sounds, zero, shapes, path):
    """A recording of these sounds, the tones 8 dB down under a voice."""
    tones, clips = shapes
    lead = 2 * RATE
    placed = [(kind, prompt, lead + round((at - zero) * RATE / 1_000)) for kind, prompt, at in sounds]
    length = max(n for _, _, n in placed) + 4 * RATE
    gain, beats, speech = np.ones(length), np.zeros(length), np.zeros(length)
    for _, prompt, n in placed:
        if prompt is not None:
            gain[n:n + len(clips[prompt])] = 10 ** (-8 / 20)
    for kind, prompt, n in placed:
        into, shape = (beats, tones[kind]) if prompt is None else (speech, clips[prompt])
        into[n:n + len(shape)] += shape
    soundfile.write(path, np.clip(beats * gain + speech, -1, 1), RATE, subtype="PCM_16")


def test_the_cut_through_sound(shapes, tmp_path):
    _, touches, _, _ = played("three-minutes")
    sounds = listed("three-minutes")
    wav = tmp_path / "cut.wav"
    # Four faults at once, for listening takes long: these are told, and nothing else is.
    beat, breath = first(sounds, "beat", skip=60), first(sounds, "breath", skip=6)
    voice = first(sounds, "voice", "arrest_again")
    other = [s for s in sounds if s not in (beat, breath, voice)]
    other += [("breath", None, breath[2] + 60), ("voice", "off30", beat[2] + 3_000)]
    mixed(sorted(other, key=lambda s: s[2]), begins(sounds), shapes, wav)
    faults, figures = judge("three-minutes", *hear(wav), touches)
    for word in ("missing: beat at", "+60.0 ms off", "missing: voice arrest_again", "extra: voice off30"):
        assert any(word in fault for fault in faults), (word, faults)
    assert len(faults) == 4, faults
    assert figures["grid_worst_ms"] < 1
