"""Analysis of variance against a worked gauge study, sums by hand and another program."""

import math
from collections.abc import Iterator
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.statistics.anova import TwoWay, VarianceRow, two_way
from tests.daq.metrology.statistics.tables import near, study

Study = list[list[list[Decimal]]]
ROWS = ("part", "operator", "interaction", "repeat", "total")


def table(result: TwoWay) -> dict[str, VarianceRow]:
    return {name: getattr(result, name) for name in ROWS}


@st.composite
def studies(draw: st.DrawFn) -> Study:
    parts, operators, trials = (draw(st.integers(2, 4)) for _ in range(3))
    size = st.decimals("-0.05", "0.05", places=4)
    return [[[draw(size) for _ in range(trials)] for _ in range(operators)] for _ in range(parts)]


class TestWorkedStudy:
    # AIAG, Measurement systems analysis, worked example, analysis of variance (from memory).
    def test_table(self) -> None:
        printed = {
            "part": (88.3619, 9),
            "operator": (3.1673, 2),
            "interaction": (0.3590, 18),
            "repeat": (2.7589, 60),
            "total": (94.6471, 89),
        }
        found = table(two_way(study()))
        assert {name: (row.ss, row.dof) for name, row in found.items()} == {
            name: (near(5e-5)(ss), dof) for name, (ss, dof) in printed.items()
        }

    def test_interaction_is_not_significant_and_pooled(self) -> None:
        found = two_way(study())
        assert found.interaction.f == near(5e-4)(0.434)
        assert found.is_pooled
        assert found.error.dof == found.repeatability_dof == 78

    def test_components(self) -> None:
        scatter = two_way(study()).scatter
        close = near(2e-6)
        assert scatter.repeatability == close(0.199933)
        assert scatter.reproducibility == close(0.226838)
        assert scatter.gauge == close(0.302373)
        assert scatter.parts == close(1.042327)
        assert scatter.total == near(5e-4)(1.085)

    def test_negative_component_is_zero_and_named(self) -> None:
        for alpha in (0.05, 1.0):
            scatter = two_way(study(), alpha).scatter
            assert scatter.zeroed == ("interaction",)
            interaction = scatter.components[2]
            assert interaction.estimate == near(5e-5)(-0.0087)  # derived
            assert (interaction.variance, interaction.sd) == (0, 0)

    def test_categories_are_cut_not_rounded(self) -> None:
        # derived: 1.41 * 1.042327 / 0.302373 = 4.86
        assert two_way(study()).scatter.categories == 4

    def test_operators_are_tested_against_the_interaction(self) -> None:
        # the mistake is the repeat mean square, 34.44; interaction 79.41, pooled 39.617 (derived)
        assert two_way(study(), alpha=1.0).operator.f == near(0.005)(79.406)
        found = two_way(study())
        assert found.operator.f == near(5e-4)(39.617)
        assert found.operator.ms / found.repeat.ms == near(0.005)(34.44)

    def test_pooling_by_another_program(self) -> None:
        import pandas as pd
        from statsmodels.formula.api import ols
        from statsmodels.stats.anova import anova_lm

        frame = pd.DataFrame(
            [
                {"part": str(p), "operator": str(o), "size": float(size)}
                for p, part in enumerate(study())
                for o, cell in enumerate(part)
                for size in cell
            ]
        )
        full = anova_lm(ols("size ~ part * operator", frame).fit())
        pooled = anova_lm(ols("size ~ part + operator", frame).fit())
        found = two_way(study())
        assert found.interaction.f == pytest.approx(full["F"]["part:operator"], rel=1e-9)
        assert found.interaction.p == pytest.approx(full["PR(>F)"]["part:operator"], rel=1e-9)
        for name, row in (("part", found.part), ("operator", found.operator)):
            assert row.ss == pytest.approx(pooled["sum_sq"][name], rel=1e-9)
            assert row.f == pytest.approx(pooled["F"][name], rel=1e-9)
            assert row.p == pytest.approx(pooled["PR(>F)"][name], rel=1e-7)


