"""The declarations of Android's newest API, read from the TypeScript file of npm's @nativescript/types-android.

TypeScript has one kind of number, so that `int` and `long` cannot be told apart; classes can. `@since` is there for
what is newer than the oldest version that file knows of.
"""

import pathlib
import re
from dataclasses import dataclass, field

OPENS = re.compile(r"(?:declare|export) (module|class|abstract class|interface) ([\w$]+)(.*)\{")
METHOD = re.compile(r"public (?:static )?([\w$]+)\((.*)\)\s*(?::|;)")
FIELD = re.compile(r"public (?:static )?([\w$]+):\s*(.*);")
SINCE = re.compile(r"@since (\d+)")


@dataclass
class Member:
    """One method or field; `args` is None for a field."""

    args: list[str] | None
    since: int
    value: str = ""


@dataclass
class Class:
    since: int
    ancestors: list[str] = field(default_factory=list)
    members: dict[str, list[Member]] = field(default_factory=dict)


def split(text: str) -> list[str]:
    """Divides at the commas that stand in no bracket."""
    parts, depth, begin = [], 0, 0
    for at, letter in enumerate(text):
        if letter in "(<{[":
            depth += 1
        elif letter in ")>}]":
            depth -= 1
        elif letter == "," and depth == 0:
            parts.append(text[begin:at])
            begin = at + 1
    return [part.strip() for part in [*parts, text[begin:]] if part.strip()]


class Declarations:
    def __init__(self, path: pathlib.Path) -> None:
        self.classes: dict[str, Class] = {}
        stack: list[tuple[str, str]] = []
        since = 0
        with path.open(encoding="utf-8") as lines:
            for line in lines:
                text = line.strip()
                depth = len(line) - len(line.lstrip("\t"))
                if text.startswith(("/**", "*")):
                    found = SINCE.search(text)
                    since = int(found.group(1)) if found else since
                    continue
                if text.startswith("public"):
                    if not text.endswith("{") and depth and len(stack) >= depth and stack[depth - 1][0] != "module":
                        self.member(".".join(name for _, name in stack[:depth]), text, since)
                    since = 0
                    continue
                opened = OPENS.match(text)
                if opened:
                    kind, name, rest = opened.groups()
                    stack = [*stack[:depth], (kind, name)]
                    if kind != "module":
                        self.type(".".join(name for _, name in stack), rest, since)
                    since = 0

    def type(self, name: str, rest: str, since: int) -> None:
        found = self.classes.setdefault(name, Class(since))
        extends = re.search(r"extends ([\w.$]+)", rest)
        implements = re.search(r"implements (.*)", rest)
        found.ancestors += [extends.group(1)] if extends else []
        found.ancestors += [part.split("<")[0] for part in split(implements.group(1))] if implements else []

    def member(self, owner: str, text: str, since: int) -> None:
        method = METHOD.match(text)
        if method:
            args = [part.split(":", 1)[-1].strip() for part in split(method.group(2))]
            name, member = method.group(1), Member(args, since)
        else:
            plain = FIELD.match(text)
            if not plain:
                return
            name, member = plain.group(1), Member(None, since, plain.group(2))
        self.classes[owner].members.setdefault(name, []).append(member)

    def find(self, owner: str, name: str, args: list[str] | None) -> Member | None:
        """The member of a class or of its nearest ancestor that has it; `args` as Java's classes, None for a field."""
        queue, done = [owner], set()
        while queue:
            at = queue.pop(0)
            if at in done or at not in self.classes:
                continue
            done.add(at)
            fitting = [m for m in self.classes[at].members.get(name, []) if fits(m.args, args)]
            if fitting:
                return max(fitting, key=lambda m: (alike(m.args, args), -m.since))
            queue += self.classes[at].ancestors
        return None


def plain(declared: str) -> str:
    return declared.split("|")[0].split("<")[0].strip()


def fits(declared: list[str] | None, used: list[str] | None) -> bool:
    if declared is None or used is None:
        return declared is None and used is None
    if len(declared) != len(used):
        return False
    # Only classes of the platform or of Java have the same name on both sides.
    for one, other in zip(map(plain, declared), used):
        if one.startswith(("android.", "java.")) and other.startswith(("android.", "java.")) and one != other:
            return False
    return True


def alike(declared: list[str] | None, used: list[str] | None) -> int:
    """How many arguments are surely the same: `any` fits everything."""
    return sum(one == other for one, other in zip(map(plain, declared or []), used or []))


def arguments(descriptor: str) -> list[str] | None:
    """The arguments of a JVM descriptor as names of classes; None for a field's."""
    if not descriptor.startswith("("):
        return None
    args, at = [], 1
    while descriptor[at] != ")":
        begin = at
        while descriptor[at] == "[":
            at += 1
        if descriptor[at] == "L":
            at = descriptor.index(";", at)
        at += 1
        word = descriptor[begin:at]
        args.append(word[1:-1].replace("/", ".").replace("$", ".") if word.startswith("L") else word)
    return args
