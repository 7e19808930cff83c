"""Levels, noise and what stands between a file and an ear. Loudness by pyloudnorm, filters by scipy."""
import warnings
from functools import lru_cache

import numpy as np
import pyloudnorm
from scipy.fft import irfft, next_fast_len, rfft
from scipy.signal import butter, ellip, firwin, resample_poly, sosfilt, sosfiltfilt

# Below this noise is level, so that the A-weighted level is not one of rumble alone.
FLOOR_HZ = 40
DUCK_DB = 8
BEATS_PER_MINUTE = 110


def db(ratio):
    return 20 * np.log10(np.maximum(ratio, 1e-12))


def a_weight(hz):
    """IEC 61672-1 annex E, as a factor of amplitude; 1 at 1 kHz."""
    def raw(f):
        s = f ** 2
        return (12194.217 ** 2 * s ** 2) / ((s + 20.599 ** 2) * (s + 12194.217 ** 2)
                                            * np.sqrt((s + 107.653 ** 2) * (s + 737.862 ** 2)))
    return raw(np.asarray(hz, float)) / raw(1000.0)


def a_level(sound, rate):
    """A-weighted mean power over the whole of `sound`, dB re full scale squared."""
    size = next_fast_len(len(sound), real=True)
    power = np.abs(rfft(sound, size)) ** 2
    power[1:-1 if size % 2 == 0 else None] *= 2
    return 10 * np.log10(float(power @ a_power(size, rate)) / size / len(sound) + 1e-20)


@lru_cache(200)
def a_power(size, rate):
    return a_weight(np.fft.rfftfreq(size, 1 / rate)) ** 2


def noise(kind, count, seed, rate, speech=None):
    """Random, Gaussian, shaped in frequency: pink falls 3 dB an octave, vehicle 6, both level below 40 Hz;
    speech follows `speech`, [(Hz, dB)] of third octaves."""
    size = next_fast_len(count, real=True)
    white = rfft(np.random.default_rng(seed).standard_normal(size))
    hz = np.maximum(np.fft.rfftfreq(size, 1 / rate), FLOOR_HZ)
    if kind == "speech":
        at, level = np.array(speech).T
        # A band's level is the sum over its width, which grows with its middle.
        shape = 10 ** (np.interp(np.log(hz), np.log(at), level - 10 * np.log10(at)) / 20)
    else:
        shape = hz ** {"pink": -0.5, "vehicle": -1.0}[kind]
    return irfft(white * shape, size)[:count]


def at_level(added, wanted_db, rate):
    return added * 10 ** ((wanted_db - a_level(added, rate)) / 20)


def third_octaves(sounds, rate):
    """[(Hz, dB)] of the joined sounds from 100 Hz to 8 kHz."""
    joined = np.concatenate(list(sounds))
    power = np.abs(np.fft.rfft(joined)) ** 2
    hz = np.fft.rfftfreq(len(joined), 1 / rate)
    middles = [1000 * 2 ** (n / 3) for n in range(-10, 10)]
    bands = [10 * np.log10(power[(hz >= m * 2 ** (-1 / 6)) & (hz < m * 2 ** (1 / 6))].sum()) for m in middles]
    top = max(bands)
    return [(round(m, 1), round(float(b - top), 2)) for m, b in zip(middles, bands, strict=True)]


def small_speaker(sound, rate):
    """Fourth-order Butterworth high-pass at 600 Hz."""
    return sosfilt(butter(4, 600, "highpass", fs=rate, output="sos"), sound)


def telephone(sound, rate):
    """8 kHz samples of 300-3400 Hz: within 0.25 dB inside, at least 35 dB down below 150 Hz and above
    3900 Hz; zero phase, so that it moves no onset. After the channel masks of ITU-R G.712's kind, from memory."""
    low = resample_poly(sound, 8_000, rate, window=firwin(6 * (rate // 8_000) * 20 + 1, 3_700, fs=rate))
    return sosfiltfilt(ellip(5, 0.1, 25, [300, 3_400], "band", fs=8_000, output="sos"), low)


def oversampled(sound, factor):
    return resample_poly(sound, factor, 1, window=firwin(256 * factor + 1, 0.995 / factor))


def true_peak(sound, factor=4):
    return float(db(np.abs(oversampled(np.pad(sound, 64), factor)).max()))


def lufs(sound, rate):
    """Integrated loudness, EBU R 128 / ITU-R BS.1770; what is shorter than 3 s is repeated, as the gate
    needs length."""
    sound = np.tile(sound, max(1, int(np.ceil(3 * rate / len(sound)))))
    if rate != 48_000:
        sound = oversampled(sound, 48_000 // rate)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return float(pyloudnorm.Meter(48_000, filter_class="DeMan").integrated_loudness(sound))


def train(tones, seconds, rate, gain_db=0.0):
    """Beats at 110/min; `tones` one after another, again and again."""
    out = np.zeros(int(seconds * rate) + max(map(len, tones)) + 1)
    for n, at in enumerate(np.arange(0, seconds, 60 / BEATS_PER_MINUTE)):
        tone, start = tones[n % len(tones)], round(at * rate)
        out[start:start + len(tone)] += tone * 10 ** (gain_db / 20)
    return out[:int(seconds * rate)]
