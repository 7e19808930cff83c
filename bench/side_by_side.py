#!/usr/bin/env python3
"""The beat of the app's own speaker beside the same beat in other players, captured the same way.

    side_by_side.py run --probe BEAT_PROBE --peers PEERS [--seconds 15] [--repeats 3] [--out FILE]
    side_by_side.py table [--write | --check] [--out FILE]

Every player plays `sounds/tones/beat.wav` at 110 a minute into a sound server of its own; what its null
sink is given is recorded and held against the exact grid, the phase set once by the first ten beats: of the
sink's own clock, by which a sample is a sample, and of the boot clock, of which the sink is off by some
tens of millionths, for each player by others, as the server cuts its blocks. `run` goes through troubles, repeats
and players, interleaved, and appends a line of JSON for each to FILE (docs/side_by_side.jsonl); what is there
already is not measured again, so it can be broken off. Nothing else should run meanwhile. `table` makes the
tables of docs/side_by_side.md from that file: to be read, written into the page, or held against it.

Needs pulseaudio, parec, Xvfb, Chromium and WebKitGTK's MiniBrowser, and the packages of
tests/py/requirements.txt; BEAT_PROBE is `cargo build --release -p audio --example beat_probe`, PEERS
`cargo build --release -p peers` here.
"""
import argparse
import base64
import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests/py"))
from beat_grid import figures  # noqa: E402
from onsets import RATE, find_tones, load, load_tones, stretch  # noqa: E402

TONE = ROOT / "sounds/tones/beat.wav"
PER_MINUTE = 110
SETTLE_S = 7
MINI = "/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser"
PLAYERS = ("carrybeat", "rodio-loop", "rodio-loop-short", "rodio-timer", "kira-clock", "kira-timer", "sleep",
           "chromium-lookahead", "chromium-interval", "webkit-lookahead", "webkit-interval")
TROUBLES = ("idle", "cores full", "crowd", "memory and disk", "stalls")
# Busy programs for each core where a crowd is wanted: so many that a player waits longer than its buffer lasts.
CROWD = 40
PAGE = ROOT / "docs/side_by_side.md"
BEGIN, END = "<!-- tables -->", "<!-- end -->"
TICK = os.sysconf("SC_CLK_TCK")


class World:
    """A display, a home and a sound server of their own."""

    def __enter__(self):
        self.folder = Path(tempfile.mkdtemp(prefix="carrybeat-peers-"))
        self.helpers = []
        run = self.folder / "run"
        run.mkdir(mode=0o700)
        socket = run / "pulse.socket"
        (self.folder / "alsa.conf").write_text(
            "</usr/share/alsa/alsa.conf>\npcm.!default { type pulse }\nctl.!default { type pulse }\n",
            encoding="ascii")
        self.env = {**os.environ, "HOME": str(self.folder), "XDG_RUNTIME_DIR": str(run),
                    "PULSE_SERVER": f"unix:{socket}", "ALSA_CONFIG_PATH": str(self.folder / "alsa.conf"),
                    "GDK_BACKEND": "x11", "NO_AT_BRIDGE": "1", "LIBGL_ALWAYS_SOFTWARE": "1"}
        self.start("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
                   "-L", "module-null-sink sink_name=out rate=48000 channels=2",
                   "-L", f"module-native-protocol-unix socket={socket} auth-anonymous=1")
        display = self.folder / "display"
        with display.open("w") as out:
            self.helpers.append(subprocess.Popen(
                ["Xvfb", "-displayfd", str(out.fileno()), "-screen", "0", "800x600x24", "-nolisten", "tcp"],
                pass_fds=[out.fileno()], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL))
        if not until(lambda: socket.exists() and display.read_text().strip()):
            self.__exit__()
            sys.exit("sound server and display: not there after 20 s")
        self.env["DISPLAY"] = ":" + display.read_text().strip()
        return self

    def start(self, *command):
        said = (self.folder / f"said.{Path(command[0]).name}").open("ab")
        child = subprocess.Popen(command, env=self.env, stdout=said, stderr=said, start_new_session=True)
        self.helpers.append(child)
        return child

    def first(self):
        """The sound server and the recording before everyone else, as a phone's server is: players alone wait."""
        for child in self.helpers[:1] + self.helpers[2:]:
            for pid in [child.pid, *tree(child.pid)]:
                for task in Path(f"/proc/{pid}/task").iterdir():
                    with contextlib.suppress(ProcessLookupError):
                        os.sched_setscheduler(int(task.name), os.SCHED_RR, os.sched_param(5))

    def __exit__(self, *_):
        for child in reversed(self.helpers):
            for pid in [*tree(child.pid), child.pid]:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            child.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


