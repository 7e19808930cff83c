#!/usr/bin/env python3
"""Holds a live run's record against the record of its own rehearsal, line by line, both ways.

    compare_records.py LIVE REHEARSAL

The rehearsal's script is made of the live record's marks (`script_of`), each with the age of its own tap. Then
the same rules must have done the same: the same marks at the same run times, the same scores, the same cues
asked for and told, the same deeds.

Different may be: ids, hashes and names of the machine; readings of a clock (`mono_ms`, `wall`, when the device
began a cue, when the app woke to ask for one); how often the device was counted. A held End is no mark: a
rehearsal has no cause for what is said to it.
"""
import json
import sys
from collections import defaultdict
from pathlib import Path

# A cue that waits for another one begins at a moment that was reckoned from when that one sounded.
ASKED_WITHIN_MS = 5
# From when a cue was asked for to when the device says that it began.
BEGAN_WITHIN_MS = 100
HEADER_OWN = ("record_id", "kind", "app", "platform", "tz", "clock")
# One at each wake that is late enough: their number is a clock's.
BY_THE_CLOCK = ("heartbeat", "count")
NO_MARK = ("hold_end",)
UNDO = ("retract", "mis_tap")


def lines_of(path):
    return [json.loads(line) for line in Path(path).read_text(encoding="utf-8").splitlines()]


def is_crew(line):
    return line["src"] != "auto"


def touch_of(line):
    """When a mark was taken and how long before that the finger went down."""
    at = line.get("at", {})
    return line["mono_ms"], at.get("back_ms", 0) if at.get("basis") == "back" else 0


def script_of(path):
    """A record's marks as a rehearsal script; run time 0 is the header's."""
    lines = lines_of(path)
    zero = lines[0]["mono_ms"]
    marks, place, standing = [], {}, {}
    undone = None
    for line in lines:
        if line["ev"] == "start" and line["d"]["way"] != "hand":
            # It begins with the touch that begins the run, and has no receipt of its own.
            way = next(other for other in lines if is_crew(other))
            marks.append({"at_s": (way["mono_ms"] - zero) / 1000, "ev": "start", "d": line["d"]})
        if not is_crew(line):
            continue
        taken, age = touch_of(line)
        d = line["d"]
        if line["ev"] == "amend":
            target = d["target"]
            touch = standing.get(target)
            if (d["op"], d["reason"]) == UNDO:
                if undone == (taken, touch):  # the undo key takes back a whole touch, line by line
                    standing.pop(target)
                    continue
                last = touch is not None and touch == list(standing.values())[-1]
                undone = (taken, touch) if last else None
                standing.pop(target, None)
                d = d | {"target": "last" if last else f"#{place[target]}"}
            else:
                d = d | {"target": f"#{place[target]}"}
        else:
            undone = None
            place[line["seq"]] = len(marks) + 1
            standing[line["seq"]] = (taken, age)
        mark = {"at_s": (taken - zero) / 1000, "ev": line["ev"], "d": d}
        if age:
            mark["age_ms"] = age
        marks.append(mark)
    return {"name": "a live run", "protocol": lines[0]["d"]["protocol"]["id"],
            "class": lines[0]["d"]["patient_class"], "lang": lines[0]["d"]["lang"],
            "marks": marks, "end_s": marks[-1]["at_s"] + 2}


class Told:
    """What a record says, without ids and without clocks."""

    def __init__(self, lines):
        self.zero = lines[0]["mono_ms"]
        self.header = {k: v for k, v in lines[0]["d"].items() if k not in HEADER_OWN}
        self.protocol = lines[1]["d"]
        self.crew, self.steps, self.deeds = [], [], []
        self.clocked = dict.fromkeys(BY_THE_CLOCK, 0)
        self.underruns = 0
        self.cues = defaultdict(list)
        cues, number = {}, {}
        for line in lines[2:]:
            ev, d = line["ev"], line["d"]
            if is_crew(line):
                number[line["seq"]] = len(self.crew) + 1
                if ev == "amend":
                    d = d | {"target": number.get(d["target"])}
                taken, age = touch_of(line)
                self.crew.append((taken - self.zero, age, ev, d))
                self.steps.append(f"{ev} at {taken - self.zero} ms")
            elif ev == "cue":
                self.cue(cues, d)
            elif ev in BY_THE_CLOCK:
                self.clocked[ev] += 1
                self.underruns += d.get("underruns", 0)
            elif ev == "score":
                self.deeds.append((ev, d))
                self.steps.append(f"score from {d['from_ms']} ms")
            elif ev == "seal":
                self.deeds.append((ev, {"rev": d["rev"]}))
            else:
                self.deeds.append((ev, d))

    def cue(self, cues, d):
        if d.get("id") in NO_MARK:
            return
        if d["cue"] not in cues:
            cues[d["cue"]] = []
            self.cues[d["due_ms"], d["kind"], d.get("id", "")].append(cues[d["cue"]])
        cues[d["cue"]].append((d["outcome"], d.get("why"), d["start_ms"], d["len_ms"]))


