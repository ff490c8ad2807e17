"""A value that a person read off the gauge and typed: a size, or words on what to type. Pure.

Digits are never rounded nor guessed. Last digits alone are completed only where a single size of
all that would be believed ends so; what is completed is shown in full and marked.
"""

import math
import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.errors import Refused
from daq.lengths import EXACT, INCH_WORDS, MM_PER, Length, parse_length, plain, to_mm
from daq.metrology.gauge_check import too_coarse
from daq.record.state import State
from daq.rules.plausibility import Began, Target, began_in, expected_in, is_outside
from drivers.printable import printable

COMPLETED = "completed"
"""The flag of a reading whose first digits were not typed."""

LEAST_DECIMALS = {"mm": 2, "in": 3}
"""No gauge for shafts shows fewer digits behind the point, so one that has fewer lost some. Chosen
by us: 0.01 mm and 0.001 in."""

FEWEST_LAST = 2
"""So many last digits at least: one alone is a slip of the finger more often than a size."""

MOST_WHOLE, MOST_BEHIND = 6, 9
"""Digits before and behind the point, as any length may have."""

SIGNS = ("+", "-", "\u2212", "\u00b1")
_BEGINS = frozenset((*"0123456789.,", *SIGNS))
_UNITS = {"": None, "mm": "mm", **dict.fromkeys(INCH_WORDS, "in")}
_NAMES = {"mm": "millimetres", "in": "inches"}
_TYPED = re.compile(rf"([0-9]*)([.,]?)([0-9]*) {{0,3}}({'|'.join(_UNITS)})")
_TWO_MARKS = re.compile(r"[0-9]*[.,][0-9]*[.,][0-9.,]*[^0-9.,]*")


class TypedAt(msgspec.Struct, frozen=True):
    """What is known where a value is typed.

    `unit` and `decimals` are those of the first value that counted, None before it. Before it
    `offered` is the unit meant where none is typed (None: it must be typed), `step` the gauge's own
    step, if that is known, and `tolerance_mm` what it must be fine enough for. `target` is the size
    that is expected.
    """

    unit: str | None
    decimals: int | None
    offered: str | None
    step: Length | None
    tolerance_mm: Decimal | None
    target: Target

    def example(self, unit: str, decimals: int) -> str:
        """A size as it would be typed here."""
        steps = round(Fraction(self.target.low) / Fraction(MM_PER[unit]) * 10**decimals)
        return plain(_size(steps, decimals))

    def is_believed(self, value: Decimal, unit: str) -> bool:
        """The size would be taken without a question about where it lies."""
        return not is_outside(to_mm(value, unit), self.target)


class TypedValue(msgspec.Struct, frozen=True):
    """A value with the digits that it has, and its unit; `is_completed`: only its last ones were
    typed.
    """

    value: Decimal
    unit: str
    is_completed: bool = False

    @property
    def resolution(self) -> Decimal:
        """One unit of the last digit."""
        return _size(1, _decimals(self.value))

    def __str__(self) -> str:
        return f"{plain(self.value)} {self.unit}"


def is_value(line: str) -> bool:
    """A line of digits, and no word: words begin with a letter."""
    return line.strip()[:1] in _BEGINS


def typed_value(line: str, at: TypedAt) -> TypedValue:
    """The value in a typed line; raises Refused with what to type instead, a sentence or two
    without the last full stop.
    """
    whole, mark, behind, unit = _parts(line.strip().lower(), at)
    is_whole = bool(whole and behind)
    if at.unit is None or at.decimals is None:
        if not is_whole:
            raise _wrong(f"Type the first value with all its digits, {_like(at)}")
        return _first(Decimal(f"{whole}.{behind}"), unit, at)
    if unit is not None and unit != at.unit:
        if not is_whole:
            raise _wrong(f"In another unit all digits are needed. {_type_it(at)}", "unit")
        return TypedValue(Decimal(f"{whole}.{behind}"), unit)  # the unit itself is asked about
    if not mark:
        return TypedValue(_completed(whole, at.unit, at.decimals, at), at.unit, is_completed=True)
    if is_whole and unit is None:
        _check_unit(Decimal(f"{whole}.{behind}"), at.unit, at)
    if len(behind) < at.decimals:
        raise _wrong(f"Type all digits, a zero at the end too, {_like(at)}")
    if len(behind) > at.decimals:
        raise _wrong(f"That is a digit more than the first value had. {_type_it(at)}")
    if is_whole:
        return TypedValue(Decimal(f"{whole}.{behind}"), at.unit)
    return TypedValue(_completed(behind, at.unit, at.decimals, at), at.unit, is_completed=True)


def _parts(text: str, at: TypedAt) -> tuple[str, str, str, str | None]:
    """Digits, separator, digits, unit; raises Refused for anything else."""
    shown = repr(printable(text[:40]))
    if text[:1] in SIGNS:
        raise _wrong(f"A size has no sign. {_type_it(at)}")
    if _TWO_MARKS.fullmatch(text):
        raise _wrong(f"{shown} has two points or commas. {_type_it(at)}", "separator")
    found = _TYPED.fullmatch(text)
    if found is None or not (found[1] or found[3]):
        raise _wrong(f"{shown} is no size. {_type_it(at)}")
    if len(found[1]) > MOST_WHOLE or len(found[3]) > MOST_BEHIND:
        raise _wrong(f"{shown} has too many digits. {_type_it(at)}", "range")
    return found[1], found[2], found[3], _UNITS[found[4]]


