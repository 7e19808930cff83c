"""The comparison of a live record with its rehearsal's passes what may differ and finds what may not: records made
here by hand in the record's own form (docs/record.md), then spoilt."""
import copy
import json

import pytest
from compare_records import compare, lines_of, script_of

ZERO = 5_000_000
HEADER = {"schema": "record/1.1.0", "record_id": "a", "kind": "run", "tz": "Etc/UTC", "patient_class": "adult",
          "lang": "en-US", "protocol": {"id": "example-adult"}}


def cue(number, outcome, start, due, **more):
    return ("auto", "cue", start, 0, {"cue": number, "kind": "voice", "due_ms": due, "start_ms": start, "len_ms": 845,
                                      "outcome": outcome} | more)


def score(pattern, start):
    return "auto", "score", start, 0, {"pattern": pattern, "anchor_ms": start, "from_ms": start}


# src, kind, run time, age, fields
RUN = [
    ("auto", "start", 0, 0, {"way": "earlier"}),
    ("button", "arrest", 131, 131, {"basis": "reported"}),
    ("button", "compr_start", 131, 131, {"by": "manual"}),
    score("ratio", 156),
    ("auto", "heartbeat", 10_000, 0, {}),
    cue(0, "asked", 89_500, 90_000, id="chk_30"),
    cue(0, "spoken", 90_030, 90_000, id="chk_30"),
    cue(1, "held", 105_000, 105_000, id="chk_15", why="screen"),
    ("auto", "check_unmarked", 120_000, 0, {"due_ms": 120_000}),
    ("button", "compr_stop", 123_000, 118, {"reason": "rhythm_check"}),
    score("silent", 123_000),
    ("button", "rosc", 126_000, 120, {}),
    ("button", "amend", 127_500, 0, {"target": 13, "op": "retract", "reason": "mis_tap"}),
    ("button", "no_shock", 131_000, 119, {}),
    ("button", "compr_start", 131_000, 119, {"by": "manual"}),
    score("ratio", 131_025),
    cue(2, "asked", 140_000, 140_000, id="hold_end"),
    ("button", "end", 142_000, 120, {"outcome": "handed_over"}),
    ("auto", "seal", 143_000, 0, {"rev": 1, "lines": 20}),
]


def record(entries=RUN, zero=ZERO, **header):
    lines = [{"seq": 0, "ev": "header", "mono_ms": zero, "src": "auto", "d": HEADER | header},
             {"seq": 1, "ev": "protocol", "mono_ms": zero, "src": "auto", "d": {"toml": "x", "pack": {"id": "en-US"}}}]
    for src, ev, at, age, d in entries:
        line = {"seq": len(lines), "ev": ev, "mono_ms": zero + at, "src": src, "d": copy.deepcopy(d)}
        if age:
            line["at"] = {"basis": "back", "back_ms": age}
        lines.append(line)
    return lines


def rehearsed():
    """The same, as a rehearsal tells it: no held End, other ids, the clock exact."""
    entries = [cue(7, "spoken", 90_000, 90_000, id="chk_30") if e[1] == "cue" and e[4]["outcome"] == "spoken"
               else e for e in RUN if e[4].get("id") != "hold_end"]
    entries = [(*e[:4], e[4] | {"cue": 7}) if e[4].get("id") == "chk_30" else e for e in entries]
    entries = [(*e[:4], e[4] | {"lines": 18}) if e[1] == "seal" else e for e in entries]
    return record(entries, zero=0, record_id="b", kind="rehearsal", tz="UTC")


def test_what_may_differ_passes():
    faults, figures = compare(record(), rehearsed())
    assert faults == []
    assert figures["marks"] == 8
    assert figures["began_worst_ms"] == 30


def changed(ev, nth=0, **d):
    """The live record with one line's fields changed."""
    at = [n for n, e in enumerate(RUN) if e[1] == ev][nth]
    return [(*e[:4], e[4] | d) if n == at else e for n, e in enumerate(RUN)]


def moved(ev, nth=0, by=1, age=0):
    at = [n for n, e in enumerate(RUN) if e[1] == ev][nth]
    return [(e[0], e[1], e[2] + by, e[3] + age, e[4]) if n == at else e for n, e in enumerate(RUN)]


