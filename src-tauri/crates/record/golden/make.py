"""Writes one record of each version of the format with Python's own json and hashlib.

The reader and the writer are checked against these files, so it shares no code with them. The runs in
them are invented. A file once written is kept as it is: a later version has a file of its own. What each holds
is counted by hand in `numbers.json`.
"""
import datetime
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


def wall_of(unix_s, ms, offset_h=-5):
    """The wall clock's text; `unix_s` is counted from 2026-11-25T08:30:00 of that clock."""
    moment = datetime.datetime(2026, 11, 25, 8, 30) + datetime.timedelta(seconds=unix_s, milliseconds=ms)
    return f"{moment:%Y-%m-%dT%H:%M:%S}.{moment.microsecond // 1000:03}-{-offset_h:02}:00"


class File:
    """The bytes of a record, line by line."""

    def __init__(self):
        self.out = b""
        # Where the last line that can be read begins.
        self.last = 0
        self.seq = 0

    def line(self, ev, src, mono_ms, wall, d, boot="a-boot", proc=0, at=None):
        prev = hashlib.sha256(self.out[self.last : -1]).hexdigest() if self.seq else "0" * 64
        line = {"seq": self.seq, "ev": ev, "mono_ms": mono_ms, "boot": boot, "proc": proc, "wall": wall}
        if at:
            line["at"] = at
        line.update(src=src, d=d, prev=prev)
        self.last = len(self.out)
        self.out += json.dumps(line, separators=(",", ":")).encode() + b"\n"
        self.seq += 1

    def torn(self, gone):
        """A kill within the last line, and the line feed of the process that came after it."""
        self.out = self.out[:-gone] + b"\n"
        begin = self.out.rindex(b"\n", 0, len(self.out) - 1) + 1
        self.last = self.out.rindex(b"\n", 0, begin - 1) + 1
        self.seq -= 1

    def keep(self, name):
        (HERE / f"{name}.rec.jsonl").write_bytes(self.out)
        print(name, "fingerprint", hashlib.sha256(self.out[self.last :].rstrip(b"\n")).hexdigest())


def write(version, protocol, lines):
    file = File()
    lines = [
        ("header", "auto", 0, 0, {**HEADER, "schema": f"record/{version}"}),
        ("protocol", "auto", 0, 0, protocol),
        *lines,
    ]
    lines.append(("seal", "auto", lines[-1][2] + 1, 0, {"rev": 1, "lines": len(lines)}))
    for ev, src, run_ms, back_ms, d in lines:
        at = {"basis": "back", "back_ms": back_ms} if back_ms else None
        file.line(ev, src, 3_600_000 + run_ms, wall_of(0, run_ms), d, at=at)
    file.keep(f"record-{version}")


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
# Levels: by the crew, for a kind of place, and as they are set on the phone.
place = next(n for n, line in enumerate(KINDS_1_3) if line[0] == "state_set")
full, low = ({"beat_db": n, "breath_db": 2 * n, "voice_db": 3 * n} for n in (0, 6))
LEVELS = [
    ("sound", "button", 85, {"what": "level", "levels": low}),
    ("sound", "button", 85, {"what": "preset", "levels": full, "preset": "vehicle"}),
    ("setting", "auto", 0, {"name": "levels", "value": low}),
]
KINDS_1_4 = [*KINDS_1_3[:place], *LEVELS, *KINDS_1_3[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_4)]
write("1.4.0", others, each_second)
# What happened around the phone, each kind of it.
place = next(n for n, line in enumerate(KINDS_1_4) if line[0] == "state_set")
AROUND = [
    {"what": "call", "on": True},
    {"what": "taken", "on": True},
    {"what": "route", "to": "wireless"},
    {"what": "volume", "pct": 40},
    *({"what": what, "on": False} for what in ("silent", "saving", "held", "lit", "locked", "front", "page")),
]
KINDS_1_5 = [*KINDS_1_4[:place], *(("around", "auto", 0, d) for d in AROUND), *KINDS_1_4[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_5)]
write("1.5.0", others, each_second)
# What belongs to a drill, and how the screen looks.
place = next(n for n, line in enumerate(KINDS_1_5) if line[0] == "state_set")
DRILL = [
    {"what": "begun", "seed": 7},
    {"what": "cue", "id": "at_side"},
    {"what": "ticked", "id": "roles"},
    {"what": "unticked", "id": "roles"},
    {"what": "again", "of": HEADER["record_id"], "from_ms": 50_000},
]
LOOKS = [
    ("screen", "auto", 0, {"colours": "glare", "by_light": True, "covered": False}),
    ("screen", "auto", 0, {"colours": "night", "by_light": False, "covered": True}),
]
OF_DRILL = [("drill", "auto", 0, d) for d in DRILL]
KINDS_1_6 = [*KINDS_1_5[:place], *OF_DRILL, *LOOKS, *KINDS_1_5[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_6)]
write("1.6.0", others, each_second)
# The crew's code, a drill that is stopped, what is injected, noise.
place = next(n for n, line in enumerate(KINDS_1_6) if line[0] == "drill" and line[3]["what"] == "again")
MORE = [
    {"what": "begun", "seed": 7, "crew": "B"},
    {"what": "injected", "id": "noise"},
    {"what": "noise_on"},
    {"what": "noise_off"},
    {"what": "stopped"},
]
KINDS_1_7 = [*KINDS_1_6[:place], *(("drill", "auto", 0, d) for d in MORE), *KINDS_1_6[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_7)]
write("1.7.0", others, each_second)
# An amendment of which nobody said why, and a touch that was held too long for its key.
place = max(n for n, line in enumerate(KINDS_1_7) if line[0] == "amend") + 1
UNSAID = {"target": 23, "op": "confirm", "reason": "not_stated", "by_role": "reviewer"}
LATEST = [("amend", "review", 0, UNSAID), ("touch_ignored", "auto", 0, {"n": 1, "why": "held"})]
KINDS_1_8 = [*KINDS_1_7[:place], *LATEST, *KINDS_1_7[place:]]
# A voice whose stream went away under it.
place = next(n for n, line in enumerate(KINDS_1_8) if line[0] == "drill" and line[3]["what"] == "stopped") + 1
GONE = held(5, "dev_stop", "no_sound") | {"outcome": "cut"}
KINDS_1_8 = [*KINDS_1_8[:place], ("cue", "auto", 0, GONE), *KINDS_1_8[place:]]
each_second = [(ev, src, n * 1000, back, d) for n, (ev, src, back, d) in enumerate(KINDS_1_8)]
write("1.8.0", others, each_second)

