"""Rules 5-11, 14 and 15 on the files themselves. The rule tables (classes, who is a number, what counts as a word or a
syllable) are those of sounds/check.py; nothing is measured by its code."""
from itertools import combinations
from statistics import median

import alarm
import level
import numpy as np
from house import BEATS, CUES, TONE_RATE, VOICE_RATE  # first: it says where the others lie
from check import COUNT, LONGEST_MS, NUMBERS, PAUSES, syllables, words
from scipy.signal import correlate

HALF_S = TONE_RATE // 2


def spectrum(sound, rate):
    size = 1 << 17
    power = np.abs(np.fft.rfft(sound, size)) ** 2
    return np.fft.rfftfreq(size, 1 / rate), power


def share(sound, low, high):
    hz, power = spectrum(sound, TONE_RATE)
    return float(power[(hz >= low) & (hz < high)].sum() / power.sum())


def fundamental(sound):
    """The lowest partial within 15 dB of the strongest."""
    hz, power = spectrum(sound, TONE_RATE)
    return float(min(partials(hz, power)))


def partials(hz, power, within_db=15):
    """Peaks at least 100 Hz apart, strongest first, within so many dB of the strongest."""
    inner = (power[1:-1] >= power[:-2]) & (power[1:-1] > power[2:])
    at = 1 + np.flatnonzero(inner & (power[1:-1] > power.max() * 10 ** (-within_db / 10)))
    kept = []
    for n in at[np.argsort(-power[at])]:
        if all(abs(hz[n] - hz[k]) > 100 for k in kept):
            kept.append(n)
    return [float(hz[n]) for n in kept]


