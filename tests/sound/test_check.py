"""What sounds/check.py and docs/voices.md say of words in noise: each gate broken once."""
import json
import shutil

import pytest
from house import SOUNDS  # first: it says where the others lie
import check
import voice_tables

# Two urgent clips and one that is not.
CLIPS = {name: {"id": name, "class": group, "sha256": name * 2, "text": name}
         for name, group in (("off10", "A"), ("cup_now", "B"), ("undo", "D"))}


def heard(name, lost=0, taken=None):
    return {"sha256": name * 2, "lost": lost, "taken_for": taken or {}}


def of(changed=None, misses=()):
    """(faults, known) of the clips, some with other figures."""
    results = {"p": {name: heard(name) for name in CLIPS} | (changed or {})}
    check.faults.clear()
    told = check.check_understood("p", CLIPS, results, [{"pack": "p", "why": "so", **m} for m in misses])
    faults = list(check.faults)
    check.faults.clear()
    return faults, told


def test_clips_that_are_understood_have_no_fault():
    assert of() == ([], [])
    assert of({"off10": heard("off10", 2), "cup_now": heard("cup_now", 2), "undo": heard("undo", 18)}) == ([], [])


@pytest.mark.parametrize("name", ["off10", "cup_now"])
def test_an_urgent_prompt_is_neither_lost_nor_another(name):
    (one,), _ = of({name: heard(name, 3)})
    assert one == f"p/{name}: in noise understood as nothing, of 18 3, allowed at most 2"
    (one,), _ = of({name: heard(name, 0, {"undo": 1})})
    assert one.startswith(f"p/{name}: in noise taken for {{'undo': 1}}")
    (one,), _ = of({name: heard("another")})
    assert "figures of another clip" in one


def test_a_known_loss_may_neither_grow_nor_shrink_nor_stay_unsaid():
    known = [{"id": "off10", "lost": 5}]
    faults, (told,) = of({"off10": heard("off10", 5)}, known)
    assert not faults and told.endswith("5 of 18, at most 2 of 18; so")
    assert "6 of 18" in of({"off10": heard("off10", 6)}, known)[0][0]
    assert "4 of 18" in of({"off10": heard("off10", 4)}, known)[0][0]
    assert "take it out" in of({"off10": heard("off10", 2)}, known)[0][0]
    assert "with a reason" in of({"off10": heard("off10", 5)}, [{**known[0], "why": ""}])[0][0]
    assert "take it out" in of({}, [{"id": "undo", "lost": 5}])[0][0]
    # Of another pack, it excuses nothing here.
    assert of({"off10": heard("off10", 5)}, [{**known[0], "pack": "q"}])[0]


def compared(texts, voices):
    check.faults.clear()
    check.check_compared("p", CLIPS, {"p": {"texts": texts, "by_voice": dict.fromkeys(voices, {})}}, "v")
    faults = list(check.faults)
    check.faults.clear()
    return faults


def test_voices_are_compared_in_the_sentences_that_are_spoken():
    assert compared({"off10": "off10"}, ["v", "w"]) == []
    assert "voices compared by 'Off ten.'" in compared({"off10": "Off ten."}, ["v"])[0]
    assert "no figures of the voice v" in compared({"off10": "off10"}, ["w"])[0]


@pytest.mark.parametrize(("manifest", "table", "fault"), [
    ({"review": "awaiting review"}, {"review": "awaiting review"}, None),
    ({"review": "read by nobody"}, {"review": "awaiting review"}, "review 'read by nobody'"),
    ({}, {"review": "awaiting review"}, "review None"),
    ({}, {}, "no review"),
])
def test_who_has_read_the_sentences_stands_in_table_and_manifest(tmp_path, manifest, table, fault):
    (tmp_path / "p").mkdir()
    (tmp_path / "p" / "manifest.json").write_text(json.dumps(manifest), "ascii")
    check.faults.clear()
    check.check_review(tmp_path / "p", table)
    assert [fault in line for line in check.faults] == ([True] if fault else []), check.faults
    check.faults.clear()


@pytest.fixture
def sounds(tmp_path):
    """The committed figures and page, to be broken."""
    (tmp_path / "docs").mkdir()
    shutil.copy(voice_tables.PAGE, tmp_path / "docs")
    for name in ("understood.json", "compared.json", "misses.json", *(f"{p}/manifest.json" for p in check.PACKS)):
        (tmp_path / "sounds" / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(SOUNDS / name, tmp_path / "sounds" / name)
    return tmp_path / "sounds"


def page(sounds):
    check.faults.clear()
    check.check_page(sounds)
    faults = list(check.faults)
    check.faults.clear()
    return faults


def test_the_page_is_what_the_figures_make(sounds):
    assert page(sounds) == []


def test_a_page_of_other_figures_is_a_fault(sounds):
    results = json.loads((sounds / "understood.json").read_text("ascii"))
    results["packs"]["en-GB"]["off10"]["lost"] += 1
    (sounds / "understood.json").write_text(json.dumps(results), "ascii")
    assert page(sounds) == ["voices.md: tables are not what the figures make, allowed sounds/voice_tables.py --write"]


def test_what_is_taken_for_another_stands_on_the_page_whatever_its_class(sounds):
    text = (sounds.parent / "docs" / "voices.md").read_text("utf-8")
    for pack, name, group, other, times in (("en-GB", "chk_cd4", "C", "chk_cd1", 6), ("es-ES", "chk_30", "C", "chk_15", 3)):
        assert f"| {pack} | {name} | {group} | {other} | C | {times} of 18 |" in text
    results = json.loads((sounds / "understood.json").read_text("ascii"))
    results["packs"]["en-US"]["chk_15"]["taken_for"]["chk_30"] = 1
    (sounds / "understood.json").write_text(json.dumps(results), "ascii")
    assert "not what the figures make" in page(sounds)[0]


def test_a_page_written_by_hand_or_without_a_place_is_a_fault(sounds):
    path = sounds.parent / "docs" / "voices.md"
    text = path.read_text("utf-8")
    path.write_text(text.replace("| off10 | ", "| off10 | 1", 1), "utf-8")
    assert "not what the figures make" in page(sounds)[0]
    path.write_text(text.replace("<!-- table: urgent -->", ""), "utf-8")
    assert "no place for the table 'urgent'" in page(sounds)[0]
    (sounds / "compared.json").unlink()
    path.write_text(text, "utf-8")
    assert "tables cannot be made" in page(sounds)[0]


def test_sums_are_those_of_the_clips():
    flat = dict.fromkeys(voice_tables.NOISES, 0.5)
    results = {"a": {**flat, "clean": 1.0, "pink 0": 0.2, "lost": 4, "taken_for": {"c": 2, "b": 1}},
               "b": {**flat, "clean": 0.0, "lost": 1, "taken_for": {}},
               "c": {**flat, "clean": 0.5, "lost": 0, "taken_for": {"a": 9}}}
    found = voice_tables.summary(results, ["a", "b"])
    assert (found["clean"], found["pink 0"], found["vehicle 12"]) == (0.5, 0.4, 0.5)
    assert (found["lost"], found["of"]) == (5, 54)
    # Of a: (0.2 + 5 x 0.5) / 6 = 0.45; with b's 0.5.
    assert found["urgent_words"] == 0.475
    assert (found["urgent_lost"], found["urgent_another"], found["urgent_of"]) == (5, 3, 36)
