"""t, F and chi-squared tests on real repeated measurements, and against another program."""

import math

import pytest

from daq.metrology.statistics.compare import chi2_test, f_test, t_pooled, t_welch
from daq.metrology.statistics.samples import Sample, sample
from tests.daq.metrology.statistics.tables import michelson, near

# Experiments 1 and 5 of NIST StRD Michelso; derived with scipy.
FIRST, LAST = sample(michelson(1)), sample(michelson(5))
CLOSE = 1e-5


def test_the_samples() -> None:
    assert (FIRST.mean, LAST.mean) == (909.0, 831.5)
    assert FIRST.sd == pytest.approx(104.92604, rel=1e-7)
    assert LAST.sd == pytest.approx(54.21934, rel=1e-7)


def test_precisions_differ() -> None:
    found = f_test(FIRST, LAST)
    assert found.statistic == pytest.approx(3.745054, rel=CLOSE)
    assert list(found.dof) == [19, 19]
    assert found.p == pytest.approx(0.006008, rel=1e-4)
    low, high = found.critical()
    assert high == pytest.approx(2.526451, rel=CLOSE)
    assert low == pytest.approx(1 / 2.526451, rel=CLOSE)
    assert found.statistic > high


def test_order_of_samples_changes_no_p() -> None:
    assert f_test(LAST, FIRST).p == pytest.approx(f_test(FIRST, LAST).p, rel=1e-12)
    assert t_welch(LAST, FIRST).t == -t_welch(FIRST, LAST).t
    assert t_pooled(LAST, FIRST).p == t_pooled(FIRST, LAST).p


def test_means_differ_by_pooled_scatter() -> None:
    found = t_pooled(FIRST, LAST)
    assert (found.difference, found.dof) == (77.5, 38)
    assert found.t == pytest.approx(2.934553, rel=CLOSE)
    assert found.p == pytest.approx(0.005639, rel=1e-4)


def test_means_differ_by_own_scatter() -> None:
    found = t_welch(FIRST, LAST)
    assert found.t == pytest.approx(2.934553, rel=CLOSE)
    assert found.dof == pytest.approx(28.47141, rel=CLOSE)
    assert found.p == pytest.approx(0.006538, rel=1e-4)


@pytest.mark.parametrize(("one", "other"), [(1, 2), (1, 3), (2, 4), (3, 5), (4, 5)])
def test_other_pairs_by_another_program(one: int, other: int) -> None:
    from scipy.stats import ttest_ind

    a, b = michelson(one)[:13], michelson(other)
    for found, is_equal in ((t_pooled, True), (t_welch, False)):
        ours, theirs = found(sample(a), sample(b)), ttest_ind(a, b, equal_var=is_equal)
        assert ours.t == pytest.approx(theirs.statistic, rel=1e-10)
        assert ours.dof == pytest.approx(theirs.df, rel=1e-10)
        assert ours.p == pytest.approx(theirs.pvalue, rel=1e-9)
        interval = theirs.confidence_interval(0.95)
        assert ours.interval() == pytest.approx((interval.low, interval.high), rel=1e-9)


def test_gear_diameters_against_a_known_scatter() -> None:
    # NIST/SEMATECH e-Handbook 1.3.5.8 (from memory): s 0.006278 of 100 gears against 0.1; prints
    # 0.3903 from the unrounded s; limits 73.361 and 128.422
    found = chi2_test(0.006278, 99, 0.1)
    assert found.statistic == near(5e-5)(0.3902)
    assert found.critical() == (near(5e-4)(73.361), near(5e-4)(128.422))
    assert found.p < 1e-50


def test_scatter_as_known_is_no_surprise() -> None:
    found = chi2_test(0.1, 99, 0.1)
    low, high = found.critical(0.05)
    assert low < found.statistic < high
    assert found.statistic == pytest.approx(99)
    assert found.p > 0.9
    assert chi2_test(0.0, 4, 0.1).p == 0


def test_p_at_the_limit_is_alpha() -> None:
    for limit in f_test(FIRST, LAST).critical(0.01):
        again = f_test(Sample(20, 0, math.sqrt(limit)), Sample(20, 0, 1))
        assert again.p == pytest.approx(0.01, rel=1e-9)
    for limit in chi2_test(1, 9, 1).critical(0.01):
        assert chi2_test(math.sqrt(limit / 9), 9, 1).p == pytest.approx(0.01, rel=1e-9)


def test_without_scatter() -> None:
    still, moved, wild = Sample(3, 1.0, 0.0), Sample(3, 2.0, 0.0), Sample(3, 2.0, 0.5)
    for test in (t_pooled, t_welch):
        assert (test(still, still).t, test(still, still).p) == (0, 1)
        assert (test(still, moved).t, test(still, moved).p) == (-math.inf, 0)
        assert 0 < test(still, wild).p < 1
    assert t_welch(still, wild).dof == 2
    assert (f_test(wild, still).statistic, f_test(wild, still).p) == (math.inf, 0)
    assert f_test(still, wild).p == 0
    with pytest.raises(ValueError, match="neither sample scatters"):
        f_test(still, moved)


@pytest.mark.parametrize("wrong", [(-0.1, 3, 0.1), (0.1, 0, 0.1), (0.1, 3, 0), (math.nan, 3, 1)])
def test_senseless_known_scatter(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="against"):
        chi2_test(*wrong)
