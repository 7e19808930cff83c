"""The cases that a crew plays in the real window, and what must be heard, written by hand.

Every line is from docs/timing.md, the example protocol (110 a minute, 30:2 with a window of 4 s, a breath
each 6 s, a check each 120 s) and the list of taps. T is when a tap was taken, D when the finger went down.
"""
from dataclasses import dataclass, field

# What a key leaves in the record, where that is no mark: it opens something, is held, or takes back.
MAKES = {
    "Hold to End": "nothing",
    # What was done before is asked at once; nothing set is nothing sent, and steps are sent by Done alone.
    "Done": "nothing",
    "+1": "nothing",
    "+5": "nothing",
    "Hand Over": "nothing",
    "Back": "nothing",
    "Make Ready": "nothing",
    "Undo": "amendment",
}


@dataclass(frozen=True)
class Tap:
    """One touch: what it is called here, the key's accessible name, seconds after Start."""

    alias: str
    name: str
    at_s: float
    # What it leaves in the record: a mark, an amendment or nothing. Only a mark has a receipt.
    makes: str = "mark"
    # The touch is left out where this key can be pressed already.
    unless: str | None = None


@dataclass
class Sounds:
    """What must be heard, in milliseconds on the page."""

    beats: list  # pattern, first beat, until
    breaths: list  # counted from, until: one every 6 s
    voices: list  # prompt, when
    lives: list = field(default_factory=list)  # counted from, until: one every 10 s
    tones: list = field(default_factory=list)  # kind, when: of no grid


class Case:
    """Taps by name, and what they cause: `D("fit")`, `T("fit")` are milliseconds on the page."""

    def __init__(self, taps, touches, clip_ms):
        self.touch, left = {}, list(touches)
        for tap in taps:
            if left and left[0]["name"] == tap.name:
                self.touch[tap.alias] = left.pop(0)
            elif tap.unless is None:
                raise SystemExit(f"{tap.alias}: the case has {tap.name!r}, "
                                 f"the page saw {[t['name'] for t in left[:3]]}")
        if left:
            raise SystemExit(f"the page saw more: {[t['name'] for t in left]}")
        self.clip_ms = clip_ms

    def D(self, alias):  # noqa: N802 - the page's own letter
        return self.touch[alias]["down"]

    def T(self, alias):  # noqa: N802
        """Finger up, or 800 ms of a held press."""
        return min(self.touch[alias]["up"], self.touch[alias]["down"] + 800)

    def after(self, at, prompt):
        """When the spacing after a voice that began at `at` is over."""
        return at + self.clip_ms[prompt] + 1500


# The page of the marks sheet on which a key lies that is not among the likeliest of its moment.
PAGE = {
    "Left Scene": "Times, Sound",
}
# From a touch that opens something to the next one, as a crew finds its key.
LOOK_S = 1.5


def named(rows):
    """Taps of (alias, key, seconds after Start) and, where the key's name does not tell, of what it leaves. A
    key is its accessible name, or behind Mark with `Mark: name`: then the touches that open the sheet come before it, each left out where the key is there
    without it. A page for new users over the first card is closed."""
    taps = [Tap("first", "Close", -LOOK_S, "nothing", rows[0][1])]
    for alias, key, at_s, *makes in rows:
        name = key.removeprefix("Mark: ")
        way = []
        if name != key:
            way = [("Mark", None)]
            way += [(step, name) for step in (PAGE.get(name), "More", "More") if step]
        for n, (step, unless) in enumerate(way):
            taps.append(Tap(f"{alias}.{n}", step, at_s - LOOK_S * (len(way) - n), "nothing", unless))
        taps.append(Tap(alias, name, at_s, *makes or [MAKES.get(name, "mark")]))
    return taps


FIVE_MINUTES_TAPS = named([
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
    ("cup_move", "Cup Good", 198),
    ("swap", "Mark: Power Swap", 205),
    ("swapped", "Swapped", 218),
    ("cup_power", "Cup Good", 222),
    ("stopped", "Device Stopped", 262),
    ("hand", "Hands On", 270),
    ("hold", "Mark: Hold to End", 295),
    ("end", "Handed Over", 299),
])


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
    return Sounds(beats, breaths, voices)
