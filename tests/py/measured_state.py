"""The state line of a record, folded from its marks: a second implementation that shares nothing with the app's.

Written from docs/record.md and docs/measures.md. Times are whole milliseconds of the run clock.
"""
import json
import tomllib
from copy import copy
from datetime import datetime

SEAT_LOST = {"device_fit", "device_reseat", "device_fault", "device_off", "power"}
LONG_GAP = 300_000
LEAST_PULSE = 1000


class Protocol:
    """What the state line and the windows need of a protocol file."""

    def __init__(self, text):
        table = tomllib.loads(text)

        def value(room, name, absent=None):
            entry = table.get(room, {}).get(name)
            return absent if entry is None else entry["value"]

        self.id, self.version, self.cls = table["id"], table["version"], table["class"]
        self.newborn = self.cls == "newborn"
        self.rate = value("beat", "rate_per_min")
        self.first_breaths = value("start", "first_breaths", 0)
        self.beats = int(value("breaths", "ratio").split(":")[0])
        self.beats_alone = int(value("breaths", "ratio_alone").split(":")[0])
        # A newborn's breath takes the place of one beat.
        self.window = 500 if self.newborn else 1000 * value("breaths", "window_s")
        self.mask = value("breaths", "mask")
        self.airway = {name: entry["value"] for name, entry in table.get("airway", {}).items()}
        self.swap_window = 1000 * value("power", "swap_window_s", 60)
        overlays = table.get("overlay", {})
        self.drowning_breaths = overlays.get("drowning", {}).get("first_breaths")
        self.cold_factor = overlays.get("cold", {}).get("cold_factor", 1)
        self.windows = {d["key"]: (1000 * d["min_s"], 1000 * d["max_s"]) for d in table.get("drug", ())
                        if "min_s" in d}


class Line:
    """One line of the record, with the times at which it was taken and at which it happened."""

    def __init__(self, raw, taken):
        self.seq, self.ev, self.d, self.src = raw["seq"], raw["ev"], raw["d"], raw["src"]
        self.taken = self.at = self.written = taken
        self.wall = datetime.fromisoformat(raw["wall"])
        told = raw.get("at")
        if told and told["basis"] == "back":
            self.at = max(0, taken - told["back_ms"])
        elif told:
            back = self.wall - datetime.fromisoformat(told["wall"])
            self.at = max(0, taken - max(0, round(back.total_seconds() * 1000)))
        self.auto = raw["src"] == "auto"


def read(lines):
    """Header, protocol line and the facts with their run times."""
    raws = [json.loads(line) for line in lines]
    bases, run, wall = {}, 0, None
    out = []
    for raw in raws:
        now = datetime.fromisoformat(raw["wall"])
        if raw["boot"] not in bases:
            gone = 0 if wall is None else max(0, round((now - wall).total_seconds() * 1000))
            bases[raw["boot"]] = (raw["mono_ms"], run + gone)
        mono, zero = bases[raw["boot"]]
        run, wall = zero + raw["mono_ms"] - mono, now
        out.append(Line(raw, run))
    return out[0].d, out[1].d, out[2:]


def amended(lines, take_amendments):
    """The marks that stand and the deeds, by (time, seq)."""
    marks = {line.seq: line for line in lines if not line.auto and line.ev != "amend"}
    amends = [line for line in lines if line.ev == "amend"] if take_amendments else []
    adds = {line.seq for line in amends if line.d["op"] == "add"}
    others = {line.seq for line in amends} - adds

    def taken_back(seq):
        return any(line.d["op"] == "retract" and line.d.get("target") == seq and line.seq > seq
                   and not taken_back(line.seq) for line in amends)

    standing = set(marks)
    for line in amends:
        target, op = line.d.get("target"), line.d["op"]
        if op == "add":
            # Known by its own line from here on, at its own time.
            mark = copy(line)
            mark.ev, mark.d = line.d["new"]["ev"], line.d["new"]["d"]
            mark.at = mark.taken = line.d["at_ms"]
            marks[line.seq] = mark
            standing.add(line.seq)
            continue
        if target in others or target not in marks or target >= line.seq or taken_back(line.seq):
            continue
        mark = marks[target]
        if op == "retract":
            standing.discard(target)
            continue
        standing.add(target)
        if op == "retime":
            mark.at = line.d["at_ms"]
        elif op == "replace":
            mark.ev, mark.d = line.d["new"]["ev"], line.d["new"]["d"]
    kept = [line for line in lines if line.auto and line.ev != "seal"] + [marks[seq] for seq in standing]
    # A gap has its place where it begins.
    return sorted(kept, key=lambda line: (line.d["gap_from_ms"] if line.ev == "recovered" else line.at, line.seq))


