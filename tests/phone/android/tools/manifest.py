"""Joins the two manifests and the resources as Gradle would, holds them against the newest API's names, and lays
them out for `aapt`, which knows attributes up to API 29.

usage: manifest.py DECLARATIONS APP_PROJECT PHONE_MODULE WORDS TAURI_CONF OUT
"""

import json
import pathlib
import re
import shutil
import sys
import xml.etree.ElementTree as ET

from declarations import Declarations

ANDROID = "http://schemas.android.com/apk/res/android"
TOOLS = "http://schemas.android.com/tools"
NAME = f"{{{ANDROID}}}name"
NODE = f"{{{TOOLS}}}node"
# The newest attributes that the packager of Debian knows.
PACKAGER_API = 29
# What the app may ask for. Another one is a decision, and is made here; the network is none of them.
PERMISSIONS = {
    "FOREGROUND_SERVICE",
    "FOREGROUND_SERVICE_MEDIA_PLAYBACK",
    "POST_NOTIFICATIONS",
    "VIBRATE",
    "WAKE_LOCK",
}
# The folder of each language's words, and the message file whose words they are.
LANGUAGES = {"values": "en-US", "values-en-rGB": "en-GB", "values-b+es+419": "es-419", "values-es-rES": "es-ES"}

faults: list[str] = []


def fault(place: pathlib.Path, what: str) -> None:
    faults.append(f"{place}: {what}")


def tree(path: pathlib.Path) -> ET.Element:
    return ET.parse(path, ET.XMLParser(target=ET.TreeBuilder(insert_comments=True))).getroot()


def reasons(path: pathlib.Path, root: ET.Element) -> None:
    """Each permission has its reason in a comment right before it."""
    before = None
    for child in root:
        if child.tag == "uses-permission" and child.get(NODE) != "remove" and (before is None or before.tag is not ET.Comment):
            fault(path, f"{child.get(NAME)} stands there without its reason; write a comment before it")
        before = child


def joined(app: ET.Element, module: ET.Element) -> ET.Element:
    """The module's permissions and components in the app's manifest. What is to be removed is not there."""
    target = app.find("application")
    assert target is not None
    for child in module:
        if child.tag == "application":
            target.extend(child)
        elif child.tag is not ET.Comment:
            app.append(child)
    removed = {child.get(NAME) for child in app if child.get(NODE) == "remove"}
    for child in list(app):
        if child.get(NAME) in removed:
            app.remove(child)
    return app


def permissions(path: pathlib.Path, root: ET.Element, declared: Declarations) -> None:
    known = declared.classes["android.Manifest.permission"].members
    asked = set()
    for child in root.iter("uses-permission"):
        name = (child.get(NAME) or "").removeprefix("android.permission.")
        asked.add(name)
        if name not in known:
            fault(path, f"{child.get(NAME)} is no permission of Android; see android.Manifest.permission")
    if asked != PERMISSIONS:
        fault(path, f"asks for {sorted(asked)}, decided were {sorted(PERMISSIONS)} (PERMISSIONS of tools/manifest.py)")


def names(path: pathlib.Path, root: ET.Element, attributes: dict) -> None:
    """Every android: attribute is one of the newest API; those that the packager cannot know are left out for it."""
    for node in root.iter():
        for key in list(node.attrib):
            if not key.startswith(f"{{{ANDROID}}}"):
                continue
            name = key.split("}")[1]
            if name not in attributes:
                fault(path, f"android:{name} is no attribute of Android; see android.R.attr")
            elif attributes[name][0].since > PACKAGER_API:
                del node.attrib[key]
        for item in list(node):
            name = (item.get("name") or "").removeprefix("android:")
            if item.tag != "item" or not (item.get("name") or "").startswith("android:"):
                continue
            if name not in attributes:
                fault(path, f"android:{name} is no attribute of Android; see android.R.attr")
            elif attributes[name][0].since > PACKAGER_API:
                node.remove(item)


def write(root: ET.Element, path: pathlib.Path) -> None:
    for node in root.iter():
        for key in list(node.attrib):
            if key.startswith(f"{{{TOOLS}}}"):
                del node.attrib[key]
    path.parent.mkdir(parents=True, exist_ok=True)
    ET.ElementTree(root).write(path, encoding="utf-8", xml_declaration=True)


