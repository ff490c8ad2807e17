"""The F test of two variances on published examples and against another program."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.metrology.statistics.compare import f_test
from daq.metrology.statistics.samples import Pooled, sd
from tests.daq.metrology.statistics.tables import michelson, near

CLOSE = 1e-5


def of(values: list[int]) -> Pooled:
    return Pooled(sd(values), len(values) - 1)


# Experiments 1 and 5 of NIST StRD Michelso; derived with scipy.
FIRST, LAST = of(michelson(1)), of(michelson(5))


def test_ceramic_strength_of_two_batches() -> None:
    # NIST/SEMATECH e-Handbook 1.3.5.9 (from memory): s 65.54909 and 61.85425 of 240 each, F
    # 1.123037; two-sided at 5 % it may be 0.7756 to 1.2894
    one, other = Pooled(65.54909, 239), Pooled(61.85425, 239)
    found = f_test(one, other, 0.025)
    assert found.ratio == near(1e-6)(1.123037)
    assert found.limit == near(5e-5)(1.2894)
    assert 1 / f_test(other, one, 0.025).limit == near(5e-5)(0.7756)
    assert not found.is_larger
    assert not f_test(other, one, 0.025).is_larger


def test_precisions_differ() -> None:
    assert FIRST.sd == pytest.approx(104.92604, rel=1e-7)
    assert LAST.sd == pytest.approx(54.21934, rel=1e-7)
    found = f_test(FIRST, LAST, 0.025)
    assert found.ratio == pytest.approx(3.745054, rel=CLOSE)
    assert list(found.dof) == [19, 19]
    assert found.limit == pytest.approx(2.526451, rel=CLOSE)
    assert found.is_larger
    assert not f_test(LAST, FIRST, 0.025).is_larger


@settings(deadline=None)  # the other program takes seconds to load
@given(
    st.floats(1e-5, 1e-2), st.floats(1, 200), st.floats(1e-5, 1e-2), st.floats(1, 200),
    st.sampled_from([0.01, 0.05]),
)  # fmt: skip
def test_larger_is_what_chance_alone_exceeds_less_often_than_alpha(
    sd: float, dof: float, other_sd: float, other_dof: float, alpha: float
) -> None:
    from scipy.stats import f

    found = f_test(Pooled(sd, dof), Pooled(other_sd, other_dof), alpha)
    by_chance = float(f.sf((sd / other_sd) ** 2, dof, other_dof))
    if not math.isclose(by_chance, alpha, rel_tol=1e-9):
        assert found.is_larger == (by_chance < alpha)


def test_without_scatter() -> None:
    still, wild = Pooled(0.0, 2), Pooled(0.5, 2)
    assert f_test(wild, still, 0.05).ratio == math.inf
    assert f_test(wild, still, 0.05).is_larger
    assert not f_test(still, wild, 0.05).is_larger
    assert not f_test(still, still, 0.05).is_larger
