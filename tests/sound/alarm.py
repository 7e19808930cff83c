"""Rule 7: whether what sounds has the time pattern of an alarm.

The limits are those of IEC 60601-1-8 for auditory alarm signals: bursts of 3 pulses (medium) or 10, five and
five (high); pulses of 75-250 ms; 50-250 ms from the end of one to the begin of the next; 0.35-1.3 s between
the fifth and the sixth; bursts again after 2.5-30 s.
"""
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter1d
from scipy.signal import butter, sosfiltfilt

SPACING_S = (0.050, 0.250)
PULSE_S = (0.075, 0.250)
HALVES_S = (0.35, 1.30)
AGAIN_S = (2.5, 30.0)
STEP_S = 0.001
# A pulse ends where the height has fallen by this, the standard's 90 %.
FALL = 0.1


@dataclass(frozen=True)
class Pulse:
    begin: float
    end: float

    @property
    def length(self):
        return self.end - self.begin


def envelope(sound, rate):
    """The height in steps of 1 ms, over the longest period that counts (150 Hz)."""
    banded = sosfiltfilt(butter(2, [150, 4_000], "band", fs=rate, output="sos"), sound)
    step = int(rate * STEP_S)
    peaks = np.abs(banded[:len(banded) // step * step]).reshape(-1, step).max(axis=1)
    return maximum_filter1d(peaks, 5)


def pulses(sound, rate, floor):
    """Each stretch above `floor` (share of full scale), cut at what falls below a tenth of its height."""
    height = envelope(sound, rate)
    found = []
    for begin, end in stretches(height > floor):
        piece = height[begin:end]
        found += [Pulse((begin + a) * STEP_S, (begin + b) * STEP_S)
                  for a, b in stretches(piece > FALL * piece.max())]
    return found


def stretches(mask):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return edges.reshape(-1, 2).tolist()


def groups(found, spacing=SPACING_S):
    """Runs of pulses that follow one another within the spacing."""
    out = []
    for pulse in sorted(found, key=lambda p: p.begin):
        gap = pulse.begin - out[-1][-1].end if out else -1.0
        if out and spacing[0] <= gap <= spacing[1]:
            out[-1].append(pulse)
        else:
            out.append([pulse])
    return out


def patterns(found):
    """(what, begin) of all that could be taken for an alarm, from pulses of an alarm's length."""
    alike = [p for p in found if PULSE_S[0] <= p.length <= PULSE_S[1]]
    rows = groups(alike)
    out = [(f"{len(g)} pulses", g[0].begin) for g in rows if len(g) >= 3]
    for a, b in zip(rows, rows[1:], strict=False):
        if len(a) == len(b) == 5 and HALVES_S[0] <= b[0].begin - a[-1].end <= HALVES_S[1]:
            out.append(("10 pulses, five and five", a[0].begin))
    pairs = [g for g in rows if len(g) == 2]
    out += [("2 pulses, again", a[0].begin) for a, b in zip(pairs, pairs[1:], strict=False)
            if AGAIN_S[0] <= b[0].begin - a[-1].end <= AGAIN_S[1]]
    return out


def triples(found):
    """Begins of any three sounds in a row at an alarm's spacing, however short they are: a figure, since a
    beat, a touch's receipt and the next beat can stand so."""
    return [g[0].begin for g in groups(found) if len(g) >= 3]


def made_up(kind, rate, level=0.3):
    """A burst as the standard draws it, of five harmonics: what the matcher must find."""
    length, spacing = {"medium": (0.2, 0.2), "high": (0.15, 0.1)}[kind]
    t = np.arange(int(length * rate)) / rate
    rise = np.minimum(1, np.minimum(t, t[::-1]) / (0.15 * length))
    pulse = level * rise * sum(np.sin(2 * np.pi * 300 * k * t) for k in range(1, 6)) / 3
    gap = np.zeros(int(spacing * rate))
    if kind == "medium":
        return np.concatenate([pulse, gap] * 3)
    five = np.concatenate([pulse, gap] * 5)
    return np.concatenate([five, np.zeros(int(0.5 * rate)), five])
