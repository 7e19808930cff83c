#!/usr/bin/env python3
"""Every sound of a rehearsal, worked out from its script and protocol file alone.

    expected.py SCRIPT --protocol FILE --manifest FILE [--voice-off]

Prints a JSON array in the form of the cue list. The rules are those of docs/timing.md, written
down a second time in another language; nothing is shared with the programme but that page. Times
are whole milliseconds or exact fractions of one, rounded down once, to a frame.
"""
import argparse
import json
import sys
import tomllib
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

FRAMES_PER_MS = 48
ANSWER_MS = 25  # from the touch's acceptance to the first beat
LIFE_MS = 10_000
SPACING_MS = 1_500
BUDGET = ((20_000, 3), (120_000, 10))
CLASS_A = {"dev_stop", "power_over"}  # and every off..
CLASS_D = {"undo", "hold_end"}
STARTS_ANEW = {"device_fit", "device_reseat", "device_fault", "device_off", "power"}
SHOCKABLE = {"shockable", "vf", "pvt", "aed_shock"}
FOREVER = 1 << 60


def class_a(prompt):
    return prompt in CLASS_A or prompt.startswith("off")


# The protocol and the script


class Protocol:
    def __init__(self, path):
        table = tomllib.loads(Path(path).read_text(encoding="utf-8"))

        def value(room, name):
            return table[room][name]["value"]

        self.period = Fraction(60_000, value("beat", "rate_per_min"))
        beats, breaths = value("breaths", "ratio").split(":")
        self.beats, self.breaths = int(beats), int(breaths)
        self.window = 1000 * value("breaths", "window_s")
        self.every = 1000 * value("breaths", "every_s")
        self.airway = {name: entry["value"] for name, entry in table["airway"].items()}
        self.check = 1000 * value("check", "every_s")
        self.heads_up = 1000 * value("check", "heads_up_s")
        self.count_from = value("check", "count_from_s")
        self.overdue = 1000 * value("check", "overdue_s")
        self.numbers = value("hands_off", "numbers_s")
        self.silence = 1000 * value("shock", "silence_s")
        self.cup_repeat = 1000 * value("cup", "repeat_s")
        self.swap_window = 1000 * value("power", "swap_window_s")
        self.cycle = self.beats * self.period + self.window


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


# The score: what sounds of itself from a moment on


