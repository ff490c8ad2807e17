"""The budget of a journal's diameter, against hand sums, the GTC library and a simulation."""

import math
import random
import warnings
from decimal import Decimal
from statistics import stdev

import msgspec
import pytest

from daq.evaluation.earlier.diameter import (
    DiameterInputs,
    components,
    form_uncertainty,
    size_uncertainty,
)
from daq.evaluation.earlier.remedies import form_remedies, form_settled_by, remedies, settled_by
from daq.evaluation.temperature_lines import temperature_components
from daq.metrology.expansion import Coefficient
from daq.metrology.uncertainty.budget import combine
from daq.plan.plan import TemperaturePlan
from daq.record.environment import Environment, Reference, at_20c

STEEL = Coefficient(Decimal("11.5e-6"), Decimal("1.0e-6"), "as stated")
CRANK = Coefficient(Decimal("12.3e-6"), Decimal("1.2e-6"), "as stated")

PLAIN = DiameterInputs(
    size_mm=Decimal(60),
    stint=1,
    repeats=1,
    is_apart=False,
    stack_mm=Decimal(60),
    stack_u_mm=0.0003,
    stack_note="certificate",
    joints=3,
    wringing_u_mm=0.00002,
    check_sd_mm=0.0005,
    check_dof=8.0,
    check_readings=5,
    max_spread_mm=Decimal("0.002"),
    reading_sd_mm=0.0006,
    reading_dof=20.0,
    reading_note="repeats",
    is_reading_as_check=False,
    step_mm=Decimal("0.001"),
    max_drift_mm=Decimal("0.001"),
    error_mm=0.0,
    bias_mm=0.0,
    part_c=Decimal(25),
    part=CRANK,
    reference=Reference("stack", Decimal(22), STEEL),
    thermometer_limit_k=Decimal("0.5"),
    room_limit_k=Decimal(5),
    difference_limit_k=Decimal(1),
    coverage=0.9545,
)

UNKNOWN = msgspec.structs.replace(
    PLAIN, part_c=None, reference=Reference("stack", None, STEEL), part=STEEL
)


def test_the_budget_is_that_of_the_measurement_model() -> None:
    # Judge: the GTC library propagates the model of the module's head by itself; it knows the first
    # order only, so the product terms are left out here.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from GTC import type_b, ureal

    third = 1 / math.sqrt(3)
    reading = ureal(60.01, 0.0006, 20) + ureal(0, 0.0005 * third)
    # The check's mean as read, less the stack, which was 60 and wrung from four blocks.
    error = (ureal(60, 0.0005 / math.sqrt(5), 8) + ureal(0, 0.0005 * third)) - (
        ureal(60, 0.0003) + ureal(0, 0.00002)
    )
    drift = ureal(0, type_b.uniform(0.001))
    alpha_s, alpha_p = ureal(11.5e-6, 1.0e-6 * third), ureal(12.3e-6, 1.2e-6 * third)
    t_s, t_p = ureal(22, 0.5 * third), ureal(25, 0.5 * third)
    true = (reading - error + drift) * (1 + alpha_s * (t_s - 20)) / (1 + alpha_p * (t_p - 20))

    first_order = [part for part in components(PLAIN) if part.distribution != "product"]
    ours = combine(first_order)
    assert ours.combined == pytest.approx(true.u, rel=5e-4)  # sizes 60 and 60.01, and 1 + a*t
    assert ours.effective_dof == pytest.approx(true.df, rel=2e-3)


def test_unknown_temperatures_are_second_order_as_a_simulation_shows() -> None:
    # Part and stack of unlike steels in one room of 20 +- 5 degrees: neither was measured.
    dice = random.Random(20261125)

    def rectangular(half_width: float) -> float:
        return dice.uniform(-half_width, half_width)

    found = []
    for _ in range(40_000):
        room, apart = rectangular(5), rectangular(1)
        a_s, a_p = 11.5e-6 + rectangular(1e-6), 11.5e-6 + rectangular(1e-6)
        found.append(60 * (1 + a_s * room) / (1 + a_p * (room + apart)))
    simulated = stdev(found)
    ours = combine(temperature_components(UNKNOWN)).combined
    assert ours == pytest.approx(simulated, rel=0.02)
    assert not any(part.kind == "A" for part in temperature_components(UNKNOWN))