def until(true, seconds=20):
    """Waits for it; whether it came."""
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.05)
    return bool(true())


def tree(pid):
    """The children of a process, and theirs."""
    out = []
    with contextlib.suppress(OSError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                out += [int(child), *tree(int(child))]
    return out


def cpu_s(pids):
    """Processor time of all of them so far, s."""
    total = 0
    for pid in pids:
        with contextlib.suppress(OSError):
            fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
            total += int(fields[11]) + int(fields[12])
    return total / TICK


def command(player, args, folder, seconds):
    if player == "carrybeat":
        return [args.probe, str(seconds), str(PER_MINUTE)]
    browser, _, way = player.partition("-")
    if browser not in ("chromium", "webkit"):
        return [args.peers, player, str(seconds), str(PER_MINUTE), str(TONE)]
    page = (ROOT / "bench/peers/page.html").read_text(encoding="utf-8")
    page = page.replace("TONE\"", base64.b64encode(TONE.read_bytes()).decode() + "\"")
    page = page.replace("/ PER_MINUTE", f"/ {PER_MINUTE}").replace("WAY", way)
    path = folder / f"{player}.html"
    path.write_text(page, encoding="utf-8")
    if browser == "chromium":
        return ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu",
                "--autoplay-policy=no-user-gesture-required", f"--user-data-dir={folder}/profile",
                path.as_uri()]
    return [MINI, "--autoplay-policy=allow", path.as_uri()]


@contextlib.contextmanager
def trouble(kind, pid, folder):
    """What is done to the machine or to the player, until the block ends."""
    over, helpers = threading.Event(), []

    def stalls():
        # The first ten beats set the grid's phase.
        over.wait(6.7)
        while not over.is_set():
            pids = [pid, *tree(pid)]
            for one in pids:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(one, signal.SIGSTOP)
            time.sleep(0.3)
            for one in pids:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(one, signal.SIGCONT)
            over.wait(6.7)

    if kind == "cores full":
        helpers = [subprocess.Popen(["sh", "-c", "while :; do :; done"]) for _ in range(os.cpu_count())]
    elif kind == "crowd":
        # Each in a session of its own: a kernel that groups by sessions would have all of them share one turn.
        helpers = [subprocess.Popen(["sh", "-c", "while :; do :; done"], start_new_session=True)
                   for _ in range(CROWD * os.cpu_count())]
    elif kind == "memory and disk":
        churn = "import os,sys\nb=bytearray(256<<20)\nwhile 1:\n b[::4096]=os.urandom(len(b)>>12)\n"
        write = f"while :; do dd if=/dev/zero of={folder}/big bs=1M count=256 conv=fsync 2>/dev/null; done"
        helpers = [subprocess.Popen([sys.executable, "-c", churn]) for _ in range(2)]
        helpers.append(subprocess.Popen(["sh", "-c", write], start_new_session=True))
    thread = threading.Thread(target=stalls) if kind == "stalls" else None
    if thread:
        thread.start()
    try:
        yield
    finally:
        over.set()
        if thread:
            thread.join()
        for child in helpers:
            for one in [*tree(child.pid), child.pid]:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(one, signal.SIGKILL)
            child.wait()


