#!/usr/bin/env python3
"""The tables of docs/voices.md, made from the committed figures.

    voice_tables.py            print them
    voice_tables.py --write    write them into the page, between its markers

The figures: understood.json (each clip as shipped), compared.json (other voices, and packs as they were before),
misses.json (prompts that are lost too often, and why), the packs' manifests (voice, who has read the sentences).
check.py fails where the page is not what these make.
"""
import json
import sys
from pathlib import Path

SOUNDS = Path(__file__).resolve().parent
PAGE = SOUNDS.parent / "docs" / "voices.md"
PACKS = ("en-US", "en-GB", "es-419", "es-ES")
NOISES = tuple(f"{kind} {snr}" for kind in ("pink", "vehicle") for snr in (0, 6, 12))
# Three seeds in each of the six noises.
HEARD = 18
COMPARED = ("clean", "pink 0", "vehicle 0", "estoi")


def read(path):
    return json.loads(path.read_text("utf-8"))


def mean(values):
    values = list(values)
    return sum(values) / len(values)


def noisy(figures):
    """Words right, mean of the noises."""
    return mean(figures[noise] for noise in NOISES)


def another(figures):
    return sum(figures["taken_for"].values())


def summary(results, urgent):
    """Figures of a pack from those of its clips; `urgent` are the ids of classes A and B."""
    hard = [results[name] for name in urgent]
    return {key: round(mean(r[key] for r in results.values()), 3) for key in ("clean", *NOISES)} | {
        "lost": sum(r["lost"] for r in results.values()), "of": HEARD * len(results),
        "urgent_words": round(mean(map(noisy, hard)), 3),
        "urgent_lost": sum(r["lost"] for r in hard), "urgent_another": sum(map(another, hard)),
        "urgent_of": HEARD * len(hard)}


def classes(manifest, letters):
    return [c["id"] for c in manifest["clips"] if c["class"] in letters]


class Figures:
    def __init__(self, sounds=SOUNDS):
        self.understood = read(sounds / "understood.json")["packs"]
        self.compared = read(sounds / "compared.json")
        self.misses = read(sounds / "misses.json")["misses"]
        self.manifests = {pack: read(sounds / pack / "manifest.json") for pack in PACKS}

    def voice(self, pack):
        return self.manifests[pack]["voice"]["voice"]

    def urgent(self, pack):
        return classes(self.manifests[pack], "AB")


def packs_table(figures):
    out = ["| pack | synthesiser | voice | sentences |", "|---|---|---|---|"]
    for pack, manifest in figures.manifests.items():
        made = manifest["voice"]
        by = made["synthesiser"].split(":")[0]
        phonemes = f", phonemes {made['phonemes']}" if "phonemes" in made else ""
        out.append(f"| {pack} | {by}{phonemes} | `{made['voice']}` | {manifest['review']} |")
    return out


def voices_table(figures):
    out = ["| pack | voice | words/min | right without noise | pink 0 dB(A) | vehicle 0 dB(A) | ESTOI |",
           "|---|---|---|---|---|---|---|"]
    for pack in PACKS:
        tried = figures.compared["voices"][pack]["by_voice"]
        for voice in sorted(tried, key=lambda v: v != figures.voice(pack)):
            name = f"**{voice}**" if voice == figures.voice(pack) else voice
            one = tried[voice]
            out.append(f"| {pack} | {name} | {one['words_a_minute']:.0f} | "
                       + " | ".join(f"{one[key]:.2f}" for key in COMPARED) + " |")
    return out


def words_row(pack, what, one):
    cells = [f"{one[key]:.2f}" for key in ("clean", *NOISES)]
    return (f"| {pack} | {what} | " + " | ".join(cells) + f" | {one['lost']} of {one['of']} | {one['urgent_words']:.2f} | "
            f"{one['urgent_lost']} | {one['urgent_another']} |")


def words_table(figures):
    heads = ["no noise", *(f"{noise} dB(A)" for noise in NOISES)]
    out = [f"| pack | | {' | '.join(heads)} | lost | A and B: words right | lost | taken for another |",
           "|---|---|" + "---|" * (len(heads) + 4)]
    for pack in PACKS:
        for one in figures.compared["packs"]:
            if one["pack"] == pack:
                out.append(words_row(pack, one["what"], one))
        now = summary(figures.understood[pack], figures.urgent(pack))
        out.append(words_row(pack, f"**as shipped, {figures.voice(pack)}**", now))
    return out


def urgent_table(figures):
    out = ["| prompt | " + " | ".join(PACKS) + " |", "|---|" + "---|" * len(PACKS)]
    for name in figures.urgent(PACKS[0]):
        cells = []
        for pack in PACKS:
            one = figures.understood[pack][name]
            own = HEARD - one["lost"] - another(one)
            cells.append(f"{noisy(one):.2f}; {own}; {one['lost']}; {another(one)}")
        out.append(f"| {name} | {' | '.join(cells)} |")
    return out


def least_table(figures):
    out = ["| pack | the ten prompts of which least is understood |", "|---|---|"]
    for pack in PACKS:
        results = figures.understood[pack]
        ten = sorted(results, key=lambda name: noisy(results[name]))[:10]
        out.append(f"| {pack} | {', '.join(f'{name} {noisy(results[name]):.2f}' for name in ten)} |")
    return out


def taken_table(figures):
    """Every pair of a pack that was taken for each other, with the classes of both."""
    out = ["| pack | prompt | class | heard as | class | noises |", "|---|---|---|---|---|---|"]
    for pack in PACKS:
        group = {c["id"]: c["class"] for c in figures.manifests[pack]["clips"]}
        for name, one in sorted(figures.understood[pack].items()):
            out += [f"| {pack} | {name} | {group[name]} | {other} | {group[other]} | {times} of {HEARD} |"
                    for other, times in sorted(one["taken_for"].items())]
    return out


def lost_table(figures):
    out = ["| pack | prompt | lost | known, and why |", "|---|---|---|---|"]
    out += [f"| {m['pack']} | {m['id']} | {m['lost']} of {HEARD} | {m['why']} |" for m in figures.misses]
    return out if figures.misses else ["None."]


TABLES = {"packs": packs_table, "voices": voices_table, "words": words_table, "urgent": urgent_table,
          "taken": taken_table, "least": least_table, "lost": lost_table}


def with_tables(text, figures):
    """The page with its tables as the figures make them; the words between are kept."""
    for name, make in TABLES.items():
        head, tail = f"<!-- table: {name} -->\n", "<!-- end -->"
        before, found, rest = text.partition(head)
        if not found or tail not in rest:
            raise ValueError(f"no place for the table {name!r}: a line {head.strip()!r} and one {tail!r}")
        text = before + head + "\n" + "\n".join(make(figures)) + "\n\n" + tail + rest.split(tail, 1)[1]
    return text


def main(arguments):
    if arguments not in ([], ["--write"]):
        sys.exit(__doc__)
    figures = Figures()
    if not arguments:
        for make in TABLES.values():
            print("\n".join(make(figures)) + "\n")
        return
    try:
        PAGE.write_text(with_tables(PAGE.read_text("utf-8"), figures), "utf-8")
    except ValueError as error:
        sys.exit(f"{PAGE}: {error}")


if __name__ == "__main__":
    main(sys.argv[1:])
