"""Draws one cycle of 30:2 from a rehearsal: cycle.py OUT.wav OUT-cues.json PICTURE.svg

The waveform comes from the WAV file; the marks come from the cue list. Nothing is drawn from the
protocol, so the picture shows what would have been heard.
"""
import json
import sys
import wave

import numpy as np

WIDTH, HEIGHT, LEFT, MID = 1200, 300, 30, 150
SECONDS = 21.5
COLOUR = {"beat": "#0E1216", "beat_first": "#0E1216", "beat_last": "#0E1216", "breath": "#7F68CE"}


def main(wav, cues, out):
    with wave.open(wav) as f:
        rate = f.getframerate()
        pcm = np.frombuffer(f.readframes(int(SECONDS * rate)), dtype="<i2") / 32768.0
    scale = (WIDTH - 2 * LEFT) / SECONDS
    step = int(rate / scale)
    bins = len(pcm) // step
    peak = np.abs(pcm[: bins * step]).reshape(bins, step).max(axis=1)
    lines = []
    for i, p in enumerate(peak):
        if p > 0.002:
            x, h = LEFT + i, 95 * p
            lines.append(f'<line x1="{x}" y1="{MID - h:.1f}" x2="{x}" y2="{MID + h:.1f}"/>')
    marks, texts = [], []
    beats = 0
    for cue in json.load(open(cues, encoding="utf-8")):
        if cue["at_s"] > SECONDS or cue["kind"] not in COLOUR:
            continue
        x = LEFT + cue["at_s"] * scale
        if cue["kind"] == "breath":
            marks.append(f'<path d="M{x - 6:.1f} 268 L{x:.1f} 256 L{x + 6:.1f} 268" fill="none" '
                         f'stroke="{COLOUR["breath"]}" stroke-width="3"/>')
            texts.append(f'<text x="{x:.1f}" y="288">breath</text>')
        else:
            beats += 1
            r = 5 if cue["kind"] == "beat" else 8
            marks.append(f'<circle cx="{x:.1f}" cy="40" r="{r}" fill="{COLOUR[cue["kind"]]}"/>')
            if cue["kind"] != "beat":
                n = (beats - 1) % 30 + 1
                texts.append(f'<text x="{x:.1f}" y="22">{n}</text>')
    seconds = [f'<text x="{LEFT + s * scale:.1f}" y="246" fill="#5A636C">{s} s</text>'
               for s in range(0, 22, 2)]
    with open(out, "w", encoding="utf-8") as f:
        f.write(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
                f'font-family="sans-serif" font-size="14" text-anchor="middle" role="img" '
                f'aria-label="One cycle: thirty beats, then a breath window with two tones">\n'
                f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#FBFAF6"/>\n'
                f'<g stroke="#454C53" stroke-width="1">{"".join(lines)}</g>\n'
                f'{"".join(marks)}\n{"".join(texts)}\n{"".join(seconds)}\n</svg>\n')


if __name__ == "__main__":
    main(*sys.argv[1:4])
