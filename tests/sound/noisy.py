"""Every tone alone, and the beats of a run, through a telephone's band and in vehicle noise: which onsets a matched
filter finds.

The detector is ours, on scipy: the tone, through the same chain as the sound, correlated with it. Chains: `phone` is
`level.telephone`; `vehicle` is noise falling 6 dB an octave at 0 dB(A), the tone's A-weighted mean power over its own
length against the noise's over all of its length; `both` is the noisy sound through the telephone. An onset counts
from half the height that the tone has at that moment: 0.5, and under a voice 0.2, where a beat is 8 dB down. In a run the
noise stands at 0 dB(A) under a beat at full height, so a beat under a voice is at -8 dB(A); the voices stay in,
and where they are is known from the run.
"""
import level
import numpy as np
from house import BEATS, TONE_RATE
from scipy.signal import oaconvolve, resample_poly

CHAINS = ("phone", "vehicle", "both")
LEAST, LEAST_UNDER_VOICE = 0.5, 0.2
NEAR_S, APART_S = 0.020, 0.060
SWELLS = ("breath", "attention", "sound_back")
SEEDS = range(1, 21)
RUN_SEEDS = (1, 2, 3)
RATES = {"phone": 8_000, "vehicle": 16_000, "both": 8_000}
PIECE_S, LAP_S = 60, 2


