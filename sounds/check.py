#!/usr/bin/env python3
"""Measures every sound against the rules in README.md and against the manifests.

    check.py [--table] [SOUNDS_FOLDER]

Prints one line for each fault (clip, what was found, what is allowed) and exits 1, or 0 if
there is none. --table prints the figures as the README's tables. Needs numpy and scipy.
Everything is measured from the files alone, by other code than that which made them.
"""
import hashlib
import json
import math
import re
import sys
import tomllib
import wave
from itertools import combinations
from pathlib import Path
from statistics import median

import numpy as np
import voice_tables
from scipy.signal import correlate, hilbert, lfilter, resample, resample_poly
from voice_tables import HEARD, PACKS

BEATS = ("beat", "beat_first", "beat_last")
CUES = ("breath", "attention", "receipt", "sound_back", "life")
TONE_MS = {
    "beat": (25, 40), "beat_first": (30, 60), "beat_last": (80, 200), "breath": (250, 500),
    "attention": (150, 500), "receipt": (30, 150), "sound_back": (250, 1000), "life": (100, 500),
}
NUMBERS = ("off05", "off10", "off15", "off20", "off30", "off40", "off50", "off60")
COUNT = ("chk_cd5", "chk_cd4", "chk_cd3", "chk_cd2", "chk_cd1")
CLASSES = (
    dict.fromkeys((*NUMBERS, "dev_stop", "arrest_again", "power_over"), "A")
    | dict.fromkeys(("chk_now", "chk_over", "rotate_now", "hr_now", "drug_due", "drug_late",
                     "cup_down", "cup_now", "dev_cont", "dev_ratio"), "B")
    | dict.fromkeys(("chk_30", "chk_15", "charge", *COUNT, "next_up", "drug_60", "drug_next",
                     "fit_plan", "power_10", "power_2", "move_plan", "causes", "plan_now",
                     "pads_now"), "C")
    | dict.fromkeys(("undo", "voice_off", "voice_on", "beat_off", "hold_end", "phone_low",
                     "still"), "D")
)
# Prompts that say a number after another word: a pause stands before the number. In power_2
# the end of the sentence is a pause too, so it must have two.
PAUSES = dict.fromkeys((*NUMBERS, "chk_30", "chk_15", "drug_60", "power_10"), 1) | {"power_2": 2}
LONGEST_MS = {"A": 2800, "B": 2800, "C": 3600, "D": 3000}
# Of the 18 noises, an urgent prompt. Own choice: one in nine.
LOST_AT_MOST = 2
DUCK_DB = 8
BEATS_PER_MINUTE = 110

faults = []


def want(clip, what, found, low=-math.inf, high=math.inf, unit=""):
    if not low <= found <= high:
        allowed = (f"at most {high}" if low == -math.inf else f"at least {low}" if high == math.inf
                   else f"{low} to {high}")
        found = f"{found:.3f}" if isinstance(found, float) else found
        faults.append(f"{clip}: {what} {found}{unit}, allowed {allowed}{unit}")


def fault(clip, found, allowed):
    faults.append(f"{clip}: {found}, allowed {allowed}")


# Measures

def db(ratio):
    return 20 * math.log10(max(ratio, 1e-9))