class TestTwoWay:
    def test_by_hand(self) -> None:
        # Cell means 1 3 / 5 11, two trials -+1 about each: grand mean 5, parts 2 and 8, operators
        # 3 and 7; SS 72, 32, 8 and 8 (derived by hand). F of the interaction 8 / 2 = 4 with 1 and
        # 4 degrees of freedom: p 0.116, so it is pooled, MS (8 + 8) / 5 = 3.2.
        sizes = [[[0, 2], [2, 4]], [[4, 6], [10, 12]]]
        found = two_way(sizes)
        assert [(row.ss, row.dof) for row in table(found).values()] == [
            (72, 1),
            (32, 1),
            (8, 1),
            (8, 4),
            (120, 7),
        ]
        assert found.is_pooled
        assert (found.error.ms, found.part.f, found.operator.f) == (3.2, 22.5, 10)
        assert [c.variance for c in found.scatter.components] == pytest.approx(
            [3.2, (32 - 3.2) / 4, 0, (72 - 3.2) / 4]
        )
        # a pooled interaction counts 0, though its own estimate is (8 - 2) / 2
        assert found.scatter.components[2].estimate == 3
        assert found.scatter.zeroed == ()

    def test_each_effect_is_divided_by_how_often_it_counts(self) -> None:
        # 4 parts, 3 operators, 2 trials without any scatter: the components are the sample
        # variances of the effects (by hand: parts 0 2 4 6, operators 0 1 5).
        sizes = [[[part + operator] * 2 for operator in (0, 1, 5)] for part in (0, 2, 4, 6)]
        found = two_way(sizes)
        assert [c.variance for c in found.scatter.components] == pytest.approx([0, 7, 0, 20 / 3])
        # and a scatter of the repeats, -+1 about each: 2 in every cell, no interaction
        spread = [[[x - 1, x + 1] for x, _ in part] for part in sizes]
        found = two_way(spread)
        assert (found.interaction.dof, found.interaction.ss, found.repeat.ms) == (6, 0, 2)
        pooled = 24 / 18
        assert [c.variance for c in found.scatter.components] == pytest.approx(
            [pooled, 7 - pooled / 8, 0, 20 / 3 - pooled / 6]
        )

    def test_significant_interaction_is_the_error_of_both(self) -> None:
        found = two_way([[[0, 2], [2, 4]], [[4, 6], [10, 12]]], alpha=0.2)
        assert not found.is_pooled
        assert (found.error, found.repeatability_dof) == (VarianceRow(8, 1, 8), 4)
        assert (found.part.f, found.operator.f) == (9, 4)
        assert [c.variance for c in found.scatter.components] == [2, (32 - 8) / 4, 3, (72 - 8) / 4]
        assert found.scatter.gauge == pytest.approx(math.sqrt(11))

    @given(studies())
    def test_sums_add_up_and_nothing_is_negative(self, sizes: Study) -> None:
        found = two_way(sizes)
        *lines, total = table(found).values()
        assert sum(row.dof for row in lines) == total.dof
        assert math.fsum(row.ss for row in lines) == pytest.approx(total.ss, rel=1e-12)
        assert min(row.ss for row in lines) >= 0
        scatter = found.scatter
        assert min(c.variance for c in scatter.components) >= 0
        assert set(scatter.zeroed) == {c.name for c in scatter.components if c.estimate < 0}
        assert scatter.total == pytest.approx(math.hypot(scatter.gauge, scatter.parts))
        assert scatter.gauge == pytest.approx(
            math.hypot(scatter.repeatability, scatter.reproducibility)
        )

    @given(studies(), st.permutations([0, 1]))
    def test_order_and_origin_do_not_matter(self, sizes: Study, order: list[int]) -> None:
        moved = [
            [[size + Decimal("59.9735") for size in reversed(cell)] for cell in part]
            for part in reversed(sizes)
        ]
        moved = [[part[i] for i in order] + part[2:] for part in moved]
        assert two_way(moved) == two_way(sizes)

    def test_without_any_scatter(self) -> None:
        found = two_way([[[Decimal("59.97")] * 2] * 2] * 3)
        assert found.is_pooled
        assert all(row.f is None and row.p is None for row in table(found).values())
        assert found.scatter.categories is None
        assert found.scatter.percent(0.0) is None

    def test_without_scatter_of_the_repeats(self) -> None:
        # as from a gauge with coarse steps: parts differ, every repeat reads the same
        found = two_way([[[part] * 2] * 2 for part in (1, 2, 3)])
        assert (found.part.f, found.part.p) == (math.inf, 0)
        assert found.scatter.gauge == 0
        crossed = two_way([[[0, 0], [0, 0]], [[0, 0], [4, 4]]])
        assert crossed.interaction.f == math.inf
        assert not crossed.is_pooled

    def test_holes_and_small_studies_are_refused(self) -> None:
        for sizes in ([[[1, 2], [1]], [[1, 2], [1, 2]]], [[[1, 2]], [[1, 2], [1, 2]]]):
            with pytest.raises(ValueError, match="holes"):
                two_way(sizes)
        for small in ([], _filled(1, 2, 2), _filled(2, 1, 2), _filled(2, 2, 1)):
            with pytest.raises(ValueError, match="2 or more of each"):
                two_way(small)
        with pytest.raises(ValueError, match="significance level"):
            two_way(_filled(2, 2, 2), alpha=5)


def _filled(parts: int, operators: int, trials: int) -> list[list[list[int]]]:
    numbers: Iterator[int] = iter(range(parts * operators * trials))
    return [
        [[next(numbers) for _ in range(trials)] for _ in range(operators)] for _ in range(parts)
    ]
