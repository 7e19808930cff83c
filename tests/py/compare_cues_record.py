#!/usr/bin/env python3
"""Holds a rehearsal's cue list against a live run's record: the same ids in the same order, the moments at
which they were to begin within 5 ms. (A prompt that finds another one speaking begins later than it was due;
both sides name the beginning.)

    compare_cues_record.py CUES RECORD

Both count from run time 0, which in a script made from a record is the record's header. Not compared is what a
rehearsal has no cause for: a held End, which is no mark.
"""
import json
import sys
from pathlib import Path

WITHIN_MS = 5
# What was asked of the sound. A cue that never came to sound is told by another outcome.
ASKED = "asked"
NO_MARK = ("hold_end",)


def voices_of_cues(path):
    cues = json.loads(Path(path).read_text(encoding="utf-8"))
    return [(c["id"], round(c["at_s"] * 1000)) for c in cues if c["kind"] == "voice"]


def voices_of_record(path):
    lines = [json.loads(line) for line in Path(path).read_text(encoding="utf-8").splitlines()]
    asked = {}
    for line in lines:
        d = line["d"]
        if line["ev"] == "cue" and d["kind"] == "voice" and d["outcome"] == ASKED:
            asked[d["cue"]] = (d["id"], d["start_ms"])
    return sorted(asked.values(), key=lambda c: c[1])


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    cues = voices_of_cues(sys.argv[1])
    record = [r for r in voices_of_record(sys.argv[2]) if r[0] not in NO_MARK]
    faults = []
    if [c[0] for c in cues] != [r[0] for r in record]:
        faults.append(f"ids differ: the cue list has {[c[0] for c in cues]}, "
                      f"the record {[r[0] for r in record]}")
    worst = 0
    for (name, at), (other, due) in zip(cues, record, strict=False):
        if name == other:
            worst = max(worst, abs(at - due))
            if abs(at - due) > WITHIN_MS:
                faults.append(f"{name}: {at} ms in the cue list, {due} ms in the record")
    for line in faults:
        print(line)
    print(json.dumps({"check": "cues and record", "faults": len(faults), "voices": len(cues),
                      "worst_ms": worst}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
