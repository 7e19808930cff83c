"""What the packs' recogniser wrote down, against what was said (sounds/build/transcript.py)."""
import sys

import pytest
from house import SOUNDS

sys.path.append(str(SOUNDS / "build"))
import transcript  # noqa: E402


@pytest.mark.parametrize(("language", "text", "said"), [
    # As it was written down of clips that are said once; at 32 tokens the recogniser is stopped.
    ("es", "Sin manos, quince segundos Sin manos, quince segundos Sin manos, qu", "Sin manos: quince segundos."),
    ("en", "Rotate compressors now. Rotate compressors now. Rotate compressors", "Rotate compressors now."),
    ("en", "Adrenaline is due now. Adrenaline is due now. Adrenal", "Adrenaline is due now."),
    ("en", "Device stopped. Take it off hands on. Device stopped. Take it off hands", "Device stopped. Take it off, hands on."),
    ("en", "Airway in, device to continuous. Airway in, device to cont", "Airway in. Device to continuous."),
    ("en", "Check the cup check th", "Check the cup."),
    ("en", "5 5 5 5 5 5 5 5", "Five."),
    ("en", "Time for rhythm check", "Time for rhythm check."),
    ("en", "Anti-arhythmic, leader decides.", "Antiarrhythmic? Leader decides."),
])
def test_what_is_heard_over_and_over_was_said_once(language, text, said):
    found, wanted = transcript.words(text, language), transcript.words(said, language)
    assert found == wanted
    assert transcript.share_right(wanted, found) == 1.0


@pytest.mark.parametrize("text", [
    "off chest off",                       # one word again is no second time
    "check the cup check",
    "swap window over cup in place swap the window over",
    "over overdue",
    "no no yes",
])
def test_what_differs_is_left_as_it_was_heard(text):
    assert transcript.once(text.split()) == text.split()


def test_the_nearest_prompt_is_told_and_none_where_all_are_far():
    texts = {"off10": "off ten seconds".split(), "off20": "off twenty seconds".split(), "cup_now": "check the cup".split()}
    assert transcript.taken_for("of ten seconds".split(), "off10", texts) == "off10"
    assert transcript.taken_for("off twenty second".split(), "off10", texts) == "off20"
    assert transcript.taken_for("thank you for watching it".split(), "off10", texts) is None
    assert transcript.taken_for([], "off10", texts) is None
    # Four words wanted, one changed, one left out.
    assert transcript.share_right("off chest ten seconds".split(), "of chest seconds".split()) == 0.5
