"""The score: what sounds of itself from a moment on. Exact fractions of a millisecond."""
from dataclasses import dataclass, replace
from fractions import Fraction

LIFE_MS = 10_000
ANSWER_MS = 25  # from the touch's acceptance to the first beat


@dataclass(frozen=True)
class Score:
    kind: str = "silent"  # silent, unbroken, ratio, breaths, life
    anchor: Fraction = Fraction(0)
    breath_from: int | None = None
    ratio: tuple = (30, 2)
    # What takes its place by itself: from when, and what.
    then: tuple | None = None

    def sounds(self, protocol, start, stop):
        """(kind, exact ms) of everything that begins in [start, stop)."""
        if self.then:
            at, other = self.then
            yield from replace(self, then=None).sounds(protocol, start, min(stop, at))
            yield from other.sounds(protocol, max(start, at), stop)
            return
        if self.kind == "unbroken":
            yield from steps("beat", self.anchor, protocol.period, 0, start, stop)
        if self.kind in ("unbroken", "breaths") and self.breath_from is not None:
            yield from steps("breath", self.breath_from, protocol.every, 1, start, stop)
        if self.kind == "life":
            yield from steps("life", self.anchor, LIFE_MS, 1, start, stop)
        if self.kind == "ratio":
            yield from self.cycles(protocol, start, stop)

    def cycles(self, protocol, start, stop):
        (beats, breaths), length = self.ratio, self.cycle(protocol)
        number = max(0, (start - self.anchor) // length)
        while (zero := self.anchor + number * length) < stop:
            for n in range(beats):
                last = "beat_last" if n == beats - 1 else "beat"
                kind = "beat_first" if n == 0 else last
                if start <= zero + n * protocol.period < stop:
                    yield kind, zero + n * protocol.period
            window = zero + beats * protocol.period
            for j in range(breaths):
                at = window + Fraction(j * protocol.window, breaths)
                if start <= at < stop:
                    yield "breath", at
            number += 1

    def cycle(self, protocol):
        return self.ratio[0] * protocol.period + protocol.window

    def in_window(self, protocol, at):
        return (self.kind == "ratio" and at >= self.anchor
                and (at - self.anchor) % self.cycle(protocol) >= self.ratio[0] * protocol.period)

    def grid(self, protocol, at):
        """Where the beats of the running phase are counted from."""
        if self.kind != "ratio" or at < self.anchor:
            return self.anchor
        return self.anchor + (at - self.anchor) // self.cycle(protocol) * self.cycle(protocol)


def steps(kind, zero, step, first, start, stop):
    n = max(first, -((zero - start) // step))
    while (at := zero + n * step) < stop:
        if at >= start:
            yield kind, Fraction(at)
        n += 1


def first_beat_from(zero, period, at):
    n = max(0, -((zero - at) // period))
    return zero + n * period


def out_of_silence(state, taken, down):
    """The beat as it begins where none was."""
    start = Fraction(taken + ANSWER_MS)
    if state.mode == "ratio":
        return Score("ratio", start, ratio=state.ratio)
    return Score("unbroken", start, down if state.mode == "continuous" else None)


def by_hand(state, mark, protocol):
    """Hands On: out of silence, or out of the lead-in after a device that stopped."""
    new = out_of_silence(state, mark.taken, mark.down)
    if state.score.kind != "unbroken":
        return new
    if state.mode != "ratio":
        return replace(new, anchor=state.score.anchor)
    return replace(new, anchor=first_beat_from(state.score.anchor, protocol.period, new.anchor))


def by_device(state, down):
    kind = {"continuous": "breaths", "ratio": "life"}.get(state.mode, "silent")
    return Score(kind, Fraction(down), down if kind == "breaths" else None)


def first_breaths(state, mark, protocol):
    """Breaths alone, then the beat by itself."""
    begins = mark.taken + protocol.wait
    beat = out_of_silence(state, begins, begins)
    if protocol.newborn:
        return Score("breaths", Fraction(0), mark.down, then=(begins, beat))
    return Score(then=(begins, beat))


def other_mode(state, mark, protocol):
    """The beat by hand after a change of the breath mode, which the state has already."""
    breath = mark.down if state.mode == "continuous" else None
    answer = Fraction(mark.taken + ANSWER_MS)
    if state.mode == "ratio":
        zero = first_beat_from(state.score.anchor, protocol.period, answer)
        return Score("ratio", zero, ratio=state.ratio)
    if state.score.in_window(protocol, mark.taken):
        return Score("unbroken", answer, breath)
    return Score("unbroken", state.score.grid(protocol, mark.taken), breath)