def chain(sound, name):
    if name == "vehicle":
        return resample_poly(sound, 1, TONE_RATE // RATES[name])
    return level.telephone(sound, TONE_RATE)


def template(tone, name):
    lead = TONE_RATE // 10
    return chain(np.pad(tone, lead), name), int(0.1 * RATES[name])


def heights(sound, shapes):
    """For each tone and each sample, how much of the tone begins there."""
    out = {}
    for kind, (shape, lead) in shapes.items():
        top = oaconvolve(sound, shape[::-1])[len(shape) - 1 - lead:] if lead < len(shape) else sound
        out[kind] = top[:len(sound)] / float(shape @ shape)
    return out


def onsets(sound, name, shapes, spoken=()):
    """[(s, kind)]: the one that explains most first, and none within 60 ms of it or while it sounds."""
    rate = RATES[name]
    least = np.full(len(sound), LEAST)
    for a, b in spoken:
        least[max(0, int(a * rate)):max(0, int(b * rate))] = LEAST_UNDER_VOICE
    found = []
    for kind, height in heights(sound, shapes).items():
        inner = (height[1:-1] >= height[:-2]) & (height[1:-1] > height[2:]) & (height[1:-1] >= least[1:-1])
        energy = float(shapes[kind][0] @ shapes[kind][0])
        found += [(float(height[n]) ** 2 * energy, n / rate, kind) for n in 1 + np.flatnonzero(inner)]
    kept = []
    taken = np.zeros(len(sound) + 1, bool)
    for _, at, kind in sorted(found, reverse=True):
        n = int(at * rate)
        if not taken[n]:
            shape, lead = shapes[kind]
            taken[max(0, n - int(APART_S * rate)):n + max(int(APART_S * rate), len(shape) - 2 * lead)] = True
            kept.append((at, kind))
    return sorted(kept)


def without_swells(sound, shapes):
    """The long tones, found in the same way from 0.3 on, taken out first: within one a beat's filter has an output of
    half its height."""
    for shape, lead in shapes.values():
        height = heights(sound, {"": (shape, lead)})[""]
        for n in sorted(np.flatnonzero(height >= 0.3), key=lambda n: -height[n]):
            if height[n] < 0.3:
                continue
            gain, start = height[n], n - lead
            piece = sound[max(0, start):start + len(shape)]
            piece -= gain * shape[max(0, -start):][:len(piece)]
            height[max(0, n - len(shape) // 2):n + len(shape) // 2] = 0
    return sound


def vehicle(count, seed, under_db):
    return level.at_level(level.noise("vehicle", count, seed, TONE_RATE), under_db, TONE_RATE)


def singles(tones, seeds=SEEDS):
    """One tone at a random place of 3 s, again and again: what is found, by tone and chain."""
    out = []
    for name in CHAINS:
        shapes = {kind: template(tone, name) for kind, tone in tones.items()}
        for kind, tone in tones.items():
            hits = wrong = misses = false = 0
            errors = []
            for seed in (seeds if name != "phone" else seeds[:3]):
                at = 0.5 + np.random.default_rng(1000 + seed).uniform(0, 1.5)
                sound = np.zeros(3 * TONE_RATE)
                start = int(at * TONE_RATE)
                sound[start:start + len(tone)] = tone
                if name != "phone":
                    sound += vehicle(len(sound), seed, level.a_level(tone, TONE_RATE))
                heard = chain(sound, name)
                found = onsets(heard, name, {kind: shapes[kind]})
                near = [f for f in found if abs(f[0] - at) <= NEAR_S]
                hits += bool(near)
                misses += not near
                # What the same filter finds where the tone is not.
                false += int(sum(abs(f[0] - at) > NEAR_S + len(tone) / TONE_RATE for f in found))
                told = told_as(heard, shapes)
                wrong += told != kind
                if near:
                    errors.append(1000 * min(abs(f[0] - at) for f in near))
            out.append({"what": kind, "chain": name, "n": hits + misses, "hits": hits, "misses": misses,
                        "false": false, "taken for another": wrong,
                        "p95_ms": round(float(np.percentile(errors, 95)), 2) if errors else None})
    return out


def told_as(sound, shapes):
    """The tone that explains most of the sound."""
    told = {}
    for kind, height in heights(sound, shapes).items():
        shape, _ = shapes[kind]
        told[kind] = float(height.max()) ** 2 * float(shape @ shape)
    return max(told, key=told.get)


def of_run(pack, sound, exact_s, spoken, tones, name, seed, until_s=None):
    """Beats of a run; `exact_s` their places, `spoken` the voices' (from, to)."""
    length = min(len(sound), int((until_s or 1e9) * TONE_RATE))
    beats = {kind: template(tones[kind], name) for kind in BEATS}
    swells = {kind: template(tones[kind], name) for kind in SWELLS}
    under = level.a_level(tones["beat"], TONE_RATE)
    found = []
    for first in range(0, length, PIECE_S * TONE_RATE):
        begin = max(0, first - LAP_S * TONE_RATE)
        piece = sound[begin:min(length, first + (PIECE_S + LAP_S) * TONE_RATE)].copy()
        if name != "phone":
            piece += vehicle(len(piece), 100 * seed + first // TONE_RATE, under)
        zero = begin / TONE_RATE
        ducked = [(a - 0.034 - zero, b + 0.15 - zero) for a, b in spoken]
        found += [at + zero for at, _ in onsets(without_swells(chain(piece, name), swells), name, beats, ducked)
                  if first <= (at * TONE_RATE) + begin < first + PIECE_S * TONE_RATE]
    found = np.array(sorted(found))
    wanted = np.array([e for e in exact_s if e < length / TONE_RATE - 0.2])
    voiced = np.array([any(a - 0.034 <= e <= b + 0.15 for a, b in spoken) for e in wanted])
    near = np.array([np.abs(found - e).min(initial=np.inf) for e in wanted])
    false = [f for f in found if np.abs(wanted - f).min(initial=np.inf) > NEAR_S and f < length / TONE_RATE - 0.2]
    in_speech = sum(any(a - 0.034 <= f <= b + 0.15 for a, b in spoken) for f in false)
    hit = near <= NEAR_S
    return {"what": f"beats of the run, {pack}", "chain": name, "seed": seed, "n": len(wanted),
            "hits": int(hit.sum()), "misses": int((~hit & ~voiced).sum()), "under_speech": int(voiced.sum()),
            "misses_under_speech": int((~hit & voiced).sum()), "false": len(false) - in_speech,
            "false_under_speech": int(in_speech),
            "p95_ms": round(float(np.percentile(near[hit], 95)) * 1000, 2) if hit.any() else None}


def judge(rows, found):
    """Every beat and every tone is found; nothing is found where there is none, outside speech."""
    for name in CHAINS:
        alone = [f for f in found if f["chain"] == name and "seed" not in f]
        rows.each("onset", "tones", f"missed, {name}", {f["what"]: f["misses"] for f in alone}, high=0)
        rows.each("onset", "tones", f"found where it is not, {name}", {f["what"]: f["false"] for f in alone}, high=0)
        rows.each("onset", "tones", f"taken for another, {name}", {f["what"]: f["taken for another"] for f in alone}, high=0)
        for what in dict.fromkeys(f["what"] for f in found if "seed" in f):
            some = {f"seed {f['seed']}": f for f in found if f["what"] == what and f["chain"] == name}
            where = what.replace("beats of the run", "run")
            rows.each("onset", where, f"beats missed, {name}", {n: f["misses"] for n, f in some.items()}, high=0)
            # In noise they are at -8 dB(A): a figure. By telephone alone there is nothing to miss them for.
            rows.each("onset", where, f"beats missed under speech, {name}",
                      {n: f["misses_under_speech"] for n, f in some.items()}, high=0 if name == "phone" else None)
            rows.each("onset", where, f"found where there is none, outside speech, {name}",
                      {n: f["false"] for n, f in some.items()}, high=0)
