"""The measures of a record, from its lines alone: a second implementation that shares nothing with the app's.

usage: measures.py RECORD [--as-recorded]

Written from docs/record.md and docs/measures.md. Times are whole milliseconds of the run clock.
"""
import bisect
import json
import sys

from measured_state import KIND, SEAT_LOST, Protocol, State, amended, read, stretches

VERSION = "metrics/1.0.0"
MINUTE = 60_000
DAY = 86_400_000


class Run:
    def __init__(self, header, protocol_line, lines, take_amendments):
        self.header = header
        texts = [protocol_line["toml"], *protocol_line.get("others", [])]
        parsed = [Protocol(text) for text in texts]
        self.protocols = {None: parsed[0]}
        for p in reversed(parsed):
            self.protocols[p.cls] = p
        self.lines = amended(lines, take_amendments)
        self.deeds = [line for line in self.lines if line.auto]
        self.marks = [line for line in self.lines if not line.auto]
        self.state = State(self.protocols, header["patient_class"])
        # Of each line that can move something: the line, and doing, reason, cycle, class, cold, cup after
        # it, and from when on it is so.
        self.steps = []
        s = self.state
        for line in self.lines:
            before = s.doing
            if s.take(line):
                reaches_back = line.ev in ("recovered", "prior_care") and s.doing != before
                since = s.since if reaches_back else line.at
                self.steps.append((line, s.doing, s.reason, s.cycle, s.cls, s.cold, s.cup, since))
        last = max((max(line.at, line.taken) for line in self.lines), default=0)
        self.spans = stretches(self.state.changes, last)
        self.window()
        self.offs = self.find_offs()

    # --- the window

    def window(self):
        witnessed = self.header["ems_witnessed"] == "yes"
        arrests = [m for m in self.marks if m.ev == "arrest"]
        witnessed |= any(m.d.get("basis") == "witnessed" for m in arrests)
        recognised = next((m.at for m in arrests if m.d.get("basis") != "reported"), None)
        others = [m.d["cpr"] for m in self.marks if m.ev == "prior_care" and "cpr" in m.d]
        first = next((s[0] for s in self.spans if KIND[s[2]] == "C"), None)
        self.first_compression = first
        self.begins_by = None
        if witnessed and arrests:
            said = arrests[0].at
            self.t0, self.begins_by = said if first is None else min(said, first), "witnessed"
        elif first is not None and others and others[-1] != "none":
            self.t0, self.begins_by = first, "takeover"
        elif first is not None and (recognised is None or first < recognised):
            self.t0, self.begins_by = first, "compression"
        else:
            self.t0 = recognised
            self.begins_by = None if recognised is None else "recognised"
        self.te, self.ends_by = self.find_end()
        self.witnessed = "yes" if witnessed else self.header["ems_witnessed"]
        if self.t0 is not None:
            self.te = max(self.te, self.t0)

    def find_end(self):
        live = [s for s in self.spans if s[2] != "ended"]
        last = live[-1] if live else None
        closing, otherwise = [], (last[1] if last else 0, "last_line")
        # The line that ended the run for good: the first after the last that left it going.
        end = None
        for step in reversed(self.steps):
            if step[1] != "ended":
                break
            end = step[0]
        if end is not None and end.ev == "resume":
            otherwise = (last[0] if last and last[2] == "unknown" else end.at, "gap")
        elif end is not None:
            outcome = end.d.get("outcome") if end.ev == "end" else None
            if outcome == "stopped":
                given_up = last and last[2] == "off" and last[3][-1:] == ["stop_care"]
                closing.append((last[0] if given_up else end.at, "stopped"))
            elif outcome in ("handed_over", "no_arrest"):
                closing.append((end.at, outcome))
            else:
                otherwise = (end.at, "circulation")
        handed = [m.at for m in self.marks if m.ev == "times" and m.d["which"] == "handover"]
        if handed:
            closing.append((handed[-1], "handed_over"))
        if last and last[2] == "pulse":
            closing.append((last[0], "circulation"))
        if not closing:
            return otherwise
        latest = max(at for at, _ in closing)
        return [c for c in closing if c[0] == latest][-1]

    def tally(self, begin, stop):
        out = {"C": 0, "N": 0, "R": 0, "U": 0}
        for a, b, doing, _ in self.spans:
            kind = KIND[doing]
            out["U" if kind == "E" else kind] += max(0, min(b, stop) - max(a, begin))
        return out

    def find_offs(self):
        """Stretches of hands off in the window: from, to, reason, reasons, what came before, what ended it."""
        out = []
        if self.t0 is None:
            return out
        for n, (a, b, doing, reasons) in enumerate(self.spans):
            if doing != "off" or a >= self.te or b <= self.t0:
                continue
            after = KIND[self.spans[n + 1][2]] if n + 1 < len(self.spans) else "E"
            ended = {"C": "compressions", "R": "circulation", "U": "unknown", "E": "end", "N": "end"}[after]
            out.append({
                "from": max(a, self.t0), "to": min(b, self.te), "reasons": reasons,
                "reason": reasons[-1] if reasons else "unknown",
                "follows": n > 0 and KIND[self.spans[n - 1][2]] == "C",
                "ended": "end" if b > self.te else ended,
            })
        return out

    def off_at(self, at):
        return next((o for o in self.offs if o["from"] <= at <= o["to"]), None)

    def inside(self, at):
        return self.t0 is not None and self.t0 <= at <= self.te

    # --- the measures

    def fraction(self, begin):
        t = self.tally(begin, self.te)
        unmarked, upper = 0.0, False
        for (beats, rate, pause), a, b in self.ratios():
            if any(o["follows"] and o["reason"] == "ventilation" and a <= o["from"] < b for o in self.offs):
                continue
            on = self.tally(max(a, begin), min(b, self.te))["C"] if min(b, self.te) > max(a, begin) else 0
            upper |= on > 0
            unmarked += on * pause / (beats * MINUTE / rate + pause)
        whole = t["C"] + t["N"]
        return {
            "value": share(t["C"], whole),
            "of_whole_window": share(t["C"], self.te - begin),
            "upper_bound": upper,
            "modelled": (t["C"] - unmarked) / whole if upper and whole else None,
            "below_floor": self.below_floor(t["C"], whole, upper),
        }

    @staticmethod
    def below_floor(on, whole, upper):
        if not whole:
            return None
        if 10 * on < 6 * whole:
            return True
        return None if upper else False

    def ratios(self):
        out, cycle, since = [], None, 0
        for line, _, _, now, *_ in self.steps:
            if line.auto or now == cycle:
                continue
            if cycle is not None:
                out.append((cycle, since, line.at))
            cycle, since = now, line.at
        if cycle is not None:
            out.append((cycle, since, max(since, self.te)))
        return out

    def time(self):
        t = self.tally(self.t0, self.te)
        return {"compressing_ms": t["C"], "hands_off_ms": t["N"], "circulation_ms": t["R"],
                "unknown_ms": t["U"], "coverage": share(t["C"] + t["N"] + t["R"], self.te - self.t0)}

    def no_flow(self):
        t = self.tally(self.t0, self.te)
        breaths = sum(o["to"] - o["from"] for o in self.offs if o["reason"] == "ventilation")
        return {"ms": t["N"], "fraction": share(t["N"], t["C"] + t["N"]),
                "without_ventilation_ms": t["N"] - breaths}

    def minutes(self):
        rows = []
        for n, begin in enumerate(range(self.t0, self.te, MINUTE)):
            stop = min(begin + MINUTE, self.te)
            t = self.tally(begin, stop)
            rows.append({"minute": n, "from_ms": begin, "to_ms": stop, "compressing_ms": t["C"],
                         "hands_off_ms": t["N"], "circulation_ms": t["R"], "unknown_ms": t["U"],
                         "fraction": share(t["C"], t["C"] + t["N"])})
        return {"rows": rows}

    def after_five(self):
        t = self.tally(min(self.t0 + 5 * MINUTE, self.te), self.te)
        return {"compressing_ms": t["C"], "hands_off_ms": t["N"], "fraction": share(t["C"], t["C"] + t["N"])}

    def pauses(self):
        least = self.header["settings"]["pause_min_ms"]
        rows = [{"from_ms": o["from"], "to_ms": o["to"], "ms": o["to"] - o["from"], "reason": o["reason"],
                 "reasons": o["reasons"], "ended_by": o["ended"]}
                for o in self.offs if o["follows"] and o["to"] - o["from"] >= least]
        longest = max(rows, key=lambda row: row["ms"], default=None)
        return {"min_ms": least, "count": len(rows), "over_10_s": sum(row["ms"] > 10_000 for row in rows),
                "longest_ms": longest and longest["ms"], "longest_reason": longest and longest["reason"],
                "rows": rows}

    def device_pauses(self, pauses):
        own = [row["ms"] for row in pauses["rows"] if row["reason"] in SEAT_LOST]
        return {"count": len(own), "total_ms": sum(own)}

    def shocks(self):
        shots = [m for m in self.marks if m.ev == "shock" and self.inside(m.at)]

        def around(m):
            off = self.off_at(m.at)
            if off and m.d.get("through") and not off["from"] < m.at < off["to"]:
                return None
            return off

        rows = []
        for m in shots:
            row = {"at_ms": m.at, "by": m.d["by"], "timed": m.d["timed"], "pre_ms": None, "post_ms": None,
                   "peri_ms": None, "pause_ms": None, "through_shock": False, "stacked": False,
                   "no_resume": False, "pause_not_marked": False}
            rows.append(row)
            off = around(m)
            if off is None:
                doing = next((s[2] for s in self.spans if s[0] <= m.at < s[1]), None)
                if doing in ("manual", "mechanical"):
                    through = bool(m.d.get("through")) or doing == "mechanical"
                    row["through_shock"], row["pause_not_marked"] = through, not through
                    if through and m.d["timed"]:
                        row["pre_ms"] = row["post_ms"] = row["peri_ms"] = 0
                continue
            mates = [other for other in shots if around(other) is off]
            resumed = off["ended"] == "compressions"
            row["stacked"] = len(mates) > 1
            if off["follows"] and off["ended"] != "unknown":
                row["pause_ms"] = off["to"] - off["from"]
            if m is mates[0] and m.d["timed"] and off["follows"]:
                row["pre_ms"] = m.at - off["from"]
            if m is mates[-1]:
                row["no_resume"] = not resumed
                if m.d["timed"] and resumed:
                    row["post_ms"] = off["to"] - m.at
                    if off["follows"] and mates[0].d["timed"]:
                        row["peri_ms"] = off["to"] - off["from"]
        bands = {}
        for name, edges in (("pre", [10_000, 20_000]), ("post", [5_000, 10_000]), ("peri", [20_000, 40_000])):
            bands[name] = [0, 0, 0]
            for row in rows:
                if row[f"{name}_ms"] is not None:
                    bands[name][bisect.bisect_right(edges, row[f"{name}_ms"])] += 1
        return {"bands": bands, "rows": rows}

    def trust(self):
        results = [m for m in self.marks if m.ev in ("shock", "no_shock") and self.inside(m.at)]
        marked = sum("rhythm_check" in o["reasons"] or any(o["from"] <= m.at <= o["to"] for m in results)
                     for o in self.offs)
        marked += sum(not m.d.get("stacked") and self.off_at(m.at) is None for m in results)
        unmarked = sum(d.ev == "check_unmarked" and self.inside(d.d["due_ms"]) for d in self.deeds)
        time = self.time()
        return {"checks_marked": marked, "checks_due": marked + unmarked, "unknown_ms": time["unknown_ms"],
                "coverage": time["coverage"]}

    def fittings(self):
        rows, begun, running, before = [], None, False, (None, None)
        for line, doing, reason, *_, at in self.steps:
            new, before = (doing, reason) != before, (doing, reason)
            if line.ev == "fit":
                if not running and begun is None:
                    begun = at
            elif line.ev == "fit_refused":
                if begun is not None:
                    rows.append(self.fitting(begun, at, refused=line.d["reason"]))
                begun = None
            elif new and doing == "off" and reason == "device_fit":
                if not running and begun is None:
                    begun = at
            elif new and doing == "mechanical":
                if begun is not None:
                    rows.append(self.fitting(begun, at, runs=True))
                begun, running = None, True
            elif new and (doing == "manual" or reason == "device_fault"):
                running = False
        if begun is not None and self.t0 is not None:
            rows.append(self.fitting(begun, max(begun, self.te)))
        return {"rows": [row for row in rows if self.inside(row["from_ms"])]}

    def fitting(self, begin, stop, runs=False, refused=None):
        took = [o["to"] - o["from"] for o in self.offs
                if o["to"] > begin and o["from"] < stop
                and ("device_fit" in o["reasons"] or (runs and o["to"] == stop))]
        flow = None
        if runs and self.t0 is not None and stop - self.t0 >= MINUTE:
            t = self.tally(stop - MINUTE, stop)
            flow = t["C"] / MINUTE if t["C"] + t["N"] == MINUTE else None
        return {"from_ms": begin, "running_ms": stop if runs else None, "refused": refused,
                "windows_ms": took, "total_ms": sum(took), "flow_before": flow}

    def first(self):
        def mark(*kinds, when=lambda d: True):
            return since(next((m.at for m in self.marks if m.ev in kinds and when(m.d)), None))

        def since(at):
            return at - self.t0 if at is not None and at >= self.t0 else None

        rhythm = mark("rhythm", "shock", "no_shock", when=lambda d: d.get("rhythm") != "unknown")
        device = next((s[0] for s in self.spans if s[2] == "mechanical"), None)
        return {"compression_ms": since(self.first_compression), "rhythm_ms": rhythm,
                "shock_ms": mark("shock"), "drug_ms": mark("drug", when=lambda d: not d.get("prior")),
                "airway_ms": mark("airway", when=lambda d: d["act"] == "in"), "device_ms": since(device)}

    def drugs(self):
        given = {}

        def of(key):
            return given.setdefault(key, {"doses": [], "told": None, "one_by_one": 0})

        for line, _, _, _, cls, cold, *_ in self.steps:
            if line.ev == "prior_care":
                for drug in given.values():
                    drug["doses"] = [dose for dose in drug["doses"] if not dose[1]]
                    drug["told"] = None
                for dose in line.d.get("doses", ()):
                    of(dose["drug"])["told"] = dose["n"]
                    if "last_min" in dose and dose["n"]:
                        of(dose["drug"])["doses"].append((line.at - MINUTE * dose["last_min"], True, cls, None))
            elif line.ev == "drug" and line.d.get("prior"):
                of(line.d["drug"])["one_by_one"] += 1
            elif line.ev == "drug":
                of(line.d["drug"])["doses"].append((line.at, False, cls, cold))
        return {"rows": [self.drug(key, **drug) for key, drug in given.items()]}

    def drug_window(self, key, cls, cold):
        p = self.protocols.get(cls) or self.protocols[None]
        low, high = p.windows.get(key, (None, None))
        times = p.cold_factor if cold == "30_35" else 1
        return (None, None) if low is None else (low * times, high * times)

    def drug(self, key, doses, told, one_by_one):
        before = (told or 0) + one_by_one if one_by_one or told is not None else None
        doses.sort(key=lambda dose: dose[0])
        rows = []
        for a, b in zip(doses, doses[1:], strict=False):
            low, high = self.drug_window(key, b[2], b[3])
            ms = b[0] - a[0]
            place = None if low is None else "below" if ms < low else "above" if ms > high else "inside"
            rows.append({"from_ms": a[0], "to_ms": b[0], "ms": ms, "place": place,
                         "window_min_ms": low, "window_max_ms": high,
                         "from_before_us": a[1] or b[1],
                         "circulation_between": self.tally(max(0, a[0]), max(0, b[0]))["R"] > 0})
        low, high = self.drug_window(key, self.header["patient_class"], None)
        places = [row["place"] for row in rows]
        return {"drug": key, "doses": sum(not dose[1] for dose in doses), "doses_before_us": before,
                "window_min_ms": low, "window_max_ms": high, "below": places.count("below"),
                "inside": places.count("inside"), "above": places.count("above"), "intervals": rows}

    def cup(self):
        rows, open_since = [], None
        for line, *_, asked, _ in self.steps:
            if line.ev == "cup" and open_since is not None:
                rows[-1].update(answered_ms=line.at, answer=line.d["act"],
                                ms=line.at - open_since if line.at >= open_since else None)
            if asked is not None and asked != open_since:
                rows.append({"asked_ms": asked, "answered_ms": None, "ms": None, "answer": None})
            open_since = asked
        rows = [row for row in rows if self.inside(row["asked_ms"])]
        return {"asked": len(rows), "answered": sum(row["answered_ms"] is not None for row in rows),
                "rows": rows}

    def power(self):
        rows = []
        for line, _, _, _, cls, *_ in self.steps:
            if line.ev != "power":
                continue
            if line.d["act"] == "swap_begin":
                off = self.off_at(line.at)
                known = off and off["ended"] != "unknown"
                rows.append({"from_ms": line.at, "swapped_ms": None, "ms": None, "inside_window": None,
                             "hands_off_ms": off["to"] - off["from"] if known else None})
            elif line.d["act"] == "swap_end" and rows and rows[-1]["swapped_ms"] is None:
                ms = line.at - rows[-1]["from_ms"]
                p = self.protocols.get(cls) or self.protocols[None]
                rows[-1].update(swapped_ms=line.at, ms=ms, inside_window=ms <= p.swap_window)
        return {"rows": [row for row in rows if self.inside(row["from_ms"])]}

    def ventilation(self):
        vents = [(m.at, m.d["n"]) for m in self.marks if m.ev == "vent" and self.inside(m.at)]
        if not vents:
            return None
        counts = []
        last = vents[-1][0]
        marked_to = min(self.te, 2 * last - vents[-2][0] if len(vents) > 1 else last)
        for begin in range(vents[0][0], marked_to - MINUTE + 1, MINUTE):
            t = self.tally(begin, begin + MINUTE)
            if t["R"] == t["U"] == 0:
                counts.append(sum(n for at, n in vents if begin <= at < begin + MINUTE))
        gaps = [b[0] - a[0] for a, b in zip(vents, vents[1:], strict=False) if b[0] > a[0]]
        single = all(n == 1 for _, n in vents)
        return {"minutes": len(counts), "counted_per_min": sum(counts) / len(counts) if counts else None,
                "measured_per_min": sum(MINUTE / g for g in gaps) / len(gaps) if single and gaps else None,
                "below_6": sum(n < 6 for n in counts), "above_12": sum(n > 12 for n in counts)}

    def clocks(self):
        rows, spans, half = [], {}, DAY // 2
        for m in self.marks:
            if m.ev != "clock_mark":
                continue
            hours, minutes, seconds = map(int, m.d["shown"].split(":"))
            w = m.wall
            local_ms = 1000 * (w.hour * 3600 + w.minute * 60 + w.second) + w.microsecond // 1000
            local_ms -= m.written - m.at
            shown = 1000 * (hours * 3600 + minutes * 60 + seconds)
            begin = (shown - local_ms + half) % DAY - half
            end = begin + 1000 * m.d.get("precision_s", 1)
            offset = (shown - local_ms // 1000 * 1000 + half) % DAY - half
            rows.append({"ref": m.d["ref"], "at_ms": m.at, "offset_s": offset // 1000,
                         "precision_s": m.d.get("precision_s"), "from_ms": begin, "to_ms": end})
            spans.setdefault(m.d["ref"], []).append((begin, end))

        def agreed(ref, looks):
            # Each look as near to the first as a turn of the clock brings it.
            first = looks[0][0]
            turned = [(b - DAY * round((b - first) / DAY), e - DAY * round((b - first) / DAY)) for b, e in looks]
            begin, end = max(b for b, _ in turned), min(e for _, e in turned)
            good = begin < end
            return {"ref": ref, "looks": len(looks), "from_ms": begin if good else None,
                    "to_ms": end if good else None, "moved": not good}

        return {"rows": rows, "spans": [agreed(ref, looks) for ref, looks in spans.items()]}


def share(part, whole):
    return part / whole if whole else None


def measures(lines, take_amendments=True):
    """The measures as the app's own JSON has them; `lines` are the record's lines as text."""
    header, protocol_line, facts = read(lines)
    seals = [line for line in facts if line.ev == "seal"]
    rev, sealed = (seals[-1].d["rev"], seals[-1].seq) if seals else (0, 0)
    unsealed = sum(line.ev == "amend" and line.seq > sealed for line in facts)
    run = Run(header, protocol_line, facts, take_amendments)
    p = run.protocols[None]
    known = run.t0 is not None
    first = run.first_compression

    def of(measure, window="recognition"):
        return None if measure is None else {"window": window, "version": VERSION, **measure}

    def window(begin):
        return None if begin is None else {"from_ms": begin, "to_ms": max(run.te, begin)}

    pauses = run.pauses()
    return {
        "version": VERSION,
        "basis": {"as": "amended", "revision": rev, "unsealed": unsealed} if take_amendments
                 else {"as": "recorded"},
        "record_id": header["record_id"],
        "kind": header["kind"],
        "is_sound": True,
        "protocol": {"id": p.id, "version": p.version, "set_rate_per_min": p.rate},
        "windows": {"recognition": window(run.t0), "compression": window(first),
                    "begins_by": run.begins_by, "ends_by": run.ends_by, "ems_witnessed": run.witnessed},
        "trust": of(run.trust()) if known else None,
        "time": of(run.time()) if known else None,
        "fraction": of(run.fraction(run.t0)) if known else None,
        "fraction_from_compression": None if first is None else of(run.fraction(first), "compression"),
        "no_flow": of(run.no_flow()) if known else None,
        "minutes": of(run.minutes()) if known else None,
        "after_five_minutes": of(run.after_five()) if known else None,
        "pauses": of(pauses),
        "shocks": of(run.shocks()),
        "fittings": of(run.fittings()),
        "device_pauses": of(run.device_pauses(pauses)),
        "first": of(run.first()) if known else None,
        "drugs": of(run.drugs()),
        "cup": of(run.cup()),
        "power": of(run.power()),
        "ventilation": of(run.ventilation()) if known else None,
        "clocks": of(run.clocks()),
    }


def main(words):
    with open(words[0], encoding="utf-8") as file:
        lines = [line for line in file.read().split("\n") if line]
    json.dump(measures(lines, "--as-recorded" not in words[1:]), sys.stdout, indent=1)


if __name__ == "__main__":
    main(sys.argv[1:])