def test_a_part_of_known_temperature_against_an_unknown_stack_is_as_vague_as_the_room() -> None:
    about = msgspec.structs.replace(PLAIN, reference=Reference("stack", None, STEEL))
    vague = [part for part in temperature_components(about) if part.name == "stack temperature"]
    # 60 mm * 11.5e-6 /K * 5 K / sqrt(3)
    assert vague[0].contribution_mm == pytest.approx(0.001992, abs=1e-6)
    assert "not measured" in vague[0].note


def test_coefficients_carry_their_uncertainty() -> None:
    # Corrections of 60 mm by 5 K with u = 1.0e-6/sqrt(3): 0.000173 mm (JCGM 100, 5.1, derived).
    about = msgspec.structs.replace(PLAIN, part=STEEL)
    (part,) = [one for one in temperature_components(about) if one.name == "part coefficient"]
    (warmth,) = [one for one in temperature_components(about) if one.name == "part temperature"]
    assert part.contribution_mm == pytest.approx(0.000173, abs=1e-6)
    assert warmth.contribution_mm == pytest.approx(0.000199, abs=1e-6)
    assert math.hypot(part.contribution_mm, warmth.contribution_mm) == pytest.approx(
        0.000264, abs=1e-6
    )


def test_an_uncorrected_error_is_added_and_the_guard_rounded_up() -> None:
    bare, off = PLAIN, msgspec.structs.replace(PLAIN, error_mm=0.0007, bias_mm=-0.0007)
    plain, added = size_uncertainty(bare), size_uncertainty(off)
    assert added.budget.expanded == plain.budget.expanded
    assert float(added.guard_mm - plain.guard_mm) == pytest.approx(0.0007, abs=1e-5)
    for found in (plain, added):
        exact = found.budget.expanded + found.added_mm
        assert 0 <= float(found.guard_mm) - exact <= 0.00001
        assert found.guard_mm.as_tuple().exponent == -5


def test_drift_is_in_the_budget_since_no_reading_is_corrected_for_it() -> None:
    still = msgspec.structs.replace(PLAIN, max_drift_mm=Decimal(0))
    assert size_uncertainty(still).budget.combined < size_uncertainty(PLAIN).budget.combined
    (drift,) = [part for part in components(PLAIN) if part.name == "drift between checks"]
    assert drift.contribution_mm == pytest.approx(0.001 / math.sqrt(3))


def test_few_degrees_of_freedom_widen_the_factor() -> None:
    few = msgspec.structs.replace(
        PLAIN, reading_sd_mm=0.01, reading_dof=3.0, max_drift_mm=Decimal(0)
    )
    found = size_uncertainty(few)
    assert math.floor(found.budget.effective_dof) == 3
    # Student's t for 95.45 % and 3 degrees of freedom: 3.31 (NIST TN 1297, Table B.1)
    assert found.budget.k == pytest.approx(3.31, abs=0.005)


def test_one_standard_deviation_for_reading_and_check_counts_its_freedom_once() -> None:
    shared = msgspec.structs.replace(
        PLAIN, reading_sd_mm=0.0005, reading_dof=8.0, is_reading_as_check=True
    )
    (both,) = [part for part in components(shared) if part.kind == "A"]
    assert both.dof == 8
    assert both.contribution_mm == pytest.approx(0.0005 * math.sqrt(1 + 1 / 5))


def test_a_single_reading_a_check_shows_no_scatter_and_does_not_pass_for_none() -> None:
    blind = msgspec.structs.replace(
        PLAIN, check_sd_mm=0.0, check_dof=0.0, check_readings=1, reading_sd_mm=0.0, reading_dof=0.0
    )
    half = 0.001 / math.sqrt(3)
    found = {part.name: part.contribution_mm for part in components(blind)}
    assert found["check repeatability"] == pytest.approx(half)
    assert found["reading repeatability"] == pytest.approx(half)


def test_what_two_readings_share_cancels_in_their_difference() -> None:
    form = form_uncertainty(PLAIN, is_one_stint=True)
    # sqrt(2) * sqrt(0.0006^2 + (0.0005/sqrt(3))^2)
    assert form.budget.combined == pytest.approx(math.sqrt(2 * (0.36e-6 + 0.25e-6 / 3)))
    assert form.budget.combined < size_uncertainty(PLAIN).budget.combined


