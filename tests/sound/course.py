"""Rules 1, 2, 3, 7, 14 and 17 on a rendered run: what the WAV has, against the exact grid of the script.

The grid is that of tests/py/expected.py, worked out from script and protocol in fractions, and so is the moment
at which the rules let a prompt begin; what was asked for, and when it was due, is in the rehearsal's record.
"""
import json
import subprocess
import tempfile
from pathlib import Path

import alarm
import hear
import level
import numpy as np
from expected import expected, moments_of, score_of
from expected_inputs import Protocol, read_script
from house import BEATS, ROOT

RATE = hear.RATE
SCRIPT = ROOT / "tests" / "scripts" / "sound-20.json"
PROTOCOLS = ROOT / "src-tauri" / "crates" / "cycle" / "protocols"
# How far from its place a beat may be and still be that beat.
NEAR = int(0.1 * RATE)
AFTER_S = 0.15
ATTACK_S = 0.020
PER_MINUTE = level.BEATS_PER_MINUTE
TIMED = ("off", "chk_", "drug_", "power_1", "power_2", "cup_", "causes", "plan_now", "pads_now")
SPACING_S = 1.5
MANY = 90


def rehearse(carrybeat, pack, folder, script=SCRIPT):
    """The run in the pack's language: (WAV, cue list, lines of the record)."""
    told = json.loads(script.read_text("utf-8")) | {"lang": pack}
    spoken = Path(folder) / f"{pack}.json"
    spoken.write_text(json.dumps(told), "utf-8")
    out = {kind: Path(folder) / f"{pack}.{kind}" for kind in ("wav", "rec.jsonl", "cues.json")}
    subprocess.run([carrybeat, "rehearse", spoken, "--wav", out["wav"], "--record", out["rec.jsonl"],
                    "--cues", out["cues.json"]], check=True, stdout=subprocess.DEVNULL)
    lines = [json.loads(line) for line in out["rec.jsonl"].read_text("utf-8").splitlines()]
    return out["wav"], json.loads(out["cues.json"].read_text("utf-8")), lines


def protocol_of(script):
    return PROTOCOLS / (json.loads(script.read_text("utf-8"))["protocol"] + ".toml")


def allowed_voices(pack, script=SCRIPT):
    """ms at which the rules let each prompt of the script begin, by its id."""
    sounds = expected(script, protocol_of(script), ROOT / "sounds" / pack / "manifest.json")
    allowed = {}
    for one in sounds:
        if one["kind"] == "voice":
            allowed.setdefault(one["id"], []).append(one["at_frame"] * 1000 / RATE)
    return allowed


def exact_beats(script=SCRIPT):
    """Exact ms of every beat of the script, with its kind."""
    marks, end = read_script(script)
    protocol = Protocol(protocol_of(script))
    return [(kind, float(when)) for stretch in moments_of(marks, end, protocol)
            for kind, when in score_of(*stretch, protocol) if kind in BEATS]


def measure(rows, pack, carrybeat, tones, clips, compare):
    """`clips`: samples by id. Rows of one pack's run."""
    with tempfile.TemporaryDirectory() as folder:
        wav, cues, lines = rehearse(carrybeat, pack, folder)
        heard = hear.listen(wav, cues, tones, clips, compare)
    judge(rows, f"run, {pack}", heard, exact_beats(), allowed_voices(pack), cues, lines, tones, clips)
    return heard


def judge(rows, where, heard, exact, allowed, cues, lines, tones, clips):
    pairs, missing, extra = paired(heard, exact)
    rows.one(2, where, "beats missing", len(missing), high=0)
    rows.one(2, where, "beats too many", len(extra), high=0)
    spoken = [(v.begin, v.end) for v in heard.voices]
    grid(rows, where, pairs, spoken)
    ducking(rows, where, heard, pairs, missing, spoken, tones)
    alarms(rows, where, heard, spoken)
    loudness(rows, where, heard, spoken)
    lateness(rows, where, heard, allowed, cues, lines, clips)
    busiest(rows, where, heard, exact)
    strangers(rows, where, heard, spoken)


