#!/usr/bin/env python3
"""How sound came back each time it was taken away in one run.

    judge_lost.py LIST.json

LIST holds `record`, the run's record, `before`, a recording of the first stream, and `rows`: what was done (`fault`), the
recording from then on (`wav`, with its clock beside it), and on the boot clock when sound was taken (`taken_ms`), how long
it took until the screen said so (`told_ms`, null if it did not), how long it was gone (`silent_ms`), when a bare stream
could open (`opened_ms`), from when on it is certain that the recording went on (`heard_from_ms`), when the screen said no
loss any more (`said_back_ms`), and between which two moments each bare time was marked (`marked_ms`): one while sound was
away, one right after.

Where another output becomes the default (`DefaultChanged`: the old one goes; `DefaultMoved`: it stays), a bare stream can
open all the while: the recording is the other output's from before the change on, and sound is gone until the first beat
of it. The server moves the stream there or the app follows; nobody tells an app which output it plays on. What was on its
way when the server moved the stream comes out as that leaves it: its place is told, and the grid is held from a second after the change on.

Held: the screen says a loss of more than a second within one; the first beat is heard within two seconds of the moment
when a bare stream can open, or of the recording's beginning where that is later: before it nothing could be heard, and on
a busy machine it takes seconds to begin (the time from the stream alone is told too); it and every beat after it lie within
5 ms of the run's exact grid; every mark stands in the record once and at its press, and nothing else does; the record tells
each loss that the screen told, and its end; it has no gap. The grid's place on the captures' clock is that of the recording
made before anything was taken away (`before`): a capture has a delay of its own, which is the same for each.

A voice has pieces that are taken for a beat: each is taken out of the recording first. Which one it is and about when it
began is the record's to tell, and where exactly, and how much of it there is, the recording's; what is left is held whole.
"""
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, VOICE_RATE, clock, find_tones, fitted, load, load_clips, load_tones
from scipy.signal import correlate, resample_poly

TOLD_MS = 1000
BACK_MS = 2000
GRID_MS = 5
# A stream that was moved is on its grid again so long after.
SETTLED_MS = 1000
# Both are told in whole milliseconds, and the page's clock is related to the system's by the quickest of its messages.
PRESS_MS = 50
# The screen is looked at again and again: what it shows was in the record before.
SEEN_MS = 5
PER_MINUTE = 110
# There is a default output all the while, but another one.
OTHER_DEFAULT = ("DefaultChanged", "DefaultMoved")
# What is on its way to the recording has left the app so long before at most.
DELAY_MS = 300
# A beat's length.
CUT_S = 0.034
# Of one that sounds as the recording ends one does not see whether it is a beat: with a receipt over it, it was taken for
# one that began 11 ms before.
END_S = 0.05
# When a voice was due is known to a block.
EARLY_MS = 100
# How alike a clip and the recording must be for it to be heard there at all, and in a stretch of it: beats lie over it, and
# parts may be missing. So much must be there, with so much of its power: less of a voice is like anything.
ALIKE = 0.25
ALIKE_IN_STRETCH = 0.5
PART_S = 0.1
PART = 0.01
# The limiter holds a voice down under a beat: its level is taken from each stretch.
STRETCH_S = 0.02
MOST_LEVEL = 1.5
SOUNDS = Path(__file__).resolve().parents[2] / "sounds"
KINDS = ("beat", "receipt", "sound_back", "attention", "breath")


def begun_ms(path):
    """When a short recording began, ms of the boot clock: its pieces come late, never early."""
    came, frames, late = clock(path)
    settled = late[frames > 0.2 * RATE]
    return came[0] / 1e6 + 1000 * float(settled.min() if len(settled) else late.min())


