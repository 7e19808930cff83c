"""The state that the marks make, folded afresh after every mark."""
from dataclasses import dataclass, replace
from fractions import Fraction

from expected_inputs import NOT_SHOCKED, standing
from expected_score import (ANSWER_MS, Score, by_device, by_hand, first_breaths, other_mode,
                            out_of_silence)

STARTS_ANEW = {"device_fit", "device_reseat", "device_fault", "device_off", "power"}
SHOCKABLE = {"shockable", "vf", "pvt", "aed_shock"}
HELD_BY = {"rhythm_check"}
UNTIL_GIVEN = 1 << 60


@dataclass(frozen=True)
class State:
    doing: str = "nothing"  # nothing, first, manual, mechanical, off, pulse, over
    before: str = "nothing"  # who compressed last
    since: int = 0
    reason: str = ""
    mode: str = "ratio"
    ratio: tuple = (30, 2)
    score: Score = Score()
    muted: tuple = ()  # beat off
    quiet_way: bool = False
    voiceless: bool = False  # for good, not for two minutes
    way: str = "hand"
    opened: int | None = None  # D of the touch that began the compressions, or the breaths before them
    began: int | None = None
    # The check
    check_from: int | None = None
    check_held: bool = False  # marked by a hands-off, not yet resumed
    check_marks: tuple = ()
    pads: bool = False
    pads_due: int | None = None  # T of the pads that made it due
    any_check: bool = False
    leads: bool = False
    quiet: tuple | None = None  # from, to: the silence around a shock
    # The device
    moving: int | None = None  # D of its beginning
    device: bool = False
    swap: int | None = None
    pack_from: int | None = None  # a full pack
    cup: tuple | None = None  # prompt, T of asking
    # Drugs
    shocks: int = 0
    pause_shocks: int = 0
    asked: int | None = None  # D of what asked for the first dose
    doses: tuple = ()
    acked: bool = False
    awake: bool = False
    cold: str = ""
    pregnant: bool = False
    # Minutes, heart rate, circulation, still off
    zeros: tuple = ()
    hr_from: int | None = None
    hr_at_once: bool = False
    pulse_taken: int | None = None
    still_acked: bool = False
    once: tuple = ()  # answers to a touch: (prompt, due, patience)
    over_at: int | None = None

    @property
    def scoreless(self):
        """In a run that began quiet nothing of the score is heard before the beat is on."""
        return self.quiet_way and bool(self.muted)

    @property
    def silent(self):
        return self.scoreless and self.voiceless

    def withheld(self, protocol):
        """No drug by the clock for now."""
        most = protocol.cold_doses
        cold = self.cold == "below_30" and most is not None and len(self.doses) >= most
        return cold or self.awake or self.doing == "pulse"

    def zero(self, name):
        return dict(self.zeros).get(name)


def ask(state, prompt, due, patience):
    return replace(state, once=(*state.once, (prompt, due, patience)))


def marked(state):
    """A check was marked, in whatever way."""
    return replace(state, any_check=True, awake=False)


def start(state, mark, by, protocol):
    if state.doing == by:
        return state
    if state.opened is None:
        state = replace(state, opened=mark.down)
    hands = state.before == "manual" or (state.doing == "off" and state.reason in STARTS_ANEW)
    opened = state.check_from is None or state.check_held
    if opened:
        state = replace(state, check_from=mark.down, check_marks=(), pads_due=None)
    if state.doing == "first" and protocol.newborn:
        state = replace(state, hr_from=mark.down, hr_at_once=False)
    new = replace(state, doing=by, before=by, since=mark.down, reason="", swap=None, quiet=None,
                  check_held=False, device=by == "mechanical", pause_shocks=0, still_acked=False)
    if by == "manual":
        waited = state.doing == "first" and state.score.then and mark.taken >= state.score.then[0]
        score = state.score.then[1] if waited else by_hand(state, mark, protocol)
        return replace(new, score=score, cup=None, moving=None)
    new = replace(new, score=by_device(new, mark.down))
    if state.before != "mechanical" and new.mode == "continuous":
        new = ask(new, "dev_cont", mark.taken, 5_000)
    return replace(new, cup=("cup_now", mark.taken)) if hands else new


def stop(state, mark, reason):
    since = state.since if state.doing == "off" else mark.down
    new = replace(state, doing="off", since=since, reason=reason, score=Score())
    if reason in HELD_BY:
        new = marked(replace(new, check_held=True))
    if reason == "device_fault":
        lead_in = Score("unbroken", Fraction(mark.taken + ANSWER_MS))
        new = replace(new, score=lead_in, device=False, cup=None, moving=None)
        new = ask(new, "dev_stop", mark.taken, 5_000)
    return new


def change_mode(state, mark, mode, protocol):
    if mode == state.mode:
        return state
    new = replace(state, mode=mode)
    if state.doing == "mechanical":
        prompt = {"continuous": "dev_cont", "ratio": "dev_ratio"}.get(mode)
        new = replace(new, score=by_device(new, mark.down))
        return ask(new, prompt, mark.taken, 5_000) if prompt else new
    if state.doing != "manual":
        return new
    return replace(new, score=other_mode(new, mark, protocol))