def paired(heard, exact):
    """[(exact ms, tone)], the beats without a tone, the tones without a beat."""
    left = [t for t in heard.tones if t.kind in BEATS]
    places = np.array([t.at for t in left])
    pairs, missing, used = [], [], set()
    for kind, when in exact:
        at = when * RATE / 1000
        near = [n for n in range(*np.searchsorted(places, [at - NEAR, at + NEAR]))
                if n not in used and left[n].kind == kind]
        if near:
            best = min(near, key=lambda n: abs(places[n] - at))
            used.add(best)
            pairs.append((when, left[best]))
        else:
            missing.append((kind, when))
    return pairs, missing, [t for n, t in enumerate(left) if n not in used]


def inside(tone, spans, after=0.0, length=0.034):
    at = tone.at / RATE
    return any(at < b + after and at + length > a for a, b in spans)


def grid(rows, where, pairs, spoken):
    """Rules 1 and 2. The phase is set once, by the first ten beats of the run."""
    when = np.array([w for w, _ in pairs])
    found = np.array([t.at for _, t in pairs]) * 1000 / RATE
    under = np.array([inside(t, spoken, AFTER_S) for _, t in pairs])
    error = found - when
    error -= np.median(error[:10])
    slope = np.polyfit(when, error, 1)[0] if len(when) > 1 else np.nan
    rows.one(1, where, "rate over the run less 110", -slope * PER_MINUTE, -0.001, 0.001, "/min")
    spans = {}
    for n in range(0, len(when), 5):
        some = (when >= when[n]) & (when < when[n] + 30_000)
        if when[-1] - when[n] >= 30_000 and some.sum() > 20:
            spans[f"from {when[n] / 1000:.1f} s"] = abs(np.polyfit(when[some], error[some], 1)[0]) * PER_MINUTE
    rows.each(1, where, "rate over any 30 s, off by", spans, high=0.001, unit="/min")
    for name, some in (("outside speech", ~under), ("under speech", under)):
        off = {f"at {w / 1000:.2f} s": abs(e) for w, e in zip(when[some], error[some], strict=True)}
        rows.each(2, where, f"beats {name}, off by", off, high=0.02, unit=" ms")


def ducking(rows, where, heard, pairs, missing, spoken, tones):
    """Rule 3, from the height of the beats in each 5 ms."""
    lost = [m for m in missing if any(a <= m[1] / 1000 <= b for a, b in spoken)]
    rows.one(3, where, "beats missing under speech", len(lost), high=0)
    down, back, held = {}, {}, {}
    alone = lonely(heard)
    for _, tone in pairs:
        shape = tones[tone.kind]
        if tone.at not in alone or not inside(tone, spoken, 0.6, 0.2):
            continue
        at = int(round(tone.at))
        gains = hear.block_gains(heard.rest[at:at + len(shape)], shape)
        for n, gain in enumerate(gains[:6]):
            begin = (at + n * hear.BLOCK) / RATE
            end = begin + hear.BLOCK / RATE
            name, height = f"at {begin:.3f} s", float(level.db(max(gain, 1e-3)))
            if any(a + ATTACK_S <= begin and end <= b for a, b in spoken):
                (held if limited(heard, at + n * hear.BLOCK) else down)[name] = -height
            elif not any(a <= end and begin <= b + AFTER_S for a, b in spoken):
                back[name] = abs(height)
    rows.each(3, where, "stepped back by, from 20 ms after a voice begins", down, 6, 10, " dB")
    rows.each(3, where, "the same, where the limiter holds voice and beat down", held or {"": 0.0}, unit=" dB")
    rows.each(3, where, "from full height, from 150 ms after a voice ends", back, high=0.5, unit=" dB")


def lonely(heard):
    """Places of the tones that no other tone touches."""
    out = set()
    for n, tone in enumerate(heard.tones):
        if all(abs(o.at - tone.at) > 0.5 * RATE or o.kind in BEATS
               for o in heard.tones[max(0, n - 4):n] + heard.tones[n + 1:n + 5]):
            out.add(tone.at)
    return out


