"""Rules 4, 12 and 13 by ESTOI (pystoi, extended), and each prompt against a baseline of its own.

The chain: clip at 24 kHz, 0.1 s of nothing on both sides, a clip under 1 s three times over -> speaker (none, or
`level.small_speaker`) -> noise added, its level set by A-weighting against the clip's own mean level after the
speaker -> both at 10 kHz -> ESTOI against what left the speaker, without noise. Rule 13 alone has the clip before
the speaker as its reference. A figure is the mean of the seeds.
"""
import json
import sys
from pathlib import Path

import level
import numpy as np
from house import PACKS, SOUNDS, VOICE_RATE, load_pack, plain, read
from pystoi import stoi
from scipy.signal import resample_poly

RATE = VOICE_RATE
SEEDS = (1, 2, 3)
NOISES = ("pink", "vehicle", "speech")
SNRS = (0, 6, 12)
CELLS = [f"{chain} {kind} {snr}" for chain in ("full", "speaker") for kind in NOISES for snr in SNRS]
RULE_13 = "file pink 0"
# What every run measures; the others only the full one.
QUICK = ("full pink 6", "full vehicle 6", RULE_13)
BASELINE = SOUNDS / "estoi.json"
UNSHAPED = SOUNDS / "unshaped.json"
MAY_FALL = 0.02
OF_ONE_TAKE = 0.8


def estoi(clean, heard):
    return float(stoi(resample_poly(clean, 5, 12), resample_poly(heard, 5, 12), 10_000, extended=True))


