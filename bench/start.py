#!/usr/bin/env python3
"""Starts the app and an empty window of the same shell in turn; called by start.sh, which makes the world for it.

    start.py APP EMPTY STARTS

Prints a line for each figure: its name, its unit and a value for each start, with tabs. All times are of the boot
clock, from just before the process is begun. A window is seen in what the X server holds: the empty one when
anything is painted where it lies, the app's when the wide key of its start card is there. That key is then pressed
at once, for 120 ms, and the first beat is looked for in the sink's own recording, told from the receipt of the
press as the checks do it (`tests/py/onsets.py`, whose packages this needs too). What is at hand in memory from the start before (programs, libraries, fonts) is so for both.
"""
import ctypes
import os
import shutil
import subprocess
import sys
import threading
import time
from ctypes import POINTER, byref, c_char, c_int, c_uint, c_ulong, c_void_p
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests/py"))
from onsets import RATE, find_tones, load_tones  # noqa: E402

PATIENCE_S = 60
HOLD_S = 0.12
# The wide key's colour in the day's set, and how tall it is at least, px.
KEY = (0xF5, 0xF2, 0xEA)
KEY_HIGH = 100
# After the press so much is recorded, s: with sound to be opened first, some beats.
LISTEN_S = 3
# What may sound beside the first beat.
TONES = ("beat", "beat_first", "receipt", "breath", "sound_back")
ALL_PLANES = c_ulong(0xFFFFFFFF)


class Image(ctypes.Structure):
    """The head of Xlib's XImage, up to what is read of it."""
    _fields_ = [("width", c_int), ("height", c_int), ("xoffset", c_int), ("format", c_int),
                ("data", POINTER(c_char)), ("byte_order", c_int), ("bitmap_unit", c_int),
                ("bitmap_bit_order", c_int), ("bitmap_pad", c_int), ("depth", c_int),
                ("bytes_per_line", c_int), ("bits_per_pixel", c_int)]


def now_ms():
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) / 1e6


class Screen:
    def __init__(self):
        x = self.x = ctypes.CDLL("libX11.so.6")
        self.test = ctypes.CDLL("libXtst.so.6")
        x.XOpenDisplay.restype = c_void_p
        x.XDefaultRootWindow.restype = c_ulong
        x.XGetImage.restype = POINTER(Image)
        self.display = c_void_p(x.XOpenDisplay(None))
        if not self.display:
            sys.exit("no display: DISPLAY names none that can be opened")
        self.root = c_ulong(x.XDefaultRootWindow(self.display))
        # A window that is gone between two questions is no reason to end.
        handler = ctypes.CFUNCTYPE(c_int, c_void_p, c_void_p)
        self.ignore = handler(lambda _display, _error: 0)
        x.XSetErrorHandler(self.ignore)

    def windows(self):
        """x, y, width and height of the windows of a phone's size."""
        root, parent, count = c_ulong(), c_ulong(), c_uint()
        children = POINTER(c_ulong)()
        self.x.XQueryTree(self.display, self.root, byref(root), byref(parent), byref(children), byref(count))
        found = []
        for n in range(count.value):
            x, y, wide, high, border, depth = c_int(), c_int(), c_uint(), c_uint(), c_uint(), c_uint()
            self.x.XGetGeometry(self.display, c_ulong(children[n]), byref(root), byref(x), byref(y), byref(wide),
                                byref(high), byref(border), byref(depth))
            if wide.value >= 300 and high.value >= 600:
                found.append((x.value, y.value, wide.value, high.value))
        if count.value:
            self.x.XFree(children)
        return found

    def column(self, x, y, high):
        """The colours of a column of the screen, from the top."""
        image = self.x.XGetImage(self.display, self.root, c_int(x), c_int(y), c_uint(1), c_uint(high), ALL_PLANES, 2)
        if not image:
            return []
        head = image.contents
        raw = ctypes.string_at(head.data, head.bytes_per_line * head.height)
        colours = []
        for n in range(head.height):
            blue, green, red = raw[n * head.bytes_per_line:n * head.bytes_per_line + 3]
            colours.append((red, green, blue))
        # The pixels were taken by XGetImage for this image alone.
        self.x.XFree(head.data)
        self.x.XFree(image)
        return colours

    def press(self, x, y):
        self.test.XTestFakeMotionEvent(self.display, -1, x, y, c_ulong(0))
        self.test.XTestFakeButtonEvent(self.display, 1, 1, c_ulong(0))
        self.x.XFlush(self.display)
        time.sleep(HOLD_S)
        self.test.XTestFakeButtonEvent(self.display, 1, 0, c_ulong(0))
        self.x.XFlush(self.display)


