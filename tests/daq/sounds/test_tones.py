"""The tones: files that any player reads, that do not click or clip, and that are told apart by
their rhythm alone.
"""

import io
import itertools
import math
import wave
from typing import NamedTuple

import pytest

from daq.sounds.tones import CUES, FULL_SCALE, RATE_HZ, length_s, wav

WINDOW = RATE_HZ // 100
"""Samples of 10 ms."""


class Heard(NamedTuple):
    """One stretch of sound between two silences, in seconds and hertz."""

    length_s: float
    from_hz: float
    to_hz: float


def samples(cue: str) -> list[int]:
    with wave.open(io.BytesIO(wav(cue))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        return list(memoryview(file.readframes(file.getnframes())).cast("h"))


def pitch_hz(part: list[int]) -> float:
    """By upward crossings of zero: the two harmonics are too weak to add any."""
    crossings = [at for at in range(1, len(part)) if part[at - 1] < 0 <= part[at]]
    if len(crossings) < 2:
        return 0.0
    return (len(crossings) - 1) * RATE_HZ / (crossings[-1] - crossings[0])


def stretches(cue: str) -> list[Heard]:
    """What is louder than a fiftieth of full scale in windows of 10 ms, put together."""
    found: list[Heard] = []
    all_of_it = samples(cue)
    run: list[int] = []
    for at in range(0, len(all_of_it) + WINDOW, WINDOW):
        window = all_of_it[at : at + WINDOW]
        if window and max(map(abs, window)) > FULL_SCALE / 50:
            run.extend(window)
        elif run:
            third = len(run) // 3
            ends = pitch_hz(run[:third]), pitch_hz(run[-third:])
            found.append(Heard(len(run) / RATE_HZ, *ends))
            run = []
    return found


@pytest.mark.parametrize("cue", CUES)
def test_a_tone_is_short_and_as_long_as_it_says(cue: str) -> None:
    length = len(samples(cue)) / RATE_HZ
    assert 0.12 <= length <= 0.6
    assert length == pytest.approx(length_s(cue), abs=0.001)


@pytest.mark.parametrize("cue", CUES)
def test_a_tone_neither_clips_nor_clicks(cue: str) -> None:
    """Its peak is moderate; it begins and ends at zero; and from one sample to the next it moves no
    more than its highest harmonic can: 3 x 1200 Hz at 70 % of full scale.
    """
    found = samples(cue)
    assert 0.25 * FULL_SCALE < max(map(abs, found)) < 0.75 * FULL_SCALE
    assert max(map(abs, (*found[:3], *found[-3:]))) < FULL_SCALE / 100
    steepest = 2 * math.pi * 3 * 1200 / RATE_HZ * 0.7 * FULL_SCALE
    assert max(abs(b - a) for a, b in itertools.pairwise(found)) < steepest
    assert abs(sum(found)) / len(found) < FULL_SCALE / 200


@pytest.mark.parametrize("cue", CUES)
def test_pitches_are_those_that_tired_ears_hear(cue: str) -> None:
    for heard in stretches(cue):
        assert min(heard.from_hz, heard.to_hz) > 390
        assert max(heard.from_hz, heard.to_hz) < 1200


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(CUES, 2)))
def test_any_two_are_told_apart_by_rhythm_alone(one: str, other: str) -> None:
    """By how many stretches they have, or by one that is half as long again as its counterpart:
    lengths of notes are told apart from a tenth on, so a half is plain also in noise.
    """
    of_one, of_other = stretches(one), stretches(other)
    if len(of_one) == len(of_other):
        pairs = zip(of_one, of_other, strict=True)
        ratios = [max(a[0], b[0]) / min(a[0], b[0]) for a, b in pairs]
        assert max(ratios) >= 1.5


def test_the_contours_are_what_they_mean() -> None:
    """A question rises; below goes down in steps; a failed check sinks; lost is to and fro."""
    assert all(heard.to_hz > 1.4 * heard.from_hz for heard in stretches("look"))
    below = [heard.from_hz for heard in stretches("below")]
    assert below == sorted(below, reverse=True)
    assert len(below) == 4
    (failed,) = stretches("check-failed")
    assert failed.to_hz < 0.95 * failed.from_hz
    lost = [heard.from_hz > 900 for heard in stretches("gauge-lost")]
    assert lost == [True, False] * 3


def test_what_is_urgent_is_louder_than_a_reading_that_counts() -> None:
    kept = max(map(abs, samples("kept")))
    for cue in ("look", "check-failed", "gauge-lost"):
        assert max(map(abs, samples(cue))) > 1.3 * kept


def test_silence_has_no_length_and_no_file() -> None:
    assert length_s("") == 0
    with pytest.raises(KeyError):
        wav("")
