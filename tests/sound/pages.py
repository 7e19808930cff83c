"""The tables of docs/sound.md from the committed figures, and whether both are of what was measured."""
import json

import intelligible
from house import PACKS, ROOT, limit

HERE = ROOT / "tests" / "sound"
FIGURES = HERE / "figures.json"
MISSES = HERE / "misses.json"
PAGE = ROOT / "docs" / "sound.md"


def read(path):
    return json.loads(path.read_text("utf-8"))


def key(row, name):
    return str(row["rule"]), row["where"], row["what"], name


def beyond(row, value):
    """How far a figure lies beyond its limit."""
    if value is None:
        return float("inf")
    return max(row["low"] - value if row["low"] is not None else float("-inf"),
               value - row["high"] if row["high"] is not None else float("-inf"))


def told(row, name, value):
    who = f"{row['where']}, {name}" if name else row["where"]
    return f"rule {row['rule']}: {who}: {row['what']} {value}{row['unit']}, allowed {limit(row)}"


def faults(rows, misses=None):
    """(what fails, what is missed and known)."""
    misses = read(MISSES)["misses"] if misses is None else misses
    known = {(m["rule"], m["where"], m["what"], m["name"]): m for m in misses}
    failing, missed, met = [], [], set()
    for row in rows:
        for name, value in row["faults"].items():
            one = known.get(key(row, name))
            if one is None or beyond(row, value) > beyond(row, one["figure"]) + within(one["figure"]):
                failing.append(told(row, name, value) + (f"; known as {one['figure']}" if one else ""))
            else:
                missed.append(f"{told(row, name, value)}; {one['why']}")
                met.add(key(row, name))
    measured = {key(row, "")[:3] for row in rows}
    failing += [f"rule {k[0]}: {k[1]}, {k[3]}: {k[2]}: no longer missed; take it out of {MISSES.name}"
                for k in known if k not in met and k[:3] in measured
                and not any(key(r, n) == k for r in rows for n in r["faults"])]
    return failing, missed


def within(figure):
    """What another machine's rounding and another run may differ by."""
    return 0.001 + 0.01 * abs(figure)


def differences(rows, full):
    """What was measured against what is committed, and the page against the committed figures."""
    if not FIGURES.is_file():
        return [f"{FIGURES.name} is missing: bench.py --write"]
    committed = {key(r, ""): r for r in read(FIGURES)["rows"]}
    out = []
    for row in rows:
        old = committed.get(key(row, ""))
        if old is None:
            out.append(f"rule {row['rule']}: {row['where']}: {row['what']}: not in {FIGURES.name}: bench.py --write")
        elif not same(row["value"], old["value"]) and (full or row["n"] == old["n"]):
            out.append(f"rule {row['rule']}: {row['where']}: {row['what']} {row['value']}, in {FIGURES.name} "
                       f"{old['value']}: bench.py --write")
    if full:
        now = {key(r, "") for r in rows}
        out += [f"rule {k[0]}: {k[1]}: {k[2]}: in {FIGURES.name}, but no longer measured: bench.py --write"
                for k in committed if k not in now]
    if not PAGE.is_file() or PAGE.read_text("utf-8") != page():
        out.append(f"docs/{PAGE.name} is not what the figures make: bench.py --write")
    return out


def same(a, b):
    return a == b if a is None or b is None else abs(a - b) <= within(b)


# The page


def figure(value, unit=""):
    if value is None:
        return "none"
    if 0 < abs(value) < 0.001:
        return f"{value:.1g}{unit}"
    digits = 4 if abs(value) < 0.1 else 3 if abs(value) < 10 else 1
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if value else "0"
    return ("0" if text in ("-0", "") else text) + unit


def cell(row):
    if row is None:
        return ""
    text = figure(row["value"], row["unit"])
    if row["name"] and row["n"] > 1:
        text += f" ({row['name']})"
    return f"**{text}**" if row["faults"] else text


def order(row):
    rule = str(row["rule"]).split(",")[0]
    return (int(rule) if rule.isdigit() else 99)


def tones_table(rows):
    out = ["| rule | what | limit | worst | least / median / most | n |", "|---|---|---|---|---|---|"]
    for row in sorted((r for r in rows if r["where"] == "tones" and r["rule"] != "onset"), key=order):
        spread = " / ".join(figure(row[k]) for k in ("least", "median", "most")) if row["n"] > 1 else ""
        out.append(f"| {row['rule']} | {row['what']} | {limit(row)}{row['unit']} | {cell(row)} | {spread} | {row['n']} |")
    return out


