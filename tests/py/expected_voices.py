"""The prompts: when each is wanted, and when it may begin."""
from dataclasses import dataclass, field

from expected_state import State, fold

SPACING_MS = 1_500
MERGE_MS = 5_000
BUDGET = ((20_000, 3), (120_000, 10))
FOREVER = 1 << 60
CLASS_A = {"dev_stop", "power_over", "arrest_again"}  # and every off..
CLASS_B = {"chk_now", "chk_over", "rotate_now", "hr_now", "drug_due", "drug_late", "cup_down", "cup_now",
           "dev_cont", "dev_ratio"}
CLASS_D = {"undo", "hold_end", "voice_off", "voice_on", "beat_off", "still", "phone_low"}
IN_ARREST = ("first", "manual", "mechanical", "off")
OF_DRUG = ("drug_60", "drug_due", "drug_late")
DRUG_AGAIN_MS = 30_000
LATE_TRUE_MS = 60_000  # so long the words for a late drug are true
MOVE_HOLDS_MS = 600_000
AGAIN_WITHIN_MS = 5_000  # docs/timing.md, "Voices": broken off by class A, said once more within 5 s


def class_a(prompt):
    return prompt in CLASS_A or prompt.startswith("off")


def answered(prompt, old, new):
    """Whether what a voice says is so no longer, or is done, after this mark."""
    if prompt.startswith("off"):
        return new.doing != "off"
    if prompt in ("cup_down", "cup_now"):
        return new.cup is None
    if prompt == "dev_stop":
        return (new.doing, new.reason) != ("off", "device_fault")
    if prompt == "power_over":
        return new.doing != "off"
    if prompt in ("dev_cont", "dev_ratio"):
        mode = {"dev_cont": "continuous", "dev_ratio": "ratio"}[prompt]
        return (new.doing, new.mode) != ("mechanical", mode)
    if prompt == "arrest_again":
        return new.doing not in ("manual", "mechanical")
    if prompt in ("drug_due", "drug_late"):
        return len(new.doses) > len(old.doses) or new.acked
    return False


def rank(prompt):
    if class_a(prompt):
        return 0
    if prompt in CLASS_B:
        return 1
    return 3 if prompt in CLASS_D else 2


@dataclass
class Want:
    prompt: str
    due: int
    until: int
    group: tuple

    @property
    def key(self):
        return (self.prompt, self.due)


