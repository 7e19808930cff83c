"""A voice that a mark breaks off: the gap to the next one counts from that mark. Worked by hand from docs/timing.md."""
import json
from pathlib import Path

import pytest
from expected import expected

ROOT = Path(__file__).resolve().parents[2]
PROTOCOL = ROOT / "src-tauri/crates/cycle/protocols/example-adult.toml"
MANIFEST = ROOT / "sounds/en-US/manifest.json"
CLIP_MS = {c["id"]: c["ms"] for c in json.loads(MANIFEST.read_text(encoding="utf-8"))["clips"]}
SPACING_MS = 1_500


def voices(tmp_path, *marks):
    """[(prompt, ms)] of a run that begins by hand at 0; marks are (T in ms, kind, fields), 100 ms old."""
    began = [{"at_s": 0, "ev": "arrest", "d": {"basis": "recognised"}}, {"at_s": 0, "ev": "compr_start", "d": {"by": "manual"}}]
    more = [{"at_s": at / 1_000, "ev": ev, "d": d, "age_ms": 100} for at, ev, d in marks]
    script = tmp_path / "script.json"
    script.write_text(json.dumps({"name": "invented", "marks": began + more, "end_s": 110}))
    return [(s["id"], s["at_frame"] / 48) for s in expected(script, PROTOCOL, MANIFEST) if s["kind"] == "voice"]


@pytest.mark.parametrize(("back", "next_at"), [
    # Thirty seconds are spoken from 90.0 s on; the heads-up, due at 90.0 s too, may be said until 95.0 s.
    (90_300, 90_300 + SPACING_MS),
    (91_500, 91_500 + SPACING_MS),
    # Spoken out: the gap counts from its end.
    (91_600, 90_000 + CLIP_MS["off30"] + SPACING_MS),
])
def test_hands_on_breaks_off_the_number_and_the_gap_counts_from_there(tmp_path, back, next_at):
    assert CLIP_MS["off30"] == 1_540
    said = voices(tmp_path, (60_100, "compr_stop", {"reason": "unknown"}), (back, "compr_start", {"by": "manual"}))
    assert [at for prompt, at in said if prompt == "off30"] == [90_000]
    assert [at for prompt, at in said if prompt == "chk_30"] == [next_at]


def test_the_cup_s_answer_breaks_off_its_prompt(tmp_path):
    """By device from 20 s on: the cup is asked for at once, and what the device must be in once that is over."""
    device = ((20_000, "breath_mode", {"mode": "continuous"}), (21_000, "compr_stop", {"reason": "device_fit"}),
              (25_000, "compr_start", {"by": "mechanical"}))
    for answer, over in ((25_400, 25_400), (40_000, 25_000 + CLIP_MS["cup_now"])):
        said = voices(tmp_path, *device, (answer, "cup", {"act": "good", "why": "start"}))
        assert ("cup_now", 25_000) in said
        assert ("dev_cont", over + SPACING_MS) in said
