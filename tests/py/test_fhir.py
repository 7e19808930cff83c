"""The FHIR bundle, by two validators and by what was marked."""
import json
import shutil
import subprocess
from collections import Counter

import pytest
from export_run import MARKS, RECORD_ID, ROOT, exported, header, measured, record
from fhir.resources.R4B.bundle import Bundle
from pydantic import ValidationError

OPEN = {"http://loinc.org", "http://www.nlm.nih.gov/research/umls/rxnorm", "http://unitsofmeasure.org",
        "http://terminology.hl7.org/CodeSystem/v3-ActCode", "http://terminology.hl7.org/CodeSystem/v3-ActReason"}


def bundle(folder, *more, text=None, name="run"):
    out = exported(folder, "fhir", *more, text=text, name=name)
    return json.loads((out / "bundle.json").read_text(encoding="utf-8"))


def of(made, kind):
    return [e["resource"] for e in made["entry"] if e["resource"]["resourceType"] == kind]


def checked(folder, made):
    """What FHIR.js finds wrong; it knows the required code lists, which the other validator does not."""
    assert shutil.which("node"), "node is missing: run.sh installs it"
    package = ROOT / "tests/js"
    if not (package / "node_modules/fhir").exists():
        subprocess.run(["npm", "ci", "--loglevel=error"], cwd=package, check=True)
    place = folder / "check.json"
    place.write_text(json.dumps(made), encoding="utf-8")
    done = subprocess.run(["node", package / "check_fhir.js", place], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_both_validators_take_it(tmp_path):
    made = bundle(tmp_path)
    Bundle.model_validate(made)
    assert checked(tmp_path, made) == {"valid": True, "wrong": []}


def spoilt(made, kind, change):
    new = json.loads(json.dumps(made))
    change(of(new, kind)[0])
    return new


def test_both_validators_find_what_is_wrong(tmp_path):
    made = bundle(tmp_path)
    # A status that is no code of the list, a procedure on nobody: FHIR.js. A time without offset, no status: the other.
    for new in (spoilt(made, "Procedure", lambda r: r.update(status="done")),
                spoilt(made, "Procedure", lambda r: r.pop("subject")),
                spoilt(made, "Procedure", lambda r: r.update(beat=1))):
        assert not checked(tmp_path, new)["valid"]
    for new in (spoilt(made, "Observation", lambda r: r.pop("status")),
                spoilt(made, "Observation", lambda r: r.update(effectiveDateTime="2026-11-25T08:30:00"))):
        with pytest.raises(ValidationError):
            Bundle.model_validate(new)


def test_it_says_what_was_marked_and_nothing_more(tmp_path):
    made = bundle(tmp_path)
    found = measured(tmp_path)
    kinds = Counter(e["resource"]["resourceType"] for e in made["entry"])
    # Compressions 10.4-60, 69-120, 127-240 s; a shock, a line, an airway. Doses: one told, two marked. First
    # rhythm, circulation twice (before arrival, at hand-over), the end, the rhythm, CO2, the fraction, two pauses.
    assert kinds == {"Encounter": 1, "Device": 1, "Procedure": 6, "MedicationAdministration": 3, "Observation": 9,
                     "Provenance": 1}
    periods = [(p["performedPeriod"]["start"], p["performedPeriod"]["end"]) for p in of(made, "Procedure")
               if "performedPeriod" in p]
    assert periods == [("2026-11-25T08:30:10.400-05:00", "2026-11-25T08:31:00.000-05:00"),
                       ("2026-11-25T08:31:09.000-05:00", "2026-11-25T08:32:00.000-05:00"),
                       ("2026-11-25T08:32:07.000-05:00", "2026-11-25T08:34:00.000-05:00")]
    shocks = [p for p in of(made, "Procedure") if p["code"]["text"] == "Shock, crew decided"]
    assert [(p["performedDateTime"], p["note"]) for p in shocks] == [
        ("2026-11-25T08:31:06.000-05:00", [{"text": "200 J"}])]
    dose = of(made, "MedicationAdministration")[1]
    assert dose["dosage"] == {"dose": {"value": 1.0, "unit": "mg", "system": "http://unitsofmeasure.org",
                                       "code": "mg"}, "route": {"text": "Into bone"}}
    assert dose["medicationCodeableConcept"]["coding"][0]["code"] == "3992"
    assert "coding" not in of(made, "MedicationAdministration")[2]["medicationCodeableConcept"]
    seen = {o["code"]["text"]: o for o in of(made, "Observation")}
    assert seen["Compression fraction from recognition"]["valueQuantity"]["value"] == found["fraction"]["value"]
    assert seen["Carbon dioxide at the end of a breath"]["valueQuantity"] == {
        "value": 18.5, "unit": "mmHg", "system": "http://unitsofmeasure.org", "code": "mm[Hg]"}
    pauses = [o["valueQuantity"]["value"] for o in of(made, "Observation") if o["code"]["text"] == "Time off the chest"]
    assert pauses == [9, 7] == [row["ms"] / 1000 for row in found["pauses"]["rows"]]
    loinc = {o["code"]["coding"][0]["code"]: o["valueCodeableConcept"]["text"] for o in of(made, "Observation")
             if "coding" in o["code"]}
    assert loinc == {"67512-4": "Ventricular fibrillation", "88670-5": "Yes, before arrival at the hospital",
                     "77152-7": "Circulation in the field"}
    assert len(of(made, "Provenance")[0]["target"]) == len(made["entry"]) - 1


def systems(value):
    if isinstance(value, dict):
        if "system" in value and "code" in value:
            yield value["system"]
        for inner in value.values():
            yield from systems(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from systems(inner)


def test_only_open_code_systems_unless_the_service_brings_its_own(tmp_path):
    made = bundle(tmp_path)
    assert set(systems(made)) == OPEN
    notice = (tmp_path / "run-fhir/NOTICE.txt").read_text(encoding="utf-8")
    assert "http://loinc.org/license" in notice and "UCUM" in notice and "RxNorm" in notice
    own = tmp_path / "codes.csv"
    own.write_text("shock_manual,1000002\n", encoding="utf-8")
    made = bundle(tmp_path, "--procedure-codes", own, text=record(), name="own")
    assert set(systems(made)) == OPEN | {"http://snomed.info/sct"}


def test_a_try_that_failed_was_done_all_the_same(tmp_path):
    # FHIR R4, event-status: "not-done" is for what ended before it began.
    marks = [*MARKS[:1], (30, "access", {"kind": "iv", "attempt": 2, "success": False})]
    tried = of(bundle(tmp_path, text=record(marks=marks)), "Procedure")[-1]
    assert (tried["status"], tried["outcome"]["text"]) == ("completed", "not successful")
    assert {"text": "tries: 2"} in tried["note"]


def test_nobody_is_in_it_and_a_drill_is_marked(tmp_path):
    made = bundle(tmp_path)
    assert made["meta"]["security"][0]["code"] == "HTEST"
    assert not of(made, "Patient") and "unit-7" not in json.dumps(made)
    origin = of(made, "Provenance")[0]["entity"][0]
    assert origin["role"] == "source" and origin["what"]["identifier"]["value"] == f"urn:uuid:{RECORD_ID}"
    assert "meta" not in bundle(tmp_path, text=record(head=header(kind="run")), name="real")
    marks = [(0, "compr_start", {"by": "manual"}), (9, "rotate", {}),
             (20, "amend", {"target": 4, "op": "retract", "reason": "mis_tap"})]
    made = bundle(tmp_path, text=record(marks), name="amended")
    assert of(made, "Provenance")[0]["entity"][0]["role"] == "revision"
