#!/usr/bin/env python3
"""From each touch to its receipt tone, to the next frame with the new state, and to "Kept".

    judge_latency.py WAV EVENTS

EVENTS: {touches: [{name, up}], shown: [{at, text, kept}], wall_less_boot_ms}, times in ms of the page's
clock. A touch without its tone or without its words is a fault; the times themselves are figures.
"""
import json
import sys
from pathlib import Path

import numpy as np
from onsets import RATE, boot_ms, find_tones, load, load_tones

SAYS = {"Start by Hand": "By Hand", "Hands On": "By Hand", "Hands Off": "Hands Off"}
WITHIN_MS = 600


def spread(values):
    p50, p95, p99 = np.percentile(values, [50, 95, 99])
    return {"n": len(values), "p50": round(p50, 1), "p95": round(p95, 1), "p99": round(p99, 1),
            "max": round(max(values), 1)}


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    wav, events = sys.argv[1], json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))
    tones = load_tones(Path(__file__).resolve().parents[2] / "sounds/tones")
    found = [t for t in find_tones(load(wav), tones) if t["kind"] == "receipt"]
    heard = np.array([boot_ms(wav, t["at"]) for t in found])
    sound, screen, kept, faults = [], [], [], []
    for touch in events["touches"]:
        up = touch["up"]
        tone = heard - (up - events["wall_less_boot_ms"])
        near = tone[(tone > -50) & (tone < WITHIN_MS)]
        later = [s for s in events["shown"] if 0 <= s["at"] - up < WITHIN_MS]
        words = next((s["at"] - up for s in later if SAYS[touch["name"]] in s["text"]), None)
        mark = next((s["at"] - up for s in later if s["kept"]), None)
        if len(near):
            sound.append(float(near[0]))
        else:
            faults.append(f"no receipt tone for {touch['name']} at {up:.0f}")
        if words is None:
            faults.append(f"no new words for {touch['name']} at {up:.0f}")
        else:
            screen.append(words)
        if mark is not None:
            kept.append(mark)
    for line in faults:
        print(line)
    print(json.dumps({"sound_ms": spread(sound), "screen_ms": spread(screen), "kept_ms": spread(kept),
                      "rate": RATE, "faults": len(faults)}))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
