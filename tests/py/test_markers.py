"""Marker strings planted wherever a free word can enter a record: which export lets which of them out."""
import pytest
from export_run import MARKS, RECORD_ID, exported, header, record

# Where a word of somebody's own can stand in a record, and the marker that is planted there.
WORDS = {"unit_code": "marker_unit", "tz": "Marker/Zone", "protocol_id": "marker_protocol", "scenario": "marker_scene",
         "build": "marker_build", "model": "marker_model", "os": "marker_os", "pack": "marker_pack", "note": "marker_note",
         "drug": "marker_drug", "told_drug": "marker_told", "answer": "marker_answer", "reason": "marker_reason",
         "technique": "marker_technique", "site": "marker_site", "step": "marker_step", "why": "marker_why",
         "refused": "marker_refused", "file": "marker_file", "folder": "marker_folder", "boot": "a-boot",
         "record_id": RECORD_ID}
# What docs/exports.md says of each export; the raw record is the record.
LETS_OUT = {
    "deidentified": set(),
    "csv": {"unit_code", "protocol_id", "drug", "told_drug", "refused", "record_id"},
    "parquet": {"unit_code", "protocol_id", "drug", "told_drug", "refused", "record_id"},
    "carry-over": {"drug", "told_drug"},
    "fhir": {"drug", "told_drug", "record_id"},
    "nemsis": set(),
    "strip": {"drug", "record_id"},
}
# Ours in words: a key's underscores are spaces there.
SPACED = {"carry-over", "fhir", "strip"}


def planted():
    w = WORDS
    head = header(unit_code=w["unit_code"], tz=w["tz"], scenario={"id": w["scenario"], "version": "1"}, kind="drill",
                  app={"name": "carrybeat", "version": "0.1.0", "build": w["build"]},
                  platform={"os": w["os"], "os_version": w["os"], "model_class": w["model"]})
    head["protocol"]["id"] = w["protocol_id"]
    early = [(80, "fit", {"step": w["step"], "reason": w["why"]}), (81, "fit_refused", {"reason": w["refused"]})]
    marks = sorted([m for m in MARKS if m[1] not in ("prior_care", "end")] + early, key=lambda m: m[0]) + [
        (400, "note", {"code": w["note"]}), (401, "drug", {"drug": w["drug"], "route": "iv"}),
        (402, "prior_care", {"cpr": "bystander", "doses": [{"drug": w["told_drug"], "n": 1, "last_min": 9}]}),
        (403, "decision", {"what": "call_control", "answer": w["answer"]}),
        (404, "airway", {"act": "in", "device": "ett", "technique": w["technique"]}),
        (405, "access", {"kind": "iv", "site": w["site"]}), (406, "fit", {"step": w["step"], "reason": w["why"]}),
        (730, "end", {"outcome": "stopped", "reason": w["reason"]})]
    text = record(marks, head, w["pack"])
    return text.replace('id = \\"example-adult\\"', f'id = \\"{w["protocol_id"]}\\"')


def let_out(place, to):
    files = [place] if place.is_file() else list(place.iterdir())
    text = "\n".join(file.name if file != place else "" for file in files)
    text += "".join(file.read_bytes().decode("utf-8", "replace") for file in files)
    found = set()
    for where, word in WORDS.items():
        if word in text or (to in SPACED and word.replace("_", " ") in text):
            found.add(where)
    return found, text


@pytest.mark.parametrize("to", LETS_OUT)
def test_each_export_lets_out_what_its_page_says_and_nothing_else(tmp_path, to):
    folder = tmp_path / WORDS["folder"]
    folder.mkdir()
    text = planted()
    missing = [w for where, w in WORDS.items() if where not in ("file", "folder") and w not in text]
    assert not missing, missing
    place = exported(folder, to, text=text, name=WORDS["file"])
    found, out = let_out(place, to)
    assert found == LETS_OUT[to]
    if to == "deidentified":
        for gone in ("2026-", "-11-25", "08:3", "-05:00", "monitor", "dispatch", "clock"):
            assert gone not in out, gone
        assert ",2026,adult" in out and "drug_" in out


def test_an_export_is_written_over_nothing(tmp_path):
    from export_run import carrybeat
    for to in LETS_OUT:
        place = exported(tmp_path, to)
        before = place.stat().st_mtime_ns
        again = carrybeat("export", tmp_path / "run.rec.jsonl", "--to", to, "--out", place)
        assert again.returncode == 1 and f"--out {place}" in again.stderr and "allowed: " in again.stderr
        assert place.stat().st_mtime_ns == before