def begin_with(some, others, word, faults):
    for n in range(max(len(some), len(others))):
        a = some[n] if n < len(some) else None
        b = others[n] if n < len(others) else None
        if a != b:
            faults.append(f"{word} {n + 1}: live {a}, rehearsed {b}")
            return


def compare_cues(live, again, faults):
    """Each cue by what it is and when it was due; gives how far the moments lie apart."""
    worst = {"asked": 0, "began": 0}
    for key in sorted(set(live) | set(again)):
        due, kind, prompt = key
        what = f"{prompt or kind} due {due} ms"
        ours, theirs = live.get(key, []), again.get(key, [])
        fates = [[[(o, why, length) for o, why, _, length in cue] for cue in some] for some in (ours, theirs)]
        if fates[0] != fates[1]:
            faults.append(f"{what}: live {told(ours)}, rehearsed {told(theirs)}")
            continue
        for (outcome, _, at, _), (_, _, other, _) in zip(
                [f for cue in ours for f in cue], [f for cue in theirs for f in cue], strict=True):
            how, most = ("began", BEGAN_WITHIN_MS) if outcome == "spoken" else ("asked", ASKED_WITHIN_MS)
            if outcome not in ("spoken", "asked"):
                continue  # when it was broken off or given up is a clock's reading
            worst[how] = max(worst[how], abs(at - other))
            if abs(at - other) > most:
                faults.append(f"{what}: {outcome} at {at} ms live, at {other} ms rehearsed")
    return worst


def told(cues):
    return [[outcome + (f" ({why})" if why else "") for outcome, why, _, _ in cue] for cue in cues] or "nothing"


def compare(live_lines, again_lines):
    live, again = Told(live_lines), Told(again_lines)
    faults = [f"header: {k}: live {live.header.get(k)}, rehearsed {again.header.get(k)}"
              for k in sorted(set(live.header) | set(again.header))
              if live.header.get(k) != again.header.get(k)]
    faults += [f"protocol line: {k} differs" for k in sorted(set(live.protocol) | set(again.protocol))
               if live.protocol.get(k) != again.protocol.get(k)]
    begin_with(live.crew, again.crew, "mark", faults)
    for ev in sorted({ev for ev, _ in live.deeds + again.deeds}):
        begin_with([d for e, d in live.deeds if e == ev], [d for e, d in again.deeds if e == ev], ev, faults)
    begin_with(live.steps, again.steps, "order of marks and scores", faults)
    worst = compare_cues(live.cues, again.cues, faults)
    for ev, n in live.clocked.items():
        # A wake is late by milliseconds, never early: in 35 minutes that is one or two of them.
        if abs(n - again.clocked[ev]) > max(1, n // 100):
            faults.append(f"{ev}: {n} live, {again.clocked[ev]} rehearsed")
    figures = {"check": "record and rehearsed record", "faults": len(faults), "marks": len(live.crew),
               "scores": sum(ev == "score" for ev, _ in live.deeds),
               "cues": sum(map(len, live.cues.values())), "asked_worst_ms": worst["asked"],
               "began_worst_ms": worst["began"], "underruns": live.underruns}
    return faults, figures


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    faults, figures = compare(lines_of(sys.argv[1]), lines_of(sys.argv[2]))
    for line in faults:
        print(line)
    print(json.dumps(figures))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
