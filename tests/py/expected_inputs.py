"""What a rehearsal is worked out from: the protocol file and the script, and nothing else."""
import json
import sys
import tomllib
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

NOT_SHOCKED = {"pea", "asystole", "organised", "not_shockable", "aed_no_shock"}
# docs/protocol.md: a newborn's breath takes the place of one beat.
NEWBORN_WINDOW_MS = 500
# docs/timing.md, "Not spoken unless the service asks for it".
ON_SCREEN = {"rotate_now", "chk_15", "charge", "next_up", "drug_60", "drug_next", "fit_plan", "power_10",
             "move_plan", "causes", "plan_now", "pads_now"}


def ratio(text):
    beats, breaths = text.split(":")
    return int(beats), int(breaths)


@dataclass(frozen=True)
class Clocked:
    """The drug by the clock."""

    at_once: bool
    after_shocks: int
    min: int
    max: int
    most: int


class Protocol:
    """The numbers of one file, times in ms. A newborn's file has no check."""

    def __init__(self, path):
        self.table = table = tomllib.loads(Path(path).read_text(encoding="utf-8"))

        def value(room, name, absent=None):
            entry = table.get(room, {}).get(name)
            return absent if entry is None else entry["value"]

        self.newborn = table["class"] == "newborn"
        self.period = Fraction(60_000, value("beat", "rate_per_min"))
        self.ratio = ratio(value("breaths", "ratio"))
        self.ratio_alone = ratio(value("breaths", "ratio_alone"))
        self.airway = {name: entry["value"] for name, entry in table["airway"].items()}
        self.numbers = value("hands_off", "numbers_s")
        self.still_every = 1000 * value("hands_off", "still_every_s")
        self.silence = 1000 * value("shock", "silence_s")
        self.stack_most = value("shock", "stack_most")
        self.cup_repeat = 1000 * value("cup", "repeat_s", 30)
        self.swap_window = 1000 * value("power", "swap_window_s", 60)
        self.full_pack = 60_000 * value("power", "full_pack_min", 0)
        self.rosc_recheck = 1000 * value("rosc", "recheck_s")
        self.rosc_breath = value("rosc", "breath_tone")
        pregnancy = table.get("overlay", {}).get("pregnancy", {})
        self.delivery = 60_000 * pregnancy["delivery_by_min"] if pregnancy else None
        cold = table.get("overlay", {}).get("cold", {})
        self.cold_factor = cold.get("cold_factor", 1)
        self.cold_doses = cold.get("cold_doses_by_time")
        self.on_screen = ON_SCREEN - set(value("voice", "also_spoken"))
        self.minutes = [(m["prompt"], 60_000 * m["at_min"], m["zero"]) for m in table.get("minute", [])]
        self.clocked, self.by_shocks = None, ()
        for drug in table.get("drug", []):
            if "min_s" in drug:
                self.clocked = Clocked(drug["first"] == "at_once", drug["first_after_shocks"],
                                       1000 * drug["min_s"], 1000 * drug["max_s"], drug["most"])
            else:
                self.by_shocks = tuple(drug["after_shocks"])
        if self.newborn:
            self.window = NEWBORN_WINDOW_MS
            self.every = value("newborn", "breath_every_ms")
            self.recheck = 1000 * value("newborn", "recheck_s")
            self.wait = 1000 * value("newborn", "breaths_first_s")
            self.check = None
            return
        self.window = 1000 * value("breaths", "window_s")
        self.every = 1000 * value("breaths", "every_s")
        self.wait = 1000 * value("start", "first_breaths_wait_s") if value("start", "first_breaths") else None
        self.check = 1000 * value("check", "every_s")
        self.heads_up = 1000 * value("check", "heads_up_s")
        self.charge_before = 1000 * value("check", "charge_before_s")
        self.count_from = value("check", "count_from_s")
        self.overdue = 1000 * value("check", "overdue_s")
        self.rotate = value("check", "rotate")
        self.led_beat = value("check", "led_beat")


@dataclass(frozen=True)
class Mark:
    taken: int  # T
    down: int  # D
    ev: str
    d: dict


def read_script(path):
    script = json.loads(Path(path).read_text(encoding="utf-8"), parse_float=Fraction)
    marks = []
    for entry in script["marks"]:
        taken = int(1000 * Fraction(entry["at_s"]))
        age = int(entry.get("age_ms", 0))
        marks.append(Mark(taken, max(0, taken - age), entry["ev"], entry.get("d", {})))
    return marks, int(1000 * Fraction(script.get("end_s", 600)))


# Amendments


def standing(marks, upto):
    """The marks that stand after the first `upto` lines, by (time of the touch, line), and the T of
    each retraction. A mark set right keeps the T at which its touch was taken."""
    live, answers = {}, []
    for number, mark in enumerate(marks[:upto]):
        if mark.ev != "amend":
            live[number] = mark
            continue
        op = mark.d["op"]
        place = target(live, mark.d["target"])
        if op == "retract":
            # The whole touch goes.
            touch = (live[place].taken, live[place].down)
            live = {n: m for n, m in live.items() if (m.taken, m.down) != touch}
            answers.append(mark.taken)
        elif op == "retime":
            live[place] = replace(live[place], down=int(mark.d["at_ms"]))
        elif op == "replace":
            live[place] = replace(live[place], ev=mark.d["new"]["ev"], d=mark.d["new"].get("d", {}))
        else:
            sys.exit(f"mark {number + 1}: amend {op} is not worked out here")
    order = sorted(live, key=lambda n: (live[n].down, n))
    return [live[n] for n in order], answers


def target(live, name):
    return max(live) if name == "last" else int(str(name).lstrip("#")) - 1
