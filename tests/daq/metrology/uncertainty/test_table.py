"""A budget as a person reads it."""

from decimal import Decimal

from daq.metrology.uncertainty.budget import combine
from daq.metrology.uncertainty.components import Component, product_term, rectangular
from daq.metrology.uncertainty.table import HEADINGS, foot, notes, rows, text

STACK = Component(
    name="stack",
    estimate="57.982 mm",
    u=0.0003,
    unit="mm",
    sensitivity=1.0,
    note="limits of grade 1",
)
CHECK = Component(
    name="check repeatability",
    estimate="0",
    u=0.0004,
    unit="mm",
    sensitivity=1.0,
    dof=4,
    kind="A",
    note="mean of 5",
)
WARM = Component(
    name="part temperature",
    estimate="22 °C",
    u=rectangular(0.5),
    unit="K",
    sensitivity=-0.000667,
    distribution="rectangular",
)
ALPHA = Component(
    name="part coefficient",
    estimate="11.5e-6 /K",
    u=0.66e-6,
    unit="/K",
    sensitivity=-116.0,
    distribution="rectangular",
)
STEP = Decimal("0.0001")


def test_each_component_is_a_row() -> None:
    found = rows(combine([STACK, CHECK]))
    assert found == (
        ("stack", "57.982 mm", "0.3 um", "B normal", "inf", "1", "0.300", "36.0"),
        ("check repeatability", "0", "0.4 um", "A normal", "4", "1", "0.400", "64.0"),
    )
    assert {len(row) for row in found} == {len(HEADINGS)}


def test_sensitivities_carry_their_unit() -> None:
    second = product_term("second order", 0.66e-6, 0.29, 58.0)
    cells = [row[HEADINGS.index("sensitivity")] for row in rows(combine([WARM, ALPHA, second]))]
    assert cells == ["-0.000667 mm/K", "-116 mm K", "58 mm"]


def test_the_foot_says_all_that_leads_to_the_expanded_uncertainty() -> None:
    # derived: u_c = 0.5 um; 5**4 / (4**4 / 4) = 9.766, taken as 9; t95.45(9) = 2.32
    found = foot(combine([STACK, CHECK]), STEP, left_out=["elastic compression"])
    assert found == (
        "u_c = 0.500 um, combined standard uncertainty",
        "degrees of freedom = 9.7, taken as 9 (Welch-Satterthwaite)",
        "k = 2.320 for a coverage probability of 95.45 %",
        "U = k u_c = 0.0012 mm, rounded up to 0.0001 mm",
        "not in it: elastic compression",
    )


def test_an_error_not_corrected_is_added_to_the_foot() -> None:
    # derived: 1.1600 + 0.3 = 1.46 um
    found = foot(combine([STACK, CHECK]), STEP, added_mm=0.0003)
    assert (
        "U = k u_c + 0.300 um for an error not corrected = 0.0015 mm, rounded up to 0.0001 mm"
        in found
    )


def test_infinite_degrees_of_freedom_are_said_so() -> None:
    assert "degrees of freedom = infinite (Welch-Satterthwaite)" in foot(combine([STACK]), STEP)


def test_rounded_numbers_are_not_what_is_multiplied() -> None:
    # derived: 0.00050049 mm is shown as 0.500 um, but twice it is over 0.00100 mm
    one = Component(name="x", estimate="", u=0.00050049, unit="mm", sensitivity=1.0)
    found = foot(combine([one]), Decimal("0.00001"))
    assert found[0].startswith("u_c = 0.500 um")
    assert found[3].startswith("U = k u_c = 0.00101 mm")


def test_notes_say_where_it_comes_from() -> None:
    found = notes(combine([STACK, CHECK, WARM]))
    assert found == ("stack: limits of grade 1", "check repeatability: mean of 5")


def test_the_text_stands_in_columns() -> None:
    shown = text(combine([STACK, CHECK, WARM]), STEP, left_out=["elastic compression"])
    lines = shown.splitlines()
    table = lines[: lines.index("")]
    assert len(table) == 4
    # derived: 9 / (9 + 16 + 1.926**2) = 31.35 %
    assert table[1] == (
        "stack                57.982 mm   0.3 um       B normal  inf               1  0.300  31.4"
    )
    assert len({len(line) for line in table}) == 1  # the last column lines up to the right
    assert {line.index(word) for line, word in zip(table[:2], ("estimate", "57"), strict=True)} == {
        len("check repeatability") + 2
    }
    assert "not in it: elastic compression" in lines
    assert lines[-1] == "check repeatability: mean of 5"
    assert shown.endswith("\n")
    assert all(line == line.rstrip() for line in lines)


def test_degrees_of_freedom_that_are_no_whole_number_are_shown() -> None:
    half = Component(name="x", estimate="", u=0.1, unit="mm", sensitivity=1.0, dof=5.75)
    assert rows(combine([half]))[0][HEADINGS.index("dof")] == "5.7"
    assert combine([half]).dof == 5


def test_degrees_of_freedom_are_shown_cut_down_too() -> None:
    # 15.98 printed as 16.0 "taken as 15" would look like a mistake
    most = Component(name="x", estimate="", u=0.1, unit="mm", sensitivity=1.0, dof=15.98)
    assert foot(combine([most]), STEP)[1].startswith("degrees of freedom = 15.9, taken as 15")
    assert rows(combine([most]))[0][HEADINGS.index("dof")] == "15.9"