class Wants:
    """Everything that the state asks for up to a horizon."""

    def __init__(self, state, protocol, done, now, horizon):
        self.state, self.p, self.done, self.now, self.horizon = state, protocol, done, now, horizon
        self.out, self.looks = [], []  # looks: when time alone changes what is wanted
        self.answers()
        self.clocks()
        if state.doing in (*IN_ARREST, "pulse"):
            self.drugs()
        if state.moving is not None:
            self.looks.append(state.moving + MOVE_HOLDS_MS)
        if state.doing in IN_ARREST:
            self.heart_rate()
            self.check()

    def left(self):
        return [w for w in self.out if w.key not in self.done]

    def want(self, prompt, due, patience, group=None):
        self.out.append(Want(prompt, due, due + patience, group or (prompt, due)))

    def answers(self):
        s = self.state
        if s.doing == "off":
            for n in self.p.numbers:
                self.want(f"off{n:02}", s.since + 1000 * n, 1_500)
        if s.cup:
            prompt, at = s.cup
            self.want(prompt, at, FOREVER)
            self.want("cup_now", at + self.p.cup_repeat, FOREVER)
        # The cup first, then what else answers the same touch.
        for prompt, due, patience in s.once:
            self.want(prompt, due, patience)

    def clocks(self):
        s, p = self.state, self.p
        if s.began is None:
            return
        for prompt, after, zero in p.minutes:
            at = s.zero(zero)
            if at is not None and at + after >= s.began:
                self.want(prompt, at + after, 120_000)
        if not p.newborn and not s.pads and not s.any_check:
            self.want("pads_now", s.began + 60_000, 10_000)
        if s.pack_from is not None:
            for minutes in (10, 2):
                before = 60_000 * minutes
                if p.full_pack > before:
                    self.want(f"power_{minutes}", s.pack_from + p.full_pack - before, 30_000)

    def drugs(self):
        s, drug = self.state, self.p.clocked
        if drug is None or s.acked:
            return
        if drug.most and len(s.doses) >= drug.most:
            return
        factor = self.p.cold_factor if s.cold == "30_35" else 1
        due, late = s.asked, None
        if s.doses:
            due = s.doses[-1] + factor * drug.min
            self.want("drug_60", due - 60_000, 15_000)
            late = s.doses[-1] + factor * drug.max
            self.want("drug_late", late, LATE_TRUE_MS)
            self.looks.append(late + LATE_TRUE_MS + 1)
        if due is None:
            return
        self.want("drug_due", due, DRUG_AGAIN_MS - 1)
        again = due + DRUG_AGAIN_MS
        named = late is not None and late <= self.now <= late + LATE_TRUE_MS
        called = any(prompt in ("drug_due", "drug_late") and at > again and began is not None
                     for (prompt, at), began in self.done.items())
        if not named and not called:
            self.want("drug_due", again, FOREVER)

    def heart_rate(self):
        s = self.state
        if s.hr_from is None:
            return
        at = s.hr_from if s.hr_at_once else s.hr_from + self.p.recheck
        while at <= self.horizon:
            self.want("hr_now", at, 15_000)
            at += self.p.recheck

    def check(self):
        s, p = self.state, self.p
        if p.newborn or s.check_from is None or s.check_held or s.leads:
            return
        first = due = s.check_from + p.check if s.pads_due is None else s.pads_due
        while due - p.heads_up <= self.horizon:
            opens = due - p.heads_up
            if not any(opens <= m < due + p.check - p.heads_up or (m < opens and due == first)
                       for m in s.check_marks):
                self.one_check(due, bare=due == s.pads_due)
            due += p.check

    def one_check(self, due, bare):
        p, count = self.p, ("count", due)
        if not bare:
            self.want(f"chk_{p.heads_up // 1000}", due - p.heads_up, 5_000)
            if p.charge_before:
                self.want("charge", due - p.charge_before, 5_000)
            elif p.heads_up > 15_000:
                self.want("chk_15", due - 15_000, 5_000)
            if p.rotate and self.state.doing == "manual":
                self.want("next_up", due - 20_000, 5_000)
            for n in range(p.count_from, 0, -1):
                self.want(f"chk_cd{n}", due - 1000 * n, 300, count)
        self.want("chk_now", due, p.check - 30_000, count)
        began = self.done.get(("chk_now", due))
        if began is not None and began < due + 15_000:
            self.want("chk_over", due + p.overdue, 5_000)


