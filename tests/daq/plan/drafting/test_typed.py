"""Limits, undersizes and limits of form as people type them."""

import pytest

from daq.lengths import parse_length
from daq.plan.drafting.typed import (
    Misread,
    form_in,
    lengths_in,
    limits_in,
    undersizes_in,
)

LOW, HIGH = parse_length("59.970 mm"), parse_length("59.990 mm")


@pytest.mark.parametrize(
    "text",
    [
        "59.970 59.990",
        "59,970 59,990",
        "59.970-59.990",
        "59.970 \N{EN DASH} 59.990 mm",
        "59.970 to 59.990 mm",
        "59.970/59.990",
        "59,970;59,990",
        "59.970,59.990",
        "59,970,59,990",
        "low 59.970 high 59.990",
        "59.970 mm 59.990 mm",
        "59.980 ±0.010",
        "59.980 +/- 0.010 mm",
    ],
)
def test_limits_are_read_however_the_manual_sets_them(text: str) -> None:
    pair, cross = limits_in(text, "mm")
    assert (str(pair.low), str(pair.high)) == ("59.970 mm", "59.990 mm")
    assert not pair.is_swapped
    assert cross is None


def test_limits_the_other_way_round_are_noticed() -> None:
    pair, _ = limits_in("59,990 59,970", "mm")
    assert (str(pair.low), str(pair.high), pair.is_swapped) == ("59.970 mm", "59.990 mm", True)


@pytest.mark.parametrize("text", ['2.3610 2.3618"', "2.3610in - 2.3618in", "2.3610 2.3618 inches"])
def test_a_unit_that_is_typed_goes_before_the_usual_one(text: str) -> None:
    pair, _ = limits_in(text, "mm")
    assert (str(pair.low), str(pair.high)) == ("2.3610 in", "2.3618 in")


@pytest.mark.parametrize(
    "text",
    [
        "59.970 59.990 mm 2.3610 2.3618 in",
        "59.970 mm (2.3610 in) to 59.990 mm (2.3618 in)",
    ],
)
def test_four_numbers_are_limits_and_their_cross_check(text: str) -> None:
    pair, cross = limits_in(text, "mm")
    assert cross is not None
    assert (str(pair.low), str(pair.high)) == ("59.970 mm", "59.990 mm")
    assert (str(cross.low), str(cross.high)) == ("2.3610 in", "2.3618 in")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("59.970", "Two numbers are needed"),
        ("hello", "hello cannot be read here"),
        ("[red]59.97 59.99", "[red]59.97 59.99 cannot be read here"),
        ("59.97 59.97", "Both limits are 59.97 mm"),
        ("5.997 59.990", "is a digit missing"),
        ("2.3610 2.3618", "2.3610 mm is thin for a journal: is it inches?"),
        ("0 0.1", "above zero"),
        ("59.97 mm 2.3618 in", "in two units"),
        ("1 2 3", "3 numbers"),
        ("mm 59.97 59.99", "unit stands behind"),
        ("59.97000000001 59.99", "too many digits"),
        ("1234567 1234568", "too many digits"),
        ("59.98 0.01 0.02 ±", "With ±"),
    ],
)
def test_what_are_no_limits_is_said_in_words(text: str, words: str) -> None:
    with pytest.raises(Misread, match=words.replace("[", r"\[").replace("?", r"\?")):
        limits_in(text, "mm")


def test_inches_that_are_millimetres_are_noticed() -> None:
    with pytest.raises(Misread, match=r"59\.970 in is thick for a journal: is it mm"):
        limits_in("59.970 59.990", "in")


def test_a_number_takes_the_next_unit_behind_it() -> None:
    found = [str(one.length) for one in lengths_in("1 2 in 3 mm 4", "mm")]
    assert found == ["1 in", "2 in", "3 mm", "4 mm"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.005", ("0.005 mm", "0.005 mm")),
        ("0,005 0,003", ("0.005 mm", "0.003 mm")),
        ("0.005 none", ("0.005 mm", None)),
        ("none .0002 in", (None, "0.0002 in")),
        ("- 0.005", (None, "0.005 mm")),
        ("out-of-round 0.005 taper 0.003", ("0.005 mm", "0.003 mm")),
        ("none", (None, None)),
        ("0.005 mm 0.005 mm", ("0.005 mm", "0.005 mm")),
    ],
)
def test_limits_of_form(text: str, expected: tuple[str | None, str | None]) -> None:
    found = tuple(None if one is None else str(one) for one in form_in(text, "mm"))
    assert found == expected


@pytest.mark.parametrize(
    ("text", "words"),
    [("5", "no limit of form"), ("0.005 0", "above zero"), ("1 2 3", "one number for both")],
)
def test_what_are_no_limits_of_form_is_said(text: str, words: str) -> None:
    with pytest.raises(Misread, match=words):
        form_in(text, "mm")


def test_undersizes_are_the_standard_limits_less_so_much() -> None:
    first, second = undersizes_in("0.50 .25", "mm", LOW, HIGH)
    # 59.970 - 0.25 = 59.720, 59.990 - 0.25 = 59.740
    assert (first.name, str(first.low), str(first.high)) == ("0.25", "59.720 mm", "59.740 mm")
    assert (second.name, str(second.low)) == ("0.50", "59.470 mm")


def test_undersizes_in_inches_come_off_millimetres_exactly() -> None:
    (step,) = undersizes_in(".010 in", "mm", LOW, HIGH)
    # 59.970 - 0.254 = 59.716
    assert (step.name, str(step.by), str(step.low)) == (".010", "0.010 in", "59.716 mm")


def test_limits_that_the_manual_prints_stand_behind_a_colon() -> None:
    one, other = undersizes_in("0.25: 59.725 59.740; 0.5", "mm", LOW, HIGH)
    assert (str(one.low), str(one.high)) == ("59.725 mm", "59.740 mm")
    assert str(other.low) == "59.470 mm"


def test_no_undersizes_are_fine() -> None:
    assert undersizes_in("none", "mm", LOW, HIGH) == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("25", "25 mm is no undersize"),
        ("0.25 .25", "0.25 stands there twice"),
        ("0.25 0.5: 59.4 59.5", "One undersize before each colon"),
        ("0.25: 59.72", "Two numbers are needed"),
        ("; ;", "Type the undersizes"),
    ],
)
def test_what_is_no_undersize_is_said(text: str, words: str) -> None:
    with pytest.raises(Misread, match=words):
        undersizes_in(text, "mm", LOW, HIGH)
