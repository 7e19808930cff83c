"""The judge of a run judged: a made run that keeps the rules, and each rule broken once."""
import alarm
import course
import hear
import level
import numpy as np
import pytest
from house import load_pack, load_tones
from scipy.signal import resample_poly

RATE = course.RATE
PERIOD = 60_000 / 110
SECONDS = 45
SPOKEN = (("chk_30", 10.0), ("drug_due", 20.3), ("undo", 33.1), ("chk_now", 38.0))


@pytest.fixture(scope="module")
def tones():
    return load_tones()


@pytest.fixture(scope="module")
def clips():
    return {n: c.sound for n, c in load_pack("en-US").items()}


@pytest.fixture(scope="module")
def sound_of(tones, clips):
    """The run as a mixer would give it; what is passed goes wrong in it."""
    def make(per_minute=110, moved=None, without=(), duck_db=8, release_s=0.12, late_s=0.0, other=None, voice_db=0.0,
             extra=None, added=None):
        out = np.zeros(SECONDS * RATE)
        duck = np.zeros(SECONDS * RATE)
        for name, at in SPOKEN:
            clip = resample_poly(clips[other if other and name == "undo" else name], 2, 1) * 10 ** (voice_db / 20)
            start = int((at + (late_s if name == "undo" else 0)) * RATE)
            out[start:start + len(clip)] += clip
            down = np.interp(np.arange(len(clip) + int(release_s * RATE)),
                             [0, 0.015 * RATE, len(clip), len(clip) + release_s * RATE], [0, 1, 1, 0])
            duck[start:start + len(down)] = np.maximum(duck[start:start + len(down)], down)
        gain = 10 ** (-duck_db * duck / 20)
        exact = [("beat", 25 + n * PERIOD) for n in range(int((SECONDS - 1) * 110 / 60))]
        for n, (_, _when) in enumerate(exact):
            if n in without:
                continue
            at = int((25 + n * 60_000 / per_minute) * 48) + (moved or {}).get(n, 0)
            out[at:at + len(tones["beat"])] += tones["beat"] * gain[at:at + len(tones["beat"])]
        if extra:
            out[int(extra * RATE):][:len(tones["beat"])] += tones["beat"]
        if added is not None:
            out[15 * RATE:15 * RATE + len(added)] += added
        return out, exact
    return make


@pytest.fixture(scope="module")
def faults_of(sound_of, tones, clips):
    from house import Rows

    def judged(**wrong):
        sound, exact = sound_of(**wrong)
        cues = [{"kind": "voice", "id": name, "at_s": at, "at_frame": int(at * RATE),
                 "len_s": len(clips[name]) / 24_000} for name, at in SPOKEN]
        lines = [{"ev": "cue", "d": {"kind": "voice", "id": name, "due_ms": round(at * 1000), "start_ms": round(at * 1000),
                                     "outcome": "spoken"}} for name, at in SPOKEN]
        heard = hear.Heard(sound)
        hear.find_voices(heard, cues, clips, compare="other" in wrong)
        heard.left = heard.rest.copy()
        hear.find_tones(heard, tones)
        rows = Rows()
        allowed = {name: [at * 1000] for name, at in SPOKEN}
        course.judge(rows, "run", heard, exact, allowed, cues, lines, tones, clips)
        # How long a run is, and how much is said in it, is not this one's matter.
        # The made run has no limiter.
        short = ("true peak of the run", "beats of the run", "prompts in the fullest minute with 90 beats or more", "beats under speech",
                 "stretches that this was measured in")
        return {(r["rule"], r["what"]) for r in rows.rows if r["faults"] and r["what"] not in short}
    return judged


def test_a_run_that_keeps_the_rules_has_no_fault(faults_of):
    assert faults_of() == set()


@pytest.mark.parametrize(("wrong", "fault"), [
    ({"per_minute": 110.004}, (1, "rate over the run less 110")),
    ({"per_minute": 110.004}, (1, "rate over any 30 s, off by")),
    ({"moved": {60: 2}}, (2, "beats outside speech, off by")),
    ({"moved": {19: 2}}, (2, "beats under speech, off by")),
    ({"without": {44}}, (2, "beats missing")),
    ({"without": {19}}, (3, "beats missing under speech")),
    ({"extra": 15.2}, (2, "beats too many")),
    ({"duck_db": 5}, (3, "stepped back by, from 20 ms after a voice begins")),
    ({"duck_db": 11}, (3, "stepped back by, from 20 ms after a voice begins")),
    ({"release_s": 0.6}, (3, "from full height, from 150 ms after a voice ends")),
    ({"added": alarm.made_up("medium", RATE)}, (7, "patterns of an alarm")),
    ({"added": alarm.made_up("high", RATE)}, (7, "patterns of an alarm")),
    ({"added": 0.05 * np.sin(np.arange(RATE) * 0.3)}, (7, "what nobody has named, outside speech")),
    ({"voice_db": -6}, (14, "voice over the ducked beat")),
    ({"late_s": 0.15}, (17, "from the run's decision to the voice")),
    ({"other": "still"}, (17, "voices that are not the clip that was meant")),
])
def test_each_rule_is_seen_broken(faults_of, wrong, fault):
    assert fault in faults_of(**wrong)


