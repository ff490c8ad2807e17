"""Single values of a plan: names, numbers, lengths, limits with a cross-check, bands.

Every function takes the `key` of its value and raises WrongKey with it. `read_...` gives what is
written and raises only where that has not the shape of such a value; `check_...` refuses by the
rules of today too. What is left out, None, is right where it may be.
"""

from decimal import Decimal
from fractions import Fraction

from daq.equipment.fields import check_positive, read_length, read_optional_length
from daq.lengths import EXACT, MM_PER, Length, plain
from daq.plan.schema import MOST_NAME
from drivers.toml_file import WrongKey

_LIMIT_PAIR = "a list holds the limit and one cross-check in the other unit"
_BAND_PAIR = "a list of two: the smallest, then the largest"


def check_name(text: str, key: str) -> None:
    """Refuse a name that may not stand in a place and a table."""
    if not text.strip() or len(text) > MOST_NAME or "/" in text or not text.isprintable():
        raise WrongKey(
            key, f"{text[:90]!r}: 1 to {MOST_NAME} characters without / or control characters"
        )


def check_between(number: float, low: float, high: float, key: str) -> None:
    """Refuse a number outside [low, high], NaN too."""
    if not low <= number <= high:
        is_endless = isinstance(number, int) and number.bit_length() > 64
        shown = "this number" if is_endless else f"{number:g}"
        raise WrongKey(key, f"{shown} is not between {low:g} and {high:g}")


def read_limit(spec: str | list[str], key: str) -> Length:
    """A limit as stated; where it has a cross-check, the first of the two."""
    if isinstance(spec, str):
        return read_length(spec, key)
    stated, _ = _two_lengths(spec, key, _LIMIT_PAIR)
    return stated


def read_optional_limit(spec: str | list[str] | None, key: str) -> Length | None:
    """A limit if there is one."""
    return None if spec is None else read_limit(spec, key)


def check_limit(spec: str | list[str] | None, key: str) -> None:
    """Refuse a limit not above zero, and one that its cross-check in the other unit belies."""
    if spec is None or isinstance(spec, str):
        check_positive(spec, key)
        return
    for text in _two(spec, key, _LIMIT_PAIR):
        check_positive(text, key)
    stated, cross = _two_lengths(spec, key, _LIMIT_PAIR)
    if (stated.unit == "in") == (cross.unit == "in"):
        raise WrongKey(key, f"the cross-check {cross} is not in the other unit than {stated}")
    off = EXACT.subtract(stated.mm, cross.mm).copy_abs()
    if off > cross.step_mm:
        raise WrongKey(
            key,
            f"{stated} and its cross-check {cross} differ by {off:f} mm, more than one unit of "
            f"the cross-check's last digit ({cross.step_mm:f} mm): {in_other_unit(stated)}, and "
            f"{in_other_unit(cross)}. One of them is wrong: see the maker's manual",
        )


def in_other_unit(stated: Length) -> str:
    """A length and what it is in the other unit: exact mm, or inches to the digits it carries."""
    if stated.unit == "in":
        return f"{stated} is {plain(stated.mm.normalize(EXACT))} mm"
    # A step of 0.001 mm is 0.000 039 in: five decimals keep what three decimals of mm carry.
    inches = Fraction(stated.mm) / Fraction(MM_PER["in"])
    return f"{stated} is {plain(EXACT.scaleb(Decimal(round(inches * 10**5)), -5))} in"


def read_band(spec: list[str] | None, key: str) -> tuple[Length, Length] | None:
    """The smallest and the largest of something, if stated."""
    return None if spec is None else _two_lengths(spec, key, _BAND_PAIR)


def check_band(spec: list[str] | None, key: str) -> None:
    """Refuse a band not above zero or upside down; its two ends may be equal."""
    if spec is None:
        return
    for text in _two(spec, key, _BAND_PAIR):
        check_positive(text, key)
    low, high = _two_lengths(spec, key, _BAND_PAIR)
    if low.mm > high.mm:
        raise WrongKey(key, f"upside down: the smallest, {low}, is over the largest, {high}")


def _two(spec: list[str], key: str, what: str) -> tuple[str, str]:
    """The two texts of a list; `what` says what a list holds here."""
    if len(spec) != 2:
        raise WrongKey(key, what)
    return spec[0], spec[1]


def _two_lengths(spec: list[str], key: str, what: str) -> tuple[Length, Length]:
    first, second = _two(spec, key, what)
    return read_length(first, key), read_length(second, key)


__all__ = [
    "check_band",
    "check_between",
    "check_limit",
    "check_name",
    "check_positive",
    "in_other_unit",
    "read_band",
    "read_length",
    "read_limit",
    "read_optional_length",
    "read_optional_limit",
]
