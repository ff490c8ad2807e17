"""The values that everything else speaks of: lengths, limits, positions. No rules, no I/O.

Lengths are decimals and stay exact: 1 in = 25.4 mm exactly (international inch, 1959), so every
inch value is a finite decimal of millimetres and every comparison is made in exact millimetres.
"""

import re
from decimal import (
    Context,
    Decimal,
    FloatOperation,
    Inexact,
    InvalidOperation,
    Overflow,
)
from fractions import Fraction

import msgspec

from drivers.reading import plain

EXACT = Context(prec=500, traps=[Inexact, InvalidOperation, FloatOperation, Overflow])
"""Arithmetic that would have to round raises instead."""

MM_PER = {"mm": Decimal(1), "um": Decimal("0.001"), "in": Decimal("25.4")}
"""Millimetres in one unit of length, exact."""

MEAN_STEP_MM = Decimal("0.00001")
"""Means are shown to this, rounded half to even."""
_STEPS_IN_MM = 100_000
"""Such steps in a millimetre."""

_TYPED_LENGTH = re.compile(
    r"""(\+?[0-9]{1,6})(?:[.,]([0-9]{1,9}))? *(mm|um|in|inch|inches|"|\u2033)""", re.IGNORECASE
)
INCH_WORDS = ("in", "inch", "inches", '"', "\u2033")
"""How people write the inch."""

_LENGTH = re.compile(r"([+-]?\d{1,6}(?:\.\d{1,9})?) *(mm|um|in)", re.ASCII)


def to_mm(value: Decimal, unit: str) -> Decimal:
    """`value` in millimetres, exactly; KeyError if `unit` is not a length."""
    return EXACT.multiply(value, MM_PER[unit])


def signed(number: Decimal) -> str:
    """A decimal in plain notation with its sign, zero with a plus."""
    return format(number, "+f")


def shortest(number: Decimal) -> str:
    """A decimal in plain notation without trailing zeros."""
    return plain(number.normalize(EXACT))


class Length(msgspec.Struct, frozen=True):
    """A length as somebody stated it: the digits and the unit they were written in."""

    value: Decimal
    unit: str

    @property
    def mm(self) -> Decimal:
        """In millimetres, exactly."""
        return to_mm(self.value, self.unit)

    @property
    def step_mm(self) -> Decimal:
        """One unit of the last digit as written, in millimetres."""
        exponent = self.value.as_tuple().exponent
        assert isinstance(exponent, int)
        return to_mm(Decimal((0, (1,), exponent)), self.unit)

    def __str__(self) -> str:
        return f"{plain(self.value)} {self.unit}"


def parse_length(text: str) -> Length:
    """A length with its unit, like "59.97 mm" or "2.3610 in"; raises ValueError with the reason."""
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        raise ValueError(
            f'{text[:60]!r} is not a length with its unit, like "59.97 mm" or "2.3610 in"'
        )
    return Length(Decimal(found[1]), found[2])


def parse_typed_length(text: str) -> Length:
    """A length as a person types it: as `parse_length` has it, and with a decimal comma, in capital
    letters, or with inch or " for in. Raises ValueError with the reason.
    """
    found = _TYPED_LENGTH.fullmatch(text.strip())
    if found is None:
        return parse_length(text)
    whole, part, word = found.groups()
    unit = "in" if word.lower() in INCH_WORDS else word.lower()
    return Length(Decimal(whole if part is None else f"{whole}.{part}"), unit)


class Position(msgspec.Struct, frozen=True, order=True, gc=False, cache_hash=True):
    """Where a reading is taken: the tag that it carries. `repeat` counts from 1."""

    journal: str
    station: str
    angle_deg: int
    repeat: int = 1

    @property
    def place(self) -> str:
        """`station/angle`, as the tables write it."""
        return f"{self.station}/{self.angle_deg}"

    @property
    def spoken(self) -> str:
        """As a person says it, and types it back."""
        repeat = f" repeat {self.repeat}" if self.repeat > 1 else ""
        return f"{self.journal} {self.station} {self.angle_deg}°{repeat}"

    def __str__(self) -> str:
        suffix = f"/{self.repeat}" if self.repeat > 1 else ""
        return f"{self.journal}/{self.place}{suffix}"


class Limits(msgspec.Struct, frozen=True):
    """The limits of one journal, as the maker states them; form limits are for diameters.

    `taper_per`: the length along the journal that `taper` is stated for, None for the journal as a
    whole. `is_form_equal_allowed`: a form value equal to its limit is good ("must not exceed"),
    else it is not ("must be less than").
    """

    low: Length
    high: Length | None = None
    out_of_round: Length | None = None
    taper: Length | None = None
    taper_per: Length | None = None
    is_form_equal_allowed: bool = True

    @property
    def tolerance_mm(self) -> Decimal | None:
        """high - low, exactly; None without a high limit."""
        return None if self.high is None else EXACT.subtract(self.high.mm, self.low.mm)


def mean_text(mean: Fraction) -> str:
    """A mean in millimetres as the tables print it: half to even to 0.00001."""
    steps = round(mean * _STEPS_IN_MM)  # round() is half to even
    return plain(EXACT.multiply(Decimal(steps), MEAN_STEP_MM))


def inward(limit_mm: Decimal, unit: str, step: Decimal, *, is_low: bool) -> tuple[Decimal, bool]:
    """A limit shown in `unit` on steps of `step`: a low one rounded up, a high one down.

    Gives the value and whether it had to be rounded. Source: the rule for limits that may not be
    violated, round the upper limit down and the lower up (IEEE/ASTM SI 10, quoted second-hand).
    """
    steps = Fraction(limit_mm) / (Fraction(MM_PER[unit]) * Fraction(step))
    whole = (
        -(-steps.numerator // steps.denominator)
        if is_low
        else steps.numerator // (steps.denominator)
    )
    return EXACT.multiply(Decimal(whole), step), whole != steps


__all__ = [
    "EXACT",
    "INCH_WORDS",
    "MEAN_STEP_MM",
    "MM_PER",
    "Length",
    "Limits",
    "Position",
    "inward",
    "mean_text",
    "parse_length",
    "parse_typed_length",
    "plain",
    "shortest",
    "signed",
    "to_mm",
]
