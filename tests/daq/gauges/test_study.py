"""A study evaluated: the worked example through a whole session, zeros, remarks, odd data."""

import math
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.gauges.study import Evaluated, evaluate
from daq.gauges.study_data import Gathered, gathered
from daq.lengths import Length
from daq.metrology.statistics.scatter import INTERACTION, OPERATORS, PARTS, REPEATABILITY
from tests.daq.gauges import msa_example
from tests.daq.gauges.msa_example import worked
from tests.daq.gauges.study_builders import accepted_study, study_plan

LOW = Length(Decimal("59.970"), "mm")


def study(
    sizes: Sequence[Sequence[Sequence[str]]],
    *,
    step: str = "0.0001",
    lows: tuple[Length, ...] = (LOW,),
    stints: int = 1,
) -> Gathered:
    """A study by its sizes in mm: [part][operator][trial]."""
    return Gathered(
        session="s",
        gauge="mic",
        device="usb-1",
        has_gauge_file=True,
        parts=tuple(f"P{number}/middle/0" for number in range(1, len(sizes) + 1)),
        operators=tuple("ABCDEFGHIJ"[: len(sizes[0])]),
        trials=len(sizes[0][0]),
        sizes_mm=tuple(
            tuple(tuple(map(Decimal, trials)) for trials in operators) for operators in sizes
        ),
        lows=lows,
        tolerance_mm=Decimal("0.020"),
        step_mm=Decimal(step),
        stints=stints,
        ended_us=0,
    )


@pytest.fixture
def example(tmp_path: Path) -> Evaluated:
    """The worked example measured as a session, in the order of its shuffled route."""
    plan = study_plan(msa_example.PARTS, msa_example.OPERATORS, msa_example.TRIALS)
    bench = accepted_study(tmp_path / "s", plan, worked)
    return evaluate(gathered(bench.state))


def test_the_worked_example_by_analysis_of_variance(example: Evaluated) -> None:
    # AIAG measurement systems analysis, from memory; here in um instead of its unit
    found = example.variance
    squares = [found.part, found.operator, found.interaction, found.repeat, found.total]
    published = [88.3619, 3.1673, 0.3590, 2.7589, 94.6471]
    assert [row.ss * 1e6 for row in squares] == pytest.approx(published, abs=5e-5)
    assert [row.dof for row in squares] == [9, 2, 18, 60, 89]
    assert found.interaction.f == pytest.approx(0.434, abs=5e-4)
    assert found.is_pooled
    scatter = found.scatter
    sds = [scatter.repeatability, scatter.reproducibility, scatter.gauge, scatter.parts]
    assert [1e3 * sd for sd in (*sds, scatter.total)] == pytest.approx(
        [0.199933, 0.226838, 0.302373, 1.042327, 1.0853], abs=2e-6
    )
    assert found.repeatability_dof == 78


def test_the_worked_example_by_average_and_range(example: Evaluated) -> None:
    # As above, from memory. Its factors have four decimals; exact ones move PV by 0.0001.
    found = example.ranges
    assert [1e3 * r for r in found.operator_ranges] == pytest.approx(
        [0.184, 0.513, 0.328], abs=5e-5
    )
    assert 1e3 * found.mean_range == pytest.approx(0.3417, abs=5e-5)
    assert 1e3 * found.mean_difference == pytest.approx(0.4447, abs=5e-5)
    assert 1e3 * found.part_range == pytest.approx(3.511, abs=5e-4)
    scatter = found.scatter
    sds = [scatter.repeatability, scatter.reproducibility, scatter.gauge, scatter.total]
    assert [1e3 * sd for sd in sds] == pytest.approx([0.20188, 0.22963, 0.30575, 1.14610], abs=1e-4)
    assert 1e3 * scatter.parts == pytest.approx(1.10456, abs=1.5e-4)
    percents = [scatter.percent(sd) for sd in (*sds[:3], scatter.parts)]
    assert percents == pytest.approx([17.62, 20.04, 26.68, 96.37], abs=0.02)
    assert scatter.categories == 5  # 5.09, cut and not rounded


def test_a_negative_variance_is_set_to_zero_and_named(example: Evaluated) -> None:
    # (0.01994 - 0.04598) / 3 = -0.0087 um^2
    scatter = example.variance.scatter
    assert scatter.zeroed == (INTERACTION,)
    (interaction,) = (c for c in scatter.components if c.name == INTERACTION)
    assert interaction.estimate * 1e6 == pytest.approx(-0.0087, abs=5e-5)
    assert (interaction.variance, interaction.sd) == (0.0, 0.0)


def test_the_share_of_the_tolerance_is_six_standard_deviations(example: Evaluated) -> None:
    # 6 x 0.302373 um / 20 um
    share = example.percent_of_tolerance(example.variance.scatter)
    assert share == pytest.approx(100 * 6 * 0.302373 / 20, abs=1e-4)


