"""Noise at a set A-weighted distance under a clip, and a small speaker's missing bass."""
import numpy as np
from scipy.signal import bilinear_zpk, butter, sosfilt, zpk2sos

RATE = 24_000
# Small speakers give little below about 600 Hz.
SPEAKER = butter(4, 600, "highpass", fs=RATE, output="sos")


def a_weighting():
    """IEC 61672-1 annex E pole frequencies."""
    low, mid_low, mid_high, high = (2 * np.pi * f for f in (20.599, 107.653, 737.862, 12194.217))
    poles = [-low, -low, -mid_low, -mid_high, -high, -high]
    gain = high ** 2 * 10 ** (2.0 / 20)
    return zpk2sos(*bilinear_zpk([0, 0, 0, 0], poles, gain, RATE))


A_WEIGHTING = a_weighting()


def a_level(sound):
    return 10 * np.log10(np.mean(sosfilt(A_WEIGHTING, sound) ** 2) + 1e-12)


def noise(kind, count, seed):
    """Pink falls 3 dB an octave, vehicle noise 6, both level below 40 Hz."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(count))
    hz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 40)
    return np.fft.irfft(spectrum * hz ** (-0.5 if kind == "pink" else -1.0), count)


def in_noise(sound, level_of, kind, snr_db, seed):
    added = noise(kind, len(sound), seed)
    return sound + added * 10 ** ((level_of - a_level(added) - snr_db) / 20)