def measure(player, kind, args):
    seconds = SETTLE_S + args.seconds
    with World() as world:
        wav = world.folder / "heard.wav"
        capture = world.start(sys.executable, str(ROOT / "tests/py/capture.py"), "out.monitor", str(wav))
        if not until(wav.exists):
            sys.exit("the recording: not there after 20 s")
        time.sleep(1)
        if kind == "crowd":
            world.first()
        child = world.start(*command(player, args, world.folder, seconds + 10))
        time.sleep(SETTLE_S)
        pids = [child.pid, *tree(child.pid)]
        before, begun = cpu_s(pids), time.monotonic()
        with trouble(kind, child.pid, world.folder):
            time.sleep(args.seconds)
        spent = (cpu_s(pids) - before) / (time.monotonic() - begun)
        capture.send_signal(signal.SIGINT)
        capture.wait()
        said = (world.folder / f"said.{Path(child.args[0]).name}").read_text(errors="replace")
        return {**judge(wav), "cpu_percent": round(100 * spent, 2)}, said


def judge(wav):
    """When each beat came, ms of the recording, and how fast that ran."""
    tone = {"beat": load_tones(TONE.parent)["beat"]}
    sound = load(str(wav))
    beats = find_tones(sound, tone, kinds=("beat",))
    at = np.array([b["at"] for b in beats]) * 1000 / RATE
    if len(at) < 15:
        return {"fault": f"{len(at)} beats: too few to be judged"}
    pace, _ = stretch(str(wav))
    at = at[at >= at[0] + 1000 * (SETTLE_S - 1)]
    # A player that falls silent misses all that was due until the recording's end, but for a beat cut there.
    until = 1000 * len(sound) / RATE - at[0] - 200
    return {"pace_ppm": round(1e6 * (pace - 1), 1), "until_ms": round(until), "at_ms": [round(float(t - at[0]), 3) for t in at]}


def errors(row, pace_ppm):
    """How far each beat is from the exact grid, ms, and its place on it. The phase is set by the first ten."""
    at = np.array(row["at_ms"]) * (1 + pace_ppm / 1e6)
    return figures(at, 60_000 / PER_MINUTE)


def machine():
    """Processor, cores, kernel and the commit that is measured."""
    kernel = ".".join(os.uname().release.split(".")[:2])
    model = next(line.split(":")[1].strip() for line in Path("/proc/cpuinfo").read_text().splitlines()
                 if line.startswith("model name"))
    commit = subprocess.run(["git", "-C", str(ROOT), "rev-parse", "--short", "HEAD"], capture_output=True,
                            text=True, check=True).stdout.strip()
    virtual = "virtual machine, " if " hypervisor" in Path("/proc/cpuinfo").read_text() else ""
    return {"machine": f"{model}, {os.cpu_count()} cores, {virtual}Linux {kernel}", "commit": commit}


def known(out):
    if not out.exists():
        return []
    return [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]


