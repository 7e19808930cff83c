"""Splits a listing into the Java files that it holds: `### path` begins one, its package is its folder.

usage: files.py LISTING FOLDER
"""

import pathlib
import sys


def main() -> None:
    listing, folder = map(pathlib.Path, sys.argv[1:3])
    files: dict[pathlib.Path, list[str]] = {}
    lines: list[str] = []
    for line in listing.read_text(encoding="utf-8").splitlines(keepends=True):
        if line.startswith("### "):
            path = pathlib.PurePosixPath(line[4:].strip())
            lines = files.setdefault(folder / path, [f"package {'.'.join(path.parent.parts)};\n"])
        elif files:
            lines.append(line)
    for path, text in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(text), encoding="utf-8")


main()
