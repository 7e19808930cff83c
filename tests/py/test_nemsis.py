"""The part of the national standard's XML, against patterns, lists and rules copied by hand from the standard
(v3.5.1, build 250403CP1); with CARRYBEAT_NEMSIS_XSD, a folder with its schema files, against those as well."""
import os
import re
from pathlib import Path

import pytest
from export_run import MARKS, exported, record
from lxml import etree

NS = "{http://www.nemsis.org}"
NIL = "{http://www.w3.org/2001/XMLSchema-instance}nil"
XSD = os.environ.get("CARRYBEAT_NEMSIS_XSD")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}[+-][0-9]{2}:[0-9]{2}")
DATES = {"eTimes.07", "eTimes.09", "eTimes.11", "eTimes.12", "eArrest.14", "eArrest.15", "eArrest.19", "eVitals.01",
         "eMedications.01", "eProcedures.01", "eAirway.02"}
# The codes that a mark may lead to; 3009021 is deprecated and not among them.
LISTS = {
    "eArrest.01": "3001001 3001005", "eArrest.03": "3003001 3003003 3003005", "eArrest.07": "3007001 3007003 3007005",
    "eArrest.09": "3009001 3009003 3009005 3009007 3009009 3009011 3009013 3009025",
    "eArrest.11": "3011001 3011005 3011007 3011009 3011011 3011013",
    "eArrest.12": "3012001 3012003 3012005 3012007", "eArrest.16": "3016001 3016003 3016005 3016007 3016009 3016011",
    "eArrest.18": "3018003 3018005 3018007", "eArrest.20": "3020001 3020003 3020005",
    "eVitals.02": "9923001", "eVitals.03": "9901003 9901035 9901063 9901065 9901067 9901071",
    "eMedications.02": "9923001 9923003", "eMedications.04": "9927023 9927021 9927015 9927017 9927005",
    "eMedications.06": "3706021 3706015 3706025 3706001 3706019", "eMedications.13": "9923003",
    "eProcedures.02": "9923001", "eProcedures.06": "9923001 9923003",
    "eAirway.03": "4003001 4003003", "eAirway.04": "4004001 4004005 4004009 4004019 4004021",
}
PATTERNS = {"eMedications.03": r"[0-9]{2,9}", "eMedications.05": r"[0-9]{1,6}(\.[0-9]{1,3})?",
            "eProcedures.03": r"[1-9][0-9]{5,17}", "eProcedures.05": r"[1-9]|10", "eProcedures.13": r"3913[0-9]{3}",
            "eProcedures.14": r"3914[0-9]{3}", "eVitals.16": r"[0-9]{1,3}(\.[0-9])?"}
# Elements that take no "not recorded", or are filled by others.
NEVER = {"eTimes.03", "eTimes.13", "eMedications.09", "eProcedures.09", "eArrest.13", "eArrest.10", "eDevice.01"}
ORDER = ["eTimes", "eArrest", "eVitals", "eMedications", "eProcedures", "eAirway"]


def part(folder, *more, marks=None, name="run"):
    place = exported(folder, "nemsis", *more, text=record(marks), name=name)
    return etree.parse(str(place)).getroot()


def leaves(root):
    return [e for e in root.iter() if isinstance(e.tag, str) and len(e) == 0]


def faults(root):
    """What breaks the rules."""
    if root.tag != NS + "PatientCareReport":
        yield f"root {root.tag}"
    sections = [e.tag.removeprefix(NS) for e in root if isinstance(e.tag, str)]
    if sections != [s for s in ORDER if s in sections]:
        yield f"sections {sections}"
    for leaf in leaves(root):
        name, text = leaf.tag.removeprefix(NS), leaf.text
        if leaf.get(NIL) is not None:
            if text or dict(leaf.attrib) != {NIL: "true", "NV": "7701003"}:
                yield f"{name}: {dict(leaf.attrib)} {text}"
        elif name in DATES:
            if not DATE.fullmatch(text):
                yield f"{name}: {text}"
        elif name in LISTS:
            if text not in LISTS[name].split():
                yield f"{name}: {text}"
        elif name not in PATTERNS or not re.fullmatch(PATTERNS[name], text):
            yield f"{name}: {text}"
        if name in NEVER:
            yield f"{name}: not by marks"
        allowed = {"eArrest.14": {"PN"}, "eMedications.03": {"CodeType"}, "eVitals.16": {"ETCO2Type"}}.get(name, set())
        if leaf.get(NIL) is None and not set(leaf.attrib) <= allowed:
            yield f"{name}: {dict(leaf.attrib)}"
        if name == "eMedications.03" and leaf.get(NIL) is None and leaf.get("CodeType") != "9924003":
            yield f"{name}: no RxNorm"
        if name == "eVitals.16" and leaf.get(NIL) is None and leaf.get("ETCO2Type") not in ("3340001", "3340003",
                                                                                            "3340005"):
            yield f"{name}: no unit"


def texts(root, element):
    return [e.text for e in root.iter(NS + element)]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return part(tmp_path_factory.mktemp("nemsis"))


