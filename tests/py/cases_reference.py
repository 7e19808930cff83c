"""The reference case (docs/rehearsal.md, invented) as a crew plays it in the real window, and a cut of three
minutes through the same rooms: the taps, and what must be heard, written by hand as in cases.py.

The protocol is the window's own, example-adult: a check each 120 s, numbers off the chest from 10 s on, the
first adrenaline due after shock 2, then from 180 s on and late at 300 s, a power window of 60 s. Its heads-ups
at 15 s, for the next compressor, for the fitting and at 10 and 20 minutes are on the screen alone.

The second crew gives its drugs by a phone of its own, started quiet; here one dose is marked. A mark that lies
behind Mark costs two touches, or three on a page of its own: pads, the drug, left scene, power swap.
"""
from cases import Sounds, named

REFERENCE_TAPS = named([
    # Two crew, a bystander compressing.
    ("start", "Began Earlier", 0),
    ("minutes_5", "+5", 5),
    ("minutes_6", "+1", 6.5),
    ("before", "Done", 8, "mark"),
    ("pads", "Mark: Pads On", 40),
    ("off_1", "Hands Off", 44),
    ("shock_1", "Shocked, Back On", 51),
    ("off_2", "Hands Off", 173),
    ("shock_2", "Shocked, Back On", 181.2),
    ("epi", "Mark: Epi In", 236),
    ("off_3", "Hands Off", 303),
    ("no_shock_3", "No Shock, Back On", 310.2),
    # The device, in two windows.
    ("fit", "Fit Device", 370),
    ("off_fit_1", "Hands Off", 375),
    ("on_fit", "Hands On", 381.5),
    ("off_fit_2", "Hands Off", 391),
    ("device", "Device Running", 397.8),
    ("cup_start", "Cup Good", 406),
    ("through_4", "No Shock", 442),
    ("airway", "Airway In", 540),
    ("through_5", "No Shock", 566),
    ("through_6", "No Shock", 690),
    # The check of 13:30 nobody marks. Stairs; the cup has slipped.
    ("stairs", "Moving", 845),
    ("stairs_down", "Set Down", 868),
    ("reseat", "Re-seat", 873),
    ("reseated", "Device Running", 887),
    ("cup_reseat", "Cup Good", 893),
    # Into the vehicle, and away.
    ("load", "Moving", 903),
    ("loaded", "Set Down", 911),
    ("cup_load", "Cup Good", 914.5),
    ("left", "Mark: Left Scene", 936),
    # A bump; the cup's question is answered late.
    ("bump", "Moving", 1126),
    ("bump_over", "Set Down", 1130),
    ("cup_bump", "Cup Good", 1176),
    ("swap", "Mark: Power Swap", 1446),
    ("swapped", "Swapped", 1494),
    ("cup_power", "Cup Good", 1498),
    # A pulse that was none, set right at once.
    ("off_7", "Paused", 1532),
    ("mistaken", "Pulse Back", 1534.5),
    ("undo", "Undo", 1536),
    ("no_shock_7", "No Shock, Back On", 1539.5),
    ("stopped", "Device Stopped", 1620),
    ("hand", "Hands On", 1628),
    ("off_8", "Hands Off", 1662),
    ("no_shock_8", "No Shock, Back On", 1669),
    ("off_9", "Hands Off", 1793),
    ("pulse", "Pulse Back", 1800),
    # Arrest again: by hand, and the device once more.
    ("again", "By Hand", 1980),
    ("fit_again", "Fit Device", 1990),
    ("off_fit_3", "Hands Off", 2000),
    ("device_again", "Device Running", 2008),
    ("cup_again", "Cup Good", 2014),
    ("hold", "Mark: Hold to End", 2088),
    ("end", "Handed Over", 2093),
    ("card", "Hand Over", 2097),
    ("card_seen", "Back", 2101),
    ("ready", "Make Ready", 2104),
])


def count(due):
    """The five numbers before a check, and the check."""
    return [(f"chk_cd{n}", due - 1_000 * n) for n in range(5, 0, -1)] + [("chk_now", due)]


def check(due):
    """A check with its heads-up."""
    return [("chk_30", due - 30_000), *count(due)]


def unmarked(due):
    """A check that nobody marks is called once more."""
    return [*check(due), ("chk_over", due + 30_000)]