class State:
    """What the marks add up to, mark by mark, and the stretches that they leave behind."""

    def __init__(self, protocols, cls):
        self.protocols, self.cls = protocols, cls
        self.alone = False
        self.doing, self.reason, self.since = "before", None, 0
        self.gap = None
        self.way, self.opened = None, None
        self.by, self.device, self.seat_lost = "manual", "away", False
        self.cup, self.pack_out = None, None
        self.airway, self.mode = None, self.protocol.mask
        self.leads, self.drowned, self.cold = False, False, None
        self.changes = [(0, "before", None)]

    @property
    def protocol(self):
        return self.protocols.get(self.cls) or self.protocols[None]

    @property
    def live(self):
        return self.doing not in ("before", "ended")

    @property
    def cycle(self):
        if self.mode != "ratio":
            return None
        p = self.protocol
        return (p.beats_alone if self.alone else p.beats, p.rate, p.window)

    def become(self, doing, at, reason=None):
        self.doing, self.reason, self.since, self.gap = doing, reason, at, None

    def rest(self):
        self.cup = self.pack_out = None

    def compress(self, line, by):
        asks = by == "mechanical" and (self.by != "mechanical" or self.seat_lost)
        self.become(by, line.at)
        self.pack_out = None
        if by == "manual":
            self.cup = None
            if self.device == "on":
                self.device = "beside"
        else:
            self.device, self.seat_lost = "on", False
            if asks:
                self.cup = line.taken
        self.by = by

    def off(self, line, reason):
        if self.doing == "off":
            self.reason = reason
        else:
            self.become("off", line.at, reason)
        self.seat_lost |= reason in SEAT_LOST
        if reason == "device_fault":
            self.device, self.cup = "out", None
        if reason == "device_reseat":
            self.cup = None

    def pulse(self, line):
        self.become("pulse", line.at)
        self.rest()
        self.leads = False

    def set_right(self, line, state):
        if state == "manual":
            self.compress(line, "manual")
        elif state == "mechanical":
            if self.doing == "pulse" and line.at - self.since >= LEAST_PULSE:
                self.by = "manual"
            self.compress(line, "mechanical")
        elif state == "hands_off":
            self.off(line, "unknown")
        elif state == "pulse":
            self.pulse(line)
        else:
            self.become("unknown", line.at)

    def killed(self, line):
        if not self.live:
            return
        long = line.taken - line.d["gap_from_ms"] >= LONG_GAP
        if self.gap is not None and self.doing == "unknown":
            self.gap["long"] |= long
            return
        was = {"doing": self.doing, "reason": self.reason, "since": self.since, "long": long}
        self.become("unknown", line.d["gap_from_ms"])
        self.gap = was

    def resumed(self, line, choice):
        gap, self.gap = self.gap, None
        if gap is None:
            return
        if choice == "new_patient":
            self.become("ended", line.at)
            self.rest()
        elif choice == "as_before" or (gap["doing"] == "pulse" and not gap["long"]):
            self.doing, self.reason, self.since = gap["doing"], gap["reason"], gap["since"]

    def patient(self, d):
        before = (self.cls, self.alone)
        self.cls = d["class"]
        if "rescuers" in d:
            self.alone = d["rescuers"] == 1
        if before != (self.cls, self.alone) and self.airway is None:
            self.mode = self.protocol.mask

    def begun_by(self, line, by):
        other = self.doing in ("manual", "mechanical") and self.doing != by
        if self.way != "earlier" or self.opened != self.since or not other:
            return
        # What compressed in truth; a gap in between stays one.
        self.changes = [(at, by if at >= self.since and doing in ("manual", "mechanical") else doing, why)
                        for at, doing, why in self.changes]
        self.doing = self.by = by
        if by == "mechanical":
            self.device, self.cup = "on", line.taken
        else:
            self.device, self.cup = "away", None

    def prior_care(self, line):
        if "airway" in line.d:
            self.airway = line.d["airway"]
            self.mode = self.protocol.airway.get(self.airway, "ratio")
        if "by" in line.d:
            self.begun_by(line, line.d["by"])

    def power(self, line):
        act = line.d["act"]
        if act == "swap_begin" and self.doing != "pulse":
            self.off(line, "power")
            self.pack_out = line.at
        elif act == "swap_end" and self.pack_out is not None:
            if line.at - self.pack_out <= self.protocol.swap_window:
                self.compress(line, "mechanical")
                self.cup = line.taken

    def take(self, line):
        """Takes a line; says whether it is one of those that can move anything."""
        was_live = self.live
        ev, d = line.ev, line.d
        if line.auto:
            if ev == "start":
                self.way = d["way"]
            elif ev == "recovered":
                self.killed(line)
                if self.doing == "unknown":
                    while self.changes[-1][0] > self.since:
                        self.changes.pop()
                    self.note(self.since)
            return ev in ("start", "recovered")
        if ev == "arrest" and self.doing == "before":
            p = self.protocol
            n = p.drowning_breaths if self.drowned and p.drowning_breaths is not None else p.first_breaths
            if n > 0 or p.newborn:
                self.become("off", line.at, "ventilation")
        elif ev == "compr_start":
            self.compress(line, d["by"])
        elif ev == "compr_stop":
            self.off(line, d["reason"])
        elif ev == "why" and self.doing == "off":
            self.reason = d["reason"]
            self.seat_lost |= d["reason"] in SEAT_LOST
        elif ev == "state_set":
            self.set_right(line, d["state"])
        elif ev == "rosc":
            self.pulse(line)
        elif ev == "rearrest":
            if d["by"] == "mechanical":
                self.by = "manual"
            self.compress(line, d["by"])
        elif ev == "resume":
            self.resumed(line, d["choice"])
        elif ev == "end":
            self.become("ended", line.at)
            self.rest()
        elif ev == "leads":
            self.leads = d["on"]
        elif ev == "analysing" and self.doing != "off" and self.leads:
            self.off(line, "rhythm_check")
        elif ev == "airway":
            if d["act"] == "in":
                self.airway = d.get("device", "sga")
                self.mode = self.protocol.airway.get(self.airway, "ratio")
            elif d["act"] == "lost":
                self.airway, self.mode = None, self.protocol.mask
            elif d["act"] == "try_begin" and (self.doing, self.reason) == ("off", "unknown"):
                self.reason = "airway"
        elif ev == "procedure" and d["act"] == "begin" and (self.doing, self.reason) == ("off", "unknown"):
            self.reason = "ultrasound" if d["what"] == "ultrasound" else "procedure"
        elif ev == "breath_mode":
            self.mode = d["mode"]
        elif ev == "patient":
            self.patient(d)
        elif ev == "overlay":
            if d["kind"] == "drowning":
                self.drowned = d["on"]
            if d["kind"] == "cold":
                self.cold = d.get("temp_band") if d["on"] else None
        elif ev == "prior_care":
            self.prior_care(line)
        elif ev == "power":
            self.power(line)
        elif ev == "fit":
            if self.device != "on":
                self.device = "beside"
        elif ev == "fit_refused":
            self.device = "away"
        elif ev == "cup":
            self.cup = None
        elif ev == "move" and d["act"] != "begin" and self.device == "on":
            self.cup = line.taken
        if not was_live and self.live:
            self.opened = line.at
        self.note(line.at)
        return True

    def note(self, at):
        if self.changes[-1][1:] != (self.doing, self.reason):
            self.changes.append((at, self.doing, self.reason))


KIND = {"before": "N", "off": "N", "manual": "C", "mechanical": "C", "pulse": "R", "unknown": "U",
        "ended": "E"}


def stretches(changes, end):
    """[from, to, doing, reasons], without a hole; hands off that go on are one stretch."""
    out = []

    def add(begin, stop, doing, reasons):
        doing = "off" if doing == "before" else doing
        if out and out[-1][2] == doing:
            out[-1][1] = stop
            for reason in reasons:
                if reason in out[-1][3]:
                    out[-1][3].remove(reason)
                out[-1][3].append(reason)
        else:
            out.append([begin, stop, doing, list(reasons)])

    ends = [at for at, _, _ in changes[1:]] + [end]
    for (at, doing, reason), stop in zip(changes, ends, strict=True):
        if stop > at:
            add(at, stop, doing, [reason] if reason else [])
    raw, out = out, []
    for n, (begin, stop, doing, reasons) in enumerate(raw):
        after = raw[n + 1][2] if n + 1 < len(raw) else None
        slip = doing == "pulse" and stop - begin < LEAST_PULSE and after in ("off", "manual", "mechanical")
        if slip and out:
            out[-1][1] = stop
        else:
            add(begin, stop, doing, reasons)
    return out
