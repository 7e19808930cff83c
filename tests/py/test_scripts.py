"""The rehearsed cases themselves: how many touches, which events; and that a spoilt list is found out."""
import json
from pathlib import Path

import pytest
from check_prompts import check, hand_list

SCRIPTS = Path(__file__).resolve().parents[2] / "tests/scripts"
CLIP_MS = dict.fromkeys(("off05", "off15", "chk_now", "cup_now", "charge"), 1000)
# The project's own limit for the reference case; no source.
MOST_TAPS = 65


def marks(name):
    return json.loads((SCRIPTS / f"{name}.json").read_text(encoding="utf-8"))["marks"]


def taps(name):
    """A touch is one finger down and up: all its marks have the same two times."""
    return len({(m["at_s"], m.get("age_ms", 0)) for m in marks(name)})


def test_the_reference_case_needs_few_taps_and_has_every_event():
    assert taps("reference-35") <= MOST_TAPS
    had = {(m["ev"], *sorted(str(v) for v in m["d"].values() if isinstance(v, (str, bool))))
           for m in marks("reference-35")}
    kinds = [m["ev"] for m in marks("reference-35")]
    for event in (("start", "earlier"), ("fit", "held"), ("move", "begin", "stairs"),
                  ("cup", "move", "reseat"), ("move", "loaded", "vehicle"), ("times", "left_scene"),
                  ("power", "swap_begin"), ("compr_stop", "device_fault"), ("end", "handed_over"),
                  ("times", "als_arrival"), ("rearrest", "manual"), ("times", "handover")):
        assert event in had, event
    for kind, least in (("shock", 2), ("drug", 1), ("airway", 1), ("rosc", 2), ("amend", 1), ("pads", 1)):
        assert kinds.count(kind) >= least, kind
    assert kinds.index("prior_care") < kinds.index("pads")


@pytest.mark.parametrize("name", ["reference-35", "newborn-10", "child-10", "cold-10", "held-10", "found-5"])
def test_a_case_says_that_it_is_invented_and_every_prompt_has_its_reason(name):
    script = json.loads((SCRIPTS / f"{name}.json").read_text(encoding="utf-8"))
    assert "invented" in script["name"]
    for entry in json.loads((SCRIPTS / f"{name}.prompts.json").read_text(encoding="utf-8"))["prompts"]:
        assert entry["reason"]
        assert (entry["as"] == "held") == ("why" in entry)


def told(path):
    """A record and a cue list that are just what the list says."""
    want, tones = hand_list(path, CLIP_MS)
    lines = [{"ev": "protocol", "d": {"pack": {"clip_ms": CLIP_MS}}}]
    cues = []
    for (prompt, due), (how, begin, why) in want.items():
        kind = {"voice": "voice", "tone": "attention", "held": "voice"}[how]
        d = {"kind": kind, "id": prompt, "due_ms": due, "start_ms": due if begin is None else begin}
        outcome = {"outcome": "held", "why": why} if how == "held" else {"outcome": "spoken"}
        lines.append({"ev": "cue", "d": d | outcome})
        if how != "held":
            cues.append({"kind": kind, "at_frame": 48 * begin} | ({"id": prompt} if how == "voice" else {}))
    for at in tones:
        lines.append({"ev": "cue", "d": {"kind": "attention", "due_ms": at, "start_ms": at, "outcome": "spoken"}})
        cues.append({"kind": "attention", "at_frame": 48 * at})
    return lines, cues


def test_what_the_list_does_not_say_is_found_both_ways():
    path = SCRIPTS / "cold-10.prompts.json"
    lines, cues = told(path)
    assert check(lines, cues, path)[0] == []
    voice = next(c for c in cues if c["kind"] == "voice")
    line = next(n for n in lines if n["d"].get("id") == "drug_due")
    held = next(n for n in lines if n["d"].get("outcome") == "held")
    late = {"ev": "cue", "d": line["d"] | {"start_ms": line["d"]["start_ms"] + 1}}
    for spoilt_lines, spoilt_cues, word in (
            (lines, [c for c in cues if c is not voice], "cue list lacks voice"),
            (lines, [*cues, voice | {"at_frame": 7}], "cue list has more: voice"),
            (lines, [*cues, {"kind": "attention", "at_frame": 7}], "cue list has more: an attention"),
            ([n for n in lines if n is not line], cues, "record lacks drug_due"),
            ([late if n is line else n for n in lines], cues, "record: drug_due"),
            ([n | {"d": n["d"] | {"why": "budget"}} if n is held else n for n in lines], cues, "(budget)"),
            ([*lines, {"ev": "cue", "d": line["d"] | {"due_ms": 7}}], cues, "record has more")):
        faults = check(spoilt_lines, spoilt_cues, path)[0]
        assert any(word in fault for fault in faults), (word, faults)