@pytest.mark.parametrize(("spoilt", "word"), [
    (changed("compr_stop", reason="unknown"), "mark 3"),
    (moved("compr_stop"), "mark 3"),
    (moved("compr_stop", by=0, age=1), "mark 3"),
    (changed("score", 2, anchor_ms=131_026), "score 3"),
    (changed("score", 1, pattern="ratio"), "score 2"),
    (changed("check_unmarked", due_ms=120_001), "check_unmarked 1"),
    (changed("cue", due_ms=90_001), "chk_30 due 90001"),
    (changed("cue", 1, outcome="late"), "chk_30 due 90000"),
    (changed("cue", 1, start_ms=90_200), "spoken at 90200"),
    (changed("cue", 0, start_ms=89_600), "asked at 89600"),
    (changed("cue", 2, why="moving"), "chk_15 due 105000"),
    (changed("cue", 2, id="charge"), "charge due 105000"),
    ([*RUN[:5], ("auto", "sound", 11_000, 0, {"what": "lost"}), *RUN[5:]], "sound 1"),
    ([*RUN[:5], ("auto", "ignored", 11_000, 0, {"mark": "cup", "why": "no"}), *RUN[5:]], "ignored 1"),
    ([*RUN[:5], *[RUN[4]] * 3, *RUN[5:]], "heartbeat: 4 live"),
    ([e for e in RUN if e[1] != "no_shock"], "mark 6"),
    ([e for e in RUN if e[1] != "check_unmarked"], "check_unmarked 1"),
    ([e for e in RUN if e[4].get("id") != "chk_30"], "chk_30 due 90000"),
    ([*RUN, ("button", "flag", 142_500, 0, {})], "mark 9"),
    ([*RUN[:9], RUN[10], RUN[9], *RUN[11:]], "order of marks and scores 4"),
])
def test_each_difference_is_told(spoilt, word):
    # The amendment's target is a line's number: it is told anew where lines were put in or left out.
    seq = 2 + next(n for n, e in enumerate(spoilt) if e[1] == "rosc")
    spoilt = [(*e[:4], e[4] | {"target": seq}) if e[1] == "amend" else e for e in spoilt]
    faults, _ = compare(record(spoilt), rehearsed())
    assert any(fault.startswith(word) or word in fault for fault in faults), faults


def test_header_and_protocol_are_compared():
    faults, _ = compare(record(protocol={"id": "example-adult-b"}), rehearsed())
    assert any("header: protocol" in fault for fault in faults)
    other = rehearsed()
    other[1]["d"]["toml"] = "y"
    assert any("protocol line: toml" in fault for fault in compare(record(), other)[0])


def test_a_script_tells_the_marks_and_what_was_taken_back(tmp_path):
    path = tmp_path / "live.rec.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in record()), encoding="utf-8")
    assert lines_of(path)[0]["ev"] == "header"
    script = script_of(path)
    assert script["protocol"] == "example-adult"
    told = [(m["at_s"], m.get("age_ms", 0), m["ev"]) for m in script["marks"]]
    assert told[:3] == [(0.131, 0, "start"), (0.131, 131, "arrest"), (0.131, 131, "compr_start")]
    assert (127.5, 0, "amend") in told
    assert script["marks"][5]["d"]["target"] == "last"
    assert script["end_s"] > 142


def test_undo_of_two_marks_is_one_act_and_an_older_one_has_its_place(tmp_path):
    undone = {"op": "retract", "reason": "mis_tap"}
    entries = [*RUN[:3],  # lines 2, 3, 4
               ("button", "shock", 20_000, 100, {"timed": False}),  # 5
               ("button", "compr_start", 20_000, 100, {"by": "manual"}),  # 6
               ("button", "amend", 22_000, 0, {"target": 5} | undone),
               ("button", "amend", 22_000, 0, {"target": 6} | undone),
               ("button", "flag", 30_000, 100, {}),  # 9
               ("button", "pads", 31_000, 100, {"connected": True}),  # 10
               ("button", "amend", 33_000, 0, {"target": 9} | undone),
               ("button", "amend", 34_000, 0, {"target": 10, "op": "retime", "at_ms": 5, "reason": "late_entry"})]
    path = tmp_path / "live.rec.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in record(entries)), encoding="utf-8")
    targets = [m["d"]["target"] for m in script_of(path)["marks"] if m["ev"] == "amend"]
    # The script's marks: start, arrest, compr_start, shock, compr_start, amend, flag, pads.
    assert targets == ["last", "#7", "#8"]
