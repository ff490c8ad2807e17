"""What people type for a plan, read: limits as the manual prints them, undersizes, names, angles.

Every function takes one line and raises Misread with what is wrong and what to type instead. A
decimal comma is a decimal point. Nothing is guessed that could be meant in two ways.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

import msgspec

from daq.lengths import EXACT, MM_PER, Length
from daq.plan.drafting.draft import DraftStep
from drivers.printable import shown

MOST_TIMES = Decimal("1.2")
"""A high limit so many times the low one is a slip. Chosen by us."""

THINNEST_MM, THICKEST_MM = Decimal(8), Decimal(400)
"""A journal outside these, typed without its unit, may be typed in the wrong one. Chosen by us."""

MOST_UNDERSIZE_MM = Decimal(3)
MOST_FORM_MM = Decimal("0.2")
"""A journal that is out of round by more is scrap or a slip of the point. Chosen by us."""
MOST_WHOLE, MOST_DECIMALS = 6, 9
"""Digits before and behind the point: those that a length in a plan may have."""

NONE = ("none", "no", "-", "0", "nothing")

_UNITS = {"mm": "mm", "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in"}
_UNITS |= {"''": "in", "”": "in", "mm.": "mm", "millimetres": "mm"}
_NUMBER = r"\d+[.,]\d+|(?<!\d)[.,]\d+|\d+"
_POINT = re.compile(r"\d\.\d")
_TOKEN = re.compile(
    rf"""\s*(?:(?P<number>{_NUMBER})
    |(?P<unit>(?:mm|inches|inch|in)\b\.?|millimetres\b|''|"|”|″)
    |(?P<plus>±|\+/-|\+-)
    |(?P<between>to\b|and\b|low\b|high\b|min\b|max\b|\.\.+|[-\u2013\u2014/;,:()|]))""",
    re.VERBOSE | re.IGNORECASE,
)


class Misread(Exception):
    """What is wrong with what was typed, and what to type instead."""


class Pair(msgspec.Struct, frozen=True):
    """Two limits, low under high. `is_swapped`: they were typed the other way round."""

    low: Length
    high: Length
    is_swapped: bool = False


class TypedLength(msgspec.Struct, frozen=True):
    """A number as typed; `is_said`: its unit stands there, else it is the one asked for."""

    length: Length
    is_said: bool


def is_none(text: str) -> bool:
    """There is none of what was asked for."""
    return text.strip().lower() in NONE


# Lengths ------------------------------------------------------------------------------------------


def lengths_in(text: str, unit: str) -> list[TypedLength]:
    """The lengths in a line. A number without a unit has that of the next number that has one,
    else `unit`.
    """
    found: list[tuple[Decimal, str | None]] = []
    plus = False
    at = 0
    stripped = _commas_apart(text).strip()
    while at < len(stripped):
        token = _TOKEN.match(stripped, at)
        if token is None:
            raise Misread(
                f"{shown(stripped[at:].strip(), 30)} cannot be read here. Type numbers, like "
                f"{_example(unit)}."
            )
        at = token.end()
        if token["number"] is not None:
            value = Decimal(token["number"].replace(",", "."))
            whole, _, decimals = token["number"].replace(",", ".").partition(".")
            if len(whole) > MOST_WHOLE or len(decimals) > MOST_DECIMALS:
                raise Misread(f"{shown(token['number'], 20)} has too many digits.")
            found.append((value, None))
        elif token["unit"] is not None:
            if not found or found[-1][1] is not None:
                raise Misread(f"The unit stands behind its number, like {_example(unit)}.")
            found[-1] = (found[-1][0], _UNITS[token["unit"].lower()])
        elif token["plus"] is not None:
            plus = True
    typed: list[TypedLength] = []
    for value, said in reversed(found):
        following = said or (typed[-1].length.unit if typed and typed[-1].is_said else None)
        typed.append(TypedLength(Length(value, following or unit), following is not None))
    typed.reverse()
    return _around(typed, unit) if plus else typed


def _commas_apart(text: str) -> str:
    """Where numbers have points, commas stand between numbers."""
    return text.replace(",", " ") if _POINT.search(text) else text


def _around(typed: Sequence[TypedLength], unit: str) -> list[TypedLength]:
    """A size and what it may be off by: both limits."""
    if len(typed) != 2 or typed[0].length.unit != typed[1].length.unit:
        raise Misread(f"With ± type one size and one tolerance, or both limits: {_example(unit)}.")
    middle, by = (one.length.value for one in typed)
    return [
        TypedLength(Length(value, typed[0].length.unit), typed[0].is_said)
        for value in (EXACT.subtract(middle, by), EXACT.add(middle, by))
    ]


def _example(unit: str) -> str:
    return "59.970 59.990" if unit == "mm" else "2.3610 2.3618"


def limits_in(text: str, unit: str) -> tuple[Pair, Pair | None]:
    """Low and high as printed, and the cross-check in the other unit where four numbers stand
    there.
    """
    typed = lengths_in(text, unit)
    if len(typed) == 1:
        raise Misread(f"Two numbers are needed, low and high, like {_example(unit)}.")
    if len(typed) == 4:
        first = typed[0].length.unit
        mine = [one for one in typed if one.length.unit == first]
        others = [one for one in typed if one.length.unit != first]
        if len(mine) == 2:
            return _pair(mine, unit), _pair(others, unit)
    if len(typed) != 2:
        raise Misread(f"{len(typed) or 'No'} numbers: type low and high, like {_example(unit)}.")
    if typed[0].length.unit != typed[1].length.unit:
        raise Misread("Low and high in two units: type both in the same one.")
    return _pair(typed, unit), None


def _pair(typed: Sequence[TypedLength], unit: str) -> Pair:
    one, other = (each.length for each in typed)
    low, high = sorted((one, other), key=lambda length: length.mm)
    if low.mm <= 0:
        raise Misread("A limit is above zero.")
    if low.mm == high.mm:
        raise Misread(f"Both limits are {low}: type low and high.")
    if high.mm > EXACT.multiply(low.mm, MOST_TIMES):
        raise Misread(f"{low} and {high} lie far apart: is a digit missing in one of them?")
    if not all(each.is_said for each in typed) and not THINNEST_MM <= low.mm <= THICKEST_MM:
        raise Misread(
            f"{low} is {_strange(low)}: is it {'inches' if low.unit == 'mm' else 'mm'}? Type it "
            f"again with its unit behind, like {_example(unit)} {unit}."
        )
    return Pair(low, high, is_swapped=low is not one)


def _strange(size: Length) -> str:
    return "thin for a journal" if size.mm < THINNEST_MM else "thick for a journal"


def form_in(text: str, unit: str) -> tuple[Length | None, Length | None]:
    """The largest out-of-round and taper: one number for both, or two, where `none` is none."""
    if is_none(text):
        return None, None
    words = re.sub(r"(?i)(?:out[- ]of[- ]round|round(?:ness)?|taper|:|=)", " ", text)
    parts = [word.strip() for word in re.split(r"(?i)\b(none)\b|(?<!\S)(-)(?!\S)", words) if word]
    found: list[Length | None] = []
    for part in parts:
        if is_none(part) and part != "0":
            found.append(None)
        elif part:
            found += [one.length for one in lengths_in(part, unit)]
    if not 1 <= len(found) <= 2:
        raise Misread(f"Type out-of-round and taper, one number for both, or none: {_small(unit)}.")
    for limit in found:
        if limit is not None and not 0 < limit.mm < MOST_FORM_MM:
            raise Misread(
                f"{limit} is no limit of form: {_small(unit)} is one. Or type none."
                if limit.mm > 0
                else "A limit of form is above zero. Where the manual gives none, type none."
            )
    first, last = found[0], found[-1]
    if len(found) == 2 and first is not None and last is not None and first.unit != last.unit:
        raise Misread("Out-of-round and taper in two units: type both in the same one.")
    return first, last


def _small(unit: str) -> str:
    return "0.005" if unit == "mm" else ".0002"


# Undersizes ---------------------------------------------------------------------------------------


def undersizes_in(text: str, unit: str, low: Length, high: Length) -> tuple[DraftStep, ...]:
    """Undersizes as they are called, like `0.25 0.50`: their limits are `low` and `high` less so
    much. Or with the limits that the manual prints: `0.25: 59.720 59.740; 0.50: 59.470 59.490`.
    """
    if is_none(text):
        return ()
    steps: list[DraftStep] = []
    for piece in filter(str.strip, text.split(";")):
        names, colon, printed = piece.partition(":")
        found = _steps(names, unit, low, high)
        if colon:
            if len(found) != 1:
                raise Misread(f"One undersize before each colon, like {_undersizes(unit, low)}.")
            pair, _ = limits_in(printed, low.unit)
            found = [msgspec.structs.replace(found[0], low=pair.low, high=pair.high)]
        steps += found
    if not steps:
        raise Misread(f"Type the undersizes, like {_undersizes(unit, low)}, or none.")
    steps.sort(key=lambda step: step.by.mm)
    for one, other in pairwise(steps):
        if one.by.mm == other.by.mm:
            raise Misread(f"The undersize {other.name} stands there twice.")
    return tuple(steps)


def _steps(text: str, unit: str, low: Length, high: Length) -> list[DraftStep]:
    names = [name.replace(",", ".") for name in re.findall(_NUMBER, _commas_apart(text))]
    typed = lengths_in(text, unit)
    steps = []
    for name, one in zip(names, typed, strict=False):
        by = one.length
        if not 0 < by.mm < MOST_UNDERSIZE_MM:
            said = "Ten thousandths are .010. " if by.unit == "in" and by.value >= 1 else ""
            raise Misread(
                f"{by} is no undersize. {said}It is how much is off the diameter, like "
                f"{_undersizes(unit, low)}."
            )
        called = f"0{name}" if name.startswith(".") and by.unit == "mm" else name
        steps.append(DraftStep(called, by, less(low, by), less(high, by)))
    return steps


def less(limit: Length, by: Length) -> Length:
    """A limit less an undersize, exactly, in the unit of the limit where that takes few digits."""
    if limit.unit == by.unit:
        return Length(EXACT.subtract(limit.value, by.value), limit.unit)
    return Length(EXACT.subtract(limit.mm, by.mm).normalize(EXACT), "mm")


def _undersizes(unit: str, low: Length) -> str:
    return "0.25 0.50" if unit == "mm" or MM_PER[unit] == 1 else ".010 .020"
