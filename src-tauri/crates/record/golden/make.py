"""Writes record-1.0.0.rec.jsonl with Python's own json and hashlib.

The reader and the writer are checked against this file, so it shares no code with them. The run in
it is invented.
"""
import hashlib
import json
import pathlib

HERE = pathlib.Path(__file__).parent
TOML = 'name = "an example"\n[beat]\nper_minute = 110\n'
HEADER = {
    "schema": "record/1.0.0",
    "record_id": "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f",
    "kind": "test",
    "app": {"name": "carrybeat", "version": "0.1.0", "build": "golden"},
    "platform": {"os": "linux", "os_version": "12", "model_class": "desktop"},
    "tz": "America/New_York",
    "clock": {"auto_time": "unknown", "last_sync_s": None},
    "metrics": "metrics/1.0.0",
    "protocol": {
        "id": "adult-example",
        "version": "1",
        "sha256": hashlib.sha256(TOML.encode()).hexdigest(),
    },
    "settings": {
        "rate_per_min": 110,
        "breath_mode": {"mode": "ratio", "ratio": "30:2"},
        "cycle_s": 120,
        "pause_min_ms": 2000,
        "drug_windows": [{"name": "example", "min_s": 180, "max_s": 300}],
    },
    "crew_size": 2,
    "patient_class": "adult",
    "ems_witnessed": "no",
    "lang": "en-US",
}
PROTOCOL = {"toml": TOML, "pack": {"id": "en-US", "sha256": "ab" * 32, "clip_ms": {"chk_now": 900}}}
# kind, source, milliseconds on the run clock, milliseconds back, fields
LINES = [
    ("header", "auto", 0, 0, HEADER),
    ("protocol", "auto", 0, 0, PROTOCOL),
    ("start", "auto", 0, 0, {"way": "hand"}),
    ("arrest", "button", 0, 0, {"basis": "recognised"}),
    ("compr_start", "button", 0, 0, {"by": "manual"}),
    ("heartbeat", "auto", 10_000, 0, {}),
    ("compr_stop", "button", 15_085, 85, {"reason": "rhythm_check"}),
    ("shock", "button", 21_000, 120, {"timed": False, "by": "us"}),
    ("compr_start", "button", 21_000, 120, {"by": "manual"}),
    ("amend", "button", 22_500, 0, {"target": 7, "op": "retract", "reason": "mis_tap"}),
    ("amend", "review", 90_000, 0, {"target": 6, "op": "retime", "at_ms": 14_000, "reason": "crew_recall"}),
    ("sound", "auto", 91_000, 0, {"what": "lost"}),
    ("sound", "button", 92_000, 0, {"what": "voice_off"}),
    ("end", "button", 99_000, 1_500, {"outcome": "handed_over"}),
    ("seal", "auto", 99_001, 0, {"rev": 1, "lines": 14}),
]
prev = "0" * 64
out = b""
for seq, (ev, src, run_ms, back_ms, d) in enumerate(LINES):
    line = {
        "seq": seq,
        "ev": ev,
        "mono_ms": 3_600_000 + run_ms,
        "boot": "a-boot",
        "proc": 0,
        "wall": f"2026-11-25T08:{30 + run_ms // 60_000:02}:{run_ms // 1000 % 60:02}.{run_ms % 1000:03}-05:00",
    }
    if back_ms:
        line["at"] = {"basis": "back", "back_ms": back_ms}
    line.update(src=src, d=d, prev=prev)
    raw = json.dumps(line, separators=(",", ":")).encode()
    prev = hashlib.sha256(raw).hexdigest()
    out += raw + b"\n"
(HERE / "record-1.0.0.rec.jsonl").write_bytes(out)
print("fingerprint", prev)