def run(args):
    # What could not be judged is measured again.
    done = {(r["player"], r["trouble"], r["repeat"], r["seconds"]) for r in known(args.out) if "fault" not in r}
    for repeat in range(args.repeats):
        for kind in args.troubles.split(","):
            for player in args.players.split(","):
                if (player, kind, repeat, args.seconds) in done:
                    continue
                load = os.getloadavg()[0]
                found, said = measure(player, kind, args)
                row = {"player": player, "trouble": kind, "repeat": repeat, "seconds": args.seconds, **found,
                       "load": round(load, 2), **machine(), "date": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")}
                with args.out.open("a", encoding="utf-8") as out:
                    out.write(json.dumps(row) + "\n")
                print(json.dumps(row), flush=True)
                if "fault" in found:
                    print(said[-2000:], file=sys.stderr)


def cells(rows):
    """Of each player and trouble the figures of each capture, and of each player and machine the sink's pace, ppm."""
    # The server cuts its blocks by what a player asks for, and rounds them: each player's sink has a pace of its own.
    measured = {}
    for row in rows:
        measured.setdefault((row["player"], row["machine"]), []).append(row["pace_ppm"])
    paces = {key: float(np.median(paces)) for key, paces in measured.items()}
    found = {}
    for row in rows:
        number, error = errors(row, 0)
        _, boot = errors(row, paces[row["player"], row["machine"]])
        due = int(row["until_ms"] * PER_MINUTE // 60_000)
        found.setdefault((row["player"], row["trouble"]), []).append({
            "furthest": np.abs(error).max(), "all": np.abs(error), "boot": np.abs(boot).max(),
            "drift": np.polyfit(number, boot, 1)[0] * PER_MINUTE, "cpu": row["cpu_percent"],
            "missed": max(number[-1], due) + 1 - len(set(number.tolist()))})
    return found, paces


def span(found, key, digits):
    values = [f[key] for f in found]
    low, high = f"{min(values):.{digits}f}", f"{max(values):.{digits}f}"
    return low if low == high else f"{low} to {high}"


def tables(out):
    """The tables of the page, and what was measured how."""
    lines = known(out)
    rows = [r for r in lines if "at_ms" in r]
    lengths = {r["seconds"] for r in lines}
    if len(lengths) != 1:
        sys.exit(f"{out}: captures of {sorted(lengths)} s; one table holds one length: keep the others in a file of their own")
    found, paces = cells(rows)
    text = []
    for kind in TROUBLES:
        text.append(f"\n**{kind}**\n\n| player | furthest, ms, sink's clock | p99.9, ms, of n | furthest, ms, boot clock"
                    " | drift, ms a minute | missed | of a core, % |\n|---|---|---|---|---|---|---|")
        for player in PLAYERS:
            mine = found.get((player, kind), [])
            faults = sum(r["player"] == player and r["trouble"] == kind and "fault" in r for r in lines)
            if faults:
                text.append(f"| {player} | {faults} captures could not be judged |" + " |" * 5)
            if not mine:
                continue
            pooled = np.concatenate([f["all"] for f in mine])
            text.append(f"| {player} | {span(mine, 'furthest', 3)} | {np.percentile(pooled, 99.9):.3f}, {len(pooled)} | "
                        f"{span(mine, 'boot', 2)} | {span(mine, 'drift', 2)} | {sum(f['missed'] for f in mine)} | "
                        f"{span(mine, 'cpu', 1)} |")
    length = lengths.pop()
    for machine in sorted({r["machine"] for r in lines}):
        mine = [r for r in lines if r["machine"] == machine]
        kinds = [kind for kind in TROUBLES if any(r["trouble"] == kind for r in mine)]
        # Before a crowd or a full core the load is of the capture before.
        loads = [r["load"] for r in mine if r["trouble"] == "idle"]
        before = (f"; load of the last minute before an idle capture {min(loads):.1f} to {max(loads):.1f}" if loads else "")
        text.append(f"\n{', '.join(kinds)}: {len({r['repeat'] for r in mine})} repeats, {length} s a capture, "
                    f"{min(r['date'] for r in mine)} to {max(r['date'] for r in mine)}, commit "
                    f"{', '.join(sorted({r['commit'] for r in mine}))}, on {machine}{before}. Pace of the sink against the "
                    "boot clock, ppm: " + ", ".join(f"{player} {paces[player, machine]:.0f}" for player in PLAYERS
                                                    if (player, machine) in paces) + ".")
    return "\n".join(text) + "\n"


def table(args):
    made = tables(args.out)
    if not (args.write or args.check):
        print(made)
        return
    page = PAGE.read_text(encoding="utf-8")
    head, mark, rest = page.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not (mark and end):
        sys.exit(f"{PAGE}: no {BEGIN} with {END} after it to put the tables between")
    new = head + mark + "\n" + made + "\n" + end + tail
    if args.check and new != page:
        sys.exit(f"{PAGE} is not what {args.out.name} says: run bench/side_by_side.py table --write")
    if args.write:
        PAGE.write_text(new, encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("what", choices=("run", "table"))
    parser.add_argument("--probe")
    parser.add_argument("--peers")
    parser.add_argument("--seconds", type=int, default=15)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--players", default=",".join(PLAYERS))
    parser.add_argument("--troubles", default=",".join(TROUBLES))
    parser.add_argument("--out", type=Path, default=ROOT / "docs/side_by_side.jsonl")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--check", action="store_true")
    args = parser.parse_args()
    if args.what == "run" and not (args.probe and args.peers):
        parser.error("run wants --probe and --peers")
    {"run": run, "table": table}[args.what](args)


if __name__ == "__main__":
    main()