@dataclass
class Voices:
    """One voice at a time, by class, spacing, budget and gates."""

    protocol: object
    clip_ms: dict
    done: dict = field(default_factory=dict)  # key -> start, or None if held
    spoken: list = field(default_factory=list)  # (prompt, start)
    held: list = field(default_factory=list)  # (prompt, due, why), where the reason is plain
    groups: dict = field(default_factory=dict)  # group -> start, class A apart
    speaking: tuple | None = None  # prompt, group, end, key
    again: dict = field(default_factory=dict)  # key -> when it first began; broken off by class A
    broken: set = field(default_factory=set)

    def closed(self, state, prompt, now):
        """Why the gate is closed, or None."""
        if state.quiet and state.quiet[0] <= now < state.quiet[1] and not prompt.startswith("off"):
            return "shock"
        if state.silent:
            return "quiet"
        if state.withheld(self.protocol) and prompt in OF_DRUG:
            return "withheld"
        if state.doing == "off" and not class_a(prompt):
            return "hands_off"
        moved = state.moving is not None and now - state.moving < MOVE_HOLDS_MS
        return "moving" if moved and not class_a(prompt) else None

    def free(self, want, now):
        if self.speaking is None:
            return True
        prompt, group, end, _ = self.speaking
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

    def merged(self, want):
        """A heads-up close behind a prompt of class B."""
        if rank(want.prompt) != 2 or want.group[0] == "count":
            return False
        return any(rank(prompt) == 1 and 0 <= want.due - due < MERGE_MS
                   for (prompt, due), began in self.done.items() if began is not None)

    def mark_taken(self, old, new, now):
        """Hands off and a move break off a lower voice at once, and a mark that answers a voice breaks off that one. It
        is over at that moment: the 10 ms in which it dies away lie in the gap after it."""
        if self.speaking and answered(self.speaking[0], old, new):
            prompt, group, end, key = self.speaking
            self.speaking = (prompt, group, min(end, now), key)
        broken = (new.doing == "off" and old.doing != "off") or (
            new.moving is not None and old.moving is None)
        withheld = new.withheld(self.protocol) and self.speaking and self.speaking[0] in OF_DRUG
        if (broken or withheld) and self.speaking and not class_a(self.speaking[0]):
            prompt, group, end, key = self.speaking
            self.speaking = (prompt, group, min(end, now), key)

    def break_off(self, now):
        """Class A begins while a lower voice speaks: that one may be said once more."""
        if self.speaking is None:
            return
        prompt, _, end, key = self.speaking
        if now < end and not class_a(prompt) and key not in self.broken:
            self.broken.add(key)
            self.again[key] = self.done.pop(key)

    def leave(self, want, why):
        self.done[want.key] = None
        self.again.pop(want.key, None)
        self.held.append((want.prompt, want.due, why))

    def step(self, state, wants, now):
        """Settles what may be settled now; true if something was."""
        settled = False
        due = [w for w in wants if w.due <= now and w.key not in self.done]
        due.sort(key=lambda w: (rank(w.prompt), not w.prompt.startswith("cup"), w.prompt != "chk_now",
                                w.due))
        for want in due:
            why = self.closed(state, want.prompt, now)
            over = now > want.until or (want.prompt == "chk_now" and now >= want.until)
            if want.key in self.again:
                over = over or why is not None or now >= self.again[want.key] + AGAIN_WITHIN_MS
            if over:
                self.leave(want, why or "pressed")
            elif why is None and want.prompt in self.protocol.on_screen:
                self.leave(want, "screen")
            elif self.merged(want):
                self.leave(want, "merged")
            elif why is None and self.free(want, now) and self.within_budget(want, now):
                if class_a(want.prompt):
                    self.break_off(now)
                self.done[want.key] = now
                self.again.pop(want.key, None)
                self.spoken.append((want.prompt, now))
                self.speaking = (want.prompt, want.group, now + self.clip_ms[want.prompt], want.key)
                if not class_a(want.prompt):
                    self.groups.setdefault(want.group, now)
            else:
                continue
            settled = True
        return settled


def voices(marks, end, protocol, clip_ms):
    """What is spoken, or told by a tone in a voice's place, and what is held."""
    box = Voices(protocol, clip_ms)
    # Far enough for everything that is wanted before the next look.
    look = protocol.check or protocol.recheck
    taken, now, state = 0, 0, State()
    while now < end and state.doing != "over":
        while taken < len(marks) and marks[taken].taken <= now:
            taken += 1
            new = fold(marks, taken, protocol)
            box.mark_taken(state, new, now)
            state = new
        if state.doing == "over":
            break
        while box.step(state, Wants(state, protocol, box.done, now, now + look).left(), now):
            pass
        every = Wants(state, protocol, box.done, now, now + look)
        wants = every.left()
        coming = [w.due for w in wants if w.due > now] + [now + look // 2]
        coming += [at for at in every.looks if at > now]
        if any(w.due <= now for w in wants):
            coming.append(now + 1)
        if taken < len(marks):
            coming.append(marks[taken].taken)
        now = min(coming)
    return box
