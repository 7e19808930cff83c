#!/usr/bin/env python3
"""Records what a sink is given, and on which clock it came.

    capture.py SOURCE WAV

Writes WAV (mono, 48 kHz, 16 bit) until it is interrupted or the source goes away, and beside it
WAV.clock: a line "boot_ns frames" for each piece that arrived. A sink that goes nowhere rounds its
blocks to whole microseconds and so runs some 50 ppm fast; what is to be held against the run clock has
to be read on that clock (see `onsets.stretch`).
"""
import os
import signal
import subprocess
import sys
import time
import wave

RATE = 48_000


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    source, path = sys.argv[1:]
    command = ["parec", "-d", source, "--latency-msec=10", "--raw", "--format=s16le",
               "--rate", str(RATE), "--channels", "1"]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as recorder, \
            wave.open(path, "wb") as sound, open(path + ".clock", "w", encoding="ascii") as clock:
        sound.setparams((1, 2, RATE, 0, "NONE", ""))
        signal.signal(signal.SIGINT, lambda *_: recorder.terminate())
        frames, odd = 0, b""
        while piece := os.read(recorder.stdout.fileno(), 1 << 16):
            now = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
            piece = odd + piece
            whole = len(piece) // 2 * 2
            odd = piece[whole:]
            sound.writeframesraw(piece[:whole])
            frames += whole // 2
            clock.write(f"{now} {frames}\n")


if __name__ == "__main__":
    main()