def shock(state, mark, protocol):
    state = replace(marked(state), quiet=None, check_from=mark.down, check_marks=(), pads_due=None)
    counts = state.doing != "off" or state.pause_shocks % protocol.stack_most == 0
    state = replace(state, pause_shocks=state.pause_shocks + 1)
    if not counts:
        return state
    state = replace(state, shocks=state.shocks + 1)
    if state.shocks in protocol.by_shocks:
        state = ask(state, "drug_next", mark.down, UNTIL_GIVEN)
    first = protocol.clocked
    if first and first.after_shocks and state.shocks >= first.after_shocks and state.asked is None:
        state = replace(state, asked=mark.down)
    return state


def not_shocked(state, mark, protocol):
    if protocol.clocked and protocol.clocked.at_once and state.asked is None:
        return replace(state, asked=mark.down)
    return state


def prior_care(state, mark, protocol):
    d = mark.d
    if "began_min" in d:
        state = with_zero(state, "arrest", mark.down - 60_000 * d["began_min"])
    before = d.get("shocks", 0)
    if before:
        state = replace(state, shocks=state.shocks + before)
        if protocol.clocked and state.shocks >= protocol.clocked.after_shocks > 0:
            state = replace(state, asked=mark.down)
    for dose in d.get("doses", []):
        if "last_min" in dose and dose["drug"] == "adrenaline":
            state = replace(state, doses=(*state.doses, mark.down - 60_000 * dose["last_min"]))
    if "airway" in d:
        state = change_mode(state, mark, protocol.airway[d["airway"]], protocol)
    return found(state, mark, d.get("by"))


def found(state, mark, by):
    """What a run that began earlier found going on was so from its beginning, if nothing was marked since."""
    others = {"manual": "mechanical", "mechanical": "manual"}
    if state.way != "earlier" or state.since != state.opened or state.doing != others.get(by):
        return state
    new = replace(state, doing=by, before=by, device=by == "mechanical", cup=None)
    if by == "manual":
        return replace(new, score=out_of_silence(new, mark.taken, mark.down))
    # Breaths by the clock from the mark on; the life tone from the beginning.
    new = replace(new, cup=("cup_now", mark.taken))
    if new.mode != "continuous":
        return replace(new, score=by_device(new, state.since))
    return ask(replace(new, score=by_device(new, mark.down)), "dev_cont", mark.taken, 5_000)


def with_zero(state, name, at):
    return replace(state, zeros=(*(z for z in state.zeros if z[0] != name), (name, at)))


def begin(state, mark, protocol):
    """The first mark begins the run."""
    if state.began is not None:
        return state
    state = replace(state, began=mark.down, ratio=protocol.ratio,
                    mode=protocol.table["breaths"]["mask"]["value"])
    state = with_zero(with_zero(state, "start", mark.down), "arrest", mark.down)
    return state if protocol.newborn else replace(state, check_from=mark.down)


def apply(state, mark, protocol):
    if state.doing == "over":
        return state
    if mark.ev == "start":
        quiet = mark.d["way"] == "quiet"
        return replace(state, way=mark.d["way"], quiet_way=quiet, voiceless=quiet, muted=("beat",) if quiet else ())
    state = begin(state, mark, protocol)
    for group in (flow, airway, check, device, care, run):
        new = group(state, mark, protocol)
        if new is not None:
            return new
    return state


