"""What a diameter's uncertainty rests on, gathered from sessions of fabricated readings."""

import math
from decimal import Decimal
from pathlib import Path
from typing import Any

import msgspec
import pytest

from daq.evaluation.earlier.diameter import (
    DiameterInputs,
    components,
    form_uncertainty,
    size_uncertainty,
)
from daq.evaluation.earlier.inputs import diameter_inputs, is_shared
from daq.evaluation.verdict import journals
from daq.metrology.conformity import conformance_probability
from daq.metrology.uncertainty.components import Component
from daq.record.events import Repeatability, Temperatures
from daq.record.evolve import judged_by
from daq.rules.commands import FindLink, LoseLink
from tests.builders import ONE, Bench, opened, setup, source

REPEATED = ONE.replace("angles_deg = [0, 90]", "angles_deg = [0, 90]\nrepeats = 3")

TWO_REPEATED = (
    REPEATED.replace("repeats = 3", "repeats = 2")
    + """
[[journal]]
name = "M2"
low = "59.970 mm"
high = "59.990 mm"
"""
)

STACK = """\
schema = 1
size = "59.970 mm"
grade = "1"
certificate = "C-17"
certificate_date = 2025-06-01
certificate_due = {due}
expansion = "10.8e-6 /K"

[[block]]
nominal = "9.970 mm"
deviation = "0.10 um"
uncertainty = "0.06 um"
k = 2

[[block]]
nominal = "50 mm"
deviation = "-0.30 um"
uncertainty = "0.10 um"
k = 2
"""


def form_budget(about: DiameterInputs) -> tuple[Component, ...]:
    """The components of a difference within one stint."""
    return form_uncertainty(about, is_one_stint=True).budget.components


def measured(folder: Path, *values: str, plan: str = ONE, **changes: Any) -> Bench:
    """A closed session of one journal: two check readings, `values`, two check readings."""
    first = opened(plan, with_setup=msgspec.structs.replace(setup(), **changes))
    bench = Bench.new(folder, first).press("59.970", "59.972", *values, "59.971", "59.971")
    return bench.close()


def test_check_scatter_is_pooled_by_degrees_of_freedom_within_each_check(tmp_path: Path) -> None:
    # Errors 0, 2 um: 2 um^2 about their mean; 1, 1: none. Two degrees of freedom: s = 1 um. The
    # step between the checks is drift, not scatter: all four together would give 0.82.
    state = measured(tmp_path / "s", "59.980", "59.981").state
    (found,) = diameter_inputs(state, state.by_journal["M1"])
    assert found.check_sd_mm == pytest.approx(0.001)
    assert found.check_dof == 2


def test_without_repeats_or_study_the_checks_scatter_stands_for_the_reading(tmp_path: Path) -> None:
    state = measured(tmp_path / "s", "59.980", "59.981").state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert about.is_reading_as_check
    assert about.reading_sd_mm == pytest.approx(0.001)
    assert about.reading_dof == 2
    assert "as on the stack" in about.reading_note


def test_repeats_study_and_checks_are_pooled_by_degrees_of_freedom(tmp_path: Path) -> None:
    study = Repeatability("0.0009", "27", "S-1")
    values = ("59.980", "59.981", "59.982", "59.985", "59.985", "59.985")
    state = measured(tmp_path / "s", *values, plan=REPEATED, study=study).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    # Squares in um^2: repeats 2 and 0 with two degrees of freedom each, study 27 * 0.9^2, checks 2
    # with two; no F test tells them apart.
    expected = math.sqrt((2 + 27 * 0.81 + 2) / (4 + 27 + 2))
    assert about.reading_sd_mm == pytest.approx(0.001 * expected)
    assert about.reading_dof == 33


def test_a_part_that_scatters_more_than_the_stack_counts_alone(tmp_path: Path) -> None:
    values = ("59.980", "59.984", "59.988", "59.980", "59.984", "59.988")
    first = opened(REPEATED)
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.971", *values, "59.970", "59.971")
    state = bench.close().state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    # s = 4 um with 4 against 0.71 um with 2: F = 32 over F(95 %; 4, 2) = 19.25
    # (common tables of the F distribution, from memory)
    assert about.reading_sd_mm == pytest.approx(0.004)
    assert about.reading_dof == 4
    assert not about.is_reading_as_check


def test_a_few_equal_readings_prove_nothing_against_the_stack(tmp_path: Path) -> None:
    twice = REPEATED.replace("repeats = 3", "repeats = 2")
    state = measured(tmp_path / "s", *["59.980"] * 4, plan=twice).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert about.is_reading_as_check
    assert about.reading_sd_mm == pytest.approx(0.001)