def test_between_two_stints_nothing_cancels() -> None:
    off = msgspec.structs.replace(PLAIN, error_mm=0.0004)
    both = form_uncertainty(off, is_one_stint=False)
    one = size_uncertainty(off)
    assert both.budget.combined == pytest.approx(math.sqrt(2) * one.budget.combined)
    assert both.added_mm == pytest.approx(0.0008)


def test_what_settles_it_is_computed_not_recited() -> None:
    loose = msgspec.structs.replace(UNKNOWN, error_mm=0.002)
    now = size_uncertainty(loose).guard_mm
    for way in remedies(loose):
        better = size_uncertainty(way.about).guard_mm
        assert better <= now, way.words
        assert (way.words in settled_by(loose, better)) is True
    assert "nor all together" in settled_by(loose, Decimal("0.00001"))
    together = settled_by(loose, Decimal("0.0019"))
    assert "only several things together" in together


def test_settling_by_temperature_is_not_offered_where_it_is_known() -> None:
    assert not any("same temperature" in way.words for way in remedies(PLAIN))
    assert any("same temperature" in way.words for way in remedies(UNKNOWN))


def test_what_would_settle_a_form_limit_is_computed_too() -> None:
    wide = msgspec.structs.replace(PLAIN, is_apart=True)
    now = form_uncertainty(wide, is_one_stint=True).guard_mm
    for way in form_remedies(wide, is_one_stint=True):
        better = form_uncertainty(way.about, is_one_stint=way.is_one_stint).guard_mm
        assert better <= now, way.words
        assert way.words in form_settled_by(wide, better, is_one_stint=True)


def test_the_words_do_not_depend_on_how_a_length_was_written() -> None:
    # 0.0010 and 0.001 are equal: words kept for the one must not come back for the other.
    first, second = (settled_by(UNKNOWN, Decimal(text)) for text in ("0.0010", "0.001"))
    assert first == second
    assert "at most 0.001 mm" in first


def test_drift_counts_in_form_where_a_check_lies_between() -> None:
    apart = msgspec.structs.replace(PLAIN, is_apart=True)
    near, far = (form_uncertainty(a, is_one_stint=True).budget for a in (PLAIN, apart))
    drift = 0.001 / math.sqrt(3)
    assert far.combined == pytest.approx(math.hypot(near.combined, drift))


def test_a_part_as_warm_as_a_known_stack_is_corrected_for_unlike_coefficients() -> None:
    carbide = Coefficient(Decimal("4.5e-6"), Decimal("0.5e-6"), "as stated")
    around = Environment(
        None, None, Decimal(30), TemperaturePlan(part=STEEL, stack=carbide), stacks={}
    )
    # 59.974 * (1 + 45e-6) / (1 + 115e-6)
    expected = Decimal("59.974") * Decimal("1.000045") / Decimal("1.000115")
    assert at_20c(around, "59.97 mm", Decimal("59.974")) == expected.quantize(Decimal("1e-7"))


def test_a_stack_of_unknown_temperature_may_be_as_warm_as_the_part() -> None:
    hot = msgspec.structs.replace(
        PLAIN, part_c=Decimal(30), reference=Reference("stack", None, STEEL)
    )
    (stack,) = [p for p in temperature_components(hot) if p.name == "stack temperature"]
    assert stack.contribution_mm == pytest.approx(60 * 11.5e-6 * 10 / math.sqrt(3))


def test_a_stack_known_by_the_gauges_temperature_only_is_less_certain() -> None:
    by_gauge = msgspec.structs.replace(PLAIN, reference=Reference("gauge", Decimal(22), STEEL))
    names = [part.name for part in temperature_components(by_gauge)]
    assert "stack against gauge, temperature" in names
    assert size_uncertainty(by_gauge).guard_mm > size_uncertainty(PLAIN).guard_mm


def test_a_journal_over_two_stints_is_told_to_be_measured_in_one() -> None:
    off = msgspec.structs.replace(PLAIN, error_mm=0.001)
    words = form_settled_by(off, Decimal("0.002"), is_one_stint=False)
    assert "would settle it" in words
    assert "measure the journal in one go" in words
    assert form_uncertainty(off, is_one_stint=True).guard_mm <= Decimal("0.002")
    assert form_uncertainty(off, is_one_stint=False).guard_mm > Decimal("0.002")


def test_repeats_that_were_taken_already_are_not_offered_again() -> None:
    often = msgspec.structs.replace(PLAIN, repeats=5)
    (way,) = [way for way in form_remedies(often, is_one_stint=True) if "repeat" in way.words]
    assert way.about.repeats == 20


