"""Typed values: digits are taken as they are, completed only where one size fits, or asked for."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from daq.errors import Refused
from daq.lengths import Length, parse_length, plain, to_mm
from daq.rules.plausibility import Began, Target, at_stack
from daq.rules.typed_value import (
    TypedAt,
    TypedValue,
    ending_with,
    is_value,
    typed_at,
    typed_value,
)


def target(low: str, high: str, window: str = "0.5") -> Target:
    return Target(Decimal(low), Decimal(high), Decimal(window), "", "")


def began(unit: str = "mm", resolution: str = "0.001") -> Began:
    return Began(unit, resolution, None, ())


PLACE = typed_at(began(), target("54.000", "54.020"), None, ["mm"], Decimal("0.020"))
"""Believed from 54.000 - 0.5 = 53.500 to 54.020 + 0.5 = 54.520 mm."""

INCH = typed_at(began("in", "0.0001"), target("53.975", "54.000"), None, ["in"], None)
"""2.1250 to 2.1260 in; believed from 53.475 to 54.500 mm, 2.10531 to 2.14566 in."""

SIZE = parse_length("54.000 mm")


def first(
    *units: str, step: str | None = None, tolerance: str | None = "0.020", size: Length = SIZE
) -> TypedAt:
    """Where the first value of a check on a stack is typed."""
    near = at_stack(size, Decimal("0.5"), near="", beyond="")
    known = None if step is None else parse_length(step)
    return typed_at(None, near, known, units, None if tolerance is None else Decimal(tolerance))


def refused(line: str, at: TypedAt) -> tuple[str, str]:
    with pytest.raises(Refused) as caught:
        typed_value(line, at)
    return caught.value.code, str(caught.value)


@pytest.mark.parametrize(
    ("line", "at", "value"),
    [
        ("54.013", PLACE, "54.013 mm"),
        ("54,013", PLACE, "54.013 mm"),
        ("  54.013  ", PLACE, "54.013 mm"),
        ("54.010", PLACE, "54.010 mm"),  # the zero at the end stays
        ("054.013", PLACE, "54.013 mm"),
        ("54.013 mm", PLACE, "54.013 mm"),
        ("54,013MM", PLACE, "54.013 mm"),
        ("61.000", PLACE, "61.000 mm"),  # far off: a question, not a slip of the form
        ("2.1254", INCH, "2.1254 in"),
        ('2,1254"', INCH, "2.1254 in"),
        ("2.1254 inch", INCH, "2.1254 in"),
        ("2.1254 in", PLACE, "2.1254 in"),  # another unit than before: a question as well
        ("54.01 mm", INCH, "54.01 mm"),
        ("54.000", first("mm"), "54.000 mm"),
        ("54.000 mm", first("mm", "in"), "54.000 mm"),
        ("54.00", first("mm", tolerance=None), "54.00 mm"),
        ("2.1260", first("in"), "2.1260 in"),
        ("2.1260 in", first("mm"), "2.1260 in"),
        ("54.00", first("mm", step="0.01 mm"), "54.00 mm"),  # whether it will do is asked elsewhere
        ("2.126", first("mm", step="0.001 in"), "2.126 in"),  # the unit is that of the gauge
        ("5.400", first("mm"), "5.400 mm"),  # far off in either unit: a question
    ],
)
def test_all_digits_are_taken_as_they_stand(line: str, at: TypedAt, value: str) -> None:
    found = typed_value(line, at)
    assert str(found) == value
    assert not found.is_completed


@pytest.mark.parametrize(
    ("line", "at", "value"),
    [
        ("013", PLACE, "54.013"),  # 53.013 and 55.013 are not believed
        (".013", PLACE, "54.013"),
        (",013", PLACE, "54.013"),
        ("013 mm", PLACE, "54.013"),
        ("4013", PLACE, "54.013"),
        ("991", PLACE, "53.991"),  # the nearest below the limit
        # a quarter of the 1 mm from one size that ends so to the next, below and above the limits
        ("750", PLACE, "53.750"),
        ("270", PLACE, "54.270"),
        ("254", INCH, "2.1254"),
        (".1254", INCH, "2.1254"),
        # 54.000 +- 0.04 is narrower than the 0.1 between two sizes that end alike
        ("13", typed_at(began(), target("54.000", "54.020", "0.03"), None, [], None), "54.013"),
        ("13", typed_at(began("mm", "0.01"), target("54", "54.02"), None, [], None), "54.13"),
        ("970", typed_at(began(), target("59.97", "59.97"), None, [], None), "59.970"),
    ],
)
def test_last_digits_are_completed_where_one_size_ends_so(
    line: str, at: TypedAt, value: str
) -> None:
    found = typed_value(line, at)
    assert plain(found.value) == value
    assert found.unit == at.unit
    assert found.is_completed


@pytest.mark.parametrize(
    ("line", "at", "words"),
    [
        ("13", PLACE, "53.513 and 53.613 both end with 13. Type more digits"),
        ("510", PLACE, "53.510 and 54.510 both end with 510. Type more digits"),
        ("3", PLACE, "One digit is not enough. Type it like 54.000"),
        ("54013", PLACE, "Type the point too: 54.013"),
        ("054013", PLACE, "Type the point too: 54.013"),
        (".01", PLACE, "Type all digits, a zero at the end too, like 54.000"),
        (".0130", PLACE, "That is a digit more than the first value had. Type it like 54.000"),
        (
            "600",
            typed_at(began(), target("54", "54.02", "0.03"), None, [], None),
            "No size close to 54.000 ends with 600. Type all digits",
        ),
        # the one believed that ends so, but the other lies little further off: 0.480, 0.521 mm
        ("541", PLACE, "No size close to 54.000 ends with 541. Type all digits"),
        ("749", PLACE, "No size close to 54.000 ends with 749. Type all digits"),
        ("271", PLACE, "No size close to 54.000 ends with 271. Type all digits"),
        ("54.01", PLACE, "Type all digits, a zero at the end too, like 54.000"),
        ("54.", PLACE, "Type all digits, a zero at the end too, like 54.000"),
        ("54,0135", PLACE, "That is a digit more than the first value had. Type it like 54.000"),
        ("2.1260", PLACE, "2.1260 mm is far off. If the gauge shows inches, type 2.1260 in"),
        ("54.012", INCH, "54.012 in is far off. If the gauge shows millimetres, type 54.012 mm"),
        ("13 in", PLACE, "In another unit all digits are needed. Type it like 54.000"),
        (".125 in", PLACE, "In another unit all digits are needed. Type it like 54.000"),
        ("+1", PLACE, "A size has no sign. Type it like 54.000"),
        ("-0.002", PLACE, "A size has no sign. Type it like 54.000"),
        ("1e3", PLACE, "'1e3' is no size. Type it like 54.000"),
        ("59.98O", PLACE, "'59.98o' is no size. Type it like 54.000"),
        ("54 013", PLACE, "'54 013' is no size. Type it like 54.000"),
        ("54.013 54.014", PLACE, "'54.013 54.014' is no size. Type it like 54.000"),
        ("54.013 cm", PLACE, "'54.013 cm' is no size. Type it like 54.000"),
        ("2 1/8", PLACE, "'2 1/8' is no size. Type it like 54.000"),
        (".", PLACE, "'.' is no size. Type it like 54.000"),
        ("0\x1b[31m", PLACE, "'0?[31m' is no size. Type it like 54.000"),
        ("1234567.000", PLACE, "'1234567.000' has too many digits. Type it like 54.000"),
        ("1.234,5", PLACE, "'1.234,5' has two points or commas. Type it like 54.000"),
        ("54,0.13 mm", PLACE, "'54,0.13 mm' has two points or commas. Type it like 54.000"),
        ("54..013", PLACE, "'54..013' has two points or commas. Type it like 54.000"),
        ("000", first("mm"), "Type the first value with all its digits, like 54.000"),
        (".000", first("mm"), "Type the first value with all its digits, like 54.000"),
        ("54", first("mm", "in"), "Type the first value with all its digits, like 54.000 mm"),
        (
            "54.000",
            first("mm", "in"),
            "Type the unit with the first value, like 54.000 mm or 2.1260 in",
        ),
        (
            "2.1260",
            first("mm"),
            "2.1260 mm is far off. If the gauge shows inches, type 2.1260 in",
        ),
        ("54.0", first("mm"), "Type all digits that the gauge shows, like 54.00"),
        (
            "54.00",
            first("mm", step="0.001 mm"),
            "Type all digits that the gauge shows, like 54.000",
        ),
        (
            # 0.01 mm is over a quarter of the tolerance, 0.020 / 4 = 0.005 mm
            "54.00",
            first("mm"),
            "Type all digits that the gauge shows, like 54.000. A gauge that shows no more than "
            "54.00 is too coarse for this part",
        ),
    ],
)
def test_anything_else_is_refused_with_what_to_type(line: str, at: TypedAt, words: str) -> None:
    assert refused(line, at)[1] == words


@pytest.mark.parametrize(
    ("line", "code"),
    [("1.2.3", "separator"), ("5,4,", "separator"), ("54.0", "syntax"), ("13 in", "unit")],
)
def test_a_refusal_has_the_code_of_its_cause(line: str, code: str) -> None:
    assert refused(line, PLACE)[0] == code


@pytest.mark.parametrize("line", ["54.013", ".013", ",013", "013", "+1", "-1", "1e3", "  5"])
def test_a_line_that_begins_like_a_number_is_a_value(line: str) -> None:
    assert is_value(line)


@pytest.mark.parametrize(
    "line", ["", " ", "e", "e3", "back", "keep", "note 54.013", "mm", '"', "O1"]
)
def test_a_line_that_begins_otherwise_is_none(line: str) -> None:
    assert not is_value(line)


def test_the_resolution_is_one_unit_of_the_last_digit() -> None:
    assert TypedValue(Decimal("54.010"), "mm").resolution == Decimal("0.001")
    assert TypedValue(Decimal("2.1260"), "in").resolution == Decimal("0.0001")


# Any value ----------------------------------------------------------------------------------------

STEPS = st.integers(min_value=1000, max_value=200_000)


@st.composite
def places(draw: st.DrawFn) -> TypedAt:
    """A place with any limits and window, read by a gauge that shows 2 to 4 decimals."""
    unit, decimals = draw(st.sampled_from(["mm", "in"])), draw(st.integers(2, 4))
    low = to_mm(Decimal(draw(STEPS)).scaleb(-decimals), unit)
    width = Decimal(draw(st.integers(0, 2000))).scaleb(-3)
    window = draw(st.sampled_from(["0.02", "0.1", "0.5", "1"]))
    expected = Target(low, low + width, Decimal(window), "", "")
    return typed_at(began(unit, plain(Decimal(1).scaleb(-decimals))), expected, None, [], None)


@given(at=places(), digits=st.text("0123456789", min_size=1, max_size=7))
def test_a_completed_value_ends_as_typed_is_believed_and_is_the_only_one(
    at: TypedAt, digits: str
) -> None:
    try:
        found = typed_value(digits, at)
    except Refused:
        return
    assert found.is_completed
    shown = plain(found.value)
    assert shown.replace(".", "").endswith(digits)
    assert len(shown.replace(".", "")) > len(digits)
    assert at.unit is not None
    assert at.is_believed(found.value, at.unit)
    assert len(shown.partition(".")[2]) == at.decimals
    every = Decimal((0, (1,), len(digits) - (at.decimals or 0)))  # between sizes that end alike
    assert not at.is_believed(found.value - every, at.unit)
    assert not at.is_believed(found.value + every, at.unit)


def said(line: str, at: TypedAt) -> TypedValue | str:
    try:
        return typed_value(line, at)
    except Refused as no:
        return str(no)


@given(at=places(), last_digit=st.sampled_from("0123456789"), last=st.integers(2, 6))
def test_last_digits_of_a_believed_size_give_that_size_or_none(
    at: TypedAt, last_digit: str, last: int
) -> None:
    assert at.unit is not None
    assert at.decimals is not None
    for size in ending_with(last_digit, at, at.unit, at.decimals):
        found = said(plain(size).replace(".", "")[-last:], at)
        assert found == TypedValue(size, at.unit, is_completed=True) or isinstance(found, str)


@given(at=places(), whole=st.integers(0, 999), behind=st.text("0123456789", max_size=5))
def test_comma_and_point_agree(at: TypedAt, whole: int, behind: str) -> None:
    with_point, with_comma = (said(f"{whole}{mark}{behind}", at) for mark in ".,")
    if isinstance(with_comma, str):
        with_comma = with_comma.replace(f"{whole},{behind}", f"{whole}.{behind}")
    assert with_point == with_comma


@given(at=places(), line=st.text('0123456789.,+-e mni"', max_size=12))
def test_any_line_gives_a_value_of_the_digits_typed_or_words(at: TypedAt, line: str) -> None:
    assume(is_value(line))
    found = said(line, at)
    if isinstance(found, str):
        assert found
        return
    digits = "".join(char for char in line if char.isdigit())
    shown = plain(found.value).replace(".", "")
    assert shown.endswith(digits) if found.is_completed else int(shown) == int(digits)
