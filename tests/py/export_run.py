"""A small invented run for the checks of the exports, written without the app's code, and the app's exports of it."""
import hashlib
import json
import os
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
EXAMPLE = (ROOT / "src-tauri/crates/cycle/protocols/example-adult.toml").read_text(encoding="utf-8")
DEEDS = {"header", "protocol", "start", "recovered", "heartbeat", "seal"}
RECORD_ID = "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f"

# Seconds from the record's beginning, which is 2026-11-25 08:30:00 at five hours behind UTC; kind; fields; and
# where they are given: the second at which it was taken, the source.
MARKS = [
    (0, "arrest", {"basis": "recognised"}),
    (5, "prior_care", {"cpr": "bystander", "began_min": 6, "aed": "applied",
                       "doses": [{"drug": "adrenaline", "n": 1, "last_min": 2}]}),
    (10.4, "compr_start", {"by": "manual"}),
    (20, "clock_mark", {"ref": "monitor", "shown": "08:28:50", "precision_s": 1}),
    (21, "clock_mark", {"ref": "dispatch", "shown": "08:31:00", "precision_s": 60}),
    (30, "vent", {"n": 2, "via": "mask"}),
    (60, "compr_stop", {"reason": "rhythm_check"}),
    (64, "rhythm", {"rhythm": "vf", "first": True}),
    (66, "shock", {"timed": True, "by": "us", "mode": "manual", "energy_j": 200}),
    (69, "compr_start", {"by": "manual"}),
    (90, "access", {"kind": "io", "attempt": 1, "success": True, "site": "3913047"}),
    (100, "drug", {"drug": "adrenaline", "dose": "1.0", "unit": "mg", "route": "io"}),
    (120, "compr_stop", {"reason": "device_fit"}),
    (127, "compr_start", {"by": "mechanical", "mech_kind": "piston"}),
    (140, "airway", {"act": "try_begin", "device": "sga"}),
    (150, "airway", {"act": "in", "device": "sga"}),
    (152, "airway_confirm", {"method": "waveform"}),
    (160, "etco2", {"value": "18.5", "unit": "mmHg"}),
    (180, "drug", {"drug": "calcium"}),
    (200, "note", {"code": "a_note"}, 200, "voice"),
    (240, "rosc", {}),
    (300, "times", {"which": "left_scene"}),
    (310, "times", {"which": "at_patient"}),
    (600, "times", {"which": "at_destination"}),
    (720, "times", {"which": "handover"}),
    (730, "end", {"outcome": "handed_over"}),
]


def wall(ms):
    h, rest = divmod(ms + 8 * 3_600_000 + 30 * 60_000, 3_600_000)
    return f"2026-11-25T{h:02}:{rest // 60_000:02}:{rest // 1000 % 60:02}.{rest % 1000:03}-05:00"


def header(**more):
    return {"schema": "record/1.2.0", "record_id": RECORD_ID, "kind": "test",
            "app": {"name": "carrybeat", "version": "0.1.0", "build": "test"},
            "platform": {"os": "linux", "os_version": "12", "model_class": "desktop"},
            "tz": "America/New_York", "clock": {"auto_time": "unknown", "last_sync_s": None},
            "metrics": "metrics/1.0.0",
            "protocol": {"id": "example-adult", "version": "1",
                         "sha256": hashlib.sha256(EXAMPLE.encode()).hexdigest()},
            "settings": {"rate_per_min": 110, "breath_mode": {"mode": "ratio", "ratio": "30:2"}, "cycle_s": 120,
                         "pause_min_ms": 1000, "drug_windows": []},
            "unit_code": "unit-7", "crew_size": 2, "patient_class": "adult", "ems_witnessed": "no", "lang": "en-US",
            **more}


def record(marks=None, head=None, pack="en-US"):
    """Lines with envelope and chain, as docs/record.md has them."""
    lines = [(0, "header", head or header(), 0, "auto"),
             (0, "protocol", {"toml": EXAMPLE, "pack": {"id": pack, "sha256": "0" * 64, "clip_ms": {}}}, 0, "auto"),
             (0, "start", {"way": "hand"}, 0, "auto")]
    for at, ev, d, *more in MARKS if marks is None else marks:
        taken = more[0] if more else at
        src = more[1] if len(more) > 1 else "auto" if ev in DEEDS else "review" if ev == "amend" else "button"
        lines.append((at, ev, d, taken, src))
    out, prev = [], "0" * 64
    for seq, (at, ev, d, taken, src) in enumerate(lines):
        at, taken = round(1000 * at), round(1000 * taken)
        raw = {"seq": seq, "ev": ev, "mono_ms": 3_600_000 + taken, "boot": "a-boot", "proc": 0, "wall": wall(taken),
               **({"at": {"basis": "back", "back_ms": taken - at}} if taken != at else {}),
               "src": src, "d": d, "prev": prev}
        out.append(json.dumps(raw, separators=(",", ":")))
        prev = hashlib.sha256(out[-1].encode()).hexdigest()
    return "\n".join(out) + "\n"


def program():
    found = TARGET / "debug/carrybeat"
    if not found.exists():
        subprocess.run(["cargo", "build", "--locked", "-p", "desk"], cwd=ROOT, check=True)
    return found


def carrybeat(*words):
    return subprocess.run([program(), *map(str, words)], capture_output=True, text=True)


def exported(folder, to, *more, text=None, name="run"):
    """Exports a record to a new place in the folder."""
    source = folder / f"{name}.rec.jsonl"
    if not source.exists():
        source.write_text(text or record(), encoding="utf-8", newline="\n")
    out = folder / f"{name}-{to}"
    done = carrybeat("export", source, "--to", to, "--out", out, *more)
    assert done.returncode == 0, done.stderr
    return out


def measured(folder, name="run"):
    done = carrybeat("measures", folder / f"{name}.rec.jsonl", "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
