"""Writes one record of each version of the format with Python's own json and hashlib.

The reader and the writer are checked against these files, so it shares no code with them. The runs in
them are invented. A file once written is kept as it is: a later version has a file of its own.
"""
import hashlib
import json
import pathlib

HERE = pathlib.Path(__file__).parent
TOML = 'name = "an example"\n[beat]\nper_minute = 110\n'
HEADER = {
    "schema": "",  # put in for each version
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
RUN_1_0 = [
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
]

# Every kind with every field; no run that could be.
BEFORE_US = {
    "cpr": "bystander",
    "began_min": 6,
    "aed": "shocked",
    "shocks": 1,
    "doses": [{"drug": "adrenaline", "n": 1, "last_min": 2}, {"drug": "antiarrhythmic", "n": 0}],
    "airway": "opa",
    "by": "manual",
}
SCORE = {
    "pattern": "ratio",
    "per_minute": 110,
    "beats": 30,
    "window_ms": 4000,
    "breaths": 2,
    "breath_ms": 0,
    "quiet_ddb": 0,
    "anchor_ms": 300,
    "lead": 0,
    "from_ms": 200,
    "breath_from_ms": 0,
}


def held(cue, prompt, why):
    return {
        "cue": cue,
        "kind": "voice",
        "id": prompt,
        "due_ms": 5000,
        "start_ms": 5000,
        "len_ms": 900,
        "outcome": "held",
        "why": why,
    }


KINDS_1_1 = [
    ("start", "auto", 0, {"way": "earlier"}),
    ("arrest", "button", 85, {"basis": "witnessed"}),
    ("compr_start", "button", 85, {"by": "mechanical", "mech_kind": "piston_arm", "basis": "confirmed_running"}),
    ("score", "auto", 0, SCORE),
    ("prior_care", "button", 85, BEFORE_US),
    ("patient", "button", 85, {"class": "adult", "rescuers": 2}),
    ("overlay", "button", 85, {"kind": "cold", "on": True, "temp_band": "30_35"}),
    ("leads", "button", 85, {"on": True}),
    ("cue", "auto", 0, held(1, "chk_now", "led")),
    ("cue", "auto", 0, held(2, "drug_due", "merged")),
    ("cue", "auto", 0, held(3, "cup_now", "quiet")),
    ("cue", "auto", 0, held(4, "causes", "screen")),
    ("ack", "button", 85, {"task": "still_off"}),
    ("times", "button", 85, {"which": "als_arrival"}),
    ("decision", "button", 85, {"what": "ecpr_call", "answer": "declined"}),
    ("clock_mark", "button", 85, {"ref": "dispatch", "shown": "08:31:05", "precision_s": 1}),
    ("note", "button", 85, {"code": "wet_floor_2"}),
    ("resume", "button", 85, {"choice": "same_patient"}),
    ("sound", "button", 85, {"what": "voice_off_2_min"}),
    ("sound", "auto", 0, {"what": "route"}),
    ("flag", "button", 85, {}),
    ("compr_stop", "button", 85, {"reason": "rhythm_check"}),
    ("why", "button", 85, {"reason": "pulse_check"}),
    ("pulse_check", "button", 85, {"result": "unclear"}),
    ("pads", "button", 85, {"connected": True, "position": "second_set"}),
    ("charge", "button", 85, {"act": "begun"}),
    ("analysing", "button", 85, {}),
    ("rhythm", "button", 85, {"rhythm": "vf", "first": True}),
    (
        "shock",
        "button",
        85,
        {"timed": True, "by": "us", "through": True, "stacked": True, "mode": "manual", "energy_j": 200},
    ),
    ("no_shock", "button", 85, {}),
    ("heart_rate", "button", 85, {"band": "below_60"}),
    ("rotate", "button", 85, {}),
    ("fit", "button", 85, {"step": "open_on", "mode": "continuous", "reason": "transport"}),
    ("fit_refused", "button", 85, {"reason": "too_small"}),
    ("cup", "button", 85, {"act": "good", "why": "start"}),
    ("move", "button", 85, {"act": "begin", "stage": "stairs"}),
    ("power", "button", 85, {"act": "swap_end", "full": True}),
    ("power", "button", 85, {"act": "full"}),
    (
        "airway",
        "button",
        85,
        {"act": "try_end", "device": "sga", "attempt": 2, "success": True, "technique": "first_pass"},
    ),
    ("airway_confirm", "button", 85, {"method": "waveform"}),
    ("breath_mode", "button", 85, {"mode": "continuous", "every_ms": 6000, "via": "sga"}),
    ("breath_mode", "button", 85, {"mode": "ratio", "ratio": "15:2"}),
    ("vent", "button", 85, {"n": 2, "via": "mask"}),
    ("etco2", "button", 85, {"value": "3.5", "unit": "kPa"}),
    (
        "drug",
        "button",
        85,
        {"drug": "adrenaline", "dose": "0.5", "unit": "mg", "route": "io", "prior": True, "by_other_unit": True},
    ),
    ("access", "button", 85, {"kind": "io", "site": "tibia_left", "attempt": 1, "success": True}),
    ("procedure", "button", 85, {"act": "begin", "what": "ultrasound"}),
    ("awake", "button", 85, {"on": True}),
    ("rosc", "button", 85, {}),
    ("rearrest", "button", 85, {"by": "mechanical"}),
    ("count", "auto", 0, {"beats": 110, "frames": 2880000, "underruns": 0}),
    ("ignored", "auto", 0, {"mark": "compr_stop", "why": "hands are off already: why gives the reason"}),
    ("check_unmarked", "auto", 0, {"due_ms": 20000}),
    ("gap", "auto", 0, {"ms": 2500}),
    ("recovered", "auto", 0, {"gap_from_seq": 55, "gap_from_ms": 54000, "bad_bytes": 0}),
    ("touch_ignored", "auto", 0, {"n": 3, "why": "burst"}),
    ("fault", "auto", 0, {"where": "rules", "what": "an invented fault"}),
    ("heartbeat", "auto", 0, {}),
    ("wall_jump", "auto", 0, {"delta_ms": -1500}),
    (
        "amend",
        "button",
        0,
        {"target": 23, "op": "replace", "new": {"ev": "compr_stop", "d": {"reason": "airway"}}, "reason": "mis_tap"},
    ),
    ("amend", "button", 0, {"target": 23, "op": "retime", "at_ms": 20500, "reason": "crew_recall"}),
    ("amend", "review", 0, {"target": 22, "op": "retract", "reason": "duplicate"}),
    # Told from a minute back.
    ("state_set", "button", 60_000, {"state": "hands_off"}),
    ("end", "button", 1500, {"outcome": "stopped", "reason": "local_rule_3"}),
]


def write(version, protocol, lines):
    lines = [
        ("header", "auto", 0, 0, {**HEADER, "schema": f"record/{version}"}),
        ("protocol", "auto", 0, 0, protocol),
        *lines,
    ]
    lines.append(("seal", "auto", lines[-1][2] + 1, 0, {"rev": 1, "lines": len(lines)}))
    prev = "0" * 64
    out = b""
    for seq, (ev, src, run_ms, back_ms, d) in enumerate(lines):
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
    (HERE / f"record-{version}.rec.jsonl").write_bytes(out)
    print(version, "fingerprint", prev)


write("1.0.0", PROTOCOL, RUN_1_0)
# A line a second, from the second line of the run on.
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_1)]
others = {"toml": TOML, "others": ['name = "another example"\n', 'name = "a third"\n'], "pack": PROTOCOL["pack"]}
write("1.1.0", others, each_second)
# The phone's battery, a second after the wall clock was set.
place = next(n for n, line in enumerate(KINDS_1_1) if line[0] == "wall_jump") + 1
KINDS_1_2 = [*KINDS_1_1[:place], ("phone", "auto", 0, {"battery_pct": 12, "low": True}), *KINDS_1_1[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_2)]
write("1.2.0", others, each_second)
# A review's amendments: a mark added, one confirmed, an amendment taken back.
place = next(n for n, line in enumerate(KINDS_1_2) if line[0] == "amend" and line[3]["op"] == "retract") + 1
REVIEW = [
    {"op": "add", "at_ms": 5000, "new": {"ev": "note", "d": {"code": "bag_changed"}}},
    {"target": 23, "op": "confirm"},
    # The line before these three; the header and the protocol stand before the list.
    {"target": place - 1 + 2, "op": "retract"},
]
whose = {"reason": "crew_recall", "by_role": "reviewer"}
reviewed = [("amend", "review", 0, d | whose) for d in REVIEW]
KINDS_1_3 = [*KINDS_1_2[:place], *reviewed, *KINDS_1_2[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_3)]
write("1.3.0", others, each_second)