def heard(path, tones, voices=(), clips=None):
    """When each beat of a short recording came, ms of the boot clock, and the voices in it, each with its first and last
    moment; they are taken out before beats are looked for."""
    zero, sound = begun_ms(path), load(path)
    spoken = []
    for name, begin, _ in voices:
        due_s = (begin - zero) / 1000
        # Most of a run's voices are minutes away.
        if due_s + DELAY_MS / 1000 + len(clips[name]) / RATE > 0 and due_s - EARLY_MS / 1000 < len(sound) / RATE:
            span = take_out(sound, clips[name], due_s)
            if span is not None:
                spoken.append((name, *(zero + 1000 * at / RATE for at in span)))
    # Receipts of the marks and the tone of the sound's return are there too: looked for alone, a beat is found in them.
    found = find_tones(sound, tones, kinds=KINDS)
    # Of a beat that sounds as the recording begins one does not see where it began.
    whole = range(int(CUT_S * RATE) + 1, len(sound) - int(END_S * RATE))
    beats = [zero + 1000 * tone["at"] / RATE for tone in found if tone["kind"] == "beat" and int(tone["at"]) in whole]
    return beats, spoken


def by_stretch(one, other, length):
    """The sum of the products of two sounds in each stretch of that many samples."""
    return np.add.reduceat(one * other, np.arange(0, len(one), length))


def place(low, shape, due_s):
    """Where in the recording a clip begins that was due then, maybe before the recording; None where it is not heard."""
    top = correlate(low, shape, mode="full", method="fft")
    at = np.arange(len(top)) - (len(shape) - 1)
    first, last = np.maximum(at, 0), np.minimum(at + len(shape), len(low))
    power, own = (np.concatenate([[0], np.cumsum(one ** 2)]) for one in (low, shape))
    power, own = power[last] - power[first], own[last - at] - own[first - at]
    score = top / np.sqrt(np.maximum(power * own, 1e-12))
    near = (at >= (due_s - EARLY_MS / 1000) * VOICE_RATE) & (at <= (due_s + DELAY_MS / 1000) * VOICE_RATE)
    score[~near | (last - first < PART_S * VOICE_RATE) | (own < PART * own.max(initial=0))] = 0
    best = int(np.argmax(score))
    return int(at[best]) if score[best] >= ALIKE else None


def take_out(sound, clip, due_s):
    """Takes as much of a clip out of the recording as there is of it; from where to where, in samples, that was."""
    step = RATE // VOICE_RATE
    low, shape = (resample_poly(one, 1, step) for one in (sound, clip))
    at = place(low, shape, due_s)
    if at is None:
        return None
    # Its beginning or its end may be missing, in the midst of the recording too: what is fitted is what is there.
    shape, rest = shape[max(0, -at):len(low) - at], low[max(0, at):]
    rest = rest[:len(shape)]
    stretch = round(STRETCH_S * VOICE_RATE)
    cross, own, power = (by_stretch(*pair, stretch) for pair in ((rest, shape), (shape, shape), (rest, rest)))
    there = np.flatnonzero((cross > ALIKE_IN_STRETCH * np.sqrt(own * power)) & (own > 1e-4 * own.max(initial=0)))
    if not len(there):
        return None
    begin = max(0, at) + int(there[0]) * stretch
    end = min(max(0, at) + (int(there[-1]) + 1) * stretch, len(low))
    part = clip[step * (begin - at):step * (end - at)]
    start, voice = fitted(sound, part, step * begin)
    piece = sound[start:start + len(voice)]
    voice = voice[:len(piece)]
    stretch *= step
    level = np.clip(by_stretch(voice, piece, stretch) / np.maximum(by_stretch(voice, voice, stretch), 1e-9), 0, MOST_LEVEL)
    middles = stretch * (np.arange(len(level)) + 0.5)
    piece -= voice * np.interp(np.arange(len(voice)), middles, level)
    return step * begin, step * end


def residue(at_ms, period):
    """How far a moment lies from a grid of this period through 0, from -period/2 on."""
    return (np.asarray(at_ms) + period / 2) % period - period / 2