def flow(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if ev == "compr_start":
        return start(state, mark, d["by"], protocol)
    if ev == "compr_stop":
        return stop(state, mark, d.get("reason", "unknown"))
    if ev == "why":
        state = replace(state, reason=d["reason"])
        return marked(replace(state, check_held=True)) if d["reason"] in HELD_BY else state
    if ev == "rosc":
        breath = mark.down if protocol.rosc_breath else None
        score = Score("life" if breath is None else "breaths", Fraction(mark.down), breath)
        return replace(state, doing="pulse", since=mark.down, cup=None, moving=None, swap=None,
                       score=score, pulse_taken=mark.taken, still_acked=False)
    if ev == "rearrest":
        state = ask(replace(state, check_from=None), "arrest_again", mark.taken, 5_000)
        return start(state, mark, d.get("by", "manual"), protocol)
    if ev == "end":
        return replace(state, doing="over", score=Score(), over_at=mark.taken)
    return None


def airway(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if ev == "airway" and d["act"] == "in":
        return change_mode(state, mark, protocol.airway[d["device"]], protocol)
    if ev == "airway" and d["act"] == "lost":
        return change_mode(state, mark, "ratio", protocol)
    if ev == "breath_mode":
        return change_mode(state, mark, d["mode"], protocol)
    return None


def check(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if ev == "shock":
        return shock(state, mark, protocol)
    if ev == "no_shock":
        state = replace(marked(state), quiet=None)
        if state.doing == "manual" or state.doing == "mechanical":
            # With compressions running the result itself ends the check.
            state = replace(state, check_from=mark.down, check_marks=(), pads_due=None)
        return not_shocked(state, mark, protocol)
    if ev == "analysing":
        if state.leads:
            return stop(state, mark, "rhythm_check")
        return replace(marked(state), check_marks=(*state.check_marks, mark.down))
    if ev == "rhythm" and d["rhythm"] in NOT_SHOCKED:
        return not_shocked(state, mark, protocol)
    if (ev == "charge" and d["act"] == "begun") or (ev == "rhythm" and d["rhythm"] in SHOCKABLE):
        return replace(state, quiet=(mark.taken, mark.down + protocol.silence))
    if ev == "charge" and d["act"] == "dumped":
        return replace(state, quiet=None)
    if ev == "pads" and d["connected"]:
        due = not state.pads and not state.any_check
        return replace(state, pads=True, pads_due=mark.taken if due else state.pads_due)
    if ev == "heart_rate":
        return replace(state, hr_from=mark.down, hr_at_once=False)
    return None


def device(state, mark, protocol):
    act = (mark.ev, mark.d.get("act"))
    if act == ("cup", "good"):
        return replace(state, cup=None)
    if act == ("cup", "reseat"):
        return replace(state, cup=None)
    if act == ("move", "begin"):
        return replace(state, moving=mark.down)
    if act in (("move", "set_down"), ("move", "loaded")):
        cup = ("cup_down", mark.taken) if state.device else state.cup
        return replace(state, moving=None, cup=cup)
    if act == ("power", "swap_begin") and state.doing == "pulse":
        return replace(state, pack_from=None)
    if act == ("power", "swap_begin"):
        return replace(stop(state, mark, "power"), swap=mark.down, pack_from=None)
    if act == ("power", "swap_end") and state.swap is not None:
        full = mark.down if mark.d.get("full") else None
        state = replace(state, pack_from=full)
        if mark.down - state.swap <= protocol.swap_window:
            return start(state, mark, "mechanical", protocol)
        return ask(replace(state, swap=None), "power_over", mark.taken, 5_000)
    if act == ("power", "full"):
        return replace(state, pack_from=mark.down)
    if mark.ev == "fit" and state.doing == "manual":
        return ask(state, "fit_plan", mark.down, 10_000)
    return None


def care(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if ev == "drug" and d["drug"] == "adrenaline":
        return replace(state, doses=(*state.doses, mark.down), acked=False)
    if ev == "awake":
        return replace(state, awake=d["on"])
    if ev == "overlay" and d["kind"] == "cold":
        return replace(state, cold=d.get("temp_band", "") if d["on"] else "")
    if ev == "overlay" and d["kind"] == "pregnancy":
        return replace(state, pregnant=d["on"])
    if ev == "prior_care":
        return prior_care(state, mark, protocol)
    return None


def run(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if ev == "arrest" and state.doing == "nothing" and protocol.wait:
        new = replace(state, doing="first", opened=mark.down, score=first_breaths(state, mark, protocol))
        if protocol.newborn:
            return replace(new, hr_from=mark.taken + protocol.wait, hr_at_once=True)
        return new
    if ev == "patient":
        alone = protocol.ratio_alone if d.get("rescuers") == 1 else protocol.ratio
        new = replace(state, ratio=alone)
        if state.doing == "manual" and alone != state.ratio:
            return replace(new, score=out_of_silence(new, mark.taken, mark.down))
        return new
    if ev == "leads":
        return replace(state, leads=d["on"])
    if ev == "ack" and d["task"] == "drug":
        return replace(state, acked=True)
    if ev == "ack" and d["task"] == "still_off":
        return replace(state, still_acked=True)
    if ev == "decision" and d["what"] == "transport" and not state.moving:
        return ask(state, "move_plan", mark.taken, 10_000) if state.doing == "mechanical" else state
    if ev == "times" and d["which"] == "als_arrival":
        return with_zero(state, "als_arrival", mark.down)
    if ev == "sound":
        return sound(state, mark)
    return None


def sound(state, mark):
    what = mark.d["what"]
    # How loud it is moves no sound.
    if what in ("level", "preset"):
        return state
    if what == "beat_off":
        return ask(replace(state, muted=("beat",)), "beat_off", mark.taken, 5_000)
    if what == "beat_on":
        return replace(state, muted=())
    if what == "voice_on":
        return ask(replace(state, voiceless=False), "voice_on", mark.taken, 5_000)
    state = ask(state, "voice_off", mark.taken, 5_000)
    if what == "voice_off_2_min" and not state.silent:
        return ask(replace(state, voiceless=False), "voice_on", mark.down + 120_000, 5_000)
    return replace(state, voiceless=True)


def fold(marks, upto, protocol):
    """The state after the first `upto` lines of the script."""
    live, answers = standing(marks, upto)
    state = State()
    for mark in live:
        state = apply(state, mark, protocol)
    for taken in answers:
        state = ask(state, "undo", taken, 2_000)
    return state
