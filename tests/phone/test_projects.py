"""What the phones' own tools will read, read here: plists against a list of all that may stand in them, pictures,
words, the launch screen, the settings, the workflow of the public CI.
"""

import json
import plistlib
import re
import struct
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
APPLE = ROOT / "src-tauri/gen/apple"
PHONE = ROOT / "src-tauri/crates/phone/src"
LISTED = json.loads((Path(__file__).parent / "plists.json").read_text())
LANGUAGES = {"en": "en-US", "en-GB": "en-GB", "es": "es-ES", "es-419": "es-419"}


def strays(value, allowed, at: str) -> list[str]:
    """What of a value is not allowed. A dictionary may hold the listed keys, a list the listed values; where a list
    of dictionaries is allowed its one entry says what each may hold; a lone value may be the listed one or one of a
    list."""
    if isinstance(value, dict):
        if not isinstance(allowed, dict):
            return [f"{at}: a dictionary, allowed is {allowed}"]
        found = [f"{at}: {key} is not listed" for key in value if key not in allowed]
        return found + [f for key in value if key in allowed for f in strays(value[key], allowed[key], f"{at}: {key}")]
    if isinstance(value, list):
        if not isinstance(allowed, list):
            return [f"{at}: a list, allowed is {allowed}"]
        if allowed and isinstance(allowed[0], dict):
            return [f for i, entry in enumerate(value) for f in strays(entry, allowed[0], f"{at}[{i}]")]
        return [f"{at}: {entry} is not listed" for entry in value if entry not in allowed]
    among = allowed if isinstance(allowed, list) else [allowed]
    is_listed = any(value == one and type(value) is type(one) for one in among)
    return [] if is_listed else [f"{at}: {value} is not listed"]


@pytest.mark.parametrize("name", LISTED)
def test_a_plist_holds_what_is_listed_and_nothing_else(name: str) -> None:
    found = plistlib.loads((ROOT / name).read_bytes())
    assert strays(found, LISTED[name], name) == []
    missing = [key for key in LISTED[name] if key not in found]
    assert missing == [], f"listed, but not in {name}"


@pytest.mark.parametrize("name", LISTED)
def test_every_entry_says_why_it_is_there(name: str) -> None:
    lines = (ROOT / name).read_text().splitlines()
    tops = [i for i, line in enumerate(lines) if line.startswith("\t<key>")]
    assert len(tops) == len(LISTED[name])
    bare = [lines[i].strip() for i in tops if not lines[i - 1].strip().endswith("-->")]
    assert bare == [], f"{name}: no comment above"


@pytest.mark.parametrize(
    "planted",
    [
        {"NSMicrophoneUsageDescription": "to hear"},
        {"NSLocalNetworkUsageDescription": "to send"},
        {"NSAppTransportSecurity": {"NSAllowsArbitraryLoads": True}},
        {"UIBackgroundModes": ["audio", "location"]},
        {"UIRequiresFullScreen": 1},
        {"CFBundleURLTypes": [{"CFBundleURLSchemes": ["http"]}]},
        {"CFBundleURLTypes": [{"CFBundleURLIconFile": "x"}]},
        {"UIApplicationShortcutItems": "org.carrybeat.app.start"},
        {"ITSAppUsesNonExemptEncryption": True},
    ],
    ids=lambda planted: next(iter(planted)),
)
def test_what_is_not_listed_is_found(planted: dict) -> None:
    name = "src-tauri/Info.ios.plist"
    good = plistlib.loads((ROOT / name).read_bytes())
    assert len(strays(good | planted, LISTED[name], name)) == 1


def test_the_plists_name_what_the_code_answers_to() -> None:
    info = plistlib.loads((ROOT / "src-tauri/Info.ios.plist").read_bytes())
    scheme = re.search(r'const SCHEME: &str = "(.+)";', (PHONE / "begin.rs").read_text())[1]
    assert info["CFBundleURLTypes"][0]["CFBundleURLSchemes"] == [scheme]
    kind = re.search(r'const START_SHORTCUT: &str = "(.+)";', (PHONE / "ios/watch.rs").read_text())[1]
    assert info["UIApplicationShortcutItems"][0]["UIApplicationShortcutItemType"] == kind


def test_the_shortcut_has_the_words_of_the_app_in_every_language() -> None:
    folders = sorted(path.name for path in (APPLE / "carrybeat_iOS").glob("*.lproj"))
    assert folders == sorted(f"{tag}.lproj" for tag in LANGUAGES)
    for tag, ours in LANGUAGES.items():
        strings = (APPLE / f"carrybeat_iOS/{tag}.lproj/InfoPlist.strings").read_text()
        message = (ROOT / f"src-tauri/crates/words/text/{ours}.ftl").read_text()
        said = re.findall(r'^"(\w+)" = "(.+)";$', strings, re.M)
        key = re.search(r"^act-start_by_hand = (.+)$", message, re.M)[1]
        assert said == [("start_by_hand", key)], tag


def test_every_icon_is_there_in_its_size_and_without_transparency() -> None:
    folder = APPLE / "Assets.xcassets/AppIcon.appiconset"
    images = json.loads((folder / "Contents.json").read_text())["images"]
    listed = [image["filename"] for image in images]
    assert sorted(listed) == sorted(path.name for path in folder.glob("*.png"))
    for image in images:
        data = (folder / image["filename"]).read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        width, height, _, colour = struct.unpack(">IIBB", data[16:26])
        side = round(float(image["size"].split("x")[0]) * int(image["scale"][0]))
        assert (width, height) == (side, side), image
        assert colour == 2, f"{image['filename']}: iOS wants no transparency"


