"""Limits of real journals in the other unit: published pairs, and the rule that none may widen."""

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest

from daq.lengths import EXACT, Limits, inward, parse_length, plain, to_mm
from daq.plan.plan import parse_plan
from daq.record.results import JournalResult
from tests.judged_builders import judged

# Rule: the upper limit is rounded down and the lower up, after exact conversion of the limits
# themselves (ANSI/IEEE 268, later IEEE/ASTM SI 10, as quoted by a drawing-practice text). Exact
# values by hand: inches x 25.4, or mm / 25.4. `nearest` is what rounding to nearest would show.
CONVERSIONS = [
    # 11 +- 0.3 mm, worked in that text: .42125984 and .44488189 exactly, inward .422 and .444
    ("10.7 mm", "in", "0.001", True, "0.422", "0.421"),
    ("11.3 mm", "in", "0.001", False, "0.444", "0.445"),
    # US Army TM 5-3805-262-34, mains 2.998-3.000 in: 76.1492-76.2000
    ("2.998 in", "mm", "0.001", True, "76.150", "76.149"),
    ("3.000 in", "mm", "0.001", False, "76.200", "76.200"),
    # the same, first undersize 2.988-2.989 in: 75.8952-75.9206
    ("2.988 in", "mm", "0.001", True, "75.896", "75.895"),
    ("2.989 in", "mm", "0.001", False, "75.920", "75.921"),
    # the same, rods 2.738-2.739 in: 69.5452-69.5706
    ("2.738 in", "mm", "0.001", True, "69.546", "69.545"),
    ("2.739 in", "mm", "0.001", False, "69.570", "69.571"),
    # the same, rods 2.718-2.719 in: 69.0372-69.0626
    ("2.718 in", "mm", "0.001", True, "69.038", "69.037"),
    ("2.719 in", "mm", "0.001", False, "69.062", "69.063"),
    # the same, compressor 1.1230-1.1235 in: 28.5242-28.5369
    ("1.1230 in", "mm", "0.001", True, "28.525", "28.524"),
    ("1.1235 in", "mm", "0.001", False, "28.536", "28.537"),
    ("1.1230 in", "mm", "0.0001", True, "28.5242", "28.5242"),
    ("1.1235 in", "mm", "0.0001", False, "28.5369", "28.5369"),
    # TM 5-4320-300-14, rods 2.499-2.500 in: 63.4746-63.5000, where nearest does no harm
    ("2.499 in", "mm", "0.001", True, "63.475", "63.475"),
    ("2.500 in", "mm", "0.001", False, "63.500", "63.500"),
    # TM 5-2815-241-34&P, mains 4.4975-4.500 in: 114.2365 is a tie, and half to even falls outward
    ("4.4975 in", "mm", "0.001", True, "114.237", "114.236"),
    ("4.500 in", "mm", "0.001", False, "114.300", "114.300"),
    # workshop pages, 57.982-58.000 mm: 2.28275591-2.28346457 in
    ("57.982 mm", "in", "0.0001", True, "2.2828", "2.2828"),
    ("58.000 mm", "in", "0.0001", False, "2.2834", "2.2835"),
    # workshop pages, 47.988-48.000 mm: 1.88929134-1.88976378 in (and 1.8898 stands in print)
    ("47.988 mm", "in", "0.0001", True, "1.8893", "1.8893"),
    ("48.000 mm", "in", "0.0001", False, "1.8897", "1.8898"),
]


def at_one_place(limits: Limits, mm: Decimal) -> JournalResult:
    """A journal of one place, known exactly."""
    return judged({"front": {0: plain(mm)}}, limits, step=None)


@pytest.mark.parametrize(("limit", "unit", "step", "is_low", "expected", "nearest"), CONVERSIONS)
def test_a_converted_limit_never_widens(
    *, limit: str, unit: str, step: str, is_low: bool, expected: str, nearest: str
) -> None:
    exact = parse_length(limit).mm
    shown, was_rounded = inward(exact, unit, Decimal(step), is_low=is_low)
    assert plain(shown) == expected
    assert was_rounded == (to_mm(Decimal(expected), unit) != exact)
    # Rounding to nearest differs exactly where it would let a bad journal through.
    too_wide = to_mm(Decimal(nearest), unit)
    assert (nearest != expected) == (too_wide < exact if is_low else too_wide > exact)


@pytest.mark.parametrize(
    ("low", "high", "step"),
    [
        # the tables above as pairs: inches to 0.001 mm, and millimetres to 0.0001 in
        ("2.998 in", "3.000 in", "0.001"),
        ("2.988 in", "2.989 in", "0.001"),
        ("2.738 in", "2.739 in", "0.001"),
        ("2.718 in", "2.719 in", "0.001"),
        ("1.1230 in", "1.1235 in", "0.001"),
        ("4.4975 in", "4.500 in", "0.001"),
        ("57.982 mm", "58.000 mm", "0.0001"),
        ("47.988 mm", "48.000 mm", "0.0001"),
    ],
)
def test_a_journal_inside_the_shown_limits_is_inside_the_exact_ones(
    low: str, high: str, step: str
) -> None:
    limits = Limits(parse_length(low), parse_length(high))
    unit = "mm" if low.endswith("in") else "in"
    assert limits.high is not None
    for exact, is_low in ((limits.low, True), (limits.high, False)):
        shown, _ = inward(exact.mm, unit, Decimal(step), is_low=is_low)
        found = at_one_place(limits, to_mm(shown, unit))
        assert found.size_verdict == "within"
        # one step further out is outside: the shown limit gives away less than a step
        outer = EXACT.add(shown, Decimal(f"-{step}") if is_low else Decimal(step))
        found = at_one_place(limits, to_mm(outer, unit))
        assert found.size_verdict == ("below" if is_low else "above")


