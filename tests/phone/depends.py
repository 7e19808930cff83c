"""Holds the libraries that a program is linked with against the packages that its own package asks for.

    python3 depends.py PROGRAM "libasound2, libgtk-3-0"

Exit 1 and a line for each library whose package is not among them or what they ask for in turn.
"""

import re
import subprocess
import sys
from pathlib import Path


def names(depends: str) -> list[str]:
    """The packages of a Depends line; of alternatives all."""
    return [re.match(r"\s*([a-z0-9.+-]+)", part)[1] for part in re.split("[,|]", depends) if part.strip()]


def needed(program: str) -> list[Path]:
    """The libraries that the loader finds for what the program itself names."""
    dynamic = subprocess.run(["readelf", "-d", program], check=True, capture_output=True, text=True).stdout
    own = set(re.findall(r"\(NEEDED\).*\[(.+)\]", dynamic))
    found = subprocess.run(["ldd", program], check=True, capture_output=True, text=True).stdout
    return [Path(path).resolve() for name, path in re.findall(r"(\S+) => (/\S+)", found) if name in own]


def owner(library: Path) -> str | None:
    for path in (library, Path("/usr") / library.relative_to("/"), Path(str(library).removeprefix("/usr"))):
        answer = subprocess.run(["dpkg", "-S", str(path)], capture_output=True, text=True)
        if answer.returncode == 0:
            return answer.stdout.split(":")[0]
    return None


def main() -> int:
    program, depends = sys.argv[1:]
    listed = subprocess.run(
        ["dpkg-query", "-W", "-f", "${Package}\t${Depends}, ${Pre-Depends}\t${Provides}\n"],
        check=True, capture_output=True, text=True,
    ).stdout
    asks: dict[str, list[str]] = {}
    for line in listed.splitlines():
        package, wants, provides = line.split("\t")
        asks[package] = names(wants)
        for other in names(provides):
            asks.setdefault(other, [package])
    reached: set[str] = set()
    open_ = names(depends)
    while open_:
        package = open_.pop()
        if package not in reached:
            reached.add(package)
            open_.extend(asks.get(package, []))
    # The C library is on every system.
    missing = [(lib.name, own) for lib in needed(program) if (own := owner(lib)) not in reached | {"libc6"}]
    for library, package in missing:
        print(f"{library} is in {package}, which nothing in \"{depends}\" asks for")
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