def _first(value: Decimal, typed: str | None, at: TypedAt) -> TypedValue:
    """The first value, which sets unit and digits of what follows."""
    unit = typed or at.offered
    if unit is None:
        mm, inch = at.example("mm", 3), at.example("in", 4)
        raise _wrong(f"Type the unit with the first value, like {mm} mm or {inch} in", "unit")
    if typed is None:
        _check_unit(value, unit, at)
    found = TypedValue(value, unit)
    known = at.step if at.step is not None and at.step.unit == unit else None
    least = LEAST_DECIMALS[unit] if known is None else _decimals(known.value)
    if _decimals(value) < least:
        raise _wrong(f"Type all digits that the gauge shows, {_like(at, unit, least)}")
    digit_mm = to_mm(found.resolution, unit)
    if at.step is None and too_coarse("", digit_mm, at.tolerance_mm) is not None:
        more = _like(at, unit, _decimals(value) + 1)
        raise _wrong(
            f"Type all digits that the gauge shows, {more}. A gauge that shows no more than "
            f"{plain(value)} is too coarse for this part"
        )
    return found


def _check_unit(value: Decimal, unit: str, at: TypedAt) -> None:
    """A size that is none in the unit that was meant, and one in the other, needs its unit."""
    other = "in" if unit == "mm" else "mm"
    if at.is_believed(value, other) and not at.is_believed(value, unit):
        said = f"{plain(value)} {unit} is far off. If the gauge shows {_NAMES[other]}, type"
        raise _wrong(f"{said} {plain(value)} {other}", "unit")


def _completed(digits: str, unit: str, decimals: int, at: TypedAt) -> Decimal:
    """The one size that would be believed and ends with `digits`, close to what is expected; raises
    Refused.
    """
    if len(digits) < FEWEST_LAST:
        raise _wrong(f"One digit is not enough. {_type_it(at)}")
    found = ending_with(digits, at, unit, decimals)
    if len(found) > 1:
        both = f"{plain(found[0])} and {plain(found[1])}"
        raise _wrong(f"{both} both end with {digits}. Type more digits")
    if not found or not _is_close(found[0], unit, Decimal((0, (1,), len(digits) - decimals)), at):
        raise _wrong(
            f"No size close to {at.example(unit, decimals)} ends with {digits}. Type all digits"
        )
    if len(digits) >= len(plain(found[0])) - 1:
        raise _wrong(f"Type the point too: {plain(found[0])}")
    return found[0]


def _is_close(value: Decimal, unit: str, every: Decimal, at: TypedAt) -> bool:
    """The size lies within a quarter of `every`, from one size that ends alike to the next, of what
    is expected: further off, the other may be meant.
    """
    margin = EXACT.divide(to_mm(every, unit), Decimal(4))
    return not is_outside(to_mm(value, unit), msgspec.structs.replace(at.target, window=margin))


def ending_with(digits: str, at: TypedAt, unit: str, decimals: int) -> list[Decimal]:
    """The two smallest sizes of so many decimals that would be believed and end with `digits`."""
    step_mm = Fraction(MM_PER[unit]) / 10**decimals
    low, high = Fraction(at.target.least) / step_mm, Fraction(at.target.most) / step_mm
    least, every = max(1, math.ceil(low)), 10 ** len(digits)
    first = least + (int(digits) - least) % every
    return [_size(steps, decimals) for steps in (first, first + every) if steps <= high]


def _size(steps: int, decimals: int) -> Decimal:
    """So many steps of the last digit, exactly."""
    return Decimal((0, tuple(int(digit) for digit in str(steps)), -decimals))


def _decimals(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    return max(0, -exponent)


def _wrong(words: str, code: str = "syntax") -> Refused:
    return Refused(code, words)


def _type_it(at: TypedAt) -> str:
    return f"Type it {_like(at)}"


def _like(at: TypedAt, unit: str | None = None, decimals: int | None = None) -> str:
    """An example of what would be taken here, with its unit where that is needed."""
    known = unit or at.unit or at.offered
    shown = known or "mm"
    digits = at.decimals if decimals is None else decimals
    example = at.example(shown, LEAST_DECIMALS[shown] + 1 if digits is None else digits)
    return f"like {example}" if known else f"like {example} {shown}"


# Where it is typed -------------------------------------------------------------------------------


def typed_at(
    began: Began | None,
    target: Target,
    step: Length | None,
    units: Sequence[str],
    tolerance_mm: Decimal | None,
) -> TypedAt:
    """What is known where `target` is expected: of a stint or check that `began` or did not yet;
    `units`: those of the lengths at hand, which offer one where they agree.
    """
    offered = step.unit if step is not None else units[0] if len(set(units)) == 1 else None
    return TypedAt(
        unit=None if began is None else began.unit,
        decimals=None if began is None else _decimals(Decimal(began.resolution)),
        offered=offered if offered in LEAST_DECIMALS else None,
        step=step,
        tolerance_mm=tolerance_mm,
        target=target,
    )


def typed_in(state: State) -> TypedAt:
    """What is known where a value is typed in a session; a stint runs."""
    step = None
    if state.setup.step is not None:
        step = parse_length(state.setup.step)
    elif state.gauge is not None:
        step = state.gauge.resolution
    limits = [journal.limits for journal in state.scope.journals.values()]
    lengths = [*state.scope.sizes.values(), *(each.low for each in limits)]
    lengths += [each.high for each in limits if each.high is not None]
    return typed_at(
        began_in(state),
        expected_in(state).target,
        step,
        [each.unit for each in lengths],
        state.scope.tolerance_mm,
    )
