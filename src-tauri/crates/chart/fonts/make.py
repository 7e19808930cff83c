#!/usr/bin/env python3
"""Makes the two font files anew: make.py PACKAGE/files REGULAR.ttf SEMIBOLD.ttf"""
import sys
import tempfile
from pathlib import Path

from fontTools import subset
from fontTools.merge import Merger
from fontTools.ttLib import TTFont

FAMILY = "Carrybeat Sheet"
MORE = "\u0218\u0219\u021a\u021b\u2013\u2014\u2018\u2019\u201c\u201d\u2022\u2026\u20ac\u2212"


def made(files, weight, style, out):
    with tempfile.TemporaryDirectory() as folder:
        parts = []
        for part in ("latin", "latin-ext"):
            font = TTFont(files / f"source-sans-3-{part}-{weight}-normal.woff2")
            font.flavor = None
            parts.append(str(Path(folder) / f"{part}.ttf"))
            font.save(parts[-1])
        font = Merger().merge(parts)
    options = subset.Options()
    options.layout_features, options.hinting, options.glyph_names = [], False, False
    options.name_IDs, options.notdef_outline = [0, 1, 2, 4, 6, 13, 14], True
    wanted = [c for c in font.getBestCmap() if 0x20 <= c <= 0x17F or chr(c) in MORE]
    cut = subset.Subsetter(options)
    cut.populate(unicodes=wanted)
    cut.subset(font)
    names = {1: FAMILY, 2: style, 4: f"{FAMILY} {style}", 6: f"{FAMILY.replace(' ', '')}-{style}"}
    for record in font["name"].names:
        record.string = names.get(record.nameID, record.toUnicode())
    font["head"].created = font["head"].modified = 0
    font.recalcTimestamp = False
    font.save(out)


if __name__ == "__main__":
    made(Path(sys.argv[1]), 400, "Regular", sys.argv[2])
    made(Path(sys.argv[1]), 600, "SemiBold", sys.argv[3])
