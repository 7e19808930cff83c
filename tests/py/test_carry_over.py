"""The times to carry over, against a table worked out by hand from the run of export_run.py."""
import csv
import io
import json
from pathlib import Path

import pytest
from export_run import MARKS, carrybeat, exported, header, record

GOLDEN = Path(__file__).parent / "golden/carry-over.csv"


def table(folder, *more, marks=None, head=None, name="run"):
    text = record(marks, head)
    out = exported(folder, "carry-over", *more, text=text, name=name)
    return list(csv.DictReader(io.StringIO((out / "carry-over.csv").read_text(encoding="utf-8"))))


def values(rows, element):
    return [(row["code"], row["value"], row["time"]) for row in rows if row["element"] == element]


def test_the_table_is_the_one_worked_out_by_hand(tmp_path):
    out = exported(tmp_path, "carry-over")
    with (out / "carry-over.csv").open(encoding="utf-8", newline="") as file:
        text = file.read()
    assert text.replace("\r\n", "\n") == GOLDEN.read_text(encoding="utf-8")
    about = json.loads((out / "metadata.json").read_text(encoding="utf-8"))
    assert about["carrybeat:kind"] == "test" and about["carrybeat:basis"] == {"as": "amended", "revision": 0,
                                                                             "unsealed": 0}
    assert [c["name"] for c in about["tableSchema"]["columns"]] == text.splitlines()[0].split(",")


# Crew only, by the rules of the standard's export: an end, a first compression and a shock answer none of them.
@pytest.mark.parametrize("element", ["eArrest.01", "eArrest.02", "eArrest.04", "eArrest.07", "eArrest.20",
                                     "eArrest.21", "eArrest.22"])
def test_what_only_the_crew_knows_is_never_worked_out(tmp_path, element):
    marks = [m for m in MARKS if m[1] != "prior_care"]
    rows = table(tmp_path, marks=marks)
    assert values(rows, element) == [("", "", "")]
    assert [r["to_confirm"] for r in rows if r["element"] == element] == ["Only the crew knows: fill it in"]


BASE = [(0, "compr_start", {"by": "manual"}), (60, "compr_stop", {"reason": "pulse_check"})]


@pytest.mark.parametrize("marks, expected", [
    # Circulation of 30 s counts for nothing, of 30.001 s for one; 20 minutes to the millisecond are sustained.
    ([(62, "rosc", {}), (92, "rearrest", {"by": "manual"}), (200, "end", {"outcome": "stopped"})], ["3012001"]),
    ([(62, "rosc", {}), (92.001, "rearrest", {"by": "manual"}), (200, "end", {"outcome": "stopped"})], ["3012005"]),
    ([(62, "rosc", {}), (1261.999, "rearrest", {"by": "manual"}), (1300, "end", {"outcome": "stopped"})],
     ["3012005"]),
    ([(62, "rosc", {}), (1262, "rearrest", {"by": "manual"}), (1300, "end", {"outcome": "stopped"})],
     ["3012005", "3012007"]),
    # Present at hand-over; after arrival it was not before it.
    ([(62, "rosc", {}), (200, "end", {"outcome": "handed_over"})], ["3012003", "3012005"]),
    ([(61, "times", {"which": "at_destination"}), (62, "rosc", {}), (200, "end", {"outcome": "handed_over"})],
     ["3012003"]),
    # None in a whole run; a run without an end does not say.
    ([(70, "end", {"outcome": "stopped"})], ["3012001"]),
    ([(70, "compr_start", {"by": "manual"})], [""]),
])
def test_circulation_counts_by_its_length_and_place(tmp_path, marks, expected):
    rows = table(tmp_path, marks=BASE + marks)
    assert [code for code, _, _ in values(rows, "eArrest.12")] == expected


@pytest.mark.parametrize("marks, why, how, when", [
    ([(70, "end", {"outcome": "stopped", "reason": "medical_control"})], "3016003", "3018003", "08:31:10"),
    ([(70, "end", {"outcome": "stopped", "reason": "3016009"})], "3016009", "3018003", "08:31:10"),
    ([(70, "end", {"outcome": "stopped", "reason": "a_code_of_ours"})], "", "3018003", "08:31:10"),
    ([(61, "why", {"reason": "stop_care"}), (90, "end", {"outcome": "stopped"})], "", "3018003", "08:31:00"),
    ([(62, "rosc", {}), (200, "end", {"outcome": "rosc"})], "3016011", "3018007", "08:31:00"),
    ([(65, "times", {"which": "at_destination"}), (70, "end", {"outcome": "handed_over"})], "", "3018005", None),
    # To whom is not said, and what happens in a hospital has codes that no mark tells apart.
    ([(70, "end", {"outcome": "handed_over"})], "", "", None),
    ([(65, "times", {"which": "at_destination"}), (70, "end", {"outcome": "stopped"})], "", "", "08:31:10"),
])
def test_the_end_has_the_codes_of_the_rules(tmp_path, marks, why, how, when):
    rows = table(tmp_path, marks=BASE + marks)
    assert [code for code, _, _ in values(rows, "eArrest.16")] == [why]
    assert [code for code, _, _ in values(rows, "eArrest.18")] == [how]
    assert [time for _, _, time in values(rows, "eArrest.15")] == ([when] if when else [])