def test_the_launch_screen_is_one_dark_view() -> None:
    tree = ET.parse(APPLE / "LaunchScreen.storyboard")
    assert [view.get("key") for view in tree.iter("view")] == ["view"]
    assert not list(tree.iter("label")) + list(tree.iter("imageView"))
    colour = next(tree.iter("color"))
    rgb = [round(255 * float(colour.get(part))) for part in ("red", "green", "blue")]
    tokens = (ROOT / "ui/src/tokens.css").read_text()
    grounds = re.findall(r"--ground:\s*#([0-9a-f]{6})", tokens, re.I)
    assert "".join(f"{part:02x}" for part in rgb) in [ground.lower() for ground in grounds]


# Each crate of Apple's calls is one framework, which the project has to link by name.
FRAMEWORKS = {
    "objc2-avf-audio": "AVFAudio",
    "objc2-call-kit": "CallKit",
    "objc2-core-haptics": "CoreHaptics",
    "objc2-core-motion": "CoreMotion",
    "objc2-foundation": "Foundation",
    # In the project's own template.
    "objc2-ui-kit": None,
}


def test_the_project_links_what_the_code_calls() -> None:
    manifest = (ROOT / "src-tauri/crates/phone/Cargo.toml").read_text()
    crates = set(re.findall(r"^(objc2-[a-z-]+)", manifest, re.M))
    assert crates == set(FRAMEWORKS)
    config = json.loads((ROOT / "src-tauri/tauri.conf.json").read_text())
    linked = config["bundle"]["iOS"]["frameworks"]
    # The sound device's own crate, cpal, calls the first two.
    wanted = {"AudioToolbox", "CoreAudio"} | {name for name in FRAMEWORKS.values() if name}
    assert set(linked) == wanted
    assert linked == sorted(linked)


def test_one_oldest_version_of_ios_is_named_everywhere() -> None:
    config = json.loads((ROOT / "src-tauri/tauri.conf.json").read_text())
    oldest = config["bundle"]["iOS"]["minimumSystemVersion"]
    checked = re.search(r"IPHONEOS_DEPLOYMENT_TARGET=(\S+)", (ROOT / "tools/phones.sh").read_text())[1]
    said = re.search(r"iOS (\d+\.\d+) or newer", (ROOT / "docs/phones-ios.md").read_text())[1]
    assert oldest == checked == said


WORKFLOW = ROOT / ".github/workflows/phones.yml"


def test_the_workflow_says_first_that_it_was_not_run() -> None:
    assert WORKFLOW.read_text().splitlines()[0].startswith("# Not run:")


def test_the_workflow_builds_both_phones_from_what_is_here() -> None:
    # YAML reads a bare `on` as true.
    flow = yaml.safe_load(WORKFLOW.read_text())
    assert set(flow) == {"name", True, "permissions", "env", "jobs"}
    assert flow["permissions"] == {"contents": "read"}
    assert set(flow["jobs"]) == {"android", "ios"}
    said = []
    for name, job in flow["jobs"].items():
        assert set(job) <= {"runs-on", "timeout-minutes", "steps", "env"}, name
        for step in job["steps"]:
            assert set(step) <= {"name", "uses", "run", "with", "env", "working-directory"}, step
            assert ("uses" in step) != ("run" in step), step
            if "uses" in step:
                assert re.fullmatch(r"[\w-]+/[\w-]+@v\d+(\.\d+)*", step["uses"]), step["uses"]
            said.append(step.get("run", ""))
    assert "secrets" not in WORKFLOW.read_text()
    commands = "\n".join(said)
    for phone in ("android", "ios"):
        assert re.search(rf"tauri {phone} build", commands), phone
    for path in re.findall(r"(?:^|\s)((?:tools|tests|ui|src-tauri)/[\w./-]+)", commands):
        # What npm lays is there once its list of packages is.
        path = re.sub(r"/node_modules/.+", "/package-lock.json", path)
        assert (ROOT / path).exists(), path
    for job in flow["jobs"].values():
        for step in job["steps"]:
            assert (ROOT / step.get("working-directory", ".")).is_dir(), step
    comments = " ".join(re.findall(r"#.*", WORKFLOW.read_text()))
    named = re.findall(r"\b(?:docs|tools|tests|ui|src-tauri)/[\w./-]*\w", comments)
    assert "docs/phones.md" in named
    for path in named:
        assert (ROOT / path).exists(), path
    channel = re.search(r'channel = "(.+)"', (ROOT / "rust-toolchain.toml").read_text())[1]
    assert flow["env"]["RUST_TOOLCHAIN"] == channel


def test_the_android_job_brings_the_command_line_that_gradle_calls() -> None:
    (task,) = (ROOT / "src-tauri/gen/android/buildSrc").rglob("BuildTask.kt")
    called = re.search(r'runTauriCli\("(\S+)"\)', task.read_text())[1]
    steps = yaml.safe_load(WORKFLOW.read_text())["jobs"]["android"]["steps"]
    said = [step.get("run", "") for step in steps]
    # `cargo tauri` is a program of its own, which npm does not lay where cargo looks.
    assert called == "cargo"
    install = r"cargo install tauri-cli --version '\^([\d.]+)' --locked"
    brought = [n for n, run in enumerate(said) if re.search(install, run)]
    built = [n for n, run in enumerate(said) if "tauri android build" in run]
    assert len(brought) == len(built) == 1
    assert brought < built
    # The variable of `src-tauri/.cargo/config.toml` holds for cargo in that folder only.
    assert steps[built[0]].get("working-directory") == "src-tauri"
    version = re.search(install, said[brought[0]])[1]
    app = re.search(r'^tauri = \{ version = "([\d.]+)"', (ROOT / "Cargo.toml").read_text(), re.M)[1]
    page = (ROOT / "docs/phones.md").read_text()
    assert version == app == re.search(install, page)[1]