def test_a_kept_study_serves_where_nothing_was_repeated(tmp_path: Path) -> None:
    study = Repeatability("0.0009", "27", "S-1")
    state = measured(tmp_path / "s", "59.980", "59.981", study=study).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    # with the checks' own scatter, s = 1 um and 2 degrees of freedom
    assert about.reading_sd_mm == pytest.approx(0.001 * math.sqrt((27 * 0.81 + 2) / 29))
    assert about.reading_dof == 29
    assert "S-1" in about.reading_note
    assert not about.is_reading_as_check


def test_the_error_on_the_stack_is_the_worst_of_the_passed_checks(tmp_path: Path) -> None:
    state = measured(tmp_path / "s", "59.980", "59.981").state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert (about.error_mm, about.bias_mm) == (0.001, 0.001)  # means +1 and +1


def test_a_saved_stack_brings_its_certificate_and_its_coefficient(tmp_path: Path) -> None:
    plan = ONE.replace('stack = "59.970 mm"', 'stack = "bench"')
    text = STACK.format(due="2026-12-01")
    state = measured(
        tmp_path / "s",
        "59.980",
        "59.981",
        plan=plan,
        saved_stacks={"bench": "59.9698 mm"},
        stack_files={"bench": text},
        temperatures=Temperatures("24", "", "22"),
    ).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert about.joints == 1
    assert about.reference.coefficient.value == Decimal("10.8e-6")
    assert "C-17" in about.stack_note
    # U/k of one certificate, added linearly: (0.06 + 0.10)/2 um; since then the permitted change
    # of grade 1 (ISO 3650 6.2.4): (0.05 + 0.5e-3*9.97 + 0.05 + 0.5e-3*50)/sqrt(3) um a year,
    # over the 542 days to the day of the session
    years = 542 / 365.25
    changed = years * (0.1 + 0.5e-3 * 59.97) / math.sqrt(3)
    assert about.stack_u_mm == pytest.approx(1e-3 * math.hypot(0.08, changed), rel=1e-6)
    first = state.by_journal["M1"].taken[0]
    exact = Decimal("59.980") * (1 + Decimal("10.8e-6") * 2) / (1 + Decimal("11.5e-6") * 4)
    assert first.at_20c_mm == exact.quantize(Decimal("1e-7"))


def test_a_certificate_out_of_date_is_not_used_and_the_budget_says_so(tmp_path: Path) -> None:
    plan = ONE.replace('stack = "59.970 mm"', 'stack = "bench"')
    state = measured(
        tmp_path / "s",
        "59.980",
        "59.981",
        plan=plan,
        saved_stacks={"bench": "59.9698 mm"},
        stack_files={"bench": STACK.format(due="2026-10-01")},
    ).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert "out of date" in about.stack_note
    assert "2026-10-01" in about.stack_note
    # Grade 1: 0.20 and 0.40 um (ISO 3650, DIN 861), rectangular; and the deviations in full
    expected = math.sqrt((0.20**2 + 0.40**2) / 3 + 0.10**2 + 0.30**2)
    assert about.stack_u_mm == pytest.approx(1e-3 * expected, rel=1e-6)