@pytest.mark.parametrize("kind, code", [("band", "3009003"), ("piston", "3009005"), ("piston_arm", "3009007"),
                                        ("other", "3009011"), (None, "")])
def test_a_device_has_the_code_of_its_kind_and_no_other(tmp_path, kind, code):
    d = {"by": "mechanical", **({"mech_kind": kind} if kind else {})}
    rows = table(tmp_path, marks=[(0, "compr_start", d)])
    assert [c for c, _, _ in values(rows, "eArrest.09")] == [code]


@pytest.mark.parametrize("marks, expected", [
    ([(1, "breath_mode", {"mode": "ratio", "ratio": "30:2", "via": "mask"})], ["3009001", "3009009"]),
    # A prompt or a mode is no breath; a breath without a way has no code of its own.
    ([(1, "breath_mode", {"mode": "continuous", "via": "sga"})], ["3009001"]),
    ([(1, "breath_mode", {"mode": "continuous", "via": "sga"}), (9, "vent", {"n": 1})], ["3009001", "3009025"]),
    ([(9, "vent", {"n": 1})], ["3009001", ""]),
])
def test_breaths_count_only_where_they_were_marked(tmp_path, marks, expected):
    rows = table(tmp_path, marks=[(0, "compr_start", {"by": "manual"}), *marks])
    assert [c for c, _, _ in values(rows, "eArrest.09")] == expected
    assert bool([1 for c, _, _ in values(rows, "eArrest.03") if c == "3003003"]) == any(m[1] == "vent" for m in marks)


def test_as_recorded_and_as_amended_differ_in_time_and_source(tmp_path):
    # Line 5 of the file is the drug: header, protocol, start, compressions, drug is 4.
    marks = [(0, "compr_start", {"by": "manual"}), (60, "drug", {"drug": "adrenaline"}, 60, "voice"),
             (90, "amend", {"target": 4, "op": "retime", "at_ms": 50000, "reason": "crew_recall"})]
    amended = [r for r in table(tmp_path, marks=marks) if r["element"] == "eMedications.01"]
    recorded = [r for r in table(tmp_path, "--as-recorded", marks=marks, name="again")
                if r["element"] == "eMedications.01"]
    assert [(r["time"], r["source"], r["to_confirm"]) for r in amended] == [("08:30:50", "review", "")]
    assert [(r["time"], r["source"], r["to_confirm"]) for r in recorded] == [
        ("08:31:00", "voice", "Heard as a voice mark")]


def test_clocks_that_do_not_agree_are_both_shown_and_none_is_chosen(tmp_path):
    looks = [(10, "clock_mark", {"ref": "monitor", "shown": "08:30:20", "precision_s": 1}),
             (70, "clock_mark", {"ref": "monitor", "shown": "08:31:25", "precision_s": 1}),
             (80, "clock_mark", {"ref": "wall", "shown": "08:31:19"})]
    rows = table(tmp_path, marks=[*BASE[:1], *looks])
    assert {r["other_clocks"] for r in rows if r["time"]} == {
        "Monitor clock +10.000 s to +11.000 s / +15.000 s to +16.000 s; Wall clock -1.000 s to +0.000 s"}
    # Two looks that agree: the interval that both allow.
    looks = [(10, "clock_mark", {"ref": "monitor", "shown": "08:30:20", "precision_s": 60}),
             (70, "clock_mark", {"ref": "monitor", "shown": "08:31:50", "precision_s": 60})]
    rows = table(tmp_path, marks=[*BASE[:1], *looks], name="agree")
    assert {r["other_clocks"] for r in rows if r["time"]} == {"Monitor clock +40.000 s to +70.000 s"}


def test_a_service_brings_its_own_codes_of_procedures(tmp_path):
    # Invented numbers: the code system needs a licence.
    own = tmp_path / "codes.csv"
    own.write_text("# ours\ncompressions_by_hand,1000001\nshock_manual,1000002\n", encoding="utf-8")
    rows = table(tmp_path, "--procedure-codes", own)
    codes = [c for c, _, _ in values(rows, "eProcedures.03")]
    assert codes == ["1000001", "1000002", "", "", ""]
    own.write_text("shocks,1000001\nshock,12345\nshock,1000001\nshock,1000002\n", encoding="utf-8")
    done = carrybeat("export", tmp_path / "run.rec.jsonl", "--to", "carry-over", "--out", tmp_path / "new",
                     "--procedure-codes", own)
    assert done.returncode == 1 and not (tmp_path / "new").exists()
    for said in ("line 1: procedure shocks, allowed: compressions_by_hand,", "line 2: code 12345, allowed: 6 to 18",
                 "line 4: shock is there twice"):
        assert said in done.stderr, done.stderr


def test_a_drill_says_that_it_is_one(tmp_path):
    out = exported(tmp_path, "carry-over", text=record(head=header(kind="drill")))
    assert json.loads((out / "metadata.json").read_text(encoding="utf-8"))["carrybeat:kind"] == "drill"
