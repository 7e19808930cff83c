"""Many runs over time: a tree of good and bad files by hand, the figures by numpy, the tables by other engines."""
import base64
import hashlib
import math
import os
import re
import shutil
import statistics
import struct
import subprocess
import sys

import duckdb
import lxml.html
import numpy
import polars
import pytest
from export_run import ROOT, TARGET, carrybeat, header
from measures import measures
from pypdf import PdfReader
from trends_made import LONGEST, begun, figure, fourteen, handed, listed, made, marks, named, put, rows, three

FULL = bool(os.environ.get("CARRYBEAT_FULL"))
# Where pyspark is: in an environment of its own, for it is large.
SPARK = os.environ.get("CARRYBEAT_SPARK")
ROWS = 1_000_000 if FULL else 3000
DOCS = (ROOT / "docs/trends.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    """Fourteen runs over seven months, three drills, a test, and one of each thing that goes wrong."""
    folder = tmp_path_factory.mktemp("trends") / "in"
    (folder / "old").mkdir(parents=True)
    runs, drills = fourteen(), three()
    for n, text in enumerate(runs[:8]):
        (folder / f"{n}.rec.jsonl").write_text(text, encoding="utf-8")
    lost = hashlib.sha256(b"the first hand-in of that phone").hexdigest()
    first, line = handed(runs[8:11], before=lost)
    second, _ = handed([runs[11], runs[12], runs[13]], before=line, unread=[named(77), named(3)])
    (folder / "a.handin").write_bytes(first)
    (folder / "b.handin").write_bytes(second)
    (folder / "old/drills.handin").write_bytes(handed(drills)[0])
    (folder / "old/test.rec.jsonl").write_text(made(200, "2025-03-03", 60, kind="test"), encoding="utf-8")
    # Copies: the same bytes, an earlier state, and another course.
    (folder / "old/again.rec.jsonl").write_text(runs[8], encoding="utf-8")
    (folder / "old/earlier.rec.jsonl").write_text("\n".join(runs[0].split("\n")[:9]) + "\n", encoding="utf-8")
    (folder / "old/other.rec.jsonl").write_text(
        "\n".join(made(1, "2025-01-06", 44).split("\n")[:9]) + "\n", encoding="utf-8")
    # What is left out.
    (folder / "notes.txt").write_text("to do\n", encoding="utf-8")
    (folder / "empty.rec.jsonl").write_text("", encoding="utf-8")
    half = "\n".join(made(300, "2025-03-03", 9).split("\n")[:8])
    (folder / "half.rec.jsonl").write_text(half[:-20], encoding="utf-8")
    (folder / "cut.rec.jsonl").write_text(half[:90], encoding="utf-8")
    newer = made(301, "2025-03-03", 9, schema="record/2.0.0")
    (folder / "newer.rec.jsonl").write_text(newer, encoding="utf-8")
    (folder / "y1970.rec.jsonl").write_text(made(302, "1970-01-01", 9), encoding="utf-8")
    (folder / "y2099.rec.jsonl").write_text(made(303, "2099-01-01", 9), encoding="utf-8")
    data = bytearray(handed([made(304, "2025-03-03", 9), made(305, "2025-03-04", 9)])[0])
    (folder / "short.handin").write_bytes(data[:-100])
    data[data.index(b"\n") + 500] ^= 1
    (folder / "changed.handin").write_bytes(data)
    (folder / "newer.handin").write_bytes(first.replace(b"handin/1.1.0", b"handin/2.0.0"))
    # A link that leads back to its own folder.
    (folder / "old/back").symlink_to(folder)
    # Changed after it was sealed: in the tables, in no figure.
    changed = made(306, "2025-03-05", 99).replace('"reason":"move"', '"reason":"rosc"')
    (folder / "tampered.rec.jsonl").write_text(changed, encoding="utf-8")
    out = folder.parent / "out"
    done = carrybeat("trends", folder, "--out", out)
    assert done.returncode == 0, done.stderr
    return folder, out, done.stdout, runs, drills


def test_each_file_that_does_not_count_is_listed_with_its_reason(tree):
    folder, out, said, _, _ = tree
    left = sorted((r["place"], r["why"]) for r in rows(out / "left-out.csv"))
    assert left == sorted([
        ("notes.txt", "foreign"), ("old/back", "foreign"),
        ("empty.rec.jsonl", "half_written"), ("half.rec.jsonl", "half_written"), ("cut.rec.jsonl", "half_written"),
        ("newer.rec.jsonl", "newer_version"), ("newer.handin", "newer_version"),
        ("y1970.rec.jsonl", "clock_off"), ("y2099.rec.jsonl", "clock_off"),
        (f"changed.handin: record {named(304)}", "damaged"),
        (f"short.handin: record {named(305)}", "half_written")])
    # What was found, what is allowed or what helps.
    for row in rows(out / "left-out.csv"):
        assert re.search("allowed|hand it in again|newer app|leave it out", row["detail"]), row
    files = sum(1 for path in folder.rglob("*") if path.is_file() and "back" not in path.parts)
    assert f"{files} files, 21 records in the tables, 11 left out, 3 copies dropped, 2 missing" in said
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "notes.txt" in page and "neither a record nor a hand-in" in page


def test_of_each_record_one_copy_counts_and_the_others_are_said(tree):
    _, out, _, _, _ = tree
    copies = sorted((r["place"], r["like"], r["kept"]) for r in rows(out / "copies.csv"))
    # 304 and 305 lie in two hand-ins that are damaged each in another record, so one whole copy is left of each.
    assert copies == sorted([
        ("old/again.rec.jsonl", "same", f"a.handin: record {named(8)}"),
        ("old/earlier.rec.jsonl", "earlier_state", "0.rec.jsonl"),
        ("old/other.rec.jsonl", "differs", "1.rec.jsonl")])


def test_a_changed_copy_never_displaces_the_sound_one(tmp_path):
    """It lies before the sound one, is as long and as sealed: by hand 9 s is the sound one's longest pause."""
    folder = tmp_path / "in"
    folder.mkdir()
    sound = made(1, "2025-03-03", 9)
    (folder / "0-changed.rec.jsonl").write_text(sound.replace('"reason":"move"', '"reason":"rosc"'), encoding="utf-8")
    (folder / "1-sound.rec.jsonl").write_text(sound, encoding="utf-8")
    done = carrybeat("trends", folder, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert [r["record_unchanged"] for r in rows(tmp_path / "out/csv/run/runs.csv")] == ["true"]
    copies = [(r["place"], r["like"], r["kept"]) for r in rows(tmp_path / "out/copies.csv")]
    assert copies == [("0-changed.rec.jsonl", "differs", "1-sound.rec.jsonl")]
    assert float(figure(tmp_path / "out", "run", "longest_pause_s")["median"]) == 9


def test_what_never_came_in_is_listed(tree):
    _, out, _, _, _ = tree
    missing = sorted((r["what"], r["name"], r["told_by"]) for r in rows(out / "missing.csv"))
    lost = hashlib.sha256(b"the first hand-in of that phone").hexdigest()
    # Of the two that b.handin could not read one has come in since.
    assert missing == [("hand_in_missing", lost, "a.handin"), ("unread_at_hand_in", named(77), "b.handin")]


def test_scenarios_classes_and_tries_of_drills_are_never_pooled(tmp_path):
    """By hand: of two tries of one drill the second, 6 s, and beside it 8 s: their median is 7. Others stand alone."""
    def drill(n, pause, version="1", more=(), **head):
        return made(n, "2025-03-03", pause, kind="drill", scenario={"id": "device_on", "version": version},
                    more=more, **head)

    again = (250, "drill", {"what": "again", "of": named(1), "from_ms": 240_000}, 250, "auto")
    child = (1, "patient", {"class": "child"})
    # Line 6, after arrest, breath mode and compressions: the review takes it back.
    retract = (305, "amend", {"target": 6, "op": "retract", "reason": "mis_tap"})
    put(tmp_path / "in", drill(1, 50), drill(2, 6, more=[again]), drill(3, 8), drill(4, 20, version="2"),
        drill(5, 30, more=[child]), made(6, "2025-03-03", 9), made(7, "2025-03-03", 11, more=[child]),
        made(8, "2025-03-03", 13, more=[child, retract]))
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == []
    found = [(r["kind"], r["scenario"], r["class"], int(r["n"]), float(r["median"]))
             for r in rows(tmp_path / "out/figures.csv") if r["measure"] == "longest_pause_s"]
    assert found == [("run", "", "adult", 2, 11), ("run", "", "child", 1, 11), ("drill", "device_on 1", "adult", 2, 7),
                     ("drill", "device_on 1", "child", 1, 30), ("drill", "device_on 2", "adult", 1, 20)]
    table = {r["run"]: r for r in rows(tmp_path / "out/csv/drill/runs.csv")}
    assert {run: row["again_of"] for run, row in table.items() if row["again_of"]} == {named(2): named(1)}
    assert len(table) == 5 and table[named(4)]["scenario"] == "device_on 2"
    assert [table[named(5)][c] for c in ("patient_class", "class")] == ["adult", "child"]
    page = (tmp_path / "out/report.html").read_text(encoding="utf-8")
    assert "Earlier tries of these drills, in the tables alone: 1." in page
    assert "Drills: Child; scenario device_on 1; definitions" in page


# From the first moment on thirty to two, and no pause for breaths: the fraction is an upper bound.
UNMARKED = (0, "breath_mode", {"mode": "ratio", "ratio": "30:2"})


def test_upper_bounds_are_in_no_share(tmp_path):
    """By hand, of 300 s: 289, 180 and 179 with hands on are 0.963, 0.60 and 0.597, so two of three. Of two bounds as
    high and as low as these only the low one tells where it lies; what the crew saw is apart."""
    put(tmp_path / "in", made(1, "2025-03-03", 9), made(2, "2025-03-03", 118), made(3, "2025-03-03", 119),
        made(4, "2025-03-03", 9, more=[UNMARKED]), made(5, "2025-03-03", 119, more=[UNMARKED]),
        made(6, "2025-03-03", 9, ems_witnessed="yes"), made(7, "2025-03-03", 39, more=[UNMARKED], ems_witnessed="yes"))
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == []
    row = figure(tmp_path / "out", "run", "share_fraction_from_0_60")
    assert (row["x"], row["n"]) == ("2", "3")
    below = {r["run"]: (r["upper_bound"], r["below_floor"]) for r in rows(tmp_path / "out/csv/run/runs.csv")}
    assert [below[named(n)] for n in range(1, 8)] == [
        ("false", "false"), ("false", "false"), ("false", "true"), ("true", ""), ("true", "true"), ("false", "false"),
        ("true", "")]
    # What the crew saw stands apart among the bounds as well: 259 of 300 s.
    found = {r["measure"]: (int(r["n"]), float(r["median"])) for r in rows(tmp_path / "out/figures.csv")
             if r["measure"].startswith("fraction")}
    assert found == {"fraction": (3, 0.6), "fraction_upper_bound": (2, pytest.approx((289 + 179) / 600, abs=1e-6)),
                     "fraction_crew_saw_arrest": (1, pytest.approx(289 / 300, abs=1e-6)),
                     "fraction_upper_bound_crew_saw_arrest": (1, pytest.approx(259 / 300, abs=1e-6))}


def test_a_start_at_one_touch_is_no_time_to_the_first_compression(tmp_path):
    """By hand: of three runs the second was begun with breaths, 12 s before the hands; the others at one touch."""
    apart = [(at if ev != "compr_start" or at else 12, ev, d) for at, ev, d in marks(9)]
    late = begun(apart, "2025-03-04", header(record_id=named(2), kind="run"))
    texts = [made(1, "2025-03-03", 9), late, made(3, "2025-03-05", 9)]
    put(tmp_path / "in", *texts)
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == []
    assert [measures(t.rstrip("\n").split("\n"))["first"]["compression_ms"] for t in texts] == [0, 12_000, 0]
    row = figure(tmp_path / "out", "run", "first_compression_s")
    assert (int(row["n"]), float(row["median"])) == (1, 12)
    # The tables have what the record says.
    assert [float(r["first_compression_s"]) for r in rows(tmp_path / "out/csv/run/runs.csv")] == [0, 12, 0]


def run_rules(values):
    """Longest run and crossings, and their limits, after Anhoej and Olesen 2014."""
    middle = statistics.median(values)
    sides = [v > middle for v in values if v != middle]
    runs, crossings = [1], 0
    for a, b in zip(sides, sides[1:]):
        if a == b:
            runs[-1] += 1
        else:
            runs.append(1)
            crossings += 1
    n = len(sides)
    least = next(k for k in range(n) if sum(math.comb(n - 1, i) for i in range(k + 1)) >= 0.05 * 2 ** (n - 1))
    return max(runs), round(math.log2(n)) + 3, crossings, least


def test_figures_are_those_of_the_second_implementation_and_numpy(tree):
    _, out, _, runs, drills = tree
    for kind, texts in (("run", [*runs, made(304, "2025-03-03", 9), made(305, "2025-03-04", 9)]), ("drill", drills)):
        found = [measures(text.rstrip("\n").split("\n")) for text in texts]
        for measure, values in (
                ("longest_pause_s", [m["pauses"]["longest_ms"] / 1000 for m in found]),
                ("fraction", [m["fraction"]["value"] for m in found])):
            row = figure(out, kind, measure)
            assert int(row["n"]) == len(values)
            got = [float(row[c]) for c in ("q1", "median", "q3")]
            assert got == pytest.approx(list(numpy.percentile(values, [25, 50, 75])), abs=1e-6), (kind, measure)
            marked = sum(m["trust"]["checks_marked"] for m in found)
            due = sum(m["trust"]["checks_due"] for m in found)
            assert (int(row["checks_marked"]), int(row["checks_due"])) == (marked, due)
            window = sum(m["windows"]["recognition"]["to_ms"] - m["windows"]["recognition"]["from_ms"] for m in found)
            known = window - sum(m["time"]["unknown_ms"] for m in found)
            assert float(row["coverage"]) == pytest.approx(known / window, abs=1e-6)


def test_a_run_chart_of_fourteen_by_hand(tmp_path):
    folder = tmp_path / "in"
    folder.mkdir()
    for n, text in enumerate(fourteen()):
        (folder / f"{13 - n}.rec.jsonl").write_text(text, encoding="utf-8")
    done = carrybeat("trends", folder, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    row = figure(tmp_path / "out", "run", "longest_pause_s")
    assert [float(row[c]) for c in ("q1", "median", "q3")] == [8.25, 11.5, 14.75]
    # Seven above, then seven below: one crossing where at least four are allowed, and a run of seven where
    # log2(14) = 3.8 allows 4 + 3.
    cells = [int(row[c]) for c in ("longest_run", "longest_run_limit", "crossings", "crossings_limit")]
    assert cells == [7, 7, 1, 4] == list(run_rules(LONGEST))
    page = (tmp_path / "out/report.html").read_text(encoding="utf-8")
    assert "The rules find a signal" in page


@pytest.mark.parametrize("count", [100, 101])
def test_one_run_more_takes_no_rule_away(tmp_path, count):
    """A year of 101 runs would be four quarters, too few for the rules: each run stays a point."""
    pauses = [5 + n * 37 % 53 for n in range(count)]
    put(tmp_path / "in", *(made(n, f"2025-{1 + n // 9:02}-{1 + n % 9:02}", pause) for n, pause in enumerate(pauses)))
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == []
    row = figure(tmp_path / "out", "run", "longest_pause_s")
    assert int(row["points"]) == count
    cells = [int(row[c]) for c in ("longest_run", "longest_run_limit", "crossings", "crossings_limit")]
    assert cells == list(run_rules(pauses))


def test_changed_records_and_tests_are_in_the_tables_alone(tree):
    _, out, _, _, _ = tree
    tampered = [r for r in rows(out / "csv/run/runs.csv") if r["run"] == named(306)]
    assert [r["record_unchanged"] for r in tampered] == ["false"]
    assert {r["run"] for r in rows(out / "csv/test/runs.csv")} == {named(200)}
    assert {r["kind"] for r in rows(out / "figures.csv")} == {"run", "drill"}
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "Records with changed or damaged lines, in the tables alone: 1" in page
    assert "Rehearsals and tests, in the tables alone: 1" in page


def luminance(color):
    part = [int(color[n:n + 2], 16) / 255 for n in (1, 3, 5)]
    part = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in part]
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2]


def test_the_page_stands_alone_and_can_be_read(tree):
    _, out, _, _, _ = tree
    text = (out / "report.html").read_text(encoding="utf-8")
    page = lxml.html.fromstring(text)
    assert not page.xpath("//script | //link | //img | //iframe | //object | //@src | //@href | //@onclick")
    # The font lies in the page itself.
    assert text.count("url(") == text.count("url(data:font/ttf;base64,") == 1 and "@import" not in text
    assert page.get("lang") == "en-US"
    for svg in page.xpath("//*[local-name()='svg']"):
        assert svg.get("aria-label") and svg.xpath("./*[local-name()='desc']")[0].text
    for table in page.xpath("//table"):
        assert table.xpath("./thead/tr/th[@scope='col']") and table.xpath("./tbody/tr/th[@scope='row']")
    # Every colour of words and lines against white: WCAG 2.2 wants 4.5 to 1 for words and 3 to 1 for lines.
    words = set(page.xpath("//*[local-name()='text']/@fill"))
    lines = set(page.xpath("//*[local-name()='path']/@stroke"))
    assert words and lines
    for colors, least in ((words, 4.5), (lines, 3)):
        for color in colors:
            assert 1.05 / (luminance(color) + 0.05) >= least, color


def widths(font):
    """How wide each character is, of the size: OpenType's tables head, hhea, hmtx, and cmap in format 4."""
    def at(place, form):
        return struct.unpack_from(f">{form}", font, place)

    tables = {font[12 + 16 * n:16 + 16 * n]: at(20 + 16 * n, "I")[0] for n in range(at(4, "H")[0])}
    per_em, = at(tables[b"head"] + 18, "H")
    full, = at(tables[b"hhea"] + 34, "H")
    cmap = tables[b"cmap"]
    subs = [cmap + at(cmap + 8 + 8 * n, "I")[0] for n in range(at(cmap + 2, "H")[0])]
    sub = next(place for place in subs if at(place, "H") == (4,))
    count = at(sub + 6, "H")[0] // 2
    ends, (starts, steps, offsets) = sub + 14, (sub + 16 + 2 * count * n for n in (1, 2, 3))
    out = {}
    for n in range(count):
        (end,), (start,), (step,), (offset,) = (at(place + 2 * n, "H") for place in (ends, starts, steps, offsets))
        for code in range(start, min(end + 1, 0xffff)):
            glyph = code if offset == 0 else at(offsets + 2 * n + offset + 2 * (code - start), "H")[0]
            out[chr(code)] = at(tables[b"hmtx"] + 4 * min((glyph + step) % 0x10000, full - 1), "H")[0] / per_em
    return out


def test_no_word_of_a_chart_is_squeezed(tree):
    """Each is as wide as the font in the page makes it, by the font's own tables; its size is rounded, 3.175 mm to 3.18."""
    _, out, _, _, _ = tree
    text = (out / "report.html").read_text(encoding="utf-8")
    family, data = re.search(r'@font-face{font-family:"(.*?)";font-weight:600;src:url\(data:font/ttf;base64,(.*?)\)}',
                             text).groups()
    assert "font-src data:" in text
    wide = widths(base64.b64decode(data, validate=True))
    seen = 0
    for svg in lxml.html.fromstring(text).xpath("//*[local-name()='svg']"):
        assert (svg.get("font-family").split(",")[0], svg.get("font-weight")) == (family, "600")
        for word in svg.xpath(".//*[local-name()='text']"):
            natural = sum(wide[char] for char in word.text) * float(svg.get("font-size"))
            assert float(word.get("textlength")) == pytest.approx(natural, rel=3e-3, abs=0.01), word.text
            seen += 1
    assert seen > 50


def test_the_pdf_is_tagged(tree):
    _, out, _, _, _ = tree
    pdf = PdfReader(out / "report.pdf")
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en-US"
    seen = []

    def walk(node):
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            kid = kid.get_object() if hasattr(kid, "get_object") else kid
            if isinstance(kid, dict) and "/S" in kid:
                seen.append(kid)
                walk(kid)

    walk(root["/StructTreeRoot"])
    kinds = [kid["/S"] for kid in seen]
    assert kinds.count("/H1") == 1 and kinds.count("/H2") > 8 and "/Table" in kinds
    figures = [kid for kid in seen if kid["/S"] == "/Figure"]
    assert len(figures) > 5 and all(len(kid["/Alt"]) > 20 for kid in figures)


def test_the_same_files_give_the_same_bytes(tree, tmp_path):
    folder, out, _, _, _ = tree
    done = carrybeat("trends", folder, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    for path in sorted(out.rglob("*")):
        other = tmp_path / "out" / path.relative_to(out)
        # What the clock of 2099 is held against is the desk's own clock.
        if path.is_file() and path.name not in ("left-out.csv", "report.html", "report.pdf"):
            assert other.read_bytes() == path.read_bytes(), path


@pytest.mark.parametrize("words, said", [
    (["trends"], "FOLDER"), (["trends", "IN"], "--out"), (["trends", "IN", "IN", "--out", "NEW"], "two folders"),
    (["trends", "IN/none", "--out", "NEW"], "no folder"), (["trends", "IN", "--out", "IN"], "not there yet"),
    (["trends", "IN", "--out", "NEW", "--lang", "xx"], "xx"), (["trends", "IN", "--out", "NEW", "--paper", "a5"], "a4"),
    (["trends", "IN", "--out", "NEW", "--unit", "nobody"], "unit_code"), (["trends", "IN", "--fast"], "--as-recorded")])
def test_what_cannot_be_is_named(tmp_path, words, said):
    (tmp_path / "in").mkdir()
    (tmp_path / "in/a.rec.jsonl").write_text(made(1, "2025-03-03", 9), encoding="utf-8")
    words = [w.replace("IN", str(tmp_path / "in")).replace("NEW", str(tmp_path / "new")) for w in words]
    done = carrybeat(*words)
    assert done.returncode == 1 and said in done.stderr, done.stderr


def test_a_unit_is_reported_by_its_code_alone(tmp_path):
    (tmp_path / "in").mkdir()
    for n, (unit, pause) in enumerate([("u-a", 5), ("u-a", 7), ("u-b", 50)]):
        text = made(n, "2025-03-03", pause, unit_code=unit)
        (tmp_path / f"in/{n}.rec.jsonl").write_text(text, encoding="utf-8")
    done = carrybeat("trends", tmp_path / "in", "--out", tmp_path / "out", "--unit", "u-a", "--lang", "es-419")
    assert done.returncode == 0, done.stderr
    assert float(figure(tmp_path / "out", "run", "longest_pause_s")["median"]) == 6
    assert len(rows(tmp_path / "out/csv/run/runs.csv")) == 3
    page = (tmp_path / "out/report.html").read_text(encoding="utf-8")
    assert "Solo registros de la unidad u-a." in page and "u-b" not in page


def test_after_a_mistyped_unit_the_same_command_goes_through(tmp_path):
    put(tmp_path / "in", made(1, "2025-03-03", 5, unit_code="u-a"), made(2, "2025-03-03", 9, unit_code="u-b"))
    done = carrybeat("trends", tmp_path / "in", "--out", tmp_path / "out", "--unit", "u-x")
    assert done.returncode == 1 and "u-a, u-b" in done.stderr and "nothing was written" in done.stderr, done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in"]
    done = carrybeat("trends", tmp_path / "in", "--out", tmp_path / "out", "--unit", "u-a")
    assert done.returncode == 0, done.stderr
    assert float(figure(tmp_path / "out", "run", "longest_pause_s")["median"]) == 5
    # A folder that was there before is left alone.
    done = carrybeat("trends", tmp_path / "in", "--out", tmp_path / "out", "--unit", "u-x")
    assert done.returncode == 1 and (tmp_path / "out/report.html").exists(), done.stderr


# --- other engines

def queries(name):
    """What docs/trends.md has for an engine."""
    blocks = re.findall(r"```(sql|python)\n(.*?)```", DOCS, re.S)
    return [text for _, text in blocks if re.match(rf"(--|#) {name}\b", text)]


def by_duckdb(out):
    db = duckdb.connect()
    return [db.execute(q.replace("DIR", str(out))).fetchall() for q in queries("DuckDB")]


def by_polars(out):
    return [eval(q.replace("DIR", str(out)), {"polars": polars}).rows()  # noqa: S307
            for q in ("(" + "\n".join(q.split("\n")[1:]) + ")" for q in queries("Polars"))]


def by_spark(out):
    sys.path.append(SPARK)
    from pyspark.sql import SparkSession
    spark = (SparkSession.builder.master("local[2]").config("spark.ui.enabled", "false")
             .config("spark.sql.session.timeZone", "UTC").getOrCreate())
    try:
        for table in ("runs", "pauses"):
            spark.read.parquet(str(out / "parquet" / table)).createOrReplaceTempView(table)
        return [[tuple(row) for row in spark.sql(q).collect()] for q in queries("Spark")]
    finally:
        spark.stop()


def alike(one, other):
    assert len(one) == len(other) == 3
    for a, b in zip(one, other):
        assert len(a) == len(b) > 0
        for x, y in zip(a, b):
            assert [type(v) in (int, float) for v in x] == [type(v) in (int, float) for v in y]
            for v, w in zip(x, y, strict=True):
                assert v == (pytest.approx(w, rel=1e-9) if isinstance(w, float) else w)


def check(out):
    """The documented queries by two engines, and over all years the program's own figures."""
    found = by_duckdb(out)
    alike(found, by_polars(out))
    db = duckdb.connect()
    view = f"read_parquet('{out}/parquet/runs/*/*/*.parquet', hive_partitioning = true)"
    where = {"fraction": "not upper_bound and ems_witnessed != 'yes'", "fraction_upper_bound": "upper_bound and ems_witnessed != 'yes'",
             "fraction_crew_saw_arrest": "not upper_bound and ems_witnessed = 'yes'",
             "fraction_upper_bound_crew_saw_arrest": "upper_bound and ems_witnessed = 'yes'",
             "first_compression_s": "first_compression_s > 0",
             **{name: "true" for name in ("longest_pause_s", "first_shock_s", "pre_shock_s", "post_shock_s",
                                          "peri_shock_s")}}
    columns = {name: "fraction" for name in where if name.startswith("fraction")}
    compared = 0
    for row in rows(out / "figures.csv"):
        measure = row["measure"]
        # A group: of one kind, definitions, class and scenario, and of nothing that was changed.
        group = "record_unchanged and kind = ? and definitions = ? and class = ? and scenario is not distinct from ?"
        of = [row["kind"], row["definitions"], row["class"], row["scenario"] or None]
        if measure in where:
            column = columns.get(measure, measure)
            n, q1, median, q3 = db.execute(f"""
                select count({column}), quantile_cont({column}, 0.25), quantile_cont({column}, 0.5),
                       quantile_cont({column}, 0.75)
                from {view} where {group} and {where[measure]}""", of).fetchone()
            assert n == int(row["n"]), row
            got = [float(row[c]) for c in ("q1", "median", "q3")]
            # A fraction has five places in the tables, a figure six.
            assert got == pytest.approx([q1, median, q3], abs=6e-6 if column == "fraction" else 1e-6), row
            compared += 1
        elif measure == "share_fraction_from_0_60":
            # From the fraction itself, not from the column that the program takes.
            x, n = db.execute(f"""select count(*) filter (fraction >= 0.6), count(fraction) from {view}
                where {group} and not upper_bound and ems_witnessed != 'yes'""", of).fetchone()
            assert (x, n) == (int(row["x"]), int(row["n"]))
            compared += 1
        elif measure == "share_doses_inside":
            x, n = db.execute(f"select sum(doses_inside), sum(doses_placed) from {view} where {group}", of).fetchone()
            assert (x, n) == (int(row["x"]), int(row["n"]))
            compared += 1
    return compared, found


def test_the_tables_of_a_tree_answer_as_the_report_does(tree):
    _, out, _, _, _ = tree
    view = f"read_parquet('{out}/parquet/runs/*/*/*.parquet', hive_partitioning = true)"
    counts = duckdb.connect().execute(f"select kind, year, count(*) from {view} group by all order by all").fetchall()
    assert counts == [("drill", 2026, 3), ("run", 2025, 17), ("test", 2025, 1)]
    # CSV and Parquet hold the same rows.
    for kind in ("run", "drill", "test"):
        lines = rows(out / f"csv/{kind}/pauses.csv")
        held = polars.scan_parquet(f"{out}/parquet/pauses/kind={kind}/**/*.parquet").collect()
        assert sorted((r["run"], float(r["length_s"])) for r in lines) == sorted(held.select("run", "length_s").rows())


def test_a_run_that_lies_in_two_parts_counts_once_and_as_it_was_reviewed(tmp_path):
    """By hand: the first run's pause is 9 s until a review makes it 12 s; the third is in both parts as it is."""
    first = [*marks(9), (310, "seal", {"rev": 1, "lines": 12}, 310, "auto")]
    amend = (400, "amend", {"target": 7, "op": "retime", "at_ms": 72_000, "reason": "crew_recall"})
    reviewed = [*first, amend, (400, "seal", {"rev": 2, "lines": 14}, 400, "auto")]
    head = header(record_id=named(1), kind="run")
    put(tmp_path / "one", begun(first, "2025-03-03", head), made(2, "2025-03-03", 5), made(3, "2025-03-03", 21))
    put(tmp_path / "two", begun(reviewed, "2025-03-03", head), made(3, "2025-03-03", 21), made(4, "2025-03-03", 13))
    for name in ("one", "two"):
        done = carrybeat("trends", tmp_path / name, "--out", tmp_path / f"out-{name}")
        assert done.returncode == 0, done.stderr
    for path in (tmp_path / "out-two/parquet").rglob("part-0.parquet"):
        to = tmp_path / "out-one/parquet" / path.relative_to(tmp_path / "out-two/parquet")
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, to.with_name("part-1.parquet"))
    # Of 5, 12, 13 and 21 s; without doses there is no share; above 10 s are three, of which 13 is the middle.
    for found in (by_duckdb(tmp_path / "out-one"), by_polars(tmp_path / "out-one")):
        assert found == [[("run", 2025, 4, 10.25, 12.5, 15.0)], [], [("rhythm_check", 3, 13.0)]]


@pytest.fixture(scope="module")
def many(tmp_path_factory):
    program = TARGET / "debug/examples/many_rows"
    if not program.exists():
        subprocess.run(["cargo", "build", "--locked", "-p", "desk", "--example", "many_rows"], cwd=ROOT, check=True)
    out = tmp_path_factory.mktemp("many") / "out"
    subprocess.run([program, str(ROWS), out], check=True, capture_output=True)
    yield out
    shutil.rmtree(out)


def test_other_engines_answer_as_the_program_does(many):
    compared, found = check(many)
    # Runs of two definitions and two classes, drills also of two versions of a scenario: twelve groups. In each the
    # fraction, the longest pause, the first compression and the first shock, three pauses around shocks, and two shares.
    assert compared >= 12 * 9
    # What is left out is there: one row in twenty was changed, and would be in the figures otherwise.
    view = f"read_parquet('{many}/parquet/runs/*/*/*.parquet', hive_partitioning = true)"
    changed, = duckdb.connect().execute(f"select count(*) from {view} where not record_unchanged").fetchone()
    assert 0.03 * ROWS < changed < 0.07 * ROWS
    counted = sum(int(r["n"]) for r in rows(many / "figures.csv") if r["measure"] == "share_doses_inside")
    # Each row has one interval between doses.
    assert counted == ROWS - changed
    # Eight years of runs and of drills in each answer by year.
    assert len(found[0]) == len(found[1]) == 16


@pytest.mark.skipif(not FULL or not SPARK or shutil.which("java") is None,
                    reason="the long form, with pyspark (CARRYBEAT_SPARK) and Java")
def test_spark_answers_alike(many):
    alike(by_duckdb(many), by_spark(many))
