"""Values that a person reads off the gauge and types: lines to readings, each once or twice. Pure.

Whatever is typed as a value and does not become a reading is a reject, so that nothing is lost.
"""

from typing import TypeAlias

import msgspec

from daq.errors import Refused
from daq.rules.typed_value import COMPLETED, TypedAt, TypedValue, typed_value
from drivers.reading import Instant, Reading, Reject

MOST_RAW = 64
"""Bytes of a line that are kept; a value with its unit has no more than 24."""

TWICE = "typed-twice"
"""The code of a reject that could be read, and was not typed twice alike."""


class TypedOnce(msgspec.Struct, frozen=True):
    """A value that counts once it is typed again. `asked`: what was asked for then."""

    value: TypedValue
    raw: bytes
    asked: object

    @property
    def words(self) -> str:
        """What is to be done."""
        return f"{self.value}: type it once more, then Enter"


FromHand: TypeAlias = Reading | Reject | TypedOnce


class HandTyped:
    """What a person types as values. `first`: one that waits for being typed again."""

    def __init__(self, *, is_twice: bool = False) -> None:
        self._is_twice = is_twice
        self.first: TypedOnce | None = None

    def take(self, line: str, at: Instant, where: TypedAt, asked: object) -> list[FromHand]:
        """What a line leads to, in order. `asked` is whatever tells what is asked for now."""
        stale = self.first is not None and self.first.asked != asked
        said: list[FromHand] = [*self.forget(at, "was typed only once")] if stale else []
        try:
            value = typed_value(line, where)
        except Refused as refused:
            return [*said, not_taken(line, at, refused.code, str(refused))]
        kept, first, self.first = _raw(line), self.first, None
        if not self._is_twice:
            return [*said, _reading(value, kept, at)]
        if first is None:
            self.first = TypedOnce(value, kept, asked)
            return [*said, self.first]
        raw = first.raw + b"\n" + kept
        if (first.value.value, first.value.unit) == (value.value, value.unit):
            is_completed = value.is_completed and first.value.is_completed
            return [_reading(msgspec.structs.replace(value, is_completed=is_completed), raw, at)]
        words = f"{first.value}, then {value}: not the same. Type it twice again"
        return [Reject(TWICE, words, raw, at)]

    def forget(self, at: Instant, why: str) -> list[Reject]:
        """The value that waits is given up; `why` goes on from the value, without a full stop."""
        first, self.first = self.first, None
        return [] if first is None else [Reject(TWICE, f"{first.value} {why}", first.raw, at)]


def _reading(value: TypedValue, raw: bytes, at: Instant) -> Reading:
    flags = (COMPLETED,) if value.is_completed else ()
    return Reading(value.value, value.unit, value.resolution, raw, at, None, flags)


def not_taken(line: str, at: Instant, code: str, why: str) -> Reject:
    """A typed line that gives no reading; `why` in words, without the last full stop."""
    raw = _raw(line)
    return Reject(code, why, raw[:MOST_RAW], at, max(0, len(raw) - MOST_RAW))


def _raw(line: str) -> bytes:
    return line.strip().encode("utf-8", "replace")
