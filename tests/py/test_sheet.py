"""The debrief's PDF, read by libraries that share nothing with what wrote it."""
import getpass
import json
import socket
import subprocess

import numpy
import pytest
from pdfminer.high_level import extract_pages
from pdfminer.layout import LTChar, LTContainer, LTCurve
from pypdf import PdfReader
from test_measures import TARGET, program

PAPERS = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
RECORDS = 8
CARRYBEAT = TARGET / "debug/carrybeat"


def carrybeat(*words):
    done = subprocess.run([CARRYBEAT, *words], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def exported(tmp_path_factory):
    """Random records as PDFs, on either paper, with their measures."""
    folder = tmp_path_factory.mktemp("somewhere-telling")
    out = []
    made = subprocess.run([program(), str(RECORDS)], check=True, capture_output=True, text=True).stdout
    for n, run in enumerate(made.splitlines()):
        path = folder / f"{n}.rec.jsonl"
        path.write_text("\n".join(json.loads(run)["record"]) + "\n", encoding="utf-8")
        found = json.loads(carrybeat("measures", path, "--json"))
        for paper in PAPERS:
            pdf = folder / f"{n}-{paper}.pdf"
            carrybeat("export", path, "--to", "pdf", "--paper", paper, "--out", pdf)
            out.append((paper, pdf, found))
    return out


def elements(node, above=()):
    """Every structure element below a node, with the names of those above it."""
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object() if hasattr(kid, "get_object") else kid
        if isinstance(kid, dict) and "/S" in kid:
            yield kid, above
            yield from elements(kid, (*above, kid["/S"]))


def things(layout, kind):
    if isinstance(layout, kind):
        yield layout
    if isinstance(layout, LTContainer):
        for child in layout:
            yield from things(child, kind)


def rows(page):
    """The page's text row by row: characters on one base line, with a space wherever a gap is."""
    lines = {}
    for char in things(page, LTChar):
        lines.setdefault(round(char.matrix[5], 1), []).append(char)
    for _, chars in sorted(lines.items(), reverse=True):
        text, end = "", None
        for char in sorted(chars, key=lambda c: c.x0):
            text += " " if end is not None and char.x0 - end > 1 else ""
            text, end = text + char.get_text(), char.x1
        yield " ".join(text.split())


def clock(ms):
    seconds = (ms + 500) // 1000
    return f"{seconds // 60}:{seconds % 60:02}"


def test_title_language_and_structure_are_there(exported):
    for _, pdf, _ in exported:
        read = PdfReader(pdf)
        catalog = read.trailer["/Root"]
        assert read.metadata.title.startswith("Debrief of test, as ")
        assert catalog["/Lang"] == "en-US"
        assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
        assert catalog["/MarkInfo"]["/Marked"]
        assert len(read.outline) >= 8
        found = list(elements(catalog["/StructTreeRoot"]))
        names = [element["/S"] for element, _ in found]
        assert names.count("/H1") == 1
        assert names.count("/H2") >= 8
        assert {"/P", "/Table", "/TR", "/TH", "/TD", "/Figure"} <= set(names)
        for element, above in found:
            match element["/S"]:
                case "/Figure":
                    assert len(element["/Alt"]) > 20
                case "/TR":
                    assert above[-1] == "/Table"
                case "/TH" | "/TD":
                    assert above[-2:] == ("/Table", "/TR")
        for table in (element for element, _ in found if element["/S"] == "/Table"):
            lines = [[cell for cell, over in elements(row) if not over] for row, over in elements(table) if not over]
            assert len({len(line) for line in lines}) == 1
            scopes = [[cell["/A"].get_object() for cell in line if cell["/S"] == "/TH"] for line in lines]
            scope = [[(a[0] if isinstance(a, list) else a)["/Scope"] for a in line] for line in scopes]
            assert scope[0] == ["/Column"] * len(lines[0])
            assert all(line == ["/Row"] for line in scope[1:]), scope


def test_every_row_of_the_tables_stands_on_the_page(exported):
    pauses = shocks = 0
    for _, pdf, found in exported:
        text = [row for page in extract_pages(pdf) for row in rows(page)]
        window = found["windows"]["recognition"]
        zero = window["from_ms"] if window else 0
        for pause in found["pauses"]["rows"]:
            pauses += 1
            begins = f"{clock(pause['from_ms'] - zero)} {clock(pause['ms'])[-2:].lstrip('0')} s "
            assert pause["ms"] > 59_000 or any(row.startswith(begins) for row in text), (begins, text)
        for shock in found["shocks"]["rows"]:
            shocks += 1
            spans = [shock["pre_ms"], shock["post_ms"], shock["peri_ms"]]
            cells = " ".join("\N{EN DASH} not known" if s is None else f"{(s + 500) // 1000} s" for s in spans)
            begins = f"{clock(shock['at_ms'] - zero)} {'this crew' if shock['by'] == 'us' else 'others'} {cells}"
            assert any(row.startswith(begins) for row in text), (begins, text)
        fraction = found["fraction"] and found["fraction"]["value"]
        if fraction is not None:
            assert any(row.startswith("Compression fraction") and f"{fraction:.2f}" in row for row in text)
        pages = len(PdfReader(pdf).pages)
        for n in range(1, pages + 1):
            assert sum(f"page {n} of {pages}" in row for row in text) == 1
        assert sum(row.startswith("Fingerprint ") for row in text) == pages
        assert any("not a medical device" in row for row in text)
    assert pauses > 20 and shocks > 10


def test_nothing_leaves_the_page_and_no_letter_lies_over_another(exported):
    for paper, pdf, _ in exported:
        width, height = PAPERS[paper]
        for page in extract_pages(pdf):
            assert (page.width, page.height) == pytest.approx((width, height), abs=0.01)
            for thing in things(page, (LTChar, LTCurve)):
                assert 28 <= thing.x0 and thing.x1 <= width - 28, thing
                assert 14 <= thing.y0 and thing.y1 <= height - 28, thing
            chars = [c for c in things(page, LTChar) if c.get_text().strip()]
            box = numpy.array([(c.x0, c.x1, c.matrix[5], c.matrix[5] + 0.5 * c.size) for c in chars])
            left = numpy.maximum(box[:, None, 0], box[None, :, 0])
            right = numpy.minimum(box[:, None, 1], box[None, :, 1])
            low = numpy.maximum(box[:, None, 2], box[None, :, 2])
            high = numpy.minimum(box[:, None, 3], box[None, :, 3])
            over = (right - left > 1) & (high - low > 1)
            numpy.fill_diagonal(over, False)
            assert not over.any(), [chars[n].get_text() for n in numpy.argwhere(over)[0]]


def test_the_font_is_embedded_and_every_letter_can_be_copied(exported):
    for _, pdf, _ in exported:
        for page in PdfReader(pdf).pages:
            for font in page["/Resources"]["/Font"].values():
                font = font.get_object()
                below = font["/DescendantFonts"][0].get_object()
                descriptor = below["/FontDescriptor"].get_object()
                assert {"/FontFile2", "/FontFile3"} & set(descriptor)
                assert "/ToUnicode" in font
                # Six letters and a plus sign: only the characters that are used.
                assert font["/BaseFont"][7:8] == "+" and "CarrybeatSheet" in font["/BaseFont"]


def test_the_files_own_data_name_no_time_no_person_and_no_place(exported):
    for _, pdf, found in exported:
        read = PdfReader(pdf)
        assert set(read.metadata) == {"/Title", "/Creator", "/Producer"}
        assert read.metadata.creator == read.metadata.producer == "Carrybeat"
        assert found["record_id"] not in read.metadata.title
        packet = read.trailer["/Root"]["/Metadata"].get_object().get_data().decode()
        assert "Date" not in packet
        plain = pdf.read_bytes().decode("latin-1") + packet
        for obj in range(1, len(read.xref[0]) + 1 if read.xref else 1):
            one = read.get_object(obj)
            plain += one.get_data().decode("latin-1") if hasattr(one, "get_data") else str(one)
        for telling in (str(pdf.parent), "somewhere-telling", "/home/", "/tmp/", "CreationDate", "ModDate"):
            assert telling not in plain, telling
        for name in (getpass.getuser(), socket.gethostname()):
            assert len(name) < 5 or name not in plain, name