def around(values, period):
    """The middle of values on a circle: none of them is far from the first beat's."""
    first = values[0]
    return first + float(np.median(residue(np.asarray(values) - first, period)))


def when(line):
    """The moment of a line's event on the boot clock."""
    return line["mono_ms"] - line.get("at", {}).get("back_ms", 0)


def voices_ms(lines):
    """Which voice may be heard, and from when to when, on the boot clock. One that was left out or cut may have begun."""
    cues = [(line["mono_ms"], line["d"]) for line in lines if line["ev"] == "cue"]
    # What is asked for at once begins at the moment of its line, everything else later.
    zero = max((at - d["start_ms"] for at, d in cues if d["outcome"] == "asked"), default=0)
    return sorted({(d["id"], zero + d["start_ms"], zero + d["start_ms"] + d["len_ms"] + DELAY_MS) for _, d in cues
                   if d["kind"] == "voice" and d["outcome"] in ("asked", "spoken")}, key=lambda voice: voice[1])


def clear_of(voices, at_ms):
    """Whether no voice can be heard at a moment."""
    return not any(begin <= at_ms <= end for _, begin, end in voices)


def seen(row, grid, period):
    """What was heard of a row, in words: each beat with how far off it is, and the voices meanwhile."""
    beats, taken, voices = row["beats"], row["taken_ms"], row["spoken"]
    said = [f"{at - taken:.0f} {'' if clear_of(voices, at) else 'voice '}({float(residue(at - grid, period)):.1f})" for at in beats]
    spoken = [f"{name} {a - taken:.0f} to {b - taken:.0f}" for name, a, b in voices]
    return f"since then, ms: beats {', '.join(said)}; voices {', '.join(spoken) or 'none'}"


def silent_ms(row, beats, period):
    """How long nothing was heard: as long as sound was taken away, or until the first beat of another output, less the
    time in which no beat was due."""
    if row["fault"] not in OTHER_DEFAULT:
        return row["silent_ms"]
    first = min((at for at in beats if at >= row["taken_ms"]), default=float("inf"))
    return first - row["taken_ms"] - period