def test_readings_of_two_stints_are_judged_by_the_worse_one(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980").close()
    warm = setup(temperatures=Temperatures("23", "", ""))
    again = Bench.again(bench.folder, bench.now_us, warm)
    again.press("59.971", "59.971", "59.981", "59.971", "59.971").close()
    state = again.state
    abouts = diameter_inputs(state, state.by_journal["M1"])
    assert len({about.part_c for about in abouts}) == len(abouts)
    (result,) = journals(judged_by(state, 2))
    assert result.uncertainty_mm


def test_form_of_means_is_known_the_better_by_the_root_of_the_repeats(tmp_path: Path) -> None:
    values = ("59.980", "59.981", "59.982", "59.985", "59.985", "59.985")
    state = measured(tmp_path / "s", *values, plan=REPEATED).state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    assert about.repeats == 3
    single = msgspec.structs.replace(about, repeats=1)
    (mean,) = [p for p in form_budget(about) if p.name == "reading repeatability"]
    (one,) = [p for p in form_budget(single) if p.name == "reading repeatability"]
    assert one.contribution_mm == pytest.approx(math.sqrt(3) * mean.contribution_mm)


def test_the_place_with_the_fewest_repeats_counts(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(REPEATED)).press("59.970", "59.970")
    bench.press("59.980", "59.981", "59.982", "59.985").close()
    readings = bench.state.by_journal["M1"]
    assert readings.fewest_repeats == 1


def test_readings_at_other_temperatures_in_one_stint_share_nothing(tmp_path: Path) -> None:
    # Identical readings of the part, the second run with its temperature given: at 20 degrees
    # they differ by 7 um, which says nothing of the journal's form.
    plan = ONE.replace('high = "59.990 mm"', 'high = "59.990 mm"\nout_of_round = "0.005 mm"')
    bench = Bench.new(tmp_path / "s", opened(plan)).press("59.970", "59.970", "59.980").close()
    warm = setup(temperatures=Temperatures("30", "", ""))
    again = Bench.again(bench.folder, bench.now_us, warm)
    again.press("59.970", "59.970", "59.980", "59.970", "59.970").close()
    state = again.state
    abouts = diameter_inputs(state, state.by_journal["M1"])
    assert len(abouts) == 2
    assert not is_shared(abouts)
    (result,) = journals(judged_by(state, 2))
    assert result.out_of_round_mm == "0.0068969"  # 59.98 * 115e-6 / (1 + 115e-6)
    assert result.form_verdict == "undecided"


def test_the_budget_names_the_stacks_size_not_the_journals(tmp_path: Path) -> None:
    plan = ONE.replace('stack = "59.970 mm"', 'stack = "60.250 mm"')
    first = opened(plan)
    bench = Bench.new(tmp_path / "s", first).press("60.250", "60.250", "59.980").close()
    (about,) = diameter_inputs(bench.state, bench.state.by_journal["M1"])
    assert about.stack_mm == Decimal("60.250")
    assert components(about)[0].estimate == "60.250 mm"


def test_each_gauges_scatter_is_its_own(tmp_path: Path) -> None:
    # The first gauge repeats exactly, the second scatters by 4 um: the journal of the second must
    # not be thought better known for the first one's sake.
    plan = TWO_REPEATED
    first = setup(only=("M1",))
    bench = Bench.new(tmp_path / "s", opened(plan, with_setup=first)).press("59.970", "59.970")
    bench.press("59.980", "59.980", "59.980", "59.980", "59.970", "59.970").close()
    other = setup("usb-2", gauge="other", only=("M2",))
    again = Bench.again(bench.folder, bench.now_us, other).press("59.970", "59.970")
    again.press("59.980", "59.984", "59.980", "59.984", "59.970", "59.970").close()
    state = again.state
    (one,) = diameter_inputs(state, state.by_journal["M1"])
    (two,) = diameter_inputs(state, state.by_journal["M2"])
    assert one.reading_sd_mm == 0
    assert two.reading_sd_mm == pytest.approx(0.004 / math.sqrt(2))


def test_the_probability_goes_by_the_error_of_the_readings_own_stint(tmp_path: Path) -> None:
    # The first gauge reads 2 um too small, the second 2 um too large, as the passed checks say.
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.968", "59.968", "59.974").close()
    other = setup("usb-2", gauge="other")
    again = Bench.again(bench.folder, bench.now_us, other).press("59.972", "59.972")
    again.press("59.974", "59.974", "59.972", "59.972").close()
    (result,) = journals(judged_by(again.state, 2))
    (about,) = diameter_inputs(again.state, again.state.by_journal["M1"])[-1:]
    expected = conformance_probability(
        Decimal("59.974") - Decimal("0.002"),
        size_uncertainty(about).budget.combined,
        Decimal("59.970"),
        Decimal("59.990"),
    )
    assert float(result.conformance_probability) == pytest.approx(expected, abs=1e-5)


def test_a_journal_not_measured_in_full_has_no_form_that_is_within(tmp_path: Path) -> None:
    plan = ONE.replace('high = "59.990 mm"', 'high = "59.990 mm"\nout_of_round = "0.015 mm"')
    bench = Bench.new(tmp_path / "s", opened(plan.replace("[0, 90]", "[0, 45, 90]")))
    bench.press("59.970", "59.970", "59.980", "59.981").close()
    (result,) = journals(judged_by(bench.state, 2))
    assert (result.verdict, result.form_verdict) == ("incomplete", "not-enough-positions")
    assert result.conformance_probability == ""


def test_a_gauge_swapped_in_mid_run_has_a_scatter_of_its_own(tmp_path: Path) -> None:
    study = Repeatability("0.0009", "60", "S-1")
    first = opened(TWO_REPEATED, with_setup=msgspec.structs.replace(setup(), study=study))
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.970")
    bench.press("59.980", "59.980", "59.980", "59.980")
    bench.say(LoseLink("unplugged"))
    bench.say(FindLink(source("usb-2", "other")))
    bench.press("59.970", "59.970")
    for values in (("59.980", "59.980", "59.980", "59.980"), ("59.980", "59.986") * 2):
        bench.press(*values)
    bench.press("59.970", "59.970").close()
    readings = bench.state.by_journal["M2"]
    (about,) = diameter_inputs(bench.state, readings)
    assert "S-1" not in about.reading_note
    # 0 and 0 on M1, 6 um twice on M2, all by the second gauge: squares 2 * 18 um^2 and 4 dof
    assert about.reading_sd_mm == pytest.approx(0.001 * math.sqrt(36 / 4))