def most_partials(sound, seconds=0.08):
    """The most partials up to 4 kHz at one time: by windows of 80 ms, since a glide has none that stands still."""
    width = min(len(sound), int(seconds * TONE_RATE))
    counts = [0]
    for start in range(0, len(sound) - width + 1, width // 2):
        piece = sound[start:start + width] * np.hanning(width)
        counts.append(sum(f <= 4000 for f in partials(*spectrum(piece, TONE_RATE))))
    return max(counts)


def tones(rows, sounds):
    rows.each(5, "tones", "energy at 800-2500 Hz", {n: share(s, 800, 2500) for n, s in sounds.items()}, low=0.80)
    rows.each(5, "tones", "energy under 500 Hz", {n: share(s, 0, 500) for n, s in sounds.items()}, high=0.05)
    pitch = {n: fundamental(s) for n, s in sounds.items()}
    rows.each(5, "tones", "fundamental", pitch, high=2500, unit=" Hz")
    rows.each(5, "tones", "energy of the beats at 1000-1500 Hz",
              {n: share(sounds[n], 1000, 1500) for n in BEATS if n in sounds}, low=0.80)
    peak = {n: float(level.db(np.abs(s).max())) for n, s in sounds.items()}
    rows.each(6, "tones", "peak of the cues", {n: round(peak[n], 2) for n in CUES if n in peak}, low=-1, unit=" dBFS")
    rows.each(6, "tones", "peak of the beats", {n: round(peak[n], 2) for n in BEATS if n in peak}, unit=" dBFS")

    patterns, count, strong = {}, {}, {}
    for name, sound in sounds.items():
        quiet = np.zeros(TONE_RATE)
        row = np.concatenate([quiet, sound, quiet])
        found = alarm.pulses(row, TONE_RATE, 0.1 * np.abs(sound).max())
        count[name], patterns[name] = len(found), len(alarm.patterns(found))
        strong[name] = most_partials(sound) if len(sound) >= alarm.PULSE_S[0] * TONE_RATE else 0
    rows.each(7, "tones", "pulses in a tone", count, 1, 1)
    rows.each(7, "tones", "patterns of an alarm", patterns, high=0)
    rows.each(7, "tones", "partials within 15 dB, of what is as long as an alarm's pulse", strong, high=3)

    rows.one(8, "tones", "cues besides voice and beat", len([n for n in sounds if n not in BEATS]), high=5)
    alike = {}
    for (a, x), (b, y) in combinations(sounds.items(), 2):
        x, y = x[:HALF_S], y[:HALF_S]
        alike[f"{a} and {b}"] = float(np.abs(correlate(x, y, method="fft")).max() / np.sqrt((x @ x) * (y @ y)))
    rows.each(8, "tones", "correlation of the first 0.5 s", alike, high=0.5)
    rows.each(8, "tones", "fundamentals of two cues, ratio",
              {f"{a} and {b}": max(pitch[a], pitch[b]) / min(pitch[a], pitch[b])
               for a, b in combinations([c for c in CUES if c in pitch], 2)}, low=1.2)
    attention = sounds["attention"]
    height = alarm.envelope(np.pad(attention, TONE_RATE // 10), TONE_RATE)[100:]
    opened = np.flatnonzero(height >= 0.1 * height.max())[0]
    rise = float(np.flatnonzero(height >= 0.9 * height.max())[0] - opened) * alarm.STEP_S
    rows.one(9, "tones", "length of attention", len(attention) / TONE_RATE, high=0.5, unit=" s")
    rows.one(9, "tones", "rise of attention, share of its length", rise * TONE_RATE / len(attention), 0.10, 0.20)


def gaps(sound):
    """(ms before the words, gaps within from the longest on, ms after): 5 ms steps, 35 dB under the loudest."""
    step = VOICE_RATE // 200
    power = (sound[:len(sound) // step * step].reshape(-1, step) ** 2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 10 ** -3.5)
    within = sorted((5 * (np.diff(loud) - 1)).tolist(), reverse=True)
    return 5 * int(loud[0]), within, 5 * int(len(power) - 1 - loud[-1])


def prompts(rows, pack, clips, ducked_beat_lufs):
    length = {n: len(c.sound) / VOICE_RATE for n, c in clips.items()}
    rows.each(10, pack, "words", {n: len(words(c.text)) for n, c in clips.items()}, 1, 7)
    for group in "ABCD":
        some = {n: length[n] for n, c in clips.items() if c.group == group and n not in COUNT}
        rows.each(10, pack, f"length, class {group}", some, high=LONGEST_MS[group] / 1000, unit=" s")
    rows.each(10, pack, "length of a count", {n: length[n] for n in COUNT if n in length}, high=0.9, unit=" s")

    rate = [60 * len(words(c.text)) / length[n] for n, c in clips.items()]
    spoken = {n: syllables(c.text, pack) / length[n] for n, c in clips.items()}
    rows.one(11, pack, "median rate", median(rate), 95, 120, " words/min")
    rows.one(11, pack, "median rate in syllables", median(spoken.values()), high=4.5, unit="/s")
    rows.each(11, pack, "syllables of each", spoken, high=6.0, unit="/s")
    pauses = {}
    for name, count in PAUSES.items():
        if name in clips:
            within = [*gaps(clips[name].sound)[1], *[0] * count]
            pauses |= {f"{name}, {n + 1}" if count > 1 else name: within[n] for n in range(count)}
    rows.each(11, pack, "gap at a number", pauses, low=150, unit=" ms")

    loud = {n: level.lufs(c.sound, VOICE_RATE) for n, c in clips.items()}
    rows.one(14, pack, "loudest less quietest", max(loud.values()) - min(loud.values()), high=1, unit=" LU")
    middle = median(loud.values())
    rows.each(14, pack, "true peak", {n: level.true_peak(c.sound) for n, c in clips.items()}, high=-1, unit=" dBTP")
    rows.one(14, pack, "voice over the ducked beat", middle - ducked_beat_lufs, 8, 12, " LU")

    first = {}
    for name, clip in clips.items():
        if clip.group in ("A", "B"):
            series = "numbers" if name in NUMBERS else "modes" if name in ("dev_cont", "dev_ratio") else name
            first.setdefault(words(clip.text)[0], set()).add(series)
    rows.each(15, pack, "class A and B prompts with one first word",
              {f"{word}: {', '.join(sorted(who))}": len(who) for word, who in first.items()}, high=1)
    urgent = {words(c.text)[0] for c in clips.values() if c.group == "A"}
    rows.each(15, pack, "class C prompts that begin like one of class A",
              {n: int(words(c.text)[0] in urgent) for n, c in clips.items() if c.group == "C"}, high=0)


def ducked_beat(sounds):
    """Loudness of beats at 110/min, as a voice finds them."""
    return level.lufs(level.train([sounds["beat"]], 12 * 60 / 110 * 2, TONE_RATE, -level.DUCK_DB), TONE_RATE)
