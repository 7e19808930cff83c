"""docs/record.schema.json against the lines that the app writes, and against wrong ones of each kind.

The lines come from the tests of the room `record`, with what its reader says of each; the validator is
`jsonschema`, which shares no code with it. So: what is written passes, and what the reader refuses does not.
"""
import copy
import json
import os
import subprocess
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = ROOT / "src-tauri/crates/record/golden"
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
SCHEMA = json.loads((ROOT / "docs/record.schema.json").read_text(encoding="utf-8"))
TEST = "tests::wrong::the_reader_refuses_a_wrong_line_of_each_kind"
# What a reader takes though no version writes it: members left out that it has a value for.
BY_DEFAULT = {
    "score": {f"/d/{name}" for name in
              ("beats", "window_ms", "breaths", "breath_ms", "quiet_ddb", "lead", "breath_from_ms")},
    "header": {"/d/clock/last_sync_s"},
}


def built_program():
    """The tests of the room `record`, as the build left them: by its list, or else the newest."""
    built = ROOT / ".toolchain/tests.tsv"
    listed = [line.split("\t")[2] for line in built.read_text(encoding="utf-8").splitlines()
              if line.startswith("record\t")] if built.exists() else []
    found = [path for path in map(Path, listed) if path.exists()]
    found = found or [path for path in TARGET.glob("debug/deps/record-*") if not path.suffix]
    assert found, f"no tests of the room record below {TARGET}: build them with `cargo test -p record --no-run`"
    return max(found, key=lambda path: path.stat().st_mtime)


@pytest.fixture(scope="module")
def lines(tmp_path_factory):
    out = tmp_path_factory.mktemp("lines") / "lines.tsv"
    ran = subprocess.run([built_program(), "--exact", TEST], env={**os.environ, "CARRYBEAT_LINES": str(out)},
                         capture_output=True, text=True, check=False)
    assert ran.returncode == 0 and out.exists(), ran.stdout + ran.stderr
    rows = [row.split("\t", 1) for row in out.read_text(encoding="utf-8").splitlines()]
    return [(json.loads(head), json.loads(line)) for head, line in rows]


def closed(schema):
    """The schema with no room for a member that it does not name: what is left out of it is found so."""
    schema = copy.deepcopy(schema)

    def close(part, inside):
        if isinstance(part, list):
            for each in part:
                close(each, inside)
        elif isinstance(part, dict):
            is_object = "properties" in part or part.get("type") == "object" and "oneOf" in part
            if part.get("type") == "object" and "additionalProperties" not in part and not inside:
                part["unevaluatedProperties"] = False
            for name, each in part.items():
                if name not in ("if", "then", "description", "required"):
                    # Members named beside the choice are no members of each choice.
                    close(each, inside or is_object and name in ("oneOf", "allOf"))
    for part in schema["$defs"].values():
        close(part, False)
    schema["unevaluatedProperties"] = False
    return schema


def first_fault(validator, line):
    fault = next(validator.iter_errors(line), None)
    return None if fault is None else f"{fault.json_path}: {fault.message[:200]}"


def test_it_is_a_schema_of_its_draft():
    Draft202012Validator.check_schema(SCHEMA)


def test_what_is_written_passes_and_names_every_member(lines):
    open_, strict = Draft202012Validator(SCHEMA), Draft202012Validator(closed(SCHEMA))
    written = [line for head, line in lines if head["sort"] == "written"]
    assert len(written) > 600
    for line in written:
        assert first_fault(open_, line) is None, line
        assert first_fault(strict, line) is None, line
    # The closed one is closed: a member that nobody wrote is refused at each place.
    for place in ((), ("d",), ("at",)):
        line = copy.deepcopy(next(line for line in written if line["ev"] == "shock" and "at" in line))
        holder = line
        for name in place:
            holder = holder[name]
        holder["mood"] = 1
        assert first_fault(open_, line) is None
        assert first_fault(strict, line) is not None, place


def test_every_line_of_every_golden_file_passes():
    validator = Draft202012Validator(SCHEMA)
    seen = 0
    for path in sorted(GOLDEN.glob("*.rec.jsonl")):
        numbers = json.loads((GOLDEN / "numbers.json").read_text(encoding="utf-8"))[path.name]
        refused = []
        for number, raw in enumerate(path.read_bytes().split(b"\n")):
            try:
                line = json.loads(raw)
            except ValueError:
                continue
            seen += 1
            if first_fault(validator, line) is not None:
                refused.append(number)
        # Those of a newer version are named beside the file.
        assert refused == numbers["newer_words"], path.name
    assert seen > 165


def test_what_the_reader_refuses_is_refused(lines):
    validator = Draft202012Validator(SCHEMA)
    refused, passed = {}, {}
    for head, line in lines:
        if head["sort"] == "written":
            # The wrong ones made of it come after it.
            kind = line["ev"]
            continue
        fault = first_fault(validator, line)
        if not head["reads"]:
            assert fault is not None, (head, line)
            refused[kind, head["sort"]] = refused.get((kind, head["sort"]), 0) + 1
        elif fault is not None:
            passed.setdefault(kind, set()).add((head["sort"], head["place"]))
    kinds = {rule["if"]["properties"]["ev"]["const"] for rule in SCHEMA["allOf"]}
    assert len(kinds) == len(SCHEMA["allOf"]) - 1, "`sound` is the one word of two"
    for kind in kinds:
        for sort in ("missing", "type", "stray"):
            assert (kind, sort) in refused, f"{kind}: nothing of sort {sort} was refused"
    # Stricter than the reader in these alone.
    assert passed == {kind: {("missing", place) for place in places} for kind, places in BY_DEFAULT.items()}


def test_a_kind_that_is_not_known_passes_and_its_envelope_is_held(lines):
    validator = Draft202012Validator(SCHEMA)
    line = copy.deepcopy(next(line for head, line in lines if head["sort"] == "written" and line["ev"] == "flag"))
    line.update(ev="hum", d={"hz": 440})
    assert first_fault(validator, line) is None
    for name in ("seq", "mono_ms", "boot", "proc", "wall", "src", "d", "prev"):
        less = {key: value for key, value in line.items() if key != name}
        assert first_fault(validator, less) is not None, name
    assert first_fault(validator, {**line, "prev": line["prev"].upper() + "A"}) is not None
    assert first_fault(validator, {**line, "wall": "2026-11-25T08:30:00.125Z"}) is not None