def test_half_even_rounding_of_a_tie_would_let_a_worn_journal_pass() -> None:
    # TM 5-2815-241-34&P: 4.4975 in = 114.2365 mm; half to even gives 114.236, which is under it
    limit = parse_length("4.4975 in").mm
    assert limit == Decimal("114.2365")
    assert limit.quantize(Decimal("0.001"), ROUND_HALF_EVEN) < limit
    assert inward(limit, "mm", Decimal("0.001"), is_low=True)[0] >= limit


def test_a_reading_is_not_rounded_to_pass() -> None:
    # Limits are absolute, as if followed by zeros: a reading of .236 may not be rounded to .24 to
    # meet a limit of .24 (Y14.5, 2.4, as quoted by a drawing-practice text)
    found = at_one_place(Limits(parse_length("0.24 in")), to_mm(Decimal("0.236"), "in"))
    assert found.verdict == "below"
    assert Decimal(found.smallest_mm) == Decimal("5.9944")  # 0.236 x 25.4


def test_limits_are_converted_and_not_a_nominal_with_its_tolerance() -> None:
    # 11 +- 0.3 mm: nominal and tolerance to three decimals are .433 +- .012 = .421 to .445 in,
    # which is wider than the exact .42125984 to .44488189
    low, high = parse_length("10.7 mm"), parse_length("11.3 mm")
    assert to_mm(Decimal("0.421"), "in") < low.mm
    assert to_mm(Decimal("0.445"), "in") > high.mm
    shown_low, _ = inward(low.mm, "in", Decimal("0.001"), is_low=True)
    shown_high, _ = inward(high.mm, "in", Decimal("0.001"), is_low=False)
    assert low.mm <= to_mm(shown_low, "in") < to_mm(shown_high, "in") <= high.mm


def test_an_army_bulletins_0_03937_would_shift_a_limit() -> None:
    # 59.97 mm x 0.03937 = 2.3610189 in, but 59.97 / 25.4 = 2.36102362...: 0.0000047 in lower
    limit = parse_length("59.97 mm").mm
    wrong = limit * Decimal("0.03937")
    shown, was_rounded = inward(limit, "in", Decimal("0.0000001"), is_low=True)
    assert (plain(shown), was_rounded) == ("2.3610237", True)
    assert to_mm(wrong, "in") < limit
    assert Fraction(shown) > Fraction(wrong)


# Inch limits as US Army manuals print them, with their exact millimetres by hand (x 25.4).
PUBLISHED = [
    # TM 5-2815-241-34&P, rods (prints 79.298-79.375 mm, the lower cut by 0.8 um outward)
    ("3.122 in", "3.125 in", "79.2988", "79.375"),
    # TM 5-4320-300-14, mains and rods, standard and .002
    ("2.999 in", "3.000 in", "76.1746", "76.2"),
    ("2.497 in", "2.498 in", "63.4238", "63.4492"),
    # TM 10-3930-638-24&P, rods .002 and .030
    ("2.2460 in", "2.2470 in", "57.0484", "57.0738"),
    ("2.2180 in", "2.2190 in", "56.3372", "56.3626"),
    # TM 5-3805-260-24, rods 2.7496 +- .0006
    ("2.7490 in", "2.7502 in", "69.8246", "69.85508"),
]


@pytest.mark.parametrize(("low", "high", "low_mm", "high_mm"), PUBLISHED)
def test_published_inch_limits_reach_the_verdict_as_exact_mm(
    low: str, high: str, low_mm: str, high_mm: str
) -> None:
    plan = parse_plan(
        f'schema = 1\npart = "p"\n[[journal]]\nname = "M1"\nlow = "{low}"\nhigh = "{high}"\n', "x"
    )
    limits = plan.journals[0].limits
    found = at_one_place(limits, limits.low.mm)
    assert Decimal(found.low_limit_mm) == Decimal(low_mm)
    assert Decimal(found.high_limit_mm) == Decimal(high_mm)


def test_a_print_cut_outward_would_pass_a_journal_that_the_inch_limit_refuses() -> None:
    # TM 5-2815-241-34&P prints 79.298 mm for 3.122 in = 79.2988: a journal of 79.298 is under it
    for low, verdict in (('["3.122 in", "79.298 mm"]', "below"), ('"79.298 mm"', "within")):
        plan = parse_plan(
            f'schema = 1\npart = "p"\n[[journal]]\nname = "R1"\nlow = {low}\nhigh = "79.375 mm"\n',
            "x",
        )
        found = at_one_place(plan.journals[0].limits, Decimal("79.298"))
        assert found.verdict == verdict
