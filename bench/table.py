#!/usr/bin/env python3
"""Puts the figures of docs/measurements.jsonl into the tables of docs/measurements.md.

usage: bench/table.py [--check]    --check changes nothing and fails if the page is out of date

A table stands between `<!-- figures: A | B -->` and `<!-- end -->` and holds every figure whose
`what` begins with A or B; the last table (`<!-- figures: * -->`) takes all others. Of figures with the
same `what`, `unit` and machine the last line counts.
"""

import json
import re
import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent.parent / "docs"
BLOCK = re.compile(r"(<!-- figures: (.*?) -->\n).*?(<!-- end -->)", re.S)
SPREAD = ["q1", "p50", "q3", "p95", "p99", "max"]


def figures(text):
    """The last line of each figure, in the order in which the figures first came."""
    found = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            figure = json.loads(line)
            # A real-time proof's line is the proof's own and stands in no table.
            if "proof" in figure:
                continue
            key = (figure["what"], figure["unit"], figure["machine"])
            figure["n"], figure["commit"], figure["date"]
        except (ValueError, KeyError, TypeError) as error:
            sys.exit(f"measurements.jsonl:{number}: {error!r}; see the top of bench/README.md")
        found[key] = figure
    return list(found.values())


def shown(value):
    """A number with at most four digits that count."""
    if not isinstance(value, (int, float)):
        return str(value)
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    return f"{value:.4g}"


def cell(text):
    return str(text).replace("|", "\\|").replace("\n", " ")


def values(figure):
    parts = [shown(figure["value"])] if "value" in figure else []
    parts += [f"{name} {shown(figure[name])}" for name in SPREAD if name in figure]
    return ", ".join(parts)


def table(rows, machines):
    lines = ["| what | figure | unit | n | load | machine | commit |", "|---|---|---|---|---|---|---|"]
    for f in rows:
        machine = f"M{machines.index(f['machine']) + 1}"
        load = shown(f.get("load", ""))
        row = [f["what"], values(f), f["unit"], shown(f["n"]), load, machine, f"{f['commit']}, {f['date']}"]
        lines.append("| " + " | ".join(cell(part) for part in row) + " |")
    return "\n".join(lines) + "\n"


def page(text, rows):
    machines = list(dict.fromkeys(f["machine"] for f in rows))
    begins = {
        heads: [h.strip() for h in heads.split("|")]
        for _, heads, _ in BLOCK.findall(text)
        if heads not in ("*", "machines")
    }

    def owner(what):
        return next((k for k, hs in begins.items() if any(what.startswith(h) for h in hs)), "*")

    def fill(match):
        heads = match[2]
        if heads == "machines":
            body = "".join(f"* **M{n}**: {m}\n" for n, m in enumerate(machines, 1))
        else:
            mine = [f for f in rows if owner(f["what"]) == heads]
            body = table(mine, machines) if mine else "None yet.\n"
        return match[1] + "\n" + body + "\n" + match[3]

    return BLOCK.sub(fill, text)


def main():
    target = DOCS / "measurements.md"
    before = target.read_text()
    after = page(before, figures((DOCS / "measurements.jsonl").read_text()))
    if "--check" in sys.argv[1:]:
        if before != after:
            sys.exit("docs/measurements.md is out of date: run bench/table.py")
        return
    target.write_text(after)


if __name__ == "__main__":
    main()
