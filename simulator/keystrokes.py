"""The boot reports a keyboard sends while keys go down and up. Pure.

A report is 8 bytes: the modifier bits, a byte of no meaning, and up to six keys that are down just
then. Source: USB HID 1.11, appendix B.1, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, get_args

from simulator.errors import SimulatorError
from simulator.layouts import KEYPAD, key_of

LEFT_CTRL, LEFT_SHIFT, LEFT_ALT, LEFT_GUI = 0x01, 0x02, 0x04, 0x08
RIGHT_CTRL, RIGHT_SHIFT, RIGHT_ALT, RIGHT_GUI = 0x10, 0x20, 0x40, 0x80

SLOTS = 6
RELEASED = bytes(2 + SLOTS)
"""Nothing is down."""

ROLL_OVER = bytes(2) + bytes([0x01]) * SLOTS
"""More keys are down than the report has room for, or which ones cannot be told."""

Hand = Literal["released", "rolling", "unreleased"]
"""How keys follow each other: each let go before the next goes down; each let go only after the
next is down; or changed for the next in one report. The same key twice is always let go between.
"""


def report(usages: Iterable[int] = (), modifiers: int = 0) -> bytes:
    """One report with these keys down, in the order of their slots.

    More keys than slots are a roll-over, as a keyboard sends it; SimulatorError for numbers that
    are no bytes.
    """
    down = list(usages)
    if not all(0 <= number <= 0xFF for number in (modifiers, *down)):
        raise SimulatorError("usages and modifier bits are bytes, 0 to 255")
    if len(down) > SLOTS:
        return bytes([modifiers]) + ROLL_OVER[1:]
    return bytes([modifiers, 0, *down]).ljust(len(RELEASED), b"\x00")


def typed(
    text: str, layout: str = "us", *, hand: Hand = "released", stuck: int = 0
) -> tuple[bytes, ...]:
    """The reports of a text typed on a keyboard of this layout; LF is Enter.

    stuck are modifier bits held all the while, the last report's included. Raises SimulatorError
    for a character that no key of the layout types.
    """
    strokes = []
    for character in text:
        usage, is_shifted = key_of(character, layout)
        strokes.append((usage, stuck | (LEFT_SHIFT if is_shifted else 0)))
    return _reports(strokes, hand, stuck)


def typed_on_keypad(text: str, *, hand: Hand = "released") -> tuple[bytes, ...]:
    """The reports of a text typed on the keypad; SimulatorError for what is not on it."""
    missing = [character for character in text if character not in KEYPAD]
    if missing:
        raise SimulatorError(f"no key of the keypad types {missing[0]!r}")
    return _reports([(KEYPAD[character], 0) for character in text], hand, 0)


def typed_by_code(text: str) -> tuple[bytes, ...]:
    """The reports of a text typed as Alt and the number of each character on the keypad.

    So that the layout does not matter. Enter is the Enter key, as a number for it types nothing.
    """
    reports: list[bytes] = []
    for character in text:
        if character == "\n":
            reports += typed("\n")
            continue
        reports.append(report((), LEFT_ALT))
        for digit in str(ord(character)):
            reports += [report([KEYPAD[digit]], LEFT_ALT), report((), LEFT_ALT)]
        reports.append(RELEASED)
    return tuple(reports)


def chord(usage: int, modifiers: int) -> tuple[bytes, ...]:
    """One key with modifiers held, such as Ctrl or GUI: down in order, and all let go."""
    return (report((), modifiers), report([usage], modifiers), report((), modifiers), RELEASED)


def _reports(strokes: Sequence[tuple[int, int]], hand: Hand, stuck: int) -> tuple[bytes, ...]:
    """The reports of keys with their modifiers, struck one after the other."""
    if hand not in get_args(Hand):
        raise SimulatorError(f"unknown hand {hand!r}; known: {', '.join(get_args(Hand))}")
    reports: list[bytes] = []
    for place, (usage, modifiers) in enumerate(strokes):
        reports.append(report([usage], modifiers))
        if hand == "released" or place + 1 == len(strokes):
            reports.append(report((), stuck))
            continue
        next_usage, next_modifiers = strokes[place + 1]
        # With other modifiers the key still down would become another character's.
        if next_usage == usage or (hand == "rolling" and next_modifiers != modifiers):
            reports.append(report((), stuck))
        elif hand == "rolling":
            reports.append(report([usage, next_usage], modifiers))
    return tuple(reports)
