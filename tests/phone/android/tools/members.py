"""Holds the platform members that our Kotlin uses, and those that we add by hand to the old framework jar, against
the declarations of the newest API; and the newer ones against the list of those that are guarded.

usage: members.py DECLARATIONS MEMBERS.tsv GUARDED.txt MIN_SDK
"""

import pathlib
import sys

from declarations import Declarations, arguments


def dotted(name: str) -> str:
    return name.replace("/", ".").replace("$", ".")


def additions(declared: Declarations, rows: list[list[str]]) -> list[str]:
    faults, right = [], 0
    for owner, name, descriptor, value in rows:
        owner = dotted(owner)
        if name == "class":
            if owner in declared.classes:
                right += 1
            else:
                faults.append(f"stubs/platform.txt: there is no class {owner} in the newest API; take it out")
            continue
        member = declared.find(owner, "constructor" if name == "<init>" else name, arguments(descriptor))
        if member is None:
            faults.append(f"stubs/platform.txt: {owner} has no {name}{descriptor} in the newest API; take it out")
        elif value not in ("-", "null") and member.value.strip('"') != value.strip('"'):
            faults.append(f"stubs/platform.txt: {owner}.{name} is {member.value}, not {value}; set it right")
        else:
            right += 1
    print(f"additions to the old framework: {right} as the newest API has them")
    return faults


def newer(declared: Declarations, rows: list[list[str]], oldest: int) -> tuple[dict[tuple[str, str, str], bool], list[str], int]:
    """Uses of what is newer than the oldest phone: (member, since, class) and whether each is guarded."""
    found: dict[tuple[str, str, str], bool] = {}
    faults, count = [], 0
    for user, owner, name, descriptor, guard in rows:
        count += 1
        owner, place = dotted(owner), user.split("/")[-1].split("$")[0]
        known = declared.classes.get(owner)
        if known is None:
            faults.append(f"{place}: {owner} is not in the newest API; use what is")
            continue
        since = known.since
        if name != "class":
            member = declared.find(owner, "constructor" if name == "<init>" else name, arguments(descriptor))
            implicit = name == "<init>" and descriptor == "()V"
            if member is None and not implicit:
                faults.append(f"{place}: {owner} has no {name}{descriptor} in the newest API; use what it has")
                continue
            since = max(since, member.since if member else 0)
        if since > oldest:
            key = (owner if name in ("class", "<init>") else f"{owner}.{name}", str(since), place)
            found[key] = found.get(key, True) and guard == "guarded"
    return found, faults, count


def main() -> int:
    declarations, table, list_path, oldest = sys.argv[1:5]
    declared = Declarations(pathlib.Path(declarations))
    rows = [line.split("\t") for line in pathlib.Path(table).read_text(encoding="utf-8").splitlines()]
    faults = additions(declared, [row[1:] for row in rows if row[0] == "declares"])
    found, more, count = newer(declared, [row[1:] for row in rows if row[0] == "uses"], int(oldest))
    faults += more
    text = pathlib.Path(list_path).read_text(encoding="utf-8")
    listed = {tuple(line.split()) for line in text.splitlines() if line.strip() and not line.startswith("#")}
    for key in sorted(found.keys() - listed):
        faults.append(f"{key[2]}: {key[0]} is newer than API {oldest} (since {key[1]}); ask Build.VERSION.SDK_INT first "
                      f"and add the line to {list_path}:  {' '.join(key)}")
    for key in sorted(listed - found.keys()):
        faults.append(f"{list_path}: nothing uses {' '.join(key)} any more; take the line out")
    for key, is_guarded in sorted(found.items()):
        if not is_guarded:
            faults.append(f"{key[2]}: {key[0]} is used in a method that does not ask Build.VERSION.SDK_INT (since {key[1]})")
    print(f"platform: {count} uses, {len(found)} of what is newer than API {oldest}, each behind a question for the version")
    for fault in faults:
        print(f"FAULT {fault}")
    return 1 if faults else 0


sys.exit(main())