def test_the_interval_of_the_repeatability_holds_95_percent(example: Evaluated) -> None:
    sd, dof, interval = example.variance.scatter.repeatability, 78, example.interval
    assert interval is not None
    from scipy.stats import chi2

    above = chi2.cdf(dof * (sd / interval.low_mm) ** 2, dof)
    below = chi2.cdf(dof * (sd / interval.high_mm) ** 2, dof)
    assert (above, below) == pytest.approx((0.975, 0.025), abs=1e-9)


# Interaction -------------------------------------------------------------------------------------

CROSSED = [
    # cell means 85, 80 and 75.5, 80.5 um: the interaction is (85 - 80 - 75.5 + 80.5) / 4 = 2.5,
    # its mean square 8 x 2.5^2 / 1 = 50 um^2; repeats: (0.5 + 0.5) / 4 = 0.25 um^2
    [["59.985", "59.985"], ["59.980", "59.980"]],
    [["59.975", "59.976"], ["59.980", "59.981"]],
]


def test_an_interaction_that_counts_stands_by_itself() -> None:
    found = evaluate(study(CROSSED)).variance
    assert not found.is_pooled
    assert found.repeatability_dof == 4
    # (50 - 0.25) / 2 trials
    assert found.scatter.sd_of(INTERACTION) == pytest.approx(math.sqrt(24.875) / 1000)
    assert found.scatter.repeatability == pytest.approx(0.0005)
    # operators do not differ but by it: tested against the interaction, never against repeat
    assert found.operator.f == pytest.approx(found.operator.ms / found.interaction.ms)
    assert OPERATORS in found.scatter.zeroed


# Remarks -----------------------------------------------------------------------------------------

SCATTERED = [
    [["59.9802", "59.9806"], ["59.9811", "59.9803"], ["59.9805", "59.9801"]],
    [["59.9862", "59.9866"], ["59.9861", "59.9870"], ["59.9865", "59.9861"]],
]


def test_a_good_study_needs_no_remark() -> None:
    assert evaluate(study(SCATTERED)).remarks == ()


def test_a_gauge_too_coarse_for_its_study_is_told() -> None:
    (remark,) = evaluate(study(SCATTERED, step="0.005")).remarks
    # 5 um / sqrt(12) = 1.443 um
    assert "one step of 0.005 mm" in remark
    assert "s = 1.443 um" in remark


def test_parts_of_several_nominal_sizes_are_told() -> None:
    rods = Length(Decimal("2.0000"), "in")
    (remark,) = evaluate(study(SCATTERED, lows=(LOW, rods))).remarks
    assert "2 nominal sizes (59.970 mm, 2.0000 in)" in remark


def test_two_operators_and_two_stints_are_told() -> None:
    two = [operators[:2] for operators in SCATTERED]
    remarks = evaluate(study(two, stints=2)).remarks
    assert any("hardly known how far" in remark for remark in remarks)
    assert any("set anew 2 times" in remark for remark in remarks)


# Odd data ----------------------------------------------------------------------------------------


def test_readings_that_never_differ_are_no_error() -> None:
    found = evaluate(study([[["59.98"] * 2] * 2] * 3))
    assert found.interval is None
    assert found.variance.scatter.total == found.ranges.scatter.total == 0
    assert found.variance.scatter.categories is None
    assert "too coarse" in found.remarks[0]


def test_parts_that_differ_and_never_scatter_are_no_error() -> None:
    sizes = [[[f"59.98{part}"] * 2] * 2 for part in range(3)]
    found = evaluate(study(sizes))
    assert found.variance.part.f == math.inf
    assert found.variance.scatter.sd_of(PARTS) == pytest.approx(0.001)  # of 0, 1, 2 um
    assert found.variance.scatter.sd_of(REPEATABILITY) == 0


steps = st.integers(-50, 50)
tables = st.tuples(st.integers(2, 4), st.integers(2, 3), st.integers(2, 3)).flatmap(
    lambda shape: st.lists(
        st.lists(
            st.lists(steps, min_size=shape[2], max_size=shape[2]),
            min_size=shape[1],
            max_size=shape[1],
        ),
        min_size=shape[0],
        max_size=shape[0],
    )
)


@given(tables)
def test_no_component_is_negative_and_a_shift_changes_nothing(
    table: list[list[list[int]]],
) -> None:
    def at(nominal: str) -> Evaluated:
        return evaluate(
            study(
                [
                    [
                        [f"{Decimal(nominal) + Decimal(step) / 10000:f}" for step in trials]
                        for trials in operators
                    ]
                    for operators in table
                ]
            )
        )

    one, other = at("59.98"), at("250.1234")
    assert one.variance == other.variance  # sums are exact, so equal to the last digit
    for scatter in (one.variance.scatter, one.ranges.scatter):
        assert all(component.variance >= 0 for component in scatter.components)
        named = {c.name for c in scatter.components if c.estimate < 0}
        assert set(scatter.zeroed) == named
        assert scatter.gauge**2 == pytest.approx(
            scatter.repeatability**2 + scatter.reproducibility**2, abs=1e-15
        )
