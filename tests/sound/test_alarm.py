"""The pattern matcher of rule 7 on what it must find and on what it must leave alone."""
import alarm
import numpy as np
import pytest
from house import load_tones

RATE = 48_000


def patterns(sound):
    return alarm.patterns(alarm.pulses(np.pad(sound, RATE), RATE, 0.02))


def row(tone, count, gap_s):
    return np.concatenate([np.concatenate([tone, np.zeros(int(gap_s * RATE))]) for _ in range(count)])


@pytest.mark.parametrize(("kind", "told"), [("medium", "3 pulses"), ("high", "10 pulses, five and five")])
def test_drawn_bursts_are_found(kind, told):
    assert told in [what for what, _ in patterns(alarm.made_up(kind, RATE))]


@pytest.mark.parametrize("gap_s", [0.06, 0.12, 0.2])
def test_three_of_our_own_tones_in_a_row_are_found(gap_s):
    tone = load_tones()["life"] * 10
    assert patterns(row(tone, 3, gap_s))


@pytest.mark.parametrize("gap_s", [0.02, 0.3])
def test_other_spacings_are_not(gap_s):
    assert not patterns(row(load_tones()["life"] * 10, 3, gap_s))


def test_pairs_that_come_again_are_found():
    pair = row(load_tones()["life"] * 10, 2, 0.15)
    assert patterns(np.concatenate([pair, np.zeros(4 * RATE), pair]))
    assert not patterns(np.concatenate([pair, np.zeros(40 * RATE), pair]))


@pytest.mark.parametrize("per_minute", [100, 120])
def test_the_beat_is_no_alarm(per_minute):
    beat = load_tones()["beat"]
    sound = np.zeros(30 * RATE)
    for at in np.arange(0.5, 29, 60 / per_minute):
        sound[int(at * RATE):][:len(beat)] += beat
    assert not patterns(sound)


def test_beat_receipt_beat_is_told_as_three_sounds_but_not_as_an_alarm():
    tones = load_tones()
    sound = np.zeros(3 * RATE)
    for kind, at in (("beat", 1.0), ("receipt", 1.25), ("beat", 1.545)):
        sound[int(at * RATE):][:len(tones[kind])] += tones[kind]
    found = alarm.pulses(sound, RATE, 0.02)
    assert len(alarm.triples(found)) == 1 and not alarm.patterns(found)