def reference(c):
    D, T = c.D, c.T  # noqa: N806
    beats = [
        ("ratio", T("start") + 25, T("off_1")),
        ("ratio", T("shock_1") + 25, T("off_2")),
        ("ratio", T("shock_2") + 25, T("off_3")),
        ("ratio", T("no_shock_3") + 25, T("off_fit_1")),
        ("ratio", T("on_fit") + 25, T("off_fit_2")),
        # With the airway in there is no window. The lead-in goes on under Hands On.
        ("unbroken", T("stopped") + 25, T("off_8")),
        ("unbroken", T("no_shock_8") + 25, T("off_9")),
        ("unbroken", T("again") + 25, T("off_fit_3")),
    ]
    breaths = [
        # By device, from the airway on; a move does not stop them.
        (D("airway"), T("reseat")),
        (D("reseated"), T("swap")),
        (D("swapped"), T("off_7")),
        (D("no_shock_7"), T("stopped")),
        (D("hand"), T("off_8")),
        (D("no_shock_8"), T("off_9")),
        (D("again"), T("off_fit_3")),
        (D("device_again"), T("end")),
    ]
    lives = [
        # By device in a ratio the device has its own pause for breaths.
        (D("device"), T("airway")),
        (D("pulse"), T("again")),
    ]
    tones = [
        ("attention", T("mistaken")),
        ("attention", T("pulse")),
        ("attention", D("pulse") + 120_000),
    ]
    last_marked = D("through_6")
    bump = T("bump_over")
    off = D("swap")
    voices = [
        # The first pads make the check due at once, without heads-up and count.
        ("chk_now", T("pads")),
        *check(D("shock_1") + 120_000),
        # Shock 2 asks for the first dose; it comes 55 s later, after the second call.
        ("drug_due", T("shock_2")),
        ("drug_due", D("shock_2") + 30_000),
        *check(D("shock_2") + 120_000),
        ("cup_now", T("device")),
        ("drug_due", D("epi") + 180_000),
        # The heads-up of this check falls due 2 s after the cup was asked for: on the screen alone.
        *count(D("no_shock_3") + 120_000),
        ("drug_due", D("epi") + 210_000),
        # Marked while the device runs, each check ends at its mark.
        *check(D("through_4") + 120_000),
        ("drug_late", D("epi") + 300_000),
        ("dev_cont", T("airway")),
        *check(D("through_5") + 120_000),
        *unmarked(last_marked + 120_000),
        ("cup_down", T("stairs_down")),
        ("off10", D("reseat") + 10_000),
        ("cup_now", T("reseated")),
        ("cup_down", T("loaded")),
        *unmarked(last_marked + 240_000),
        *unmarked(last_marked + 360_000),
        ("cup_down", bump),
        ("cup_now", bump + 30_000),
        *unmarked(last_marked + 480_000),
        *unmarked(last_marked + 600_000),
        *unmarked(last_marked + 720_000),
        *[(f"off{n}", off + 1_000 * n) for n in (10, 15, 20, 30, 40)],
        # Swapped inside the window is a start of the device.
        ("cup_now", T("swapped")),
        *check(last_marked + 840_000),
        # The undo falls into hands off, where only numbers speak; it is not said later.
        ("dev_stop", T("stopped")),
        *check(D("no_shock_7") + 120_000),
        *check(D("no_shock_8") + 120_000),
        ("arrest_again", T("again")),
        ("cup_now", T("device_again")),
        ("dev_cont", c.after(T("device_again"), "cup_now")),
        # The check after the new arrest would be due after the end.
        ("chk_30", D("again") + 90_000),
        ("hold_end", D("hold") + 800),
    ]
    return Sounds(beats, breaths, voices, lives, tones)


THREE_MINUTES_TAPS = named([
    ("start", "Began Earlier", 0),
    ("before", "Done", 3),
    ("pads", "Mark: Pads On", 10),
    ("off_1", "Hands Off", 13),
    ("shock", "Shocked, Back On", 19.5),
    ("fit", "Fit Device", 24),
    ("off_fit_1", "Hands Off", 27),
    ("on_fit", "Hands On", 31),
    ("off_fit_2", "Hands Off", 34),
    ("device", "Device Running", 39),
    ("cup_start", "Cup Good", 42),
    ("epi", "Mark: Epi In", 53),
    ("airway", "Airway In", 62),
    ("stairs", "Moving", 66),
    ("stairs_down", "Set Down", 71),
    ("reseat", "Re-seat", 74),
    ("reseated", "Device Running", 80),
    ("cup_reseat", "Cup Good", 83),
    ("swap", "Mark: Power Swap", 91),
    ("swapped", "Swapped", 103.9),
    ("cup_power", "Cup Good", 106),
    ("stopped", "Device Stopped", 113),
    ("hand", "Hands On", 120),
    ("off_2", "Hands Off", 141.5),
    ("mistaken", "Pulse Back", 144),
    ("undo", "Undo", 145.6),
    ("no_shock", "No Shock, Back On", 148.6),
    ("off_3", "Hands Off", 153),
    ("pulse", "Mark: Pulse Back", 160),
    ("again", "By Hand", 172),
    ("hold", "Mark: Hold to End", 179),
    ("end", "Handed Over", 183),
    ("card", "Hand Over", 186),
    ("card_seen", "Back", 187.5),
])


def three_minutes(c):
    D, T = c.D, c.T  # noqa: N806
    beats = [
        ("ratio", T("start") + 25, T("off_1")),
        ("ratio", T("shock") + 25, T("off_fit_1")),
        ("ratio", T("on_fit") + 25, T("off_fit_2")),
        ("unbroken", T("stopped") + 25, T("off_2")),
        ("unbroken", T("no_shock") + 25, T("off_3")),
        ("unbroken", T("again") + 25, T("end")),
    ]
    breaths = [
        (D("airway"), T("reseat")),
        (D("reseated"), T("swap")),
        (D("swapped"), T("stopped")),
        (D("hand"), T("off_2")),
        (D("again"), T("end")),
    ]
    lives = [
        (D("device"), T("airway")),
        (D("pulse"), T("again")),
    ]
    tones = [("attention", T("mistaken")), ("attention", T("pulse"))]
    voices = [
        ("chk_now", T("pads")),
        ("cup_now", T("device")),
        ("dev_cont", T("airway")),
        ("cup_down", T("stairs_down")),
        ("cup_now", T("reseated")),
        ("off10", D("swap") + 10_000),
        ("cup_now", T("swapped")),
        *check(D("shock") + 120_000),
        ("dev_stop", T("stopped")),
        ("arrest_again", T("again")),
        ("hold_end", D("hold") + 800),
    ]
    return Sounds(beats, breaths, voices, lives, tones)


CASES = {"reference-35": (REFERENCE_TAPS, reference), "three-minutes": (THREE_MINUTES_TAPS, three_minutes)}