def k_power(sound, rate):
    """Running power after the K filter: ITU-R BS.1770-5 annex 1, tables 1 and 2 (48 kHz)."""
    sound = resample_poly(sound, 48_000 // rate, 1)
    sound = lfilter([1.53512485958697, -2.69169618940638, 1.19839281085285],
                    [1, -1.69065929318241, 0.73248077421585], sound)
    sound = lfilter([1, -2, 1], [1, -1.99004745483398, 0.99007225036621], sound)
    return np.concatenate([[0], np.cumsum(sound ** 2)])


def blocks(sound, rate, step_ms):
    """Mean power of each 400 ms block."""
    total = k_power(sound, rate)
    length, step = 19_200, 48 * step_ms
    starts = np.arange(0, len(total) - length, step)
    return (total[starts + length] - total[starts]) / length


def lufs(power):
    return -0.691 + 10 * math.log10(max(power, 1e-12))


def integrated(sound, rate):
    power = blocks(np.tile(sound, max(1, math.ceil(3 * rate / len(sound)))), rate, 100)
    power = power[power > 10 ** ((-70 + 0.691) / 10)]
    if not len(power):
        return -70.0
    return lufs(power[power > power.mean() / 10].mean())


def momentary(sound, rate):
    return lufs(blocks(np.pad(sound, rate // 2), rate, 10).max())


def true_peak(sound):
    return db(np.abs(resample(np.pad(sound, 256), 8 * (len(sound) + 512))).max())


def check_meters():
    """BS.1770-5: 997 Hz at full scale reads -3.01; a sine at a quarter of the rate hides 3.01 dB."""
    t = np.arange(5 * 48_000)
    want("meter", "997 Hz full scale reads",
         integrated(np.sin(2 * np.pi * 997 / 48_000 * t), 48_000), -3.03, -2.99, " LUFS")
    hidden = np.sin(np.pi / 2 * t[:4800] + np.pi / 4) * np.hanning(4800)
    want("meter", "true peak of a sine at a quarter of the rate", true_peak(hidden), -0.05, 0.05,
         " dB")


def envelope(sound, rate, ms):
    width = max(1, int(rate * ms / 1000))
    level = np.abs(hilbert(np.pad(sound, width)))
    return np.convolve(level, np.ones(width) / width, "same")[width:-width]


def spectrum(sound, rate):
    size = 1 << 17
    return np.fft.rfftfreq(size, 1 / rate), np.abs(np.fft.rfft(sound, size)) ** 2


def share(hz, power, low, high):
    return float(power[(hz >= low) & (hz <= high)].sum() / power.sum())


def gaps_ms(sound, rate, under_db):
    """Silence before, the silences within (longest first), and after the words, in 5 ms frames."""
    step = rate // 200
    level = np.sqrt((sound[:len(sound) // step * step].reshape(-1, step) ** 2).mean(axis=1))
    loud = np.flatnonzero(level > level.max() * 10 ** (-under_db / 20))
    within = sorted((5 * (np.diff(loud) - 1)).tolist(), reverse=True) or [0]
    return 5 * int(loud[0]), within, 5 * int(len(level) - 1 - loud[-1])


def words(text):
    return re.findall(r"[^\W\d_]+(?:'[^\W\d_]+)*", text.lower())


def english_syllables(word):
    return len(re.findall(r"[aeiouy]+", re.sub(r"e\b", "", word)))


def spanish_syllables(word):
    """Two open vowels side by side are two syllables; a u after g or q before e or i is silent."""
    word = re.sub(r"y\b", "i", re.sub(r"([gq])u(?=[eiéí])", r"\1", word))
    runs = re.findall(r"[aeiouáéíóúü]+", word)
    return sum(max(1, len(re.findall(r"[aeoáéíóú]", run))) for run in runs)


def syllables(text, pack):
    count = spanish_syllables if pack.startswith("es") else english_syllables
    return sum(max(1, count(word)) for word in words(text))


# Manifest

def load_pack(folder, rate, ids, loudness):
    """The pack's manifest and its samples by id; every difference between them is a fault."""
    try:
        manifest = json.loads((folder / "manifest.json").read_text("ascii"))
        clips = {clip["id"]: clip for clip in manifest["clips"]}
    except (OSError, ValueError, KeyError, TypeError) as error:
        fault(f"{folder.name}/manifest.json", f"unreadable ({error!r})", "a list of clips in JSON")
        return {}, {}
    name = folder.name
    if (manifest.get("pack"), manifest.get("format")) != (name, 1):
        fault(f"{name}/manifest.json", f"pack {manifest.get('pack')}, format "
              f"{manifest.get('format')}", f"pack {name}, format 1")
    if not manifest.get("licence") or not manifest.get("voice"):
        fault(f"{name}/manifest.json", "no licence or no voice", "both")
    for missing in sorted(set(ids) - set(clips)):
        fault(f"{name}/{missing}", "not in the manifest", "every id of the pack")
    for extra in sorted(set(clips) - set(ids)):
        fault(f"{name}/{extra}", "unknown id", "the ids that check.py lists")
    stray = {path.name for path in folder.glob("*.wav")} - {c["file"] for c in clips.values()}
    for file in sorted(stray):
        fault(f"{name}/{file}", "not in the manifest", "no file beside it")

    sounds = {}
    for clip_id, clip in clips.items():
        path, where = folder / clip["file"], f"{name}/{clip_id}"
        try:
            data = path.read_bytes()
            with wave.open(str(path), "rb") as wav:
                form = (wav.getframerate(), wav.getnchannels(), 8 * wav.getsampwidth())
                sound = np.frombuffer(wav.readframes(wav.getnframes()), "<i2") / 32768
        except (OSError, EOFError, ValueError, wave.Error) as error:
            fault(where, f"unreadable ({error})", "a WAV file")
            continue
        if form != (rate, 1, 16) or not len(sound):
            fault(where, f"{form} Hz, channels, bits, {len(sound)} samples", f"({rate}, 1, 16)")
            continue
        digest = hashlib.sha256(data).hexdigest()
        if digest != clip["sha256"]:
            fault(where, f"sha256 {digest[:16]}...", f"the manifest's {clip['sha256'][:16]}...")
        length = -(-len(sound) * 1000 // rate)
        want(where, "manifest says ms", clip["ms"], length, length)
        want(where, "manifest's LUFS less the measured", clip["lufs"] - loudness(sound, rate),
             -0.1, 0.1)
        want(where, "manifest's true peak less the measured",
             clip["true_peak_db"] - true_peak(sound), -0.1, 0.1, " dB")
        want(where, "largest sample", float(np.abs(sound).max()), 0.001, 0.999)
        want(where, "mean", abs(float(sound.mean())), high=0.0005)
        sounds[clip_id] = sound
    return clips, sounds


# Tones

def check_tone(name, sound):
    where, rate = f"tones/{name}", 48_000
    peak = float(np.abs(sound).max())
    want(where, "length", 1000 * len(sound) / rate, *TONE_MS[name], " ms")
    want(where, "first sample, share of the peak", abs(float(sound[0])) / peak, 1e-4, 0.1)
    abrupt = name in (*BEATS, "receipt")
    opened = np.flatnonzero(np.abs(sound) >= (0.9 if abrupt else 0.1) * peak)[0] * 1000 / rate
    want(where, f"{90 if abrupt else 10} % of the peak after", float(opened), high=1.5, unit=" ms")
    want(where, "last sample, share of the peak", abs(float(sound[-1])) / peak, high=0.001)
    want(where, "last 2 ms, share of the peak", float(np.abs(sound[-96:]).max()) / peak, high=0.1)
    if name in BEATS:
        want(where, "peak", db(peak), -3.5, -2.5, " dBFS")

    hz, power = spectrum(sound, rate)
    want(where, "energy at 800-2500 Hz", share(hz, power, 800, 2500), low=0.80)
    want(where, "energy under 500 Hz", share(hz, power, 0, 500), high=0.05)
    if name in BEATS:
        want(where, "energy at 1000-1500 Hz", share(hz, power, 1000, 1500), low=0.80)
    want(where, "fundamental", float(hz[power.argmax()]), high=2500, unit=" Hz")

    # An alarm is a group of pulses of at least four strong partials each.
    level = envelope(sound, rate, 8)
    edges = np.diff(np.concatenate([[0], level > 0.1 * level.max(), [0]]))
    want(where, "pulses", int((edges == 1).sum()), 1, 1)
    peaks = (power[1:-1] > power[:-2]) & (power[1:-1] > power[2:]) & (power[1:-1] > power.max() / 32)
    strong = np.unique(np.round(hz[1:-1][peaks] / 150))
    if len(sound) > 0.2 * rate:
        want(where, "partials within 15 dB", len(strong[np.diff(strong, prepend=-9) > 1]), high=3)

    full = float(np.flatnonzero(level >= 0.9 * level.max())[0]) / len(sound)
    if name == "attention":
        want(where, "rise, share of the length", full, 0.10, 0.20)
    if name == "breath":
        want(where, "rise, share of the length", full, 0.25, 0.60)


def check_tones(sounds):
    for name, sound in sounds.items():
        check_tone(name, sound)
    for (a, x), (b, y) in combinations(sounds.items(), 2):
        x, y = x[:24_000], y[:24_000]
        alike = np.abs(correlate(x, y)).max() / math.sqrt((x @ x) * (y @ y))
        want(f"tones/{a} and {b}", "correlation", float(alike), high=0.5)
    pitch = {}
    for name, sound in sounds.items():
        hz, power = spectrum(sound, 48_000)
        pitch[name] = float(hz[power.argmax()])
    for a, b in combinations([c for c in CUES if c in pitch], 2):
        ratio = max(pitch[a], pitch[b]) / min(pitch[a], pitch[b])
        want(f"tones/{a} and {b}", "fundamentals apart by a factor of", ratio, low=1.2)
    if "life" in sounds and "beat" in sounds:
        want("tones/life", "peak under the beat's",
             db(np.abs(sounds["beat"]).max() / np.abs(sounds["life"]).max()), 20, 30, " dB")
    return pitch


# Prompts

def check_prompt(pack, clip, sound, table):
    name, text = clip["id"], clip["text"]
    where, seconds = f"{pack}/{name}", len(sound) / 24_000
    wanted = table.get(name, {})
    if (text, clip.get("class")) != (wanted.get("text"), CLASSES.get(name)):
        fault(where, f"text {text!r}, class {clip.get('class')}",
              f"{wanted.get('text')!r}, {CLASSES.get(name)}")
    want(where, "words", len(words(text)), 1, 7)
    longest = 899 if name in COUNT else LONGEST_MS.get(clip.get("class"), 2800)
    want(where, "length", 1000 * seconds, high=longest, unit=" ms")
    want(where, "syllables a second", syllables(text, pack) / seconds, high=6.0)
    before, within, after = gaps_ms(sound, 24_000, 35)
    want(where, "silence before the words", before, high=60, unit=" ms")
    want(where, "silence after the words", after, high=150, unit=" ms")
    want(where, "longest pause", within[0], high=450, unit=" ms")
    for nth in range(PAUSES.get(name, 0)):
        want(where, f"pause {nth + 1} by length", within[nth], low=150, unit=" ms")
    want(where, "true peak", true_peak(sound), high=-1.0, unit=" dBTP")


def check_screen(pack, clips, texts):
    """What is spoken stands on the screen in the same words."""
    shown = dict(re.findall(r"^prompt-(\w+) = (.*)$", texts.read_text("utf-8"), re.M))
    for name, clip in clips.items():
        if shown.get(name) != clip["text"]:
            fault(f"{pack}/{name}", f"text {clip['text']!r}",
                  f"what {texts.name} shows, {shown.get(name)!r}")


def check_understood(pack, clips, results, misses):
    """The committed figures are of these very clips; no urgent prompt was taken for another, and none lost more often
    than it may, or than is known of it. What is known: a line for each, to be printed."""
    results = results.get(pack, {})
    known = {m["id"]: m for m in misses if m["pack"] == pack}
    told = []
    for name, clip in clips.items():
        found, where = results.get(name, {}), f"{pack}/{name}"
        if found.get("sha256") != clip["sha256"]:
            fault(where, "understood.json has figures of another clip or none",
                  "those of this clip: build/understood.py")
            continue
        if clip.get("class") not in ("A", "B"):
            continue
        if found.get("taken_for"):
            fault(where, f"in noise taken for {found['taken_for']}", "no other prompt")
        told += check_lost(where, found["lost"], known.pop(name, None))
    for name in known:
        fault(f"misses.json: {pack}/{name}", "no clip of class A or B with figures", "one of those: take it out")
    return told


def check_lost(where, lost, known):
    """A known miss may neither grow nor stay on the list with a figure that is not its own."""
    allowed = f"at most {LOST_AT_MOST} of {HEARD}"
    if known is None:
        want(where, f"in noise understood as nothing, of {HEARD}", lost, high=LOST_AT_MOST)
        return []
    if lost <= LOST_AT_MOST:
        fault(where, f"in noise understood as nothing {lost} of {HEARD}, no longer too often",
              f"{allowed}: take it out of misses.json")
    elif lost != known["lost"] or not known.get("why"):
        fault(where, f"in noise understood as nothing {lost} of {HEARD}",
              f"{allowed}, or {known['lost']} with a reason, as misses.json has it")
    else:
        return [f"{where}: in noise understood as nothing {lost} of {HEARD}, {allowed}; {known['why']}"]
    return []


def check_review(folder, table):
    """Who has read the sentences, or that nobody has yet, stands in the table and so in the manifest."""
    where, review = f"{folder.name}/manifest.json", table.get("review")
    if not review:
        fault(f"build/prompts-{folder.name}.toml", "no review", "who has read the sentences, or who is awaited to")
        return
    try:
        found = json.loads((folder / "manifest.json").read_text("ascii")).get("review")
    except (OSError, ValueError):
        return  # `load_pack` has told of it
    if found != review:
        fault(where, f"review {found!r}", f"{review!r}, as the table has it")


def check_compared(pack, clips, compared, voice):
    """Voices were compared in the sentences that are spoken now, the voice that speaks among them."""
    found = compared.get(pack, {})
    for name, text in found.get("texts", {}).items():
        if clips.get(name, {}).get("text") != text:
            fault(f"compared.json: {pack}/{name}", f"voices compared by {text!r}",
                  f"{clips.get(name, {}).get('text')!r}: build/compare.py")
    if voice not in found.get("by_voice", {}):
        fault(f"compared.json: {pack}", f"no figures of the voice {voice}", "it among those compared: build/compare.py")


def check_page(root):
    """The tables of docs/voices.md are of the committed figures."""
    page = root.parent / "docs" / "voices.md"
    if not page.is_file():
        return
    try:
        text = page.read_text("utf-8")
        made = voice_tables.with_tables(text, voice_tables.Figures(root))
    except (OSError, ValueError, KeyError, TypeError) as error:
        fault(page.name, f"tables cannot be made ({error!r})", "figures of every clip and a place for each table")
        return
    if made != text:
        fault(page.name, "tables are not what the figures make", "sounds/voice_tables.py --write")


def check_prompts(pack, clips, sounds, table, beat):
    for name, sound in sounds.items():
        check_prompt(pack, clips[name], sound, table)
    if not sounds:
        return
    rate = [60 * len(words(clips[n]["text"])) * 24_000 / len(s) for n, s in sounds.items()]
    spoken = [syllables(clips[n]["text"], pack) * 24_000 / len(s) for n, s in sounds.items()]
    want(pack, "median words a minute", median(rate), 95, 120)
    want(pack, "median syllables a second", median(spoken), high=4.5)
    loud = {name: integrated(sound, 24_000) for name, sound in sounds.items()}
    quiet, full = min(loud, key=loud.get), max(loud, key=loud.get)
    want(f"{pack}/{quiet} and {full}", "loudness apart by", loud[full] - loud[quiet], high=1.0,
         unit=" LU")
    if beat is not None:
        over = median(loud.values()) - (beat_train(beat) - DUCK_DB)
        want(pack, "voice over the ducked beat", over, 8, 12, " LU")
        print(f"{pack}: median {median(rate):.0f} words/min, {median(spoken):.1f} syllables/s; "
              f"voice {over:.1f} LU over the ducked beat")

    # The hands-off numbers are one series and the two device modes one pair.
    first = {}
    for name, clip in clips.items():
        if clip.get("class") in ("A", "B") and words(clip["text"]):
            group = "numbers" if name in NUMBERS else name.removesuffix("_cont").removesuffix("_ratio")
            first.setdefault(words(clip["text"])[0], set()).add(group)
    for word, groups in first.items():
        want(f"{pack}/{', '.join(sorted(groups))}", f"prompts that begin with {word!r}",
             len(groups), high=1)
    urgent = {words(c["text"])[0] for c in clips.values() if c.get("class") == "A"}
    for name, clip in clips.items():
        if clip.get("class") == "C" and words(clip["text"])[0] in urgent:
            fault(f"{pack}/{name}", f"begins with {words(clip['text'])[0]!r}",
                  "no class C prompt that begins like one of class A")


def beat_train(beat):
    train = np.zeros(12 * 48_000)
    for n in range(20):
        start = round(n * 60 / BEATS_PER_MINUTE * 48_000)
        train[start:start + len(beat)] += beat
    return integrated(train[:round(20 * 60 / BEATS_PER_MINUTE * 48_000)], 48_000)


def print_tones(clips, pitch):
    print("\n| tone | ms | strongest Hz | LUFS (400 ms) | dBTP |\n|---|---|---|---|---|")
    for name in (*BEATS, *CUES):
        c = clips[name]
        print(f"| {name} | {c['ms']} | {pitch[name]:.0f} | {c['lufs']:.1f} | {c['true_peak_db']:.1f} |")


def print_prompts(pack, clips, sounds):
    print(f"\n{pack}\n\n| id | class | text | ms | words/min | syllables/s | LUFS | dBTP |"
          "\n|---|---|---|---|---|---|---|---|")
    for name, c in clips.items():
        s = len(sounds[name]) / 24_000
        print(f"| {name} | {c['class']} | {c['text']} | {c['ms']} | "
              f"{60 * len(words(c['text'])) / s:.0f} | {syllables(c['text'], pack) / s:.1f} | "
              f"{c['lufs']:.1f} | {c['true_peak_db']:.1f} |")


def load_figures(root, name, key):
    try:
        return json.loads((root / name).read_text("utf-8"))[key]
    except (OSError, ValueError, KeyError, TypeError) as error:
        fault(name, f"unreadable ({error!r})", f"JSON with {key!r}")
        return []


def check_pack(root, pack, figures, beat):
    """Everything of one pack; its clips and samples."""
    understood, compared, misses = figures
    clips, sounds = load_pack(root / pack, 24_000, CLASSES, integrated)
    table = tomllib.loads((root / "build" / f"prompts-{pack}.toml").read_text("utf-8"))
    check_prompts(pack, clips, sounds, table["prompts"], beat)
    texts = root.parent / "src-tauri" / "crates" / "words" / "text" / f"{pack}.ftl"
    if texts.is_file():
        check_screen(pack, clips, texts)
    for line in check_understood(pack, clips, dict(understood), misses):
        print(f"missed, known: {line}")
    check_review(root / pack, table)
    check_compared(pack, clips, dict(compared), table["voice"]["voice"])
    return clips, sounds


def main(arguments):
    table_wanted = "--table" in arguments
    folders = [a for a in arguments if a != "--table"]
    if len(folders) > 1 or any(a.startswith("-") for a in folders):
        sys.exit(__doc__)
    root = Path(folders[0]) if folders else Path(__file__).resolve().parent
    check_meters()
    tone_clips, tones = load_pack(root / "tones", 48_000, (*BEATS, *CUES), momentary)
    for name, clip in tone_clips.items():
        if clip["text"]:
            fault(f"tones/{name}", f"text {clip['text']!r}", "no text: tones are not words")
    pitch = check_tones({n: s for n, s in tones.items() if n in TONE_MS})
    figures = (load_figures(root, "understood.json", "packs"), load_figures(root, "compared.json", "voices"),
               load_figures(root, "misses.json", "misses"))
    packs = {pack: check_pack(root, pack, figures, tones.get("beat")) for pack in PACKS}
    check_page(root)
    for line in faults:
        print(line, file=sys.stderr)
    if faults:
        sys.exit(f"{len(faults)} faults")
    prompts = sum(len(sounds) for _, sounds in packs.values())
    print(f"{len(tones)} tones and {prompts} prompts in {len(packs)} packs keep the rules and match "
          "the manifests")
    if table_wanted:
        print_tones(tone_clips, pitch)
        for pack, (clips, sounds) in packs.items():
            print_prompts(pack, clips, sounds)


if __name__ == "__main__":
    main(sys.argv[1:])
