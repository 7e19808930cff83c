"""Records, hand-ins and folders for the checks of many runs, made by hand, and what the program writes of them.

`trends_made.py FOLDER` writes the fourteen runs and three drills of the picture in docs/trends.md to a new folder."""
import csv
import datetime
import hashlib
import json
import sys
from pathlib import Path

import export_run
from export_run import carrybeat, header, record


def named(n):
    return f"0f9b6c1e-3c1d-4f0a-9d3e-{n:012x}"


def marks(pause):
    """A run of 300 s, with a pause of `pause` s and one of 2 s."""
    return [(0, "arrest", {"basis": "recognised"}),
            (0, "breath_mode", {"mode": "continuous", "every_ms": 6000, "via": "sga"}),
            (0, "compr_start", {"by": "manual"}),
            (60, "compr_stop", {"reason": "rhythm_check"}), (60 + pause, "compr_start", {"by": "manual"}),
            (200, "compr_stop", {"reason": "move"}), (202, "compr_start", {"by": "manual"}),
            (300, "times", {"which": "handover"}), (300, "end", {"outcome": "handed_over"})]


def begun(lines, day, head):
    """A record that began at ten o'clock of that day, in UTC."""
    whole, zero = export_run.wall, datetime.datetime.fromisoformat(f"{day}T10:00+00:00")
    try:
        export_run.wall = lambda ms: (zero + datetime.timedelta(milliseconds=ms)).isoformat(timespec="milliseconds")
        return record(lines, head)
    finally:
        export_run.wall = whole


def made(n, day, pause, kind="run", more=(), **head):
    """A record of that day; sealed, so that its last line is one."""
    lines = sorted([*marks(pause), *more], key=lambda line: line[0])
    lines.append((310, "seal", {"rev": 1, "lines": len(lines) + 3}, 310, "auto"))
    return begun(lines, day, header(record_id=named(n), kind=kind, **head))


# Longest pauses of fourteen runs, in order of their months, s: by hand the median is 11.5, quartiles 8.25 and 14.75.
LONGEST = [20, 18, 15, 16, 14, 13, 12, 11, 9, 10, 8, 7, 8, 5]


def fourteen():
    """Two runs a month."""
    return [made(n, f"2025-{1 + n // 2:02}-{5 + n % 2:02}", pause) for n, pause in enumerate(LONGEST)]


def three():
    """Drills of one day."""
    return [made(100 + n, "2026-02-01", pause, kind="drill") for n, pause in enumerate([7, 6, 9])]


def fingerprint(text):
    return hashlib.sha256(text.encode().rstrip(b"\n").split(b"\n")[-1]).hexdigest()


def handed(texts, before=None, unread=()):
    """A hand-in, and the SHA-256 of its first line."""
    pieces = []
    for text in texts:
        data = text.encode()
        pieces.append({"record_id": json.loads(text.split("\n")[0])["d"]["record_id"], "bytes": len(data),
                       "sha256": hashlib.sha256(data).hexdigest(), "fingerprint": fingerprint(text)})
    line = json.dumps({"schema": "handin/1.1.0", "made": "2025-12-01T12:00:00.000+00:00",
                       **({"before": before} if before else {}), **({"unread": list(unread)} if unread else {}),
                       "records": pieces}, separators=(",", ":"))
    return (line + "\n" + "".join(texts)).encode(), hashlib.sha256(line.encode()).hexdigest()


def rows(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def listed(folder, out, name, *more):
    """What trends writes into a list, without what it says of each."""
    done = carrybeat("trends", folder, "--out", out, *more)
    assert done.returncode == 0, done.stderr
    if name == "missing":
        return sorted((r["what"], r["name"], r["told_by"]) for r in rows(out / "missing.csv"))
    return sorted((r["place"], r["why"]) for r in rows(out / f"{name}.csv"))


def lines_of(prints):
    return "".join(json.dumps({"fingerprint": p}) + "\n" for p in prints)


def put(folder, *texts):
    folder.mkdir(parents=True, exist_ok=True)
    for text in texts:
        name = json.loads(text.split("\n")[0])["d"]["record_id"]
        (folder / f"{name}.rec.jsonl").write_text(text, encoding="utf-8")


def figure(out, kind, measure):
    found = [r for r in rows(out / "figures.csv") if (r["kind"], r["measure"]) == (kind, measure)]
    assert len(found) == 1, found
    return found[0]


if __name__ == "__main__":
    put(Path(sys.argv[1]), *fourteen(), *three())