def across(rows, prefix):
    """One row a figure, one column a pack."""
    out = ["| rule | what | limit | " + " | ".join(PACKS) + " |", "|---|---|---|" + "---|" * len(PACKS)]
    some = {}
    for row in rows:
        for pack in PACKS:
            if row["where"] == prefix + pack and row["rule"] != "onset":
                some.setdefault((row["rule"], row["what"]), {})[pack] = row
    for (rule, what), by_pack in sorted(some.items(), key=lambda item: order({"rule": item[0][0]})):
        first = next(iter(by_pack.values()))
        out.append(f"| {rule} | {what} | {limit(first)}{first['unit'] if limit(first) != 'none' else ''} | "
                   + " | ".join(cell(by_pack.get(pack)) for pack in PACKS) + " |")
    return out


def misses_table(rows):
    known = {(m["rule"], m["where"], m["what"], m["name"]): m for m in read(MISSES)["misses"]}
    out = ["| rule | where | what | found | limit | known, and why |", "|---|---|---|---|---|---|"]
    for row in sorted(rows, key=order):
        for name, value in row["faults"].items():
            one = known.get(key(row, name))
            out.append(f"| {row['rule']} | {row['where']}{', ' + name if name else ''} | {row['what']} | "
                       f"{figure(value, row['unit'])} | {limit(row)} | {one['why'] if one else 'no'} |")
    return out if len(out) > 2 else ["None."]


def estoi_table():
    after = read(intelligible.BASELINE)["packs"]
    before = read(intelligible.UNSHAPED)["packs"]
    out = ["| pack | chain | noise | before shaping, 0 / +6 / +12 | as shipped, 0 / +6 / +12 | least prompt as shipped |",
           "|---|---|---|---|---|---|"]
    for pack in PACKS:
        for chain in ("full", "speaker"):
            for kind in intelligible.NOISES:
                cells = [f"{chain} {kind} {snr}" for snr in intelligible.SNRS]
                def means(some, cells=cells):
                    return " / ".join(f"{sum(c[k] for c in some) / len(some):.2f}" for k in cells) if some else "none"
                least = [min(after[pack].items(), key=lambda item, k=k: item[1][k]) for k in cells]
                weakest = " / ".join(f"{c[k]:.2f} {n}" for (n, c), k in zip(least, cells, strict=True))
                out.append(f"| {pack} | {chain} | {kind} | {means([*before[pack].values()])} | "
                           f"{means([*after[pack].values()])} | {weakest} |")
    return out


def onsets_table(found):
    out = ["| what | chain | n | found | missed | found where there is none | time off, p95 |", "|---|---|---|---|---|---|---|"]
    for one in found:
        if "seed" not in one:
            out.append(f"| {one['what']} | {one['chain']} | {one['n']} | {one['hits']} | {one['misses']} | {one['false']} | "
                       f"{one['p95_ms']} ms |")
    return out


def run_onsets_table(found):
    out = ["| run | chain | seed | beats | found | missed | of them under speech | missed there | found where there is none | "
           "the same under speech | time off, p95 |", "|---|---|---|---|---|---|---|---|---|---|---|"]
    for one in found:
        if "seed" in one:
            out.append(f"| {one['what'].removeprefix('beats of the run, ')} | {one['chain']} | {one['seed']} | {one['n']} | "
                       f"{one['hits']} | {one['misses']} | {one['under_speech']} | {one['misses_under_speech']} | {one['false']} | "
                       f"{one['false_under_speech']} | {one['p95_ms']} ms |")
    return out


def tables():
    figures = read(FIGURES)
    rows = figures["rows"]
    return {"tones": tones_table(rows), "packs": across(rows, ""), "runs": across(rows, "run, "),
            "missed": misses_table(rows), "estoi": estoi_table(), "onsets": onsets_table(figures["onsets"]),
            "run onsets": run_onsets_table(figures["onsets"])}


def page():
    """The page with its tables as the figures make them; the words between are kept."""
    text = PAGE.read_text("utf-8")
    for name, lines in tables().items():
        head, tail = f"<!-- table: {name} -->\n", "<!-- end -->"
        before, found, rest = text.partition(head)
        if not found or tail not in rest:
            raise SystemExit(f"{PAGE}: no place for the table {name!r}: a line {head.strip()!r} and one {tail!r}")
        text = before + head + "\n" + "\n".join(lines) + "\n\n" + tail + rest.split(tail, 1)[1]
    return text


def write():
    PAGE.write_text(page(), "utf-8")