def limited(heard, at):
    """Whether the sum stands at the ceiling of -1 dB here: then the limiter takes down all that sounds."""
    return np.abs(heard.sound[max(0, at - 480):at + 720]).max() > 10 ** (-1.6 / 20)


def alarms(rows, where, heard, spoken):
    # What is left under a voice is the voice's; what else is there, and how loud, `strangers` says.
    whole = heard.rest.copy()
    for a, b in spoken:
        piece = slice(max(0, int((a - 0.1) * RATE)), int((b + 0.1) * RATE))
        whole[piece] -= heard.left[piece]
    found = alarm.pulses(whole, RATE, 0.02)
    patterns = alarm.patterns(found)
    rows.each(7, where, "patterns of an alarm", {f"{what} at {at:.2f} s": 1 for what, at in patterns} or {"": 0}, high=0)
    rows.one(7, where, "three sounds of any length 50-250 ms apart", len(alarm.triples(found)))


def loudness(rows, where, heard, spoken):
    """Rule 14: the voice alone and the beats alone, in the same stretches, each joined and metered."""
    voice, beats = [], []
    beat_at = np.array([t.at for t in heard.tones if t.kind in BEATS]) / RATE
    other = [(t.at / RATE, t.at / RATE + 0.5) for t in heard.tones if t.kind not in BEATS]
    said = heard.sound - heard.rest
    named = heard.rest - heard.left
    for a, b in spoken:
        # The beat runs on through the voice, and no cue stands in it.
        around = beat_at[(beat_at > a - 0.6) & (beat_at < b + 0.6)]
        if len(around) < 2 or around[0] > a or around[-1] < b or np.diff(around).max() > 0.56 \
                or any(x < b and y > a for x, y in other):
            continue
        voice.append(said[int(a * RATE):int(b * RATE)])
        beats.append(named[int((a + ATTACK_S) * RATE):int(b * RATE)])
    if not voice:
        rows.one(14, where, "voice over the ducked beat", np.nan, 8, 12, " LU")
        return
    over = level.lufs(np.concatenate(voice), RATE) - level.lufs(np.concatenate(beats), RATE)
    rows.one(14, where, "voice over the ducked beat", over, 8, 12, " LU")
    rows.one(14, where, "stretches that this was measured in", len(voice), low=10)
    rows.one(14, where, "true peak of the run", run_peak(heard.sound), high=-0.99, unit=" dBTP")