# A run of three processes and two boots: killed within a line, the wall clock set, the machine started again,
# killed within a line once more.
file = File()
file.line("header", "auto", 3_600_000, wall_of(0, 0), {**HEADER, "schema": "record/1.2.0"})
file.line("protocol", "auto", 3_600_000, wall_of(0, 0), PROTOCOL)
file.line("start", "auto", 3_600_000, wall_of(0, 0), {"way": "hand"})
file.line("compr_start", "button", 3_601_000, wall_of(1, 0), {"by": "manual"}, at={"basis": "back", "back_ms": 85})
file.line("flag", "button", 3_605_000, wall_of(5, 0), {}, at={"basis": "wall", "wall": wall_of(3, 500)})
file.line("flag", "button", 3_606_000, wall_of(6, 0), {})
file.torn(gone=40)
gap = {"gap_from_seq": 4, "gap_from_ms": 5000, "bad_bytes": len(file.out) - 1 - file.out.rindex(b"\n", 0, -1) - 1}
file.line("recovered", "auto", 3_620_000, wall_of(20, 0), gap, proc=1)
# Set back by an hour between two lines of one boot: run time does not know it.
file.line("wall_jump", "auto", 3_621_000, wall_of(21 - 3600, 0), {"delta_ms": -3_600_000}, proc=1)
file.line("rosc", "button", 3_630_000, wall_of(30 - 3600, 0), {}, proc=1)
# Another boot, 12 s later by the wall clock, 4 s after the machine began.
gap = {"gap_from_seq": 7, "gap_from_ms": 30_000, "bad_bytes": 0}
file.line("recovered", "auto", 4_000, wall_of(42 - 3600, 0), gap, boot="b-boot", proc=2)
estimate = {"basis": "estimate", "wall": wall_of(40 - 3600, 0), "err_ms": 2000}
file.line("rearrest", "review", 9_000, wall_of(47 - 3600, 0), {"by": "manual"}, boot="b-boot", proc=2, at=estimate)
# A third boot, whose clock was a day behind: nothing is known to have passed.
gap = {"gap_from_seq": 9, "gap_from_ms": 47_000, "bad_bytes": 0}
file.line("recovered", "auto", 2_000, wall_of(-86_400, 0), gap, boot="c-boot", proc=3)
file.line("flag", "button", 3_000, wall_of(-86_399, 0), {}, boot="c-boot", proc=3)
file.line("heartbeat", "auto", 4_000, wall_of(-86_398, 0), {}, boot="c-boot", proc=3)
file.out = file.out[:-25]
file.keep("killed-1.2.0")

# What an app of a later minor version may write: kinds, members and words that this one does not know.
file = File()
moment = iter(range(99))


def later(ev, src, d):
    second = next(moment)
    file.line(ev, src, 3_600_000 + 1000 * second, wall_of(second, 0), d)


later("header", "auto", {**HEADER, "schema": "record/1.9.3", "mood": "fine"})
later("protocol", "auto", {**PROTOCOL, "more": [1, 2]})
later("start", "auto", {"way": "hand", "seat": 4})
later("hum", "sensor", {"hz": 440})
later("compr_start", "button", {"by": "manual"})
later("compr_stop", "button", {"reason": "tea"})
later("hum", "auto", {})
later("amend", "button", {"target": 4, "op": "retract", "reason": "mis_tap", "seat": "leader"})
later("seal", "auto", {"rev": 1, "lines": 8, "alg": "none-yet"})
file.keep("newer-1.9.3")