def lost_of_record(lines, rows):
    """What the record lacks of what was done, and what it has beside it."""
    faults = []
    pressed = [("arrest", None), ("compr_start", None), ("airway", None)]
    pressed += [("flag", span) for row in rows for span in row["marked_ms"]]
    marks = [line for line in lines if line["src"] == "button"]
    for kind in sorted({kind for kind, _ in pressed}):
        wanted, found = (sum(kind == one for one in kinds)
                         for kinds in ([kind for kind, _ in pressed], [line["ev"] for line in marks]))
        if found != wanted:
            faults.append(f"{found} marks {kind} in the record, {wanted} were made")
    for kind, span in pressed:
        if span is not None:
            near = [line for line in marks
                    if line["ev"] == kind and span[0] - PRESS_MS <= when(line) <= span[1] + PRESS_MS]
            if len(near) != 1:
                faults.append(f"{len(near)} marks {kind} at the press {span[0]} to {span[1]}, one was made")
    strange = sorted({line["ev"] for line in marks} - {kind for kind, _ in pressed})
    if strange:
        faults.append(f"marks that nobody made: {', '.join(strange)}")
    scores = [line for line in lines if line["ev"] == "score" and line["d"]["pattern"] == "continuous"]
    if len(scores) != 1:
        faults.append(f"{len(scores)} continuous scores in the record, one was begun")
    sounds = [(when(line), line["d"]["what"]) for line in lines if line["ev"] == "sound" and line["src"] == "auto"]
    for n, row in enumerate(rows):
        if row["told_ms"] is None:
            continue
        said = [what for at, what in sounds if row["taken_ms"] <= at <= row["said_back_ms"] + SEEN_MS]
        said = [what for what in said if what in ("lost", "back")]
        if said[:1] != ["lost"] or said[-1:] != ["back"]:
            faults.append(f"{n} {row['fault']}: the screen told a loss and its end, the record {said or 'nothing'}")
    faults += [f"a gap of {line['d']['ms']} ms at {line['mono_ms']}" for line in lines if line["ev"] == "gap"]
    return faults


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    told = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    tones, clips = load_tones(SOUNDS / "tones"), load_clips(SOUNDS / "en-US")
    period = 60_000 / PER_MINUTE
    lines = [json.loads(line) for line in Path(told["record"]).read_text(encoding="utf-8").splitlines()]
    voices = voices_ms(lines)
    before, _ = heard(told["before"], tones, voices, clips)
    grid = around([at % period for at in before], period)
    faults, rows = [], []
    for n, row in enumerate(told["rows"]):
        beats, spoken = heard(row["wav"], tones, voices, clips)
        name = f"{n} {row['fault']}"
        silent = silent_ms(row, beats, period)
        if row["told_ms"] is None and silent > TOLD_MS + 100:
            faults.append(f"{name}: {silent:.0f} ms without sound and nothing said")
        if row["told_ms"] is not None and row["told_ms"] > TOLD_MS:
            faults.append(f"{name}: said after {row['told_ms']} ms, allowed {TOLD_MS}")
        after = [at for at in beats if at >= row["opened_ms"] - 50]
        if not after:
            faults.append(f"{name}: no beat in {len(beats)} heard after the stream could open")
            continue
        from_ms = max(row["opened_ms"], row["heard_from_ms"])
        rows.append({**row, "beats": after, "spoken": spoken, "back_ms": max(0.0, after[0] - from_ms)})
        if rows[-1]["back_ms"] > BACK_MS:
            faults.append(f"{name}: sound {rows[-1]['back_ms']:.0f} ms after a stream could open, allowed {BACK_MS}")
    faults += lost_of_record(lines, told["rows"])
    firsts, moved, under, every = [], [], 0, []
    if rows:
        settled = [[at for at in row["beats"] if row["fault"] not in OTHER_DEFAULT
                    or at >= row["taken_ms"] + SETTLED_MS] or row["beats"][-1:] for row in rows]
        firsts = [float(residue(beats[0] - grid, period)) for beats in settled]
        under = sum(not clear_of(row["spoken"], beats[0]) for row, beats in zip(rows, settled, strict=True))
        moved = [abs(float(residue(row["beats"][0] - grid, period))) for row in rows if row["fault"] in OTHER_DEFAULT]
        for row, beats in zip(rows, settled, strict=True):
            off = max((float(residue(at - grid, period)) for at in beats), key=abs)
            every.append(abs(off))
            if abs(off) > GRID_MS:
                faults.append(f"{row['fault']} at {row['taken_ms']}: a beat {off:.1f} ms off the grid, allowed {GRID_MS}; "
                              + seen(row, grid, period))
    for line in faults:
        print(line)
    said = [row["told_ms"] for row in rows if row["told_ms"] is not None]
    back = [row["back_ms"] for row in rows]
    print(json.dumps({
        "faults_made": len(told["rows"]), "under_a_voice": under, "told": len(said),
        "told_worst_ms": max(said, default=None),
        "back_median_ms": round(float(np.median(back)), 0) if back else None,
        "back_worst_ms": round(max(back), 0) if back else None,
        "after_open_worst_ms": round(max(row["beats"][0] - row["opened_ms"] for row in rows)) if rows else None,
        "off_grid_worst_ms": round(max(map(abs, firsts)), 2) if firsts else None,
        "any_off_grid_worst_ms": round(max(every), 2) if every else None,
        "moved_off_grid_worst_ms": round(max(moved), 2) if moved else None,
        "by_fault": {name: [round(row["back_ms"]) for row in rows if row["fault"] == name]
                     for name in sorted({row["fault"] for row in rows})},
        "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