@dataclass(frozen=True)
class Score:
    kind: str = "silent"  # silent, unbroken, ratio, breaths, life
    anchor: Fraction = Fraction(0)
    breath_from: int | None = None

    def sounds(self, protocol, start, stop):
        """(kind, exact ms) of everything that begins in [start, stop)."""
        if self.kind == "unbroken":
            yield from steps("beat", self.anchor, protocol.period, 0, start, stop)
        if self.kind in ("unbroken", "breaths") and self.breath_from is not None:
            yield from steps("breath", self.breath_from, protocol.every, 1, start, stop)
        if self.kind == "life":
            yield from steps("life", self.anchor, LIFE_MS, 1, start, stop)
        if self.kind == "ratio":
            cycle = max(0, (start - self.anchor) // protocol.cycle)
            while (zero := self.anchor + cycle * protocol.cycle) < stop:
                for n in range(protocol.beats):
                    last = "beat_last" if n == protocol.beats - 1 else "beat"
                    kind = "beat_first" if n == 0 else last
                    if start <= zero + n * protocol.period < stop:
                        yield kind, zero + n * protocol.period
                window = zero + protocol.beats * protocol.period
                for j in range(protocol.breaths):
                    at = window + Fraction(j * protocol.window, protocol.breaths)
                    if start <= at < stop:
                        yield "breath", at
                cycle += 1

    def in_window(self, protocol, at):
        return (self.kind == "ratio" and at >= self.anchor
                and (at - self.anchor) % protocol.cycle >= protocol.beats * protocol.period)

    def grid(self, protocol, at):
        """Where the beats of the running phase are counted from."""
        if self.kind != "ratio" or at < self.anchor:
            return self.anchor
        return self.anchor + (at - self.anchor) // protocol.cycle * protocol.cycle


def steps(kind, zero, step, first, start, stop):
    n = max(first, -((zero - start) // step))
    while (at := zero + n * step) < stop:
        if at >= start:
            yield kind, Fraction(at)
        n += 1


def first_beat_from(zero, period, at):
    n = max(0, -((zero - at) // period))
    return zero + n * period


# The state that the marks make, folded afresh after every mark


@dataclass(frozen=True)
class State:
    doing: str = "nothing"  # nothing, manual, mechanical, off, pulse, over
    before: str = "nothing"  # who compressed last
    since: int = 0
    reason: str = ""
    mode: str = "ratio"
    score: Score = Score()
    check_from: int | None = None
    check_held: bool = False  # marked by a hands-off, not yet resumed
    check_marks: tuple = ()
    moving: bool = False
    device: bool = False
    swap: int | None = None
    quiet: tuple | None = None  # from, to: the silence around a shock
    cup: tuple | None = None  # prompt, T of asking
    once: tuple = ()  # answers to a touch: (prompt, T, patience)
    over_at: int | None = None


def beats_by_hand(state, mark, protocol):
    score, lead_in = state.score, state.score.kind == "unbroken"
    start = Fraction(mark.taken + ANSWER_MS)
    if state.mode != "ratio":
        breath = mark.down if state.mode == "continuous" else None
        return Score("unbroken", score.anchor if lead_in else start, breath)
    if lead_in:
        start = first_beat_from(score.anchor, protocol.period, start)
    return Score("ratio", start)


def by_device(state, down):
    kind = {"continuous": "breaths", "ratio": "life"}.get(state.mode, "silent")
    return Score(kind, Fraction(down), down if kind == "breaths" else None)


def start(state, mark, by, protocol):
    if state.doing == by:
        return state
    hands = state.before == "manual" or (state.doing == "off" and state.reason in STARTS_ANEW)
    opened = state.check_from is None or state.check_held
    new = replace(state, doing=by, before=by, since=mark.down, reason="", swap=None, quiet=None,
                  check_from=mark.down if opened else state.check_from,
                  check_marks=() if opened else state.check_marks, check_held=False,
                  device=by == "mechanical")
    if by == "mechanical":
        new = replace(new, score=by_device(new, mark.down))
        return replace(new, cup=("cup_now", mark.taken)) if hands else new
    return replace(new, score=beats_by_hand(state, mark, protocol), cup=None, moving=False)


def stop(state, mark, reason):
    since = state.since if state.doing == "off" else mark.down
    new = replace(state, doing="off", since=since, reason=reason, score=Score())
    if reason == "rhythm_check":
        new = replace(new, check_held=True)
    if reason == "device_fault":
        lead_in = Score("unbroken", Fraction(mark.taken + ANSWER_MS))
        new = replace(new, score=lead_in, device=False, cup=None, moving=False,
                      once=(*state.once, ("dev_stop", mark.taken, 5_000)))
    return new


def change_mode(state, mark, mode, protocol):
    if mode == state.mode:
        return state
    new = replace(state, mode=mode)
    if state.doing == "mechanical":
        prompt = {"continuous": "dev_cont", "ratio": "dev_ratio"}.get(mode)
        asked = ((prompt, mark.taken, 5_000),) if prompt else ()
        return replace(new, score=by_device(new, mark.down), once=(*state.once, *asked))
    if state.doing != "manual":
        return new
    breath = mark.down if mode == "continuous" else None
    answer = Fraction(mark.taken + ANSWER_MS)
    if mode == "ratio":
        zero = first_beat_from(state.score.anchor, protocol.period, answer)
        return replace(new, score=Score("ratio", zero))
    if state.score.in_window(protocol, mark.taken):
        return replace(new, score=Score("unbroken", answer, breath))
    return replace(new, score=Score("unbroken", state.score.grid(protocol, mark.taken), breath))


def apply(state, mark, protocol):
    ev, d = mark.ev, mark.d
    if state.doing == "over":
        return state
    if ev == "compr_start":
        return start(state, mark, d["by"], protocol)
    if ev == "compr_stop":
        return stop(state, mark, d.get("reason", "unknown"))
    if ev == "why":
        held = state.check_held or d["reason"] == "rhythm_check"
        return replace(state, reason=d["reason"], check_held=held)
    if ev == "airway" and d["act"] == "in":
        return change_mode(state, mark, protocol.airway[d["device"]], protocol)
    if ev == "airway" and d["act"] == "lost":
        return change_mode(state, mark, "ratio", protocol)
    if ev == "breath_mode":
        return change_mode(state, mark, d["mode"], protocol)
    if ev == "cup" and d["act"] == "good":
        return replace(state, cup=None)
    if ev == "cup" and d["act"] == "reseat":
        state = replace(state, cup=None)
        return stop(state, mark, "device_reseat") if state.doing == "mechanical" else state
    if ev == "move" and d["act"] == "begin":
        return replace(state, moving=True)
    if ev == "move" and d["act"] == "set_down":
        cup = ("cup_down", mark.taken) if state.device else state.cup
        return replace(state, moving=False, cup=cup)
    if ev == "power" and d["act"] == "swap_begin":
        return replace(stop(state, mark, "power"), swap=mark.down)
    if ev == "power" and d["act"] == "swap_end" and state.swap is not None:
        if mark.down - state.swap <= protocol.swap_window:
            return start(state, mark, "mechanical", protocol)
        return replace(state, swap=None,
                       once=(*state.once, ("power_over", mark.taken, 5_000)))
    if ev == "shock":
        return replace(state, quiet=None, check_from=mark.down, check_marks=())
    if ev in ("no_shock", "analysing"):
        quiet = state.quiet if ev == "analysing" else None
        return replace(state, quiet=quiet, check_marks=(*state.check_marks, mark.down))
    if (ev == "charge" and d["act"] == "begun") or (
            ev == "rhythm" and SHOCKABLE & {*d, *map(str, d.values())}):
        return replace(state, quiet=(mark.taken, mark.down + protocol.silence))
    if ev == "charge" and d["act"] == "dumped":
        return replace(state, quiet=None)
    if ev == "rosc":
        return replace(state, doing="pulse", since=mark.down, cup=None, moving=False, swap=None,
                       score=Score("life", Fraction(mark.down)))
    if ev == "rearrest":
        return start(replace(state, check_from=None), mark, d.get("by", "manual"), protocol)
    if ev == "end":
        return replace(state, doing="over", score=Score(), over_at=mark.taken)
    return state


def fold(marks, upto, protocol):
    """The state after the first `upto` marks, what was taken back left out."""
    gone, answers = set(), []
    for number, mark in enumerate(marks[:upto]):
        if mark.ev != "amend":
            continue
        if mark.d.get("op") != "retract":
            sys.exit(f"mark {number + 1}: amend {mark.d.get('op')} is not worked out here, "
                     "only retract")
        gone.add(target(marks, number, gone))
        answers.append(("undo", mark.taken, 2_000))
    state = State()
    for number, mark in enumerate(marks[:upto]):
        if number not in gone and mark.ev != "amend":
            state = apply(state, mark, protocol)
    return replace(state, once=(*state.once, *answers))


def target(marks, number, gone):
    name = marks[number].d["target"]
    if name != "last":
        return int(str(name).lstrip("#")) - 1
    live = [n for n in range(number) if n not in gone and marks[n].ev != "amend"]
    return live[-1]


# The voices


@dataclass
class Want:
    prompt: str
    due: int
    until: int
    key: tuple
    group: tuple
    check: int | None = None  # the check's due time


@dataclass
class Voices:
    protocol: Protocol
    clip_ms: dict
    done: dict = field(default_factory=dict)  # key -> start, or None if held
    spoken: list = field(default_factory=list)  # (prompt, start)
    groups: dict = field(default_factory=dict)  # group -> start, class A apart
    speaking: tuple | None = None  # prompt, group, end
    cup_asked: dict = field(default_factory=dict)

    def wants(self, state, horizon):
        p, out = self.protocol, []

        def want(prompt, due, patience, check=None, group=None):
            key = (prompt, due)
            out.append(Want(prompt, due, due + patience, key, group or key, check))

        if state.doing == "off":
            for s in p.numbers:
                want(f"off{s}", state.since + 1000 * s, 1_500)
        for prompt, at, patience in state.once:
            want(prompt, at, patience)
        if state.cup:
            prompt, at = state.cup
            want(prompt, at, FOREVER)
            first = self.done.get((prompt, at))
            if prompt == "cup_now" and first is not None:
                want("cup_now", first + p.cup_repeat, FOREVER)
        if state.check_from is not None and not state.check_held and state.doing in (
                "manual", "mechanical", "off"):
            due = state.check_from + p.check
            while due - p.heads_up <= horizon:
                opens = due - p.heads_up
                marked = any(opens <= m < due + p.check - p.heads_up or
                             (m < opens and due == state.check_from + p.check)
                             for m in state.check_marks)
                if not marked:
                    count = ("count", due)
                    want("chk_30", due - p.heads_up, 5_000, due)
                    for s in range(p.count_from, 0, -1):
                        want(f"chk_cd{s}", due - 1000 * s, 300, due, count)
                    want("chk_now", due, p.check - 30_000, due, count)
                    began = self.done.get(("chk_now", due))
                    if began is not None and began < due + 15_000:
                        want("chk_over", due + p.overdue, 5_000, due)
                due += p.check
        return [w for w in out if w.key not in self.done]

    def gate(self, state, prompt, now):
        if state.quiet and state.quiet[0] <= now < state.quiet[1]:
            return prompt.startswith("off")
        if state.doing == "off":
            return class_a(prompt)
        return class_a(prompt) or not state.moving

    def free(self, want, now):
        if self.speaking is None:
            return True
        prompt, group, end = self.speaking
        if class_a(want.prompt):
            return now >= end or not class_a(prompt)
        if group == want.group and group[0] == "count":
            return now >= end
        return now >= end + SPACING_MS

    def within_budget(self, want, now):
        if class_a(want.prompt) or want.group in self.groups:
            return True
        begun = self.groups.values()
        return all(sum(now - at < span for at in begun) < most for span, most in BUDGET)

    def mark_taken(self, old, new, now):
        """Hands off and a move break off a lower voice at once."""
        broken = (new.doing == "off" and old.doing != "off") or (new.moving and not old.moving)
        if broken and self.speaking and not class_a(self.speaking[0]):
            prompt, group, end = self.speaking
            self.speaking = (prompt, group, min(end, now))

    def step(self, state, wants, now):
        """Starts what may start now; true if something was settled."""
        settled = False
        due = [w for w in wants if w.due <= now and w.key not in self.done]
        due.sort(key=lambda w: (rank(w.prompt), w.due))
        for want in due:
            if now > want.until or (want.prompt == "chk_now" and now >= want.until):
                self.done[want.key] = None
                settled = True
            elif (
                self.gate(state, want.prompt, now)
                and self.free(want, now)
                and self.within_budget(want, now)
            ):
                settled = True
                self.done[want.key] = now
                self.spoken.append((want.prompt, now))
                self.speaking = (want.prompt, want.group, now + self.clip_ms[want.prompt])
                if not class_a(want.prompt):
                    self.groups.setdefault(want.group, now)
        return settled


def rank(prompt):
    if class_a(prompt):
        return 0
    if prompt in CLASS_D:
        return 3
    return 2 if prompt.startswith(("chk_cd", "chk_30")) else 1


def voices(marks, end, protocol, clip_ms):
    box = Voices(protocol, clip_ms)
    taken, now, state = 0, 0, State()
    wants = []
    while now < end and state.doing != "over":
        while taken < len(marks) and marks[taken].taken <= now:
            taken += 1
            new = fold(marks, taken, protocol)
            box.mark_taken(state, new, now)
            state, wants = new, box.wants(new, end)
        if state.doing == "over":
            break
        while box.step(state, wants, now):
            wants = box.wants(state, end)
        coming = [w.due for w in wants if w.due > now]
        if any(w.due <= now for w in wants):
            coming.append(now + 1)
        if taken < len(marks):
            coming.append(marks[taken].taken)
        if not coming:
            break
        now = min(coming)
    return box.spoken


# All together


def voice_is_off(marks, at, off_from_start):
    off = off_from_start
    for mark in marks:
        if mark.ev == "sound" and mark.taken <= at:
            off = {"voice_off": True, "voice_on": False}.get(mark.d["what"], off)
    return off


def expected(script, protocol_file, manifest, voice_off=False, tones=None):
    marks, end = read_script(script)
    protocol = Protocol(protocol_file)
    clip_ms = {c["id"]: c["ms"] for c in
               json.loads(Path(manifest).read_text(encoding="utf-8"))["clips"]}
    sounds = []
    moments = sorted({mark.taken for mark in marks})
    states = [fold(marks, sum(m.taken <= at for m in marks), protocol) for at in moments]
    for at, until, state in zip(moments, [*moments[1:], end], states, strict=True):
        for kind, when in state.score.sounds(protocol, at, min(until, end)):
            sounds.append({"kind": kind, "at_frame": int(when * FRAMES_PER_MS)})
        closes = state.swap + protocol.swap_window if state.swap is not None else None
        if closes is not None and at <= closes < min(until, end):
            sounds.append({"kind": "attention", "at_frame": closes * FRAMES_PER_MS})
    over = next((s.over_at for s in states if s.over_at is not None), FOREVER)
    for at in moments:
        if at < end and at <= over:
            sounds.append({"kind": "receipt", "at_frame": at * FRAMES_PER_MS})
    for prompt, at in voices(marks, end, protocol, clip_ms):
        frame = at * FRAMES_PER_MS
        if not voice_is_off(marks, at, voice_off):
            sounds.append({"kind": "voice", "id": prompt, "at_frame": frame})
        elif prompt not in CLASS_D:
            sounds.append({"kind": "attention", "at_frame": frame})
    sounds.sort(key=lambda s: (s["at_frame"], s["kind"]))
    return sounds


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("script")
    parser.add_argument("--protocol", required=True)
    parser.add_argument("--manifest", required=True)
    parser.add_argument("--voice-off", action="store_true")
    args = parser.parse_args()
    sounds = expected(args.script, args.protocol, args.manifest, args.voice_off)
    json.dump(sounds, sys.stdout, indent=0)
    print()


if __name__ == "__main__":
    main()