def strings(folder: pathlib.Path) -> dict[str, str]:
    return {node.get("name", ""): node.text or "" for node in tree(folder / "strings.xml").iter("string")}


def words(res: pathlib.Path, messages: pathlib.Path) -> None:
    """The same words in each language, and the start is called as the screen calls it."""
    folders = {path.parent.name for path in res.glob("values*/strings.xml")}
    if folders != LANGUAGES.keys():
        fault(res, f"has words in {sorted(folders)}, wanted {sorted(LANGUAGES)}")
    first = strings(res / "values")
    for folder in sorted(folders & LANGUAGES.keys()):
        here = strings(res / folder)
        if here.keys() != first.keys():
            fault(res / folder, f"has {sorted(here)}, `values` has {sorted(first)}")
        file = messages / f"{LANGUAGES[folder]}.ftl"
        start = re.search(r"^act-start_by_hand = (.+)$", file.read_text(encoding="utf-8"), re.MULTILINE)
        if start is None or here.get("phone_start") != start.group(1).strip():
            fault(res / folder, f"phone_start is {here.get('phone_start')!r}, {file.name} says {start and start.group(1)!r}")


def versions(conf: pathlib.Path, *builds: pathlib.Path) -> int:
    """The oldest phone, said the same everywhere."""
    oldest = json.loads(conf.read_text(encoding="utf-8"))["bundle"]["android"]["minSdkVersion"]
    for build in builds:
        said = re.search(r"minSdk = (\d+)", build.read_text(encoding="utf-8"))
        if said is None or int(said.group(1)) != oldest:
            fault(build, f"minSdk is {said and said.group(1)}, {conf.name} says {oldest}")
    return oldest


def backups(path: pathlib.Path, root: ET.Element) -> None:
    """Records stay on the phone."""
    app = root.find("application")
    wanted = {
        "allowBackup": "false",
        "fullBackupContent": "@xml/full_backup",
        "dataExtractionRules": "@xml/data_extraction_rules",
        "usesCleartextTraffic": "false",
    }
    for name, value in wanted.items():
        if app is None or app.get(f"{{{ANDROID}}}{name}") != value:
            fault(path, f"android:{name} is not {value}")


def main() -> int:
    declarations, project, module, messages, conf, out = map(pathlib.Path, sys.argv[1:7])
    for prefix, uri in (("android", ANDROID), ("tools", TOOLS)):
        ET.register_namespace(prefix, uri)
    declared = Declarations(declarations)
    attributes = declared.classes["android.R.attr"].members
    oldest = versions(conf, project / "app/build.gradle.kts", module / "build.gradle.kts")
    app_path, module_path = project / "app/src/main/AndroidManifest.xml", module / "src/main/AndroidManifest.xml"
    app, phone = tree(app_path), tree(module_path)
    reasons(app_path, app)
    reasons(module_path, phone)
    backups(app_path, app)
    root = joined(app, phone)
    permissions(module_path, root, declared)
    names(app_path, root, attributes)
    shutil.rmtree(out, ignore_errors=True)
    write(root, out / "AndroidManifest.xml")
    text = (out / "AndroidManifest.xml").read_text(encoding="utf-8")
    text = text.replace("${applicationId}", "org.carrybeat.app").replace("<manifest ", '<manifest package="org.carrybeat.app" ', 1)
    (out / "AndroidManifest.xml").write_text(text, encoding="utf-8")
    for name, res in (("app", project / "app/src/main/res"), ("phone", module / "src/main/res")):
        for path in sorted(res.rglob("*.xml")):
            root = tree(path)
            names(path, root, attributes)
            write(root, out / name / path.relative_to(res))
    # The ancestor of our theme lies in a library that is not here.
    theme = ET.fromstring('<resources><style name="Theme.AppCompat.NoActionBar" parent="android:Theme.Material.NoActionBar"/></resources>')
    write(theme, out / "library/values/themes.xml")
    words(module / "src/main/res", messages)
    (out / "oldest").write_text(str(oldest), encoding="utf-8")
    print(f"manifests: {len(PERMISSIONS)} permissions with their reasons, none of the network; oldest phone API {oldest}")
    for line in faults:
        print(f"FAULT {line}")
    return 1 if faults else 0


sys.exit(main())
