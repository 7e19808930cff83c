#!/usr/bin/env python3
"""Judges the captured sound of a case played in the real window.

    judge_case.py plan CASE                     the touches, for whoever plays the case
    judge_case.py judge CASE WAV TAPS           TAPS: [{name, down, up}], the page's own events
    judge_case.py marks CASE RECORD             the record's marks against those of the case
    judge_case.py script RECORD                 a rehearsal script of a live record's marks

Zero is the first captured beat, which docs/timing.md places 25 ms after the Start tap was taken.
"""
import json
import sys
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path

import cases
import cases_reference
from cases import Case
from cases_marks import OF_TOUCH, compare_marks
from compare_records import lines_of, script_of
from compare_rehearsal import listen_in_pieces
from onsets import RATE, load, load_clips, load_tones, overlaps, stretch

CASES = {"five-minutes": (cases.FIVE_MINUTES_TAPS, cases.five_minutes), **cases_reference.CASES}
SOUNDS = Path(__file__).resolve().parents[2] / "sounds"
PERIOD = Fraction(60_000, 110)
BEATS, WINDOW, EVERY, LIFE_EVERY = 30, 4_000, 6_000, 10_000
BEAT_WITHIN_MS, BREATH_WITHIN_MS, VOICE_WITHIN_MS, RECEIPT_WITHIN_MS = 20, 20, 100, 100
# Of a beat inside its segment, from the segment's first; voices lie over some of them.
GRID_WITHIN_MS = 5
# A life tone is 24 dB below a beat: near another sound nothing can be said of it.
ALONE_MS = 400
BEAT_KINDS = ("beat", "beat_first", "beat_last")


def expected_sounds(sounds):
    """(kind, ms on the page, segment) of each beat and breath."""
    out = []
    for segment, (pattern, first, until) in enumerate(sounds.beats):
        n = 0
        while True:
            cycle, place = divmod(n, BEATS) if pattern == "ratio" else (0, n)
            at = first + float(n * PERIOD) + cycle * WINDOW
            if at >= until:
                break
            kind = "beat"
            if pattern == "ratio":
                kind = {0: "beat_first", BEATS - 1: "beat_last"}.get(place, "beat")
            out.append((kind, at, segment))
            if kind == "beat_last":
                window = at + float(PERIOD)
                out += [("breath", window + j * WINDOW / 2, None) for j in (0, 1)
                        if window + j * WINDOW / 2 < until]
            n += 1
    out += [("breath", at, None) for at in every(EVERY, sounds.breaths)]
    return sorted(out, key=lambda s: s[1])


