"""What a folder tells of runs that are not in it, what is left out of it, and by whose marks its figures are."""
import json

import pytest
from export_run import header
from trends_made import begun, figure, fingerprint, handed, lines_of, listed, made, marks, named, put, rows


@pytest.fixture
def house(tmp_path):
    """A phone's folder of runs beside a hand-in. Of its runs the first was handed in, the second never was, the third
    before it was sealed, and the fourth lies in the hand-in, but is not in the list of them."""
    runs = [made(n, "2025-03-03", 5 + n) for n in range(1, 6)]
    put(tmp_path / "in/runs", *runs[:4])
    before = "\n".join(runs[2].split("\n")[:-2]) + "\n"
    deleted, lost = "d" * 64, "e" * 64
    (tmp_path / "in/runs/handed-in.jsonl").write_text(
        lines_of([fingerprint(runs[0]), fingerprint(before), deleted, fingerprint(runs[4]), lost]), encoding="utf-8")
    (tmp_path / "in/runs/tombstones.jsonl").write_text(
        json.dumps({"fingerprint": deleted, "lines": 20, "deleted": "2025-04-01"}) + "\n", encoding="utf-8")
    (tmp_path / "in/a.handin").write_bytes(handed([runs[3], runs[4]])[0])
    return tmp_path / "in", tmp_path / "out", lost, deleted


def test_a_folder_of_runs_tells_what_was_never_handed_in_and_what_is_gone(house):
    folder, out, lost, _ = house
    told_by = "runs/handed-in.jsonl"
    assert listed(folder, out, "missing") == [
        ("handed_in_but_not_here", lost, told_by), ("never_handed_in", named(2), told_by),
        ("never_handed_in", named(3), told_by)]
    assert rows(out / "left-out.csv") == []
    assert len(rows(out / "csv/run/runs.csv")) == 5


def test_a_folder_of_runs_that_never_handed_in_is_known_by_its_lock(house):
    folder, out, _, _ = house
    for name in ("handed-in.jsonl", "tombstones.jsonl"):
        (folder / "runs" / name).unlink()
    # Loose records are no folder of runs.
    assert listed(folder, out, "missing") == []
    (folder / "runs/lock").touch()
    assert listed(folder, out.with_name("locked"), "missing") == [
        ("never_handed_in", named(n), "runs") for n in (1, 2, 3)]


def test_a_list_that_cannot_be_read_is_said(house):
    folder, out, lost, deleted = house
    stones = folder / "runs/tombstones.jsonl"
    stones.write_bytes(stones.read_bytes() + b'{"fingerpr\xff\n')
    assert listed(folder, out, "left-out") == [("runs/tombstones.jsonl", "unreadable")]
    assert "line 2" in rows(out / "left-out.csv")[0]["detail"]
    # What the line before it says still holds.
    assert ("handed_in_but_not_here", deleted) not in [(r["what"], r["name"]) for r in rows(out / "missing.csv")]
    stones.unlink()
    stones.mkdir()
    missing = listed(folder, out.with_name("stones"), "missing")
    assert [name for what, name, _ in missing if what == "handed_in_but_not_here"] == [deleted, lost]
    assert [r["place"] for r in rows(out.with_name("stones") / "left-out.csv")] == ["runs/tombstones.jsonl"]
    stones.rmdir()
    handed_in = folder / "runs/handed-in.jsonl"
    handed_in.unlink()
    handed_in.mkdir()
    assert listed(folder, out.with_name("handed"), "left-out") == [("runs/handed-in.jsonl", "unreadable")]
    # Nothing is made up of a list that nobody could read.
    assert rows(out.with_name("handed") / "missing.csv") == []


def test_a_file_that_the_disk_does_not_give_is_unreadable(tmp_path):
    put(tmp_path / "in", made(1, "2025-03-03", 9))
    (tmp_path / "in/gone.rec.jsonl").symlink_to(tmp_path / "nowhere")
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == [("gone.rec.jsonl", "unreadable")]


def test_a_run_of_more_than_two_days_is_left_out_and_a_late_review_is_not(tmp_path):
    """Two days are 172,800 s: that long a run may be, a second more it may not; a review may come years later."""
    def ended(n, at, *review):
        lines = [*marks(9)[:-1], (at, "end", {"outcome": "handed_over"}), *review]
        last = review[-1][0] if review else at
        lines.append((last, "seal", {"rev": 1, "lines": len(lines) + 3}, last, "auto"))
        return begun(lines, "2025-03-03", header(record_id=named(n), kind="run"))

    review = (500_000, "amend", {"target": 7, "op": "retime", "at_ms": 64_000, "reason": "crew_recall"})
    put(tmp_path / "in", ended(1, 172_800), ended(2, 172_801), ended(3, 300, review))
    assert listed(tmp_path / "in", tmp_path / "out", "left-out") == [(f"{named(2)}.rec.jsonl", "clock_off")]
    assert "2 days long" in rows(tmp_path / "out/left-out.csv")[0]["detail"]
    assert sorted(r["run"] for r in rows(tmp_path / "out/csv/run/runs.csv")) == [named(1), named(3)]


def test_figures_are_as_amended_or_as_recorded(tmp_path):
    """By hand: compressions began again at 69 s by the crew's mark, at 64 s by the review; hands off at 60 s."""
    amend = (305, "amend", {"target": 7, "op": "retime", "at_ms": 64_000, "reason": "crew_recall"})
    put(tmp_path / "in", made(1, "2025-03-03", 9, more=[amend]))
    for more, longest, basis, revision in (([], 4, "as amended", "1"), (["--as-recorded"], 9, "as recorded", "")):
        out = tmp_path / f"out{len(more)}"
        assert listed(tmp_path / "in", out, "left-out", *more) == []
        assert float(figure(out, "run", "longest_pause_s")["median"]) == longest
        row, = rows(out / "csv/run/runs.csv")
        assert (row["basis"], row["revision"], float(row["longest_pause_s"])) == (basis, revision, longest)
