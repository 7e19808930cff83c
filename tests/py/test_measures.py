"""The second implementation against the cases worked by hand, and the app's measures against it."""
import hashlib
import json
import os
import subprocess
from pathlib import Path

import pytest
from measures import measures

ROOT = Path(__file__).resolve().parents[2]
CASES = json.loads((ROOT / "src-tauri/crates/debrief/worked/cases.json").read_text(encoding="utf-8"))
EXAMPLE = (ROOT / "src-tauri/crates/cycle/protocols/example-adult.toml").read_text(encoding="utf-8")
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
FULL = bool(os.environ.get("CARRYBEAT_FULL"))
RUNS = 2000 if FULL else 200
DEEDS = {"header", "protocol", "start", "recovered", "heartbeat", "seal"}


def record(case):
    """A case's lines with envelope and chain, as docs/record.md has them."""
    toml = EXAMPLE
    if "window_s" in case:
        toml = toml.replace("[breaths.window_s]\nvalue = 4", f"[breaths.window_s]\nvalue = {case['window_s']}")
        assert toml != EXAMPLE
    header = {"schema": "record/1.2.0", "record_id": "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f", "kind": "test",
              "settings": {"rate_per_min": 110, "pause_min_ms": 1000, "drug_windows": []},
              "patient_class": "adult", "ems_witnessed": "no"}
    lines = [(0, "header", header, 0), (0, "protocol", {"toml": toml, "pack": {}}, 0),
             (0, "start", {"way": "hand"}, 0)]
    rev = 0
    for line in case["lines"]:
        if line == "seal":
            rev += 1
            lines.append((lines[-1][3] / 1000, "seal", {"rev": rev, "lines": len(lines)}, lines[-1][3]))
        else:
            at, ev, d, *taken = line
            lines.append((at, ev, d, round(1000 * (taken[0] if taken else at))))
    out, prev = [], "0" * 64
    for seq, (at, ev, d, taken) in enumerate(lines):
        back = taken - round(1000 * at)
        src = "auto" if ev in DEEDS else "review" if ev == "amend" else "button"
        raw = {"seq": seq, "ev": ev, "mono_ms": 3_600_000 + taken, "boot": "a-boot", "proc": 0,
               "wall": f"2026-11-25T08:{30 + taken // 60_000:02}:{taken // 1000 % 60:02}.{taken % 1000:03}-05:00",
               **({"at": {"basis": "back", "back_ms": back}} if back else {}), "src": src, "d": d, "prev": prev}
        out.append(json.dumps(raw, separators=(",", ":")))
        prev = hashlib.sha256(out[-1].encode()).hexdigest()
    return out


def pointer(value, place):
    for part in place.strip("/").split("/"):
        value = value[int(part)] if isinstance(value, list) else value[part]
    return value


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_second_implementation_finds_what_was_worked_out_by_hand(case):
    found = measures(record(case), not case.get("recorded"))
    for place, worked in case["expect"].items():
        value = pointer(found, place)
        if isinstance(worked, float):
            assert value == pytest.approx(worked, abs=1e-5), place
        else:
            assert value == worked, place


def differences(ours, theirs, place=""):
    """Where two values differ; whole numbers to the millisecond, shares to a billionth."""
    if isinstance(ours, dict) and isinstance(theirs, dict):
        for key in ours.keys() | theirs.keys():
            if key not in ours or key not in theirs:
                yield f"{place}/{key}: only in one"
            else:
                yield from differences(ours[key], theirs[key], f"{place}/{key}")
    elif isinstance(ours, list) and isinstance(theirs, list):
        if len(ours) != len(theirs):
            yield f"{place}: {len(ours)} rows, {len(theirs)} by the second implementation"
        for n, (a, b) in enumerate(zip(ours, theirs, strict=False)):
            yield from differences(a, b, f"{place}/{n}")
    elif isinstance(ours, float) and isinstance(theirs, (int, float)) and not isinstance(theirs, bool):
        if abs(ours - theirs) > 1e-9:
            yield f"{place}: {ours}, {theirs} by the second implementation"
    elif ours != theirs or type(ours) is not type(theirs):
        yield f"{place}: {ours!r}, {theirs!r} by the second implementation"


def test_a_difference_is_found():
    ours = {"a": [1, 0.5], "b": None, "c": True}
    assert not list(differences(ours, ours))
    for spoilt in ({**ours, "a": [2, 0.5]}, {**ours, "a": [1, 0.500001]}, {**ours, "a": [1]}, {**ours, "b": 0},
                   {**ours, "c": 1}, {"a": [1, 0.5], "b": None}):
        assert list(differences(ours, spoilt)), spoilt


def program():
    found = TARGET / "debug/examples/random_measures"
    if not found.exists():
        subprocess.run(["cargo", "build", "--locked", "-p", "debrief", "--example", "random_measures"],
                       cwd=ROOT, check=True)
    return found


def test_random_records_measure_the_same_in_both():
    """Each record has a pulse, an unknown stretch, a stacked and a through-shock, and an amendment."""
    out = subprocess.run([program(), str(RUNS)], check=True, capture_output=True, text=True).stdout
    seen = {"pulse": 0, "unknown": 0, "stacked": 0, "through": 0, "amended": 0}
    runs = 0
    for text in out.splitlines():
        run = json.loads(text)
        runs += 1
        for name, take in (("amended", True), ("recorded", False)):
            theirs = measures(run["record"], take)
            wrong = list(differences(run[name], theirs))
            assert not wrong, (run["seed"], name, wrong[:10])
        found = run["amended"]
        seen["pulse"] += found["time"]["circulation_ms"] > 0
        seen["unknown"] += found["time"]["unknown_ms"] > 0
        seen["stacked"] += any(row["stacked"] for row in found["shocks"]["rows"])
        seen["through"] += any(row["through_shock"] for row in found["shocks"]["rows"])
        seen["amended"] += run["amended"] != {**run["recorded"], "basis": found["basis"]}
    assert runs == RUNS
    # Amendments may take a pulse, a gap or a shock away again; most runs keep theirs.
    for name, n in seen.items():
        assert n > 0.6 * RUNS, (name, n)