def every(step, spans):
    """Each `step` after a span's beginning, up to its end."""
    return [start + n * step for start, until in spans
            for n in range(1, 1 + int((until - start) // step)) if start + n * step < until]


def nearest(found, at, within):
    best = min(found, key=lambda f: abs(f["ms"] - at), default=None)
    return best if best is not None and abs(best["ms"] - at) <= within else None


class Judge:
    """Holds what was heard against what must be, and takes away what it has found."""

    def __init__(self, zero, tones, voices):
        self.zero, self.tones, self.voices = zero, tones, voices
        self.faults, self.worst, self.grid = [], {}, {}

    def s(self, at):
        return f"{(at - self.zero) / 1000:.3f} s"

    def one(self, kind, at, within, look=200):
        """A tone at its moment; how far off it is."""
        best = nearest([t for t in self.tones if t["kind"] == kind], at, look)
        if best is None:
            self.faults.append(f"missing: {kind} at {self.s(at)}")
            return None
        self.tones.remove(best)
        off = best["ms"] - at
        if abs(off) > within:
            self.faults.append(f"{kind} at {self.s(at)} is {off:+.1f} ms off")
        return best

    def score(self, wanted):
        for kind, at, segment in wanted:
            name = "breath" if kind == "breath" else "beat"
            best = self.one(kind, at, BREATH_WITHIN_MS if name == "breath" else BEAT_WITHIN_MS)
            if best is None:
                continue
            self.worst[name] = max(self.worst.get(name, 0.0), abs(best["ms"] - at))
            if segment is not None:
                self.grid.setdefault(segment, []).append((at, best["ms"]))

    def lives(self, wanted, loud):
        """Life tones that nothing else is near; how many of them there are."""
        alone = 0
        for at in wanted:
            if all(b + ALONE_MS < at or at + ALONE_MS < a for a, b in loud):
                alone += 1
                self.one("life", at, BREATH_WITHIN_MS)
            else:
                best = nearest([t for t in self.tones if t["kind"] == "life"], at, 200)
                if best is not None:
                    self.tones.remove(best)
        return alone

    def speech(self, wanted):
        left = list(self.voices)
        for prompt, at in sorted(wanted, key=lambda v: v[1]):
            best = nearest(left, at, 1_000)
            if best is None:
                self.faults.append(f"missing: voice {prompt} at {self.s(at)}")
                continue
            left.remove(best)
            off = best["ms"] - at
            self.worst["voice"] = max(self.worst.get("voice", 0.0), abs(off))
            if best["id"] != prompt:
                self.faults.append(f"voice at {self.s(at)} is {best['id']}, not {prompt}")
            if abs(off) > VOICE_WITHIN_MS:
                self.faults.append(f"voice {prompt} at {self.s(at)} is {off:+.1f} ms off")
            if best["other_score"] > best["score"] - 0.1:
                self.faults.append(f"voice {prompt}: {best['score']:.2f} like it, "
                                   f"{best['other_score']:.2f} like {best['other']}")
        self.faults += [f"extra: voice {v['id']} at {self.s(v['ms'])}" for v in left]
        self.faults += [f"two voices at once: {a} and {b}" for a, b in overlaps(self.voices)]

    def rest(self):
        self.faults += [f"extra: {t['kind']} at {self.s(t['ms'])}, height {t['gain']:.2f}"
                        for t in sorted(self.tones, key=lambda t: t["ms"])]


def hear(wav):
    """Tones and voices of a recording, and the seconds of the boot clock in one of its seconds."""
    heard = listen_in_pieces(load(wav), load_tones(SOUNDS / "tones"), load_clips(SOUNDS / "en-US"))
    return heard, stretch(wav)[0]


def judge(case, heard, pace, touches):
    taps, sounds_of = CASES[case]
    manifest = json.loads((SOUNDS / "en-US/manifest.json").read_text(encoding="utf-8"))
    clip_ms = {clip["id"]: clip["ms"] for clip in manifest["clips"]}
    c = Case(taps, touches, clip_ms)
    sounds = sounds_of(c)
    first = next((t for t in heard["tones"] if t["kind"] in BEAT_KINDS), None)
    if first is None:
        return ["no beat in the capture at all"], {}
    zero = c.T("start") + 25

    def page_ms(samples):
        return (samples - first["at"]) * 1000 / RATE * pace + zero

    j = Judge(zero, [dict(t, ms=page_ms(t["at"])) for t in heard["tones"]],
              [dict(v, ms=page_ms(v["at_s"] * RATE)) for v in heard["voices"]])
    score = expected_sounds(sounds)
    marks = [c.T(tap.alias) for tap in taps if tap.makes == "mark"]
    lives = every(LIFE_EVERY, sounds.lives)
    loud = [(at, at) for _, at, _ in score] + [(at, at) for at in marks]
    loud += [(at, at) for _, at in sounds.tones]
    loud += [(at, at + clip_ms[prompt]) for prompt, at in sounds.voices]
    j.score(score)
    alone = j.lives(lives, loud)
    for kind, at in sounds.tones:
        j.one(kind, at, RECEIPT_WITHIN_MS, 300)
    late = [best["ms"] - at for at in marks
            if (best := j.one("receipt", at, RECEIPT_WITHIN_MS, 300)) is not None]
    j.speech(sounds.voices)
    j.rest()
    # Inside a segment the beats are held against the exact grid from the segment's first beat.
    errors = sorted((abs((ms - some[0][1]) - (at - some[0][0]))
                     for some in j.grid.values() for at, ms in some), reverse=True) or [0.0]
    if errors[0] > GRID_WITHIN_MS:
        j.faults.append(f"a beat is {errors[0]:.2f} ms off its segment's grid, allowed {GRID_WITHIN_MS}")
    figures = {"case": case, "beats": sum(map(len, j.grid.values())),
               "grid_worst_ms": round(errors[0], 3),
               "grid_second_ms": round(errors[1], 3) if errors[1:] else 0.0,
               "beat_from_tap_worst_ms": round(j.worst.get("beat", 0.0), 2),
               "breaths": sum(kind == "breath" for kind, _, _ in score),
               "breath_worst_ms": round(j.worst.get("breath", 0.0), 2),
               "voices": len(sounds.voices), "voice_worst_ms": round(j.worst.get("voice", 0.0), 2),
               "life_tones_alone": f"{alone} of {len(lives)}",
               "receipt_from_tap_ms": [round(x, 1) for x in sorted(late)],
               "faults": len(j.faults)}
    return j.faults, figures


def main():
    what, *args = sys.argv[1:] or [""]
    if what == "plan" and len(args) == 1:
        json.dump([asdict(tap) for tap in CASES[args[0]][0]], sys.stdout)
    elif what == "judge" and len(args) == 3:
        touches = json.loads(Path(args[2]).read_text(encoding="utf-8"))
        faults, figures = judge(args[0], *hear(args[1]), touches)
        for line in faults:
            print(line)
        print(json.dumps(figures))
        sys.exit(1 if faults else 0)
    elif what == "marks" and len(args) == 2:
        faults = compare_marks(args[0], CASES[args[0]][0], lines_of(args[1])) if args[0] in OF_TOUCH else []
        for line in faults:
            print(line)
        sys.exit(1 if faults else 0)
    elif what == "script" and len(args) == 1:
        json.dump(script_of(args[0]), sys.stdout)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
