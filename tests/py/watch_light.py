#!/usr/bin/env python3
"""Reads one part of a display as fast as it can, and on which clock it was read.

    watch_light.py X Y WIDTH HEIGHT SECONDS OUT

Writes to OUT a line "before_ns after_ns level" for each reading: the boot clock before the server was asked
and after it answered, and the mean brightness of that part, 0 to 255. What is read is what the X server
holds; a panel's own delay is not in it.
"""
import ctypes
import sys
import time
from ctypes import POINTER, c_char, c_char_p, c_int, c_ulong, c_void_p

import numpy as np

# Between two readings, s: the server has other work.
PAUSE = 0.002
Z_PIXMAP = 2
ALL_PLANES = c_ulong(0xFFFFFFFF)


class Image(ctypes.Structure):
    """The head of Xlib's XImage, up to what is read of it."""
    _fields_ = [("width", c_int), ("height", c_int), ("xoffset", c_int), ("format", c_int),
                ("data", POINTER(c_char)), ("byte_order", c_int), ("bitmap_unit", c_int),
                ("bitmap_bit_order", c_int), ("bitmap_pad", c_int), ("depth", c_int),
                ("bytes_per_line", c_int), ("bits_per_pixel", c_int)]


def library():
    x = ctypes.CDLL("libX11.so.6")
    x.XOpenDisplay.restype, x.XOpenDisplay.argtypes = c_void_p, [c_char_p]
    x.XDefaultRootWindow.restype, x.XDefaultRootWindow.argtypes = c_ulong, [c_void_p]
    place = [c_void_p, c_ulong, c_int, c_int, ctypes.c_uint, ctypes.c_uint, c_ulong, c_int]
    x.XGetImage.restype, x.XGetImage.argtypes = POINTER(Image), place
    x.XGetSubImage.restype = POINTER(Image)
    x.XGetSubImage.argtypes = [*place, POINTER(Image), c_int, c_int]
    return x


def brightness(image):
    """The mean of the three colours of all pixels; four bytes a pixel, the last one unused."""
    head = image.contents
    if head.bits_per_pixel != 32:
        sys.exit(f"{head.bits_per_pixel} bits a pixel, 32 are read: give the screen a depth of 24")
    size = head.bytes_per_line * head.height
    raw = np.frombuffer(ctypes.string_at(head.data, size), np.uint8)
    return float(raw.reshape(head.height, -1, 4)[:, :head.width, :3].mean())


def main():
    if len(sys.argv) != 7:
        sys.exit(__doc__)
    x0, y0, width, height = (int(word) for word in sys.argv[1:5])
    seconds, out = float(sys.argv[5]), sys.argv[6]
    x = library()
    display = x.XOpenDisplay(None)
    if not display:
        sys.exit("no display: DISPLAY names none that can be opened")
    root = x.XDefaultRootWindow(display)
    part = (display, root, x0, y0, width, height, ALL_PLANES, Z_PIXMAP)
    image = x.XGetImage(*part)
    if not image:
        sys.exit(f"nothing to be read at {x0}, {y0}, {width} x {height}")
    end = time.clock_gettime(time.CLOCK_BOOTTIME) + seconds
    lines = []
    while True:
        before = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
        x.XGetSubImage(*part, image, 0, 0)
        after = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
        lines.append(f"{before} {after} {brightness(image):.3f}\n")
        if after / 1e9 > end:
            break
        time.sleep(PAUSE)
    with open(out, "w", encoding="ascii") as file:
        file.writelines(lines)


if __name__ == "__main__":
    main()