def test_patterns_lists_and_rules_are_kept(made):
    assert not list(faults(made))


def test_a_broken_rule_is_found(made):
    for element, change in (("eArrest.14", "2026-11-25T13:24:05Z"), ("eArrest.09", "3009021"), ("eTimes.07", ""),
                            ("eMedications.05", "1.0001"), ("eProcedures.05", "11")):
        new = etree.fromstring(etree.tostring(made))
        leaf = next(new.iter(NS + element))
        leaf.text = change
        leaf.attrib.pop(NIL, None)
        leaf.attrib.pop("NV", None)
        assert list(faults(new)), element


def test_the_values_are_the_ones_worked_out_by_hand(made):
    assert texts(made, "eTimes.07") == ["2026-11-25T08:35:10-05:00"]
    assert texts(made, "eArrest.03") == ["3003001", "3003003", "3003005"]
    assert texts(made, "eArrest.09") == ["3009001", "3009005", "3009013"]
    assert texts(made, "eArrest.12") == ["3012003", "3012005"]
    began = next(made.iter(NS + "eArrest.14"))
    assert (began.text, began.get("PN")) == ("2026-11-25T08:24:05-05:00", "8801029")
    assert texts(made, "eArrest.19") == []
    assert texts(made, "eMedications.03") == ["3992", "3992", None]
    assert texts(made, "eMedications.05") == [None, "1.0", None]
    assert texts(made, "eProcedures.01") == [f"2026-11-25T08:{t}-05:00" for t in ("30:10", "31:06", "31:30", "32:07",
                                                                                  "32:30")]
    assert texts(made, "eVitals.16") == [None, "18.5"]
    assert not list(made.iter(NS + "eDevice"))


def test_what_was_not_said_is_not_recorded_and_a_section_without_marks_is_left_out(tmp_path):
    root = part(tmp_path, marks=[(0, "compr_start", {"by": "manual"})])
    assert not list(faults(root))
    assert [e.tag.removeprefix(NS) for e in root if isinstance(e.tag, str)] == ["eArrest", "eProcedures"]
    nil = {e.tag.removeprefix(NS) for e in leaves(root.find(NS + "eArrest")) if e.get(NIL)}
    assert {"eArrest.01", "eArrest.02", "eArrest.04", "eArrest.07", "eArrest.20", "eArrest.21", "eArrest.22"} <= nil
    assert texts(root, "eArrest.19") == ["2026-11-25T08:30:00-05:00"]


def test_codes_of_procedures_are_the_services_own(made, tmp_path):
    assert texts(made, "eProcedures.03") == [None] * 5
    own = tmp_path / "codes.csv"
    own.write_text("compressions_by_hand,1000001\naccess_io,1000003\n", encoding="utf-8")
    root = part(tmp_path, "--procedure-codes", own)
    assert texts(root, "eProcedures.03") == ["1000001", None, "1000003", None, None]
    assert not list(faults(root))


def test_more_than_ten_tries_are_written_as_ten(tmp_path):
    tries = [(10 + n, "airway", {"act": "try_begin", "device": "ett"}) for n in range(11)]
    marks = [(0, "compr_start", {"by": "manual"}), *tries, (30, "airway", {"act": "in", "device": "ett"})]
    root = part(tmp_path, marks=marks)
    assert texts(root, "eProcedures.05") == [None, "10"]


@pytest.mark.skipif(not XSD, reason="CARRYBEAT_NEMSIS_XSD names no folder with the standard's schema files")
@pytest.mark.parametrize("section", ORDER)
def test_the_official_schema_takes_each_section(made, section, tmp_path):
    """The schema's root is a whole document; here each section is an element of its own type. What dispatch alone
    knows is put in, as a care record does."""
    place = next(Path(XSD).rglob(f"{section}_v3.xsd"))
    wrap = f"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns="http://www.nemsis.org"
        targetNamespace="http://www.nemsis.org" elementFormDefault="qualified">
        <xs:include schemaLocation="{place.resolve().as_uri()}"/><xs:element name="{section}" type="{section}"/>
        </xs:schema>"""
    (tmp_path / "one.xsd").write_text(wrap, encoding="utf-8")
    schema = etree.XMLSchema(etree.parse(str(tmp_path / "one.xsd")))
    found = etree.fromstring(etree.tostring(made.find(NS + section)))
    if section == "eTimes":
        have = {e.tag.removeprefix(NS): e for e in found}
        for e in list(found):
            found.remove(e)
        for n in (1, 3, 5, 6, 7, 9, 11, 12, 13):
            name = f"eTimes.{n:02}"
            if name in have:
                found.append(have[name])
            else:
                etree.SubElement(found, NS + name).text = "2026-11-25T08:20:00-05:00"
    schema.assertValid(etree.ElementTree(found))


def test_the_run_of_these_checks_has_every_section():
    assert {m[1] for m in MARKS} >= {"times", "arrest", "rhythm", "drug", "access", "airway", "airway_confirm"}