def run_peak(sound):
    """True peak of what lies near the ceiling, 0.1 s at a time; the rest cannot have the highest one."""
    near = np.unique(np.flatnonzero(np.abs(sound) > 0.85) // (RATE // 10))
    return max((level.true_peak(sound[max(0, n * RATE // 10 - 256):(n + 1) * RATE // 10 + 256]) for n in near),
               default=float(level.db(np.abs(sound).max())))


def lateness(rows, where, heard, allowed, cues, lines, clips):
    """Rule 17. Due: the record's; begin: the WAV's. A prompt that a rule made wait (its line says that it was held,
    or it was due within the spacing of another voice) counts from the moment at which the rules let it begin,
    which is worked out apart from the app: waiting longer than that is late."""
    told = [line["d"] for line in lines if line["ev"] == "cue" and line["d"]["kind"] == "voice"]
    held = {(d["id"], d["due_ms"]) for d in told if d["outcome"] in ("held", "cut")}
    asked = {}
    for d in told:
        if d["outcome"] == "spoken":
            asked[d["id"], d["start_ms"]] = d["due_ms"]
    free, waited, freed, decided, audible, wrong = {}, {}, {}, {}, {}, {}
    meant = [c for c in cues if c["kind"] == "voice" and f"voice {c['id']} at {c['at_frame'] / RATE:.3f} s"
             not in heard.missing]
    for cue, voice in zip(meant, heard.voices, strict=True):
        start = round(cue["at_s"] * 1000)
        due = asked.get((cue["id"], start))
        name = f"{cue['id']} at {cue['at_s']:.2f} s"
        if voice.id != cue["id"] or due is None or voice.other_score > voice.score - 0.1:
            wrong[name] = 1
            continue
        decided[name] = abs(voice.begin * 1000 - start)
        if not cue["id"].startswith(TIMED):
            continue
        late = voice.begin * 1000 - due
        before = [v for v in heard.voices if v.begin < voice.begin - 0.01]
        spaced = before and due / 1000 < before[-1].end + SPACING_S and late > 1
        if (cue["id"], due) in held or spaced:
            waited[name] = late
            freed[name] = min((voice.begin * 1000 - at for at in allowed.get(cue["id"], [])), key=abs, default=np.inf)
        else:
            free[name] = late
            audible[name] = late + opening_ms(clips[voice.id])
    rows.each(17, where, "voices missing", {m: 1 for m in heard.missing} or {"": 0}, high=0)
    rows.each(17, where, "voices that are not the clip that was meant", wrong or {"": 0}, high=0)
    rows.each(17, where, "from the run's decision to the voice", decided, high=1, unit=" ms")
    rows.each(17, where, "timed prompts, from due to the clip", free, -1, 100, " ms")
    rows.each(17, where, "the same, to the first word", audible, high=100, unit=" ms")
    rows.each(17, where, "timed prompts that a rule made wait", waited or {"": 0.0}, unit=" ms")
    rows.each(17, where, "the same, from when the rules let them begin", freed or {"": 0.0}, -1, 100, " ms")
    rows.each(17, where, "timed prompts that the rules let begin, and that do not", unsaid(heard, allowed), high=0)


def unsaid(heard, allowed):
    """Moments at which a timed prompt may begin and no voice of its name does, within rule 17's 100 ms."""
    begun = {}
    for voice in heard.voices:
        begun.setdefault(voice.id, []).append(voice.begin * 1000)
    return {f"{name} at {at / 1000:.2f} s": 1 for name, moments in allowed.items() if name.startswith(TIMED)
            for at in moments if not any(abs(at - one) <= 100 for one in begun.get(name, []))} or {"": 0}


def opening_ms(clip):
    """Silence before the words: to the first 5 ms within 35 dB of the loudest."""
    step = 120
    power = (clip[:len(clip) // step * step].reshape(-1, step) ** 2).mean(axis=1)
    return 5.0 * int(np.flatnonzero(power > power.max() * 10 ** -3.5)[0])


def busiest(rows, where, heard, exact):
    """The rules ask for five prompts a minute while the beat runs; a count is one prompt with its check."""
    prompts = [v.begin for v in heard.voices if not v.id.startswith("chk_cd")]
    beats = np.array([w for _, w in exact]) / 1000
    most = max((sum(a <= p < a + 60 for p in prompts) for a in prompts
                if np.sum((beats >= a) & (beats < a + 60)) >= MANY), default=0)
    rows.one(2, where, "prompts in the fullest minute with 90 beats or more", most, low=5)
    rows.one(2, where, "beats of the run", len(exact), low=1000)
    rows.one(3, where, "beats under speech", sum(any(a <= w / 1000 <= b for a, b in
             [(v.begin, v.end) for v in heard.voices]) for _, w in exact), low=40)


def strangers(rows, where, heard, spoken):
    """What is left when all that was named is taken out: nothing else sounds. The quietest tone, life, has -30 dBFS
    in 50 ms, a beat under a voice -16."""
    step = RATE // 20
    power = (heard.left[:len(heard.left) // step * step].reshape(-1, step) ** 2).mean(axis=1)
    at = np.arange(len(power)) * 0.05
    voiced = np.zeros(len(power), bool)
    for a, b in spoken:
        voiced |= (at > a - 0.1) & (at < b + 0.1)
    height = {f"at {t:.2f} s": float(10 * np.log10(p + 1e-12)) for t, p in zip(at, power, strict=True)}
    for name, some, most in (("outside speech", ~voiced, -33), ("under speech", voiced, -25)):
        rows.each(7, where, f"what nobody has named, {name}", dict(
            item for item, s in zip(height.items(), some, strict=True) if s), high=most, unit=" dBFS")
