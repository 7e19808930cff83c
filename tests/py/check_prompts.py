#!/usr/bin/env python3
"""Holds a rehearsal's record and cue list against the prompts that were written down by hand.

    check_prompts.py RECORD CUES LIST

LIST is tests/scripts/NAME.prompts.json: `prompts`, each with `id`, `due_s`, `as` (voice, tone, held) and the
reason it is expected, and `attention`, the tones that stand for no prompt. `begin_s` stands where a prompt
begins later than it is due; `begin_after` names the voice whose end it waits for, 1.5 s, or `gap_ms`. `held`
has a `why`. `count` is the five numbers before a check and the check itself, which is due then.

Both ways: everything in the list is in record and cue list at its moment to the millisecond, and no other
voice or attention tone is in either. Lengths of clips are the record's own.
"""
import json
import sys
from pathlib import Path

SPACING_MS = 1_500
FRAMES_PER_MS = 48


def ms(seconds):
    return round(seconds * 1000)


def hand_list(path, clip_ms):
    """(id, due ms) -> (as, begin ms or None, why)."""
    written = json.loads(Path(path).read_text(encoding="utf-8"))
    out, begun = {}, {}
    for entry in sorted(written["prompts"], key=lambda e: e["due_s"]):
        for prompt, due in each(entry):
            if (prompt, due) in out:
                sys.exit(f"{path}: {prompt} at {due} ms stands twice")
            begin = ms(entry["begin_s"]) if "begin_s" in entry else due
            out[prompt, due] = [entry["as"], begin, entry.get("why"), entry]
            if entry["as"] != "held" and "begin_after" not in entry:
                begun.setdefault(prompt, []).append(begin)
    for (_, due), one in out.items():
        before = one[3].get("begin_after")
        if before:
            # The latest of that name that begins before the prompt can.
            at = max(b for b in begun[before] if b <= due + one[3].get("within_ms", 15_000))
            one[1] = at + clip_ms[before] + one[3].get("gap_ms", SPACING_MS)
    return {k: (how, None if how == "held" else begin, why) for k, (how, begin, why, _) in out.items()}, sorted(
        ms(a["at_s"]) for a in written["attention"])


def each(entry):
    due = ms(entry["due_s"])
    if entry["id"] != "count":
        yield entry["id"], due
        return
    for n in range(5, 0, -1):
        yield f"chk_cd{n}", due - 1000 * n
    yield "chk_now", due


def record_fates(lines):
    """What became of every prompt: (id, due ms) -> (as, begin ms or None, why); and the tones of their own."""
    fates, tones = {}, set()
    for line in lines:
        if line["ev"] != "cue":
            continue
        d = line["d"]
        heard = d["outcome"] == "spoken"
        if "id" not in d:
            if d["kind"] == "attention" and heard:
                tones.add(d["start_ms"])
            continue
        key = (d["id"], d["due_ms"])
        if heard:
            how = "voice" if d["kind"] == "voice" else "tone"
            fates[key] = (how, d["start_ms"], None)
        elif d["outcome"] == "asked":
            fates.setdefault(key, ("asked", d["start_ms"], None))
        elif fates.get(key, ("",))[0] not in ("voice", "tone"):
            # A prompt may be held first and speak later; the last word counts.
            fates[key] = ("held" if d["outcome"] == "held" else d["outcome"], None, d.get("why"))
    return fates, sorted(tones)


def compare(word, want, got, faults):
    for key in sorted(set(want) | set(got), key=lambda k: (k[1], k[0])):
        prompt, due = key
        where = f"{prompt} due {due / 1000:.3f} s"
        if key not in got:
            faults.append(f"{word} lacks {where}: {told(want[key])}")
        elif key not in want:
            faults.append(f"{word} has more: {where}: {told(got[key])}")
        elif want[key] != got[key]:
            faults.append(f"{word}: {where} is {told(got[key])}, the list says {told(want[key])}")


def told(fate):
    how, begin, why = fate
    return how + (f" at {begin / 1000:.3f} s" if begin is not None else "") + (f" ({why})" if why else "")


def cue_sounds(cues):
    voices = sorted((c["at_frame"], c["id"]) for c in cues if c["kind"] == "voice")
    tones = sorted(c["at_frame"] for c in cues if c["kind"] == "attention")
    return voices, tones


def check(lines, cues, list_path):
    clip_ms = next(line["d"]["pack"]["clip_ms"] for line in lines if line["ev"] == "protocol")
    want, own_tones = hand_list(list_path, clip_ms)
    faults = []
    fates, tones = record_fates(lines)
    compare("record", want, fates, faults)
    if tones != own_tones:
        faults.append(f"record: attention tones at {tones} ms, the list says {own_tones}")
    voices, attention = cue_sounds(cues)
    wanted = sorted((begin * FRAMES_PER_MS, prompt) for (prompt, _), (how, begin, _) in want.items()
                    if how == "voice")
    tones_wanted = sorted([at * FRAMES_PER_MS for at in own_tones] + [
        begin * FRAMES_PER_MS for how, begin, _ in want.values() if how == "tone"])
    for frame, prompt in difference(wanted, voices):
        faults.append(f"cue list lacks voice {prompt} at {frame / FRAMES_PER_MS / 1000:.3f} s")
    for frame, prompt in difference(voices, wanted):
        faults.append(f"cue list has more: voice {prompt} at {frame / FRAMES_PER_MS / 1000:.3f} s")
    for frame in difference(tones_wanted, attention):
        faults.append(f"cue list lacks an attention tone at {frame / FRAMES_PER_MS / 1000:.3f} s")
    for frame in difference(attention, tones_wanted):
        faults.append(f"cue list has more: an attention tone at {frame / FRAMES_PER_MS / 1000:.3f} s")
    return faults, want


def difference(some, others):
    rest = list(others)
    for one in some:
        if one in rest:
            rest.remove(one)
        else:
            yield one


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    lines = [json.loads(line) for line in Path(sys.argv[1]).read_text(encoding="utf-8").splitlines()]
    cues = json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))
    faults, want = check(lines, cues, sys.argv[3])
    for line in faults:
        print(line)
    count = {how: sum(w[0] == how for w in want.values()) for how in ("voice", "tone", "held")}
    print(json.dumps({"check": "prompts", "faults": len(faults), "prompts": len(want), **count}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