# The lines of the budget as a person reads them

Row = tuple[str, str, str, str, str, float, float, str]


def rows(about: DiameterInputs) -> list[Row]:
    """Name, estimate, unit, kind, distribution, degrees of freedom, contribution in um, note."""
    return [
        (
            part.name,
            part.estimate,
            part.unit,
            part.kind,
            part.distribution,
            part.dof,
            round(part.contribution_mm * 1000, 4),
            part.note,
        )
        for part in components(about)
    ]


SECOND = "second order: the product of both uncertainties"
THERMOMETER = "thermometer within 0.5 K"
STEP = "half a step of 0.001 mm"
DRIFT = "allowed until the next passed check; not corrected"

# um: 0.5/sqrt(5) = 0.2236; 0.5/sqrt(3) = 0.2887; 1/sqrt(3) = 0.5774
MEASURED = [
    ("stack", "60 mm", "mm", "B", "normal", math.inf, 0.3, "certificate"),
    (
        *("wringing", "0", "mm", "B", "normal", math.inf, 0.02),
        "3 joints; the film itself is part of each block's length",
    ),
    (
        *("check repeatability", "0", "mm", "A", "normal", 8.0, 0.2236),
        "mean of 5; s = 0.50 um pooled over the stint's checks",
    ),
    ("reading repeatability", "0", "mm", "A", "normal", 20.0, 0.6, "repeats"),
    ("resolution on the stack", "0", "mm", "B", "rectangular", math.inf, 0.2887, STEP),
    ("resolution on the part", "0", "mm", "B", "rectangular", math.inf, 0.2887, STEP),
    ("drift between checks", "0", "mm", "B", "rectangular", math.inf, 0.5774, DRIFT),
]


def test_every_line_of_a_budget_says_what_it_is_and_where_it_comes_from() -> None:
    assert rows(PLAIN) == [
        *MEASURED,
        # 0.5 K / sqrt(3) x 60 mm x 12.3e-6 = 0.2130 um; x 11.5e-6 = 0.1992 um
        ("part temperature", "25 °C", "K", "B", "rectangular", math.inf, 0.2130, THERMOMETER),
        # 1.2e-6 / sqrt(3) x 60 mm x 5 K = 0.2078 um
        ("part coefficient", "12.3e-6 /K", "/K", "B", "rectangular", math.inf, 0.2078, "as stated"),
        # 1.2e-6 / sqrt(3) x 0.5 K / sqrt(3) x 60 mm = 0.0120 um
        (
            *("part coefficient x temperature", "0", "", "B", "product", math.inf, 0.012),
            SECOND,
        ),
        ("stack temperature", "22 °C", "K", "B", "rectangular", math.inf, 0.1992, THERMOMETER),
        # 1.0e-6 / sqrt(3) x 60 mm x 2 K = 0.0693 um
        (
            "stack coefficient",
            "11.5e-6 /K",
            "/K",
            "B",
            "rectangular",
            math.inf,
            0.0693,
            "as stated",
        ),
        # 1.0e-6 / sqrt(3) x 0.5 K / sqrt(3) x 60 mm = 0.0100 um
        ("stack coefficient x temperature", "0", "", "B", "product", math.inf, 0.01, SECOND),
    ]


def test_where_no_temperature_is_known_the_lines_say_so() -> None:
    # 1 K / sqrt(3) x 60 mm x 11.5e-6 = 0.3984 um. Coefficients are equal and the estimate is 20
    # degrees, so what they do is of the second order alone: sqrt(2) x 1e-6 / sqrt(3) x 5 K /
    # sqrt(3) x 60 mm = 0.1414 um. Lines that contribute nothing are left out.
    assert rows(UNKNOWN) == [
        *MEASURED,
        (
            *("part against stack, temperature", "0 K", "K", "B", "rectangular", math.inf, 0.3984),
            "not measured: within 1 K of each other",
        ),
        ("coefficients x temperature", "0", "", "B", "product", math.inf, 0.1414, SECOND),
    ]


