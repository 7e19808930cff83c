"""The cases that a crew plays in the real window, and what must be heard, written by hand.

Every line is from docs/timing.md, the example protocol (110 a minute, 30:2 with a window of 4 s, a breath
each 6 s, a check each 120 s) and the list of taps. T is when a tap was taken, D when the finger went down.
"""


class Case:
    """Taps by name, and what they cause: `D("fit")`, `T("fit")` are milliseconds on the page."""

    def __init__(self, taps, touches, clip_ms):
        if [t["name"] for t in touches] != [name for _, name, _ in taps]:
            raise SystemExit(f"the page saw {[t['name'] for t in touches]}, "
                             f"the case has {[name for _, name, _ in taps]}")
        self.touch = {alias: t for (alias, _, _), t in zip(taps, touches, strict=True)}
        self.clip_ms = clip_ms

    def D(self, alias):  # noqa: N802 - the page's own letter
        return self.touch[alias]["down"]

    def T(self, alias):  # noqa: N802
        """Finger up, or 800 ms of a held press."""
        return min(self.touch[alias]["up"], self.touch[alias]["down"] + 800)

    def after(self, at, prompt):
        """When the spacing after a voice that began at `at` is over."""
        return at + self.clip_ms[prompt] + 1500


# (alias, the key's accessible name, seconds after Start)
FIVE_MINUTES_TAPS = [
    ("start", "Start by Hand", 0),
    ("airway", "Airway In", 59.4),  # in the third breath window: 57.1 to 61.1 s
    ("off_check", "Hands Off", 123),
    ("shocked", "Shocked, Back On", 130.2),
    ("fit", "Fit Device", 145),
    ("off_fit", "Hands Off", 150),
    ("device", "Device Running", 161.5),
    ("cup_start", "Cup Good", 166),
    ("move", "Moving", 180),
    ("down", "Set Down", 195),
    ("cup_move", "Cup Good", 199),
    ("sheet", "Mark", 203),
    ("swap", "Power Swap", 205),
    ("swapped", "Swapped", 218),
    ("cup_power", "Cup Good", 222),
    ("stopped", "Stopped", 262),
    ("hand", "Hands On", 270),
    ("sheet_end", "Mark", 293),
    ("hold", "Hold to End", 295),
    ("end", "Handed Over", 299),
]


def five_minutes(c):
    D, T = c.D, c.T  # noqa: N806
    beats = [  # pattern, first beat, until
        ("ratio", T("start") + 25, T("airway")),
        # The airway comes in a breath window: the beat starts afresh.
        ("unbroken", T("airway") + 25, T("off_check")),
        ("unbroken", T("shocked") + 25, T("off_fit")),
        # By device there is no beat. Stopped: the lead-in, and Hands On leaves it where it is.
        ("unbroken", T("stopped") + 25, T("end")),
    ]
    breaths = [  # counted from, until
        (D("airway"), T("off_check")),
        (D("shocked"), T("off_fit")),
        (D("device"), T("swap")),
        (D("swapped"), T("stopped")),
        (D("hand"), T("end")),
    ]
    first_check = D("start") + 120_000
    # The resume that ended the first check, and the shock in the same tap.
    second_check = D("shocked") + 120_000
    off10_fit = D("off_fit") + 10_000
    off10_swap = D("swap") + 10_000
    cup_power = max(T("swapped"), c.after(off10_swap, "off10"))
    cup_start = max(T("device"), c.after(off10_fit, "off10"))
    voices = [
        ("chk_30", first_check - 30_000),
        ("chk_cd5", first_check - 5_000),
        ("chk_cd4", first_check - 4_000),
        ("chk_cd3", first_check - 3_000),
        ("chk_cd2", first_check - 2_000),
        ("chk_cd1", first_check - 1_000),
        ("chk_now", first_check),
        # Marked by hands off at 123 s: nothing at +30 s. That pause is 7 s: no number.
        ("off10", off10_fit),
        # The device's start asks for the cup; the number was spoken less than 1.5 s before.
        ("cup_now", cup_start),
        # The airway is in: the device's first start says which mode it must be in.
        ("dev_cont", c.after(cup_start, "cup_now")),
        ("cup_down", T("down")),
        ("off10", off10_swap),
        # Swapped inside the window is a start of the device.
        ("cup_now", cup_power),
        # The heads-up falls due 2 s after the cup was asked for: it is on the screen alone.
        ("chk_cd5", second_check - 5_000),
        ("chk_cd4", second_check - 4_000),
        ("chk_cd3", second_check - 3_000),
        ("chk_cd2", second_check - 2_000),
        ("chk_cd1", second_check - 1_000),
        ("chk_now", second_check),
        ("dev_stop", T("stopped")),
        # Hands were off 8 s: no number. The check is not marked and speaks once more.
        ("chk_over", second_check + 30_000),
        ("hold_end", D("hold") + 800),
    ]
    return beats, breaths, voices


# The two-minute cut of the same rooms.
TWO_MINUTES_TAPS = [
    ("start", "Start by Hand", 0),
    ("airway", "Airway In", 18.3),  # in the first breath window: 16.4 to 20.4 s
    ("off", "Hands Off", 30),
    ("on", "Hands On", 43),
    ("fit", "Fit Device", 49),
    ("off_fit", "Hands Off", 52),
    ("device", "Device Running", 58),
    ("cup_start", "Cup Good", 61),
    ("move", "Moving", 64),
    ("down", "Set Down", 70),
    ("cup_move", "Cup Good", 73),
    ("sheet", "Mark", 75),
    ("swap", "Power Swap", 77),
    ("swapped", "Swapped", 83),
    ("cup_power", "Cup Good", 86),
    ("stopped", "Stopped", 98),
    ("hand", "Hands On", 104),
    ("sheet_end", "Mark", 122.5),
    ("hold", "Hold to End", 124),
    ("end", "Handed Over", 127.5),
]


def two_minutes(c):
    D, T = c.D, c.T  # noqa: N806
    beats = [
        ("ratio", T("start") + 25, T("airway")),
        ("unbroken", T("airway") + 25, T("off")),
        ("unbroken", T("on") + 25, T("off_fit")),
        ("unbroken", T("stopped") + 25, T("end")),
    ]
    breaths = [
        (D("airway"), T("off")),
        (D("on"), T("off_fit")),
        (D("device"), T("swap")),
        (D("swapped"), T("stopped")),
        (D("hand"), T("end")),
    ]
    # Hands off for another reason does not move the check.
    check = D("start") + 120_000
    voices = [
        ("off10", D("off") + 10_000),
        ("cup_now", T("device")),
        ("dev_cont", c.after(T("device"), "cup_now")),
        ("cup_down", T("down")),
        ("cup_now", T("swapped")),
        ("chk_30", check - 30_000),
        ("dev_stop", T("stopped")),
        ("chk_cd5", check - 5_000),
        ("chk_cd4", check - 4_000),
        ("chk_cd3", check - 3_000),
        ("chk_cd2", check - 2_000),
        ("chk_cd1", check - 1_000),
        ("chk_now", check),
        ("hold_end", D("hold") + 800),
    ]
    return beats, breaths, voices


CASES = {
    "five-minutes": (FIVE_MINUTES_TAPS, five_minutes),
    "two-minutes": (TWO_MINUTES_TAPS, two_minutes),
}
