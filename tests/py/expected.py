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
from pathlib import Path

from expected_inputs import Protocol, read_script
from expected_state import fold
from expected_voices import CLASS_D, FOREVER, IN_ARREST, voices

FRAMES_PER_MS = 48
STILL_FROM_MS = 60_000
SWITCHES = ("voice_off", "voice_on")


def voice_is_off(marks, at, off_from_start):
    off, until = off_from_start, FOREVER
    for mark in marks:
        if mark.ev == "sound" and mark.taken <= at:
            what = mark.d["what"]
            if what.startswith("voice_off"):
                off = True
                until = mark.down + 120_000 if what == "voice_off_2_min" else FOREVER
            elif what == "voice_on":
                off, until = False, FOREVER
    return off and at < until


def attentions(state, protocol, at, until):
    """Attention tones of their own, while this state stands."""
    if state.swap is not None:
        yield state.swap + protocol.swap_window
    arrest = state.zero("arrest")
    if state.pregnant and protocol.delivery and arrest is not None and state.doing in IN_ARREST:
        yield arrest + protocol.delivery
    if state.doing == "pulse":
        # D lies before the mark was taken.
        yield state.pulse_taken
        yield from range(state.since + protocol.rosc_recheck, until, protocol.rosc_recheck)
    if state.doing == "off" and not state.still_acked:
        first = state.since + STILL_FROM_MS + protocol.still_every
        yield from range(first, until, protocol.still_every)


def moments_of(marks, end, protocol):
    """(from, until, state) for each stretch in which nothing was marked."""
    moments = sorted({mark.taken for mark in marks})
    states = [fold(marks, sum(m.taken <= at for m in marks), protocol) for at in moments]
    return [(at, min(until, end), state)
            for at, until, state in zip(moments, [*moments[1:], end], states, strict=True)]


def score_of(at, until, state, protocol):
    """(kind, exact ms) of what the score sounds in one stretch."""
    for kind, when in state.score.sounds(protocol, at, until):
        off = state.silent if kind == "life" else state.scoreless or kind.startswith(state.muted)
        if not off:
            yield kind, when


def expected(script, protocol_file, manifest, voice_off=False):
    marks, end = read_script(script)
    protocol = Protocol(protocol_file)
    clip_ms = {c["id"]: c["ms"] for c in
               json.loads(Path(manifest).read_text(encoding="utf-8"))["clips"]}
    sounds = []
    stretches = moments_of(marks, end, protocol)
    moments, states = [at for at, _, _ in stretches], [state for _, _, state in stretches]
    quiet_way = any(state.quiet_way for state in states)
    for at, until, state in stretches:
        sounds += [{"kind": kind, "at_frame": int(when * FRAMES_PER_MS)}
                   for kind, when in score_of(at, until, state, protocol)]
        for when in attentions(state, protocol, at, until):
            if at <= when < until and not state.silent:
                sounds.append({"kind": "attention", "at_frame": when * FRAMES_PER_MS})
    over = next((s.over_at for s in states if s.over_at is not None), FOREVER)
    # An amendment is no mark: the undo has a voice of its own.
    for at in sorted({mark.taken for mark in marks if mark.ev != "amend"}):
        if at < end and at <= over and not states[moments.index(at)].silent:
            sounds.append({"kind": "receipt", "at_frame": at * FRAMES_PER_MS})
    for prompt, at in voices(marks, end, protocol, clip_ms).spoken:
        frame = at * FRAMES_PER_MS
        if prompt in SWITCHES or not voice_is_off(marks, at, voice_off or quiet_way):
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
