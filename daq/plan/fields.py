"""Single values of a plan: names, numbers, lengths, limits with a cross-check, bands.

Every function takes the `key` that it reads and raises WrongKey with it.
"""

from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, Length, parse_length, plain
from daq.plan.schema import MOST_NAME
from drivers.toml_file import WrongKey


def name_in(text: str, key: str) -> str:
    """A name that may stand in a place and a table."""
    if not text.strip() or len(text) > MOST_NAME or "/" in text or not text.isprintable():
        raise WrongKey(
            key, f"{text[:90]!r}: 1 to {MOST_NAME} characters without / or control characters"
        )
    return text


def between(number: float, low: float, high: float, key: str) -> None:
    """Refuse a number outside [low, high], NaN too."""
    if not low <= number <= high:
        is_endless = isinstance(number, int) and number.bit_length() > 64
        shown = "this number" if is_endless else f"{number:g}"
        raise WrongKey(key, f"{shown} is not between {low:g} and {high:g}")


def length(text: str, key: str) -> Length:
    """A length of either sign."""
    try:
        return parse_length(text)
    except ValueError as error:
        raise WrongKey(key, str(error)) from error


def positive(text: str, key: str) -> Length:
    """A length above zero."""
    found = length(text, key)
    if found.value <= 0:
        raise WrongKey(key, f"{found} is not above zero")
    return found


def limit(spec: str | list[str] | None, key: str) -> Length | None:
    """A limit if there is one; with a cross-check in the other unit, the two must agree."""
    return None if spec is None else needed_limit(spec, key)


def needed_limit(spec: str | list[str], key: str) -> Length:
    """A limit; with a cross-check in the other unit, the two must agree."""
    if isinstance(spec, str):
        return positive(spec, key)
    if len(spec) != 2:
        raise WrongKey(key, "a list holds the limit and one cross-check in the other unit")
    stated, cross = (positive(text, key) for text in spec)
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
    return stated


def in_other_unit(stated: Length) -> str:
    """A length and what it is in the other unit: exact mm, or inches to the digits it carries."""
    if stated.unit == "in":
        return f"{stated} is {plain(stated.mm.normalize(EXACT))} mm"
    # A step of 0.001 mm is 0.000 039 in: five decimals keep what three decimals of mm carry.
    inches = Fraction(stated.mm) / Fraction(MM_PER["in"])
    return f"{stated} is {plain(EXACT.scaleb(Decimal(round(inches * 10**5)), -5))} in"


def band(spec: list[str] | None, key: str) -> tuple[Length, Length] | None:
    """The smallest and the largest of something, if stated; the two may be equal."""
    if spec is None:
        return None
    if len(spec) != 2:
        raise WrongKey(key, "a list of two: the smallest, then the largest")
    low, high = (positive(text, key) for text in spec)
    if low.mm > high.mm:
        raise WrongKey(key, f"upside down: the smallest, {low}, is over the largest, {high}")
    return low, high
