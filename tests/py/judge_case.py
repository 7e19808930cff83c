#!/usr/bin/env python3
"""Judges the captured sound of a case played in the real window.

    judge_case.py plan CASE                     the taps, for whoever plays the case
    judge_case.py judge CASE WAV TAPS           TAPS: [{name, down, up}], the page's own events
    judge_case.py script RECORD                 a rehearsal script of a live record's marks

Zero is the first captured beat, which docs/timing.md places 25 ms after the Start tap was taken.
"""
import json
import sys
from fractions import Fraction
from pathlib import Path

from cases import CASES, Case
from onsets import RATE, listen, load, load_clips, load_tones, overlaps, stretch

SOUNDS = Path(__file__).resolve().parents[2] / "sounds"
PERIOD = Fraction(60_000, 110)
BEATS, WINDOW, EVERY = 30, 4_000, 6_000
BEAT_WITHIN_MS, BREATH_WITHIN_MS, VOICE_WITHIN_MS, RECEIPT_WITHIN_MS = 20, 20, 100, 100
# Of a beat inside its segment, from the segment's first; voices lie over some of them.
GRID_WITHIN_MS = 5
# Taps that make no mark: they open a sheet, or are held.
NO_MARK = ("Mark", "Hold to End")


def expected_sounds(beats, breaths):
    """(kind, ms on the page, segment) of each beat and breath."""
    out = []
    for segment, (pattern, first, until) in enumerate(beats):
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
    for start, until in breaths:
        n = 1
        while start + n * EVERY < until:
            out.append(("breath", start + n * EVERY, None))
            n += 1
    return sorted(out, key=lambda s: s[1])


def nearest(found, at, within):
    best = min(found, key=lambda f: abs(f["ms"] - at), default=None)
    return best if best is not None and abs(best["ms"] - at) <= within else None