def padded(sound):
    out = np.pad(sound, RATE // 10)
    return np.tile(out, 3) if len(sound) < RATE else out


def of(sound, cell, seed, speech):
    """One figure: `cell` is chain, noise and A-weighted distance."""
    chain, kind, snr = cell.split()
    clean = padded(sound)
    if chain == "full":
        through, alone = clean, sound
    else:
        through, alone = level.small_speaker(clean, RATE), level.small_speaker(sound, RATE)
    added = level.at_level(level.noise(kind, len(clean), seed, RATE, speech),
                           level.a_level(alone, RATE) - int(snr), RATE)
    return estoi(clean if chain == "file" else through, through + added)


def all_of(sound, cells, speech):
    return {cell: plain(np.mean([of(sound, cell, seed, speech) for seed in SEEDS])) for cell in cells}


def at_equal_peak(sound):
    """A-weighted level through the small speaker, true peak at 0 dB."""
    return level.a_level(level.small_speaker(sound, RATE), RATE) - level.true_peak(sound)


def job(item):
    sound, cells, speech = item
    return all_of(sound, cells, speech) | {"level": plain(at_equal_peak(sound))}


def measure(pool, packs, cells, speech, known, groups):
    """Figures by pack and clip. A clip of one of the classes `groups` whose file is that of `known`, the baseline, has
    the figures that stand there."""
    todo = []
    for pack, clips in packs.items():
        for clip in clips.values():
            old = known.get(pack, {}).get(clip.id, {})
            kept = old if clip.group in groups and old.get("sha256") == clip.sha256 else {}
            todo.append((pack, clip, {cell: kept[cell] for cell in cells if cell in kept}))
    found = pool.map(job, [(clip.sound, [c for c in cells if c not in kept], speech) for _, clip, kept in todo],
                     chunksize=4)
    out = {pack: {} for pack in packs}
    for (pack, clip, kept), figures in zip(todo, found, strict=True):
        out[pack][clip.id] = kept | figures
    return out


def judge(rows, pack, clips, found, baseline, unshaped):
    for kind, mean, each in (("pink", 0.60, 0.48), ("vehicle", 0.50, 0.38)):
        told = {n: found[n][f"full {kind} 6"] for n in clips}
        middle = float(np.mean(list(told.values())))
        rows.one(12, pack, f"ESTOI, {kind} +6 dB(A), mean", middle, low=mean)
        rows.each(12, pack, f"ESTOI, {kind} +6 dB(A), each", told, low=each)
        rows.each(12, pack, f"ESTOI, {kind} +6 dB(A), class A less the mean",
                  {n: told[n] - middle for n, c in clips.items() if c.group == "A"}, low=-0.10)
    rows.one(13, pack, "ESTOI, speaker, pink 0 dB(A), mean", np.mean([found[n][RULE_13] for n in clips]), low=0.36)
    before = {n: unshaped.get(pack, {}).get(n, {}) for n in clips}
    same = {n: b for n, b in before.items() if b.get("shaped_sha256") == clips[n].sha256}
    rows.one(13, pack, "clips whose unshaped figures are not of them", len(clips) - len(same), high=0)
    rows.one(13, pack, "level gained by shaping, speaker, equal true peak, mean",
             np.mean([found[n]["level"] - b["level"] for n, b in same.items()]) if same else np.nan, low=5, unit=" dB(A)")
    known = {n: baseline.get(pack, {}).get(n, {}) for n in clips}
    rows.each("12, 13", pack, "clips whose baseline is of another file",
              {n: int(b.get("sha256") != clips[n].sha256) for n, b in known.items()}, high=0)
    rows.each("12, 13", pack, "ESTOI fallen under the baseline by", falls(known, found), high=MAY_FALL)


def falls(known, found):
    """Of a clip that was rendered anew too, so that none gets worse unseen."""
    return {f"{n}, {cell}": b[cell] - found[n][cell] for n, b in known.items()
            for cell in found[n] if cell in b and cell != "level"}


def beat_cost(pack, clips, tones, seeds=SEEDS):
    """Rule 4: ESTOI of the joined pack in pink noise, less the same with the ducked beat in it."""
    speech = np.concatenate([np.pad(c.sound, (0, RATE // 5)) for c in clips.values()])
    low = {name: resample_poly(tone, 1, 2) for name, tone in tones.items()}
    trains = {"beat alone": [low["beat"]], "cycles of 30": [low["beat_first"], *[low["beat"]] * 28, low["beat_last"]]}
    costs = {name: [] for name in trains}
    for seed in seeds:
        noisy = speech + level.at_level(level.noise("pink", len(speech), seed, RATE), level.a_level(speech, RATE) - 6, RATE)
        clean = estoi(speech, noisy)
        for name, train in trains.items():
            beats = level.train(train, len(speech) / RATE, RATE, -level.DUCK_DB)
            costs[name].append(clean - estoi(speech, noisy + beats[:len(speech)]))
    return pack, {name: plain(np.mean(some)) for name, some in costs.items()}


def judge_cost(rows, costs):
    for pack, cost in costs:
        for name, value in cost.items():
            rows.one(4, pack, f"ESTOI that the ducked beat costs, pink +6 dB(A), {name}", value, high=0.010)


# What is committed


def load(path, what):
    try:
        return json.loads(path.read_text("ascii"))
    except (OSError, ValueError) as error:
        sys.exit(f"{path}: unreadable ({error}); {what}")


def write(path, content):
    path.write_text(json.dumps(content, indent=1) + "\n", "ascii")


def write_baseline(packs, found):
    write(BASELINE, {"format": 1, "pystoi": "0.4.1, extended", "seeds": list(SEEDS), "packs": {
        pack: {n: {"sha256": c.sha256} | {k: v for k, v in found[pack][n].items() if k != "level"}
               for n, c in clips.items()} for pack, clips in packs.items()}})


def write_unshaped(pool, raw_folder):
    """Where the renders before shaping are (RAW_FOLDER/PACK/ID.wav): their figures, and the spectrum of all
    their speech. A clip without a render keeps the figures that are of it. Names the clips that have neither, and those
    whose render is of another take; they get no figures."""
    old = load(UNSHAPED, "") if UNSHAPED.is_file() else {}
    raw, kept, stray = {}, {}, []
    for pack in PACKS:
        for name, clip in load_pack(pack).items():
            path = Path(raw_folder) / pack / f"{name}.wav"
            known = old.get("packs", {}).get(pack, {}).get(name, {})
            sound = read(path, RATE) if path.is_file() else np.zeros(1)
            if likeness(sound, clip.sound) >= OF_ONE_TAKE:
                raw[pack, name] = sound, clip.sha256
            elif not path.is_file() and known.get("shaped_sha256") == clip.sha256:
                kept[pack, name] = known
            else:
                stray.append(f"{pack}/{name}")
    # Once it is there the noise stays as it is: figures compare only under one noise.
    speech = old["speech"] if old else level.third_octaves([s for s, _ in raw.values()], RATE)
    found = pool.map(job, [(s, CELLS, speech) for s, _ in raw.values()], chunksize=4)
    made = {key: {"shaped_sha256": sha256} | figures
            for (key, (_, sha256)), figures in zip(raw.items(), found, strict=True)} | kept
    out = {pack: {n: made[pack, n] for n in load_pack(pack) if (pack, n) in made} for pack in PACKS}
    write(UNSHAPED, {"format": 1, "speech": speech, "packs": out})
    return stray


def likeness(raw, shaped):
    """Correlation of the two heights in 20 ms: that the one is the other's render, not of another take."""
    if abs(len(raw) - len(shaped)) >= 240:
        return 0.0
    count = min(len(raw), len(shaped)) // 480
    a, b = (np.sqrt((s[:count * 480].reshape(-1, 480) ** 2).mean(axis=1)) for s in (raw, shaped))
    return float(np.corrcoef(np.log(a + 1e-3 * a.max()), np.log(b + 1e-3 * b.max()))[0, 1])