class Sink:
    """Records what the sink is given; says when its first beat came."""

    def __init__(self):
        command = ["parec", "-d", "@DEFAULT_MONITOR@", "--latency-msec=10", "--raw", "--format=s16le",
                   "--rate", str(RATE), "--channels", "1"]
        self.recorder = subprocess.Popen(command, stdout=subprocess.PIPE)
        # Bytes, and at which boot time each number of them was there.
        self.sound, self.came = b"", []
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def read(self):
        while piece := os.read(self.recorder.stdout.fileno(), 1 << 14):
            self.sound += piece
            self.came.append((now_ms(), len(self.sound) // 2))

    def first_beat(self, tones):
        """Ms of the boot clock; the recording ends with it."""
        self.recorder.terminate()
        self.recorder.wait()
        self.reader.join()
        # A piece comes late, never early.
        zero = min(at - 1000 * frames / RATE for at, frames in self.came)
        sound = np.frombuffer(self.sound[:len(self.sound) // 2 * 2], dtype="<i2") / 32768
        found = find_tones(sound, tones, kinds=TONES)
        beats = [one["at"] for one in found if one["kind"].startswith("beat")]
        if not beats:
            sys.exit(f"no beat was heard within {LISTEN_S} s of the press: {[one['kind'] for one in found]}")
        return zero + 1000 * beats[0] / RATE


def until(what, seen):
    end = time.monotonic() + PATIENCE_S
    while (found := seen()) is None:
        if time.monotonic() > end:
            sys.exit(f"{what} was not seen within {PATIENCE_S} s")
        time.sleep(0.001)
    return found


def painted(screen):
    for x, y, wide, high in screen.windows():
        colours = screen.column(x + wide // 2, y, high)
        if colours and any(max(colour) > 8 for colour in colours):
            return x + wide // 2, y + high // 2
    return None


def key_place(screen):
    """The middle of the first tall stretch of the wide key's colour."""
    for x, y, wide, high in screen.windows():
        # Beside the words, which stand in the middle.
        at, run = x + wide // 2, 0
        for n, colour in enumerate(screen.column(x + wide // 16, y, high)):
            run = run + 1 if colour == KEY else 0
            if run == KEY_HIGH:
                return at, y + n - KEY_HIGH // 2
    return None


def start(screen, program, place):
    began = now_ms()
    process = subprocess.Popen([program], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    found = until("a window", lambda: place(screen))
    return process, began, now_ms() - began, found


def end(screen, process):
    process.terminate()
    process.wait()
    until("the end of the window", lambda: True if not screen.windows() else None)


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    app, empty, starts = sys.argv[1], sys.argv[2], int(sys.argv[3])
    screen = Screen()
    tones = load_tones(ROOT / "sounds/tones")
    runs = os.path.join(os.environ["XDG_DATA_HOME"], "org.carrybeat.app", "runs")
    usable, clicked, bare = [], [], []

    def start_app():
        # A run that was left would be taken up.
        shutil.rmtree(runs, ignore_errors=True)
        sink = Sink()
        time.sleep(0.5)
        process, began, ms, (x, y) = start(screen, app, key_place)
        screen.press(x, y)
        time.sleep(LISTEN_S)
        heard = sink.first_beat(tones)
        end(screen, process)
        return ms, heard - began

    def start_empty():
        process, _, ms, _ = start(screen, empty, painted)
        end(screen, process)
        return ms

    # Once each that does not count: nothing is in memory yet.
    start_app()
    start_empty()
    for n in range(starts):
        if n % 2 == 0:
            bare.append(start_empty())
        window, click = start_app()
        usable.append(window)
        clicked.append(click)
        if n % 2 == 1:
            bare.append(start_empty())
    for what, unit, values in [
        ("the app, process to usable window", "ms", usable),
        ("the app, process to the first beat, pressed at once", "ms", clicked),
        ("an empty window of the same shell, process to painted window", "ms", bare),
        ("usable window, of the empty one", "times", [a / b for a, b in zip(usable, bare, strict=True)]),
        ("first beat, of the empty window", "times", [a / b for a, b in zip(clicked, bare, strict=True)]),
    ]:
        print(f"{what}\t{unit}\t" + " ".join(f"{value:.3f}" for value in values))


if __name__ == "__main__":
    main()
