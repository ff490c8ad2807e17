"""Short sounds, one a cue, made by the program as WAV files. Pure.

Told apart by rhythm first, then by contour, then by pitch, for a shop is loud and many who work in
one hear high notes badly: fundamentals lie between 400 and 1200 Hz, with two weaker harmonics that
carry a note past noise of its own pitch.
"""

import io
import math
import wave
from array import array
from functools import lru_cache
from typing import NamedTuple

from daq.board.cue import (
    BELOW,
    CHECK_FAILED,
    CHECK_PASSED,
    CUES,
    GAUGE_LOST,
    JOURNAL_DONE,
    KEPT,
    LOOK,
)

RATE_HZ = 22_050
FULL_SCALE = 32_767

_ATTACK_S, _DECAY_S = 0.008, 0.016
"""How a note swells and fades, so that it does not click. Chosen by us."""

_SECOND, _THIRD = 0.35, 0.15
"""How loud twice and three times the pitch are, beside the fundamental."""

_ROUGH_HZ, _ROUGH_DEPTH = 28.0, 0.6
"""A rough note beats so often a second, down to 1 - depth of its level. Chosen by us: where beats
are heard as roughness, and no longer one by one."""


class _Note(NamedTuple):
    """A note that glides from one pitch to another, and the silence behind it. `level`: of full
    scale.
    """

    from_hz: float
    to_hz: float
    length_s: float
    rest_s: float = 0.0
    level: float = 0.6
    is_rough: bool = False


def _steady(hz: float, length_s: float, rest_s: float = 0.0, level: float = 0.6) -> _Note:
    return _Note(hz, hz, length_s, rest_s, level)


def _row(pitches_hz: tuple[float, ...], length_s: float, rest_s: float) -> list[_Note]:
    return [_steady(hz, length_s, rest_s, 0.65) for hz in pitches_hz]


_NOTES: dict[str, tuple[_Note, ...]] = {
    # One short note: the hand may go on.
    KEPT: (_steady(660, 0.12, level=0.45),),
    # Two equal notes that rise as a question does.
    LOOK: (_Note(450, 950, 0.17, 0.08, 0.7), _Note(450, 950, 0.17, level=0.7)),
    # Short, then long and higher.
    JOURNAL_DONE: (_steady(600, 0.07, 0.05), _steady(910, 0.24)),
    # Four steps down.
    BELOW: (*_row((1040, 830, 660), 0.085, 0.035), _steady(525, 0.1, level=0.65)),
    # Two short ones, as two presses on the stack, and a long one above them.
    CHECK_PASSED: (_steady(520, 0.05, 0.05), _steady(520, 0.05, 0.05), _steady(740, 0.3)),
    # One long rough note that sinks.
    CHECK_FAILED: (_Note(470, 400, 0.6, level=0.7, is_rough=True),),
    # Six hasty ones, high and low by turns.
    GAUGE_LOST: (
        *_row((1150, 620, 1150, 620, 1150), 0.055, 0.045),
        _steady(620, 0.055, level=0.65),
    ),
}


def length_s(cue: str) -> float:
    """How long a cue sounds, in seconds; 0 for silence and what is no cue."""
    return sum(note.length_s + note.rest_s for note in _NOTES.get(cue, ()))


@lru_cache(maxsize=len(CUES))
def wav(cue: str) -> bytes:
    """The WAV file of a cue: mono, 16 bits. Raises KeyError for what is no cue."""
    samples = array("h")
    for note in _NOTES[cue]:
        samples.extend(_samples(note))
        samples.extend([0] * round(note.rest_s * RATE_HZ))
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(samples.itemsize)
        out.setframerate(RATE_HZ)
        out.writeframes(samples.tobytes())
    return file.getvalue()


def _samples(note: _Note) -> list[int]:
    count = round(note.length_s * RATE_HZ)
    turn, found = 0.0, []
    for at in range(count):
        done = at / count
        turn += (note.from_hz + (note.to_hz - note.from_hz) * done) / RATE_HZ
        sine, cosine = math.sin(2 * math.pi * turn), math.cos(2 * math.pi * turn)
        twice, thrice = (
            2 * sine * cosine,
            3 * sine - 4 * sine**3,
        )  # of two and three times the angle
        sounding = (sine + _SECOND * twice + _THIRD * thrice) / (1 + _SECOND + _THIRD)
        level = note.level * _swell(at / RATE_HZ, note.length_s)
        if note.is_rough:
            beat = (1 - math.cos(2 * math.pi * _ROUGH_HZ * at / RATE_HZ)) / 2
            level *= 1 - _ROUGH_DEPTH * beat
        found.append(round(FULL_SCALE * level * sounding))
    return found


def _swell(at_s: float, length_s: float) -> float:
    """How far a note has swelled, or not yet faded: half a cosine at either end."""
    part = min(1.0, at_s / _ATTACK_S, (length_s - at_s) / _DECAY_S)
    return 1.0 if part == 1.0 else (1 - math.cos(math.pi * part)) / 2


__all__ = ["CUES", "FULL_SCALE", "RATE_HZ", "length_s", "wav"]