def test_a_voice_that_does_not_sound_is_missing(clips):
    heard = hear.Heard(np.zeros(5 * RATE))
    hear.find_voices(heard, [{"kind": "voice", "id": "undo", "at_frame": RATE, "len_s": 1.0}], clips, True)
    assert heard.missing == ["voice undo at 1.000 s"]


def test_a_voice_that_is_broken_off_ends_where_it_does(clips):
    clip = resample_poly(clips["drug_due"], 2, 1)
    sound = np.zeros(4 * RATE)
    sound[RATE:][:RATE // 2] = clip[:RATE // 2]
    sound[RATE + RATE // 2:][:480] = clip[RATE // 2:][:480] * np.linspace(1, 0, 480)
    heard = hear.Heard(sound)
    hear.find_voices(heard, [{"kind": "voice", "id": "drug_due", "at_frame": RATE, "len_s": 1.18}], clips, True)
    assert heard.voices[0].length == pytest.approx(RATE / 2, abs=0.005 * RATE)
    assert level.db(np.sqrt(np.mean(heard.rest[RATE:2 * RATE] ** 2))) < -40


def test_timed_prompts_are_late_from_100_ms_on(clips):
    from house import Rows
    heard = hear.Heard(np.zeros(RATE))
    heard.voices = [hear.Voice("chk_30", 10.12 * RATE, 1.0, "", 0.0, RATE)]
    cues = [{"kind": "voice", "id": "chk_30", "at_s": 10.12, "at_frame": int(10.12 * RATE), "len_s": 1.0}]
    lines = [{"ev": "cue", "d": {"kind": "voice", "id": "chk_30", "due_ms": 10_000, "start_ms": 10_120, "outcome": "spoken"}}]
    rows = Rows()
    course.lateness(rows, "run", heard, {"chk_30": [10_120.0]}, cues, lines, clips)
    assert {r["what"] for r in rows.rows if r["faults"]} == {"timed prompts, from due to the clip", "the same, to the first word"}


LET_BEGIN = "the same, from when the rules let them begin"
NOT_SAID = "timed prompts that the rules let begin, and that do not"


@pytest.mark.parametrize(("begins", "allowed", "faults"), [
    # In step with the end of the spacing, and 20 s late all the same.
    (30_000, {"chk_now": [8_000.0], "drug_late": [30_000.0]}, set()),
    (30_099, {"chk_now": [8_000.0], "drug_late": [30_000.0]}, set()),
    # Held on after the rules let it begin, before they do, and one that they do not ask for.
    (30_101, {"chk_now": [8_000.0], "drug_late": [30_000.0]}, {LET_BEGIN, NOT_SAID}),
    (29_998, {"chk_now": [8_000.0], "drug_late": [30_000.0]}, {LET_BEGIN}),
    (30_000, {"chk_now": [8_000.0]}, {LET_BEGIN}),
    (30_000, {"chk_now": [8_000.0], "drug_late": [30_000.0], "off20": [20_000.0]}, {NOT_SAID}),
])
def test_a_prompt_that_a_rule_made_wait_is_late_from_100_ms_after_the_rule_lets_it(clips, begins, allowed, faults):
    from house import Rows
    heard, cues, lines = hear.Heard(np.zeros(RATE)), [], []
    for name, due, start in (("chk_now", 8_000, 8_000), ("drug_late", 10_000, begins)):
        heard.voices.append(hear.Voice(name, start * RATE / 1000, 1.0, "", 0.0, RATE))
        cues.append({"kind": "voice", "id": name, "at_s": start / 1000, "at_frame": start * RATE // 1000, "len_s": 1.0})
        lines.append({"ev": "cue", "d": {"kind": "voice", "id": name, "due_ms": due, "start_ms": start, "outcome": "spoken"}})
    lines.append({"ev": "cue", "d": {"kind": "voice", "id": "drug_late", "due_ms": 10_000, "start_ms": 10_000,
                                     "outcome": "held"}})
    rows = Rows()
    course.lateness(rows, "run", heard, allowed, cues, lines, clips)
    assert {r["what"] for r in rows.rows if r["faults"]} == faults


def test_the_run_peak_is_a_true_peak():
    sine = 0.99 * np.sin(np.pi / 2 * np.arange(4800) + np.pi / 4) * np.hanning(4800)
    loud = np.concatenate([np.zeros(4800), 1.25 * sine])
    assert course.run_peak(loud) == pytest.approx(level.db(0.99 * 1.25), abs=0.1)