def judge(case, wav, touches):
    taps, sounds = CASES[case]
    manifest = json.loads((SOUNDS / "en-US/manifest.json").read_text(encoding="utf-8"))
    c = Case(taps, touches, {clip["id"]: clip["ms"] for clip in manifest["clips"]})
    beats, breaths, voices = sounds(c)
    pace, _ = stretch(wav)
    heard = listen(load(wav), load_tones(SOUNDS / "tones"), load_clips(SOUNDS / "en-US"))
    beat_kinds = ("beat", "beat_first", "beat_last")
    first = next((t for t in heard["tones"] if t["kind"] in beat_kinds), None)
    if first is None:
        return ["no beat in the capture at all"], {}
    zero = c.T("start") + 25

    def page_ms(samples):
        return (samples - first["at"]) * 1000 / RATE * pace + zero

    tones = [dict(t, ms=page_ms(t["at"])) for t in heard["tones"]]
    faults, grid, worst = [], {}, {"beat": 0.0, "breath": 0.0, "voice": 0.0}
    left = {kind: [t for t in tones if t["kind"] == kind] for kind in (*beat_kinds, "breath")}
    for kind, at, segment in expected_sounds(beats, breaths):
        name = "breath" if kind == "breath" else "beat"
        within = BREATH_WITHIN_MS if name == "breath" else BEAT_WITHIN_MS
        best = nearest(left[kind], at, 200)
        if best is None:
            faults.append(f"missing: {kind} at {(at - zero) / 1000:.3f} s")
            continue
        left[kind].remove(best)
        off = best["ms"] - at
        worst[name] = max(worst[name], abs(off))
        if abs(off) > within:
            faults.append(f"{kind} at {(at - zero) / 1000:.3f} s is {off:+.1f} ms off")
        if segment is not None:
            grid.setdefault(segment, []).append((at, best["ms"]))
    for kind, extra in left.items():
        faults += [f"extra: {kind} at {(t['ms'] - zero) / 1000:.3f} s, height {t['gain']:.2f}"
                   for t in extra]
    known = {"receipt", *beat_kinds, "breath"}
    faults += [f"extra: {t['kind']} at {(t['ms'] - zero) / 1000:.3f} s"
               for t in tones if t["kind"] not in known]
    marks = [c.T(alias) for alias, name, _ in taps if name not in NO_MARK]
    receipts = [t for t in tones if t["kind"] == "receipt"]
    late = []
    for at in marks:
        best = nearest(receipts, at, 300)
        if best is None:
            faults.append(f"missing: receipt at {(at - zero) / 1000:.3f} s")
        else:
            receipts.remove(best)
            late.append(best["ms"] - at)
            if abs(best["ms"] - at) > RECEIPT_WITHIN_MS:
                faults.append(f"receipt at {(at - zero) / 1000:.3f} s is "
                              f"{best['ms'] - at:+.1f} ms off")
    faults += [f"extra: receipt at {(t['ms'] - zero) / 1000:.3f} s" for t in receipts]
    spoken = [dict(v, ms=page_ms(v["at_s"] * RATE)) for v in heard["voices"]]
    for prompt, at in voices:
        best = nearest(spoken, at, 1_000)
        if best is None:
            faults.append(f"missing: voice {prompt} at {(at - zero) / 1000:.3f} s")
            continue
        spoken.remove(best)
        worst["voice"] = max(worst["voice"], abs(best["ms"] - at))
        if best["id"] != prompt:
            faults.append(f"voice at {(at - zero) / 1000:.3f} s is {best['id']}, not {prompt}")
        if abs(best["ms"] - at) > VOICE_WITHIN_MS:
            faults.append(f"voice {prompt} at {(at - zero) / 1000:.3f} s is "
                          f"{best['ms'] - at:+.1f} ms off")
        if best["other_score"] > best["score"] - 0.1:
            faults.append(f"voice {prompt}: {best['score']:.2f} like it, "
                          f"{best['other_score']:.2f} like {best['other']}")
    faults += [f"extra: voice {v['id']} at {(v['ms'] - zero) / 1000:.3f} s" for v in spoken]
    faults += [f"two voices at once: {a} and {b}" for a, b in overlaps(heard["voices"])]
    # Inside a segment the beats are held against the exact grid from the segment's first beat.
    errors = sorted((abs((ms - some[0][1]) - (at - some[0][0]))
                     for some in grid.values() for at, ms in some), reverse=True) or [0.0]
    if errors[0] > GRID_WITHIN_MS:
        faults.append(f"a beat is {errors[0]:.2f} ms off its segment's grid, allowed {GRID_WITHIN_MS}")
    figures = {"case": case, "beats": sum(map(len, grid.values())),
               "grid_worst_ms": round(errors[0], 3), "grid_second_ms": round(errors[1], 3),
               "beat_from_tap_worst_ms": round(worst["beat"], 2),
               "breath_worst_ms": round(worst["breath"], 2),
               "voices": len(voices), "voice_worst_ms": round(worst["voice"], 2),
               "receipt_from_tap_ms": [round(x, 1) for x in sorted(late)],
               "faults": len(faults)}
    return faults, figures


def script_of(record):
    """The record's marks as a rehearsal script; run time 0 is the header's."""
    lines = [json.loads(line) for line in Path(record).read_text(encoding="utf-8").splitlines()]
    zero = lines[0]["mono_ms"]
    marks = []
    for line in lines:
        if line.get("src") != "button":
            continue
        mark = {"at_s": (line["mono_ms"] - zero) / 1000, "ev": line["ev"], "d": line["d"]}
        if line.get("at", {}).get("basis") == "back":
            mark["age_ms"] = line["at"]["back_ms"]
        marks.append(mark)
    return {"name": "a live run", "protocol": "example-adult", "marks": marks,
            "end_s": marks[-1]["at_s"] + 1}


def main():
    what, *args = sys.argv[1:] or [""]
    if what == "plan" and len(args) == 1:
        json.dump([{"name": name, "at_s": at} for _, name, at in CASES[args[0]][0]], sys.stdout)
    elif what == "judge" and len(args) == 3:
        touches = json.loads(Path(args[2]).read_text(encoding="utf-8"))
        faults, figures = judge(args[0], args[1], touches)
        for line in faults:
            print(line)
        print(json.dumps(figures))
        sys.exit(1 if faults else 0)
    elif what == "script" and len(args) == 1:
        json.dump(script_of(args[0]), sys.stdout)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