def test_a_part_as_warm_as_a_known_stack_has_lines_for_both_coefficients() -> None:
    about = msgspec.structs.replace(PLAIN, part_c=None)
    assert rows(about)[7:] == [
        # 1 K / sqrt(3) x 60 mm x 12.3e-6 = 0.4261 um
        (
            *("part against stack, temperature", "0 K", "K", "B", "rectangular", math.inf, 0.4261),
            "not measured: within 1 K of each other",
        ),
        # 0.5 K / sqrt(3) x 60 mm x 0.8e-6 = 0.0139 um
        (
            *("common temperature, unlike coefficients", "22 °C", "K", "B", "rectangular"),
            *(math.inf, 0.0139, "thermometer"),
        ),
        # sqrt(1.2^2 + 1.0^2) = 1.5620; x 1e-6 / sqrt(3) x 60 mm x 2 K = 0.1082 um
        (
            *("coefficients", "0 /K", "/K", "B", "rectangular", math.inf, 0.1082),
            "difference of the two",
        ),
        # 1.5620e-6 / sqrt(3) x 0.5 K / sqrt(3) x 60 mm = 0.0156 um
        ("coefficients x temperature", "0", "", "B", "product", math.inf, 0.0156, SECOND),
    ]


def test_a_room_that_nobody_measured_takes_unlike_coefficients_along() -> None:
    about = msgspec.structs.replace(UNKNOWN, part=CRANK)
    lines = {row[0]: row for row in rows(about)}
    # 5 K / sqrt(3) x 60 mm x 0.8e-6 = 0.1386 um
    assert lines["common temperature, unlike coefficients"] == (
        *("common temperature, unlike coefficients", "20 °C", "K", "B", "rectangular"),
        *(math.inf, 0.1386, "not measured"),
    )


def test_a_stack_taken_as_warm_as_the_gauge_has_a_line_for_that() -> None:
    about = msgspec.structs.replace(PLAIN, reference=Reference("gauge", Decimal(22), STEEL))
    lines = {row[0]: row for row in rows(about)}
    assert lines["stack against gauge, temperature"] == (
        *("stack against gauge, temperature", "0 K", "K", "B", "rectangular", math.inf, 0.3984),
        "the stack's was not measured: taken as the gauge's, within 1 K",
    )
    assert lines["gauge temperature"][1] == "22 °C"


def test_a_stack_of_unknown_temperature_says_within_what_it_was_taken_for_20() -> None:
    about = msgspec.structs.replace(PLAIN, reference=Reference("stack", None, STEEL))
    lines = {row[0]: row for row in rows(about)}
    assert lines["stack temperature"][1] == "20 °C"
    assert lines["stack temperature"][-1] == "not measured: 20 °C within 5 K"
    assert "stack coefficient" not in lines, "at 20 degrees its coefficient does nothing"


@pytest.mark.parametrize("dof", [1.0, 8.0])
def test_one_scatter_for_both_is_one_line(dof: float) -> None:
    about = msgspec.structs.replace(
        PLAIN, is_reading_as_check=True, reading_note="the check's", check_dof=dof
    )
    lines = {row[0]: row for row in rows(about)}
    # 0.5 um x sqrt(1 + 1/5) = 0.5477
    assert lines["repeatability, part and stack"] == (
        *("repeatability, part and stack", "0", "mm", "A", "normal", dof, 0.5477),
        "one reading on the part and the mean of 5 on the stack: the check's",
    )
    assert not lines.keys() & {"check repeatability", "reading repeatability"}


@pytest.mark.parametrize("is_reading_as_check", [False, True])
def test_scatter_that_nobody_saw_is_half_of_what_is_permitted(is_reading_as_check: bool) -> None:
    about = msgspec.structs.replace(
        PLAIN, is_reading_as_check=is_reading_as_check, check_dof=0.0, reading_dof=0.0
    )
    unseen = "one reading a check shows no scatter: half its permitted spread either way"
    for name in ("check repeatability", "reading repeatability"):
        (row,) = [row for row in rows(about) if row[0] == name]
        # 2 um / 2 / sqrt(3) = 0.5774
        assert row == (name, "0", "mm", "B", "rectangular", math.inf, 0.5774, unseen)


def test_a_single_block_has_no_wringing() -> None:
    about = msgspec.structs.replace(PLAIN, joints=0)
    assert [row[0] for row in rows(about)][:2] == ["stack", "check repeatability"]


def test_the_lines_of_a_difference_are_named_for_both_readings() -> None:
    budget = form_uncertainty(PLAIN, is_one_stint=True).budget
    assert [part.name for part in budget.components] == [
        "reading repeatability",
        "resolution of both readings",
    ]
