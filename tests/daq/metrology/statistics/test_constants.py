"""Control-chart constants against the printed tables, closed forms and another program."""

import math

import pytest

from daq.metrology.statistics import constants
from daq.metrology.statistics.constants import LARGEST, d2, d2_star, d3
from daq.metrology.statistics.samples import mean
from tests.daq.metrology.statistics.tables import near, rings

# Exact values by numerical integration (derived), which agree with the tables printed in NIST
# e-Handbook 6.3.2 and in Montgomery, appendix VI (from memory), to the 3 decimals printed there.
NAMES = ("d2", "d3", "D4")
TABLE = {
    2: "1.1284 0.8525 3.2665 0.7071",
    3: "1.6926 0.8884 2.5746 0.5231",
    4: "2.0588 0.8798 2.2821 0.4467",
    5: "2.3259 0.8641 2.1145 0.4030",
    6: "2.5344 0.8480 2.0038 0.3742",
    7: "2.7044 0.8332 1.9243 0.3534",
    8: "2.8472 0.8198 1.8638 0.3375",
    9: "2.9700 0.8078 1.8160 0.3249",
    10: "3.0775 0.7971 1.7770 0.3146",
}


@pytest.mark.parametrize("n", TABLE)
def test_table(n: int) -> None:
    *printed, inverse = map(float, TABLE[n].split())
    found = [getattr(constants, name)(n) for name in NAMES]
    assert found == pytest.approx(printed, rel=0, abs=5.01e-5)
    assert 1 / d2_star(n, 1) == pytest.approx(inverse, rel=0, abs=5.01e-5)


def test_scatter_by_the_ranges_of_piston_rings() -> None:
    # Montgomery, Introduction to SQC, table 6.3 (from memory): mean range 0.02324 of 25 subgroups
    # of 5; by the 2.326 of a table 0.009991
    mean_range = mean([max(group) - min(group) for group in rings()])
    assert mean_range == near(5e-7)(0.02324)
    assert mean_range / d2(5) == near(2e-6)(0.009991)


def test_closed_forms() -> None:
    # derived: |x - y| of two normal values is half normal with scale sqrt(2); three have 3/sqrt(pi)
    assert d2(2) == pytest.approx(2 / math.sqrt(math.pi), rel=1e-13)
    assert d3(2) == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-12)
    assert d2(3) == pytest.approx(3 / math.sqrt(math.pi), rel=1e-13)


@pytest.mark.parametrize("n", [3, 5, 10, 100])
def test_range_distribution_of_another_program(n: int) -> None:
    import numpy as np
    from scipy.integrate import quad
    from scipy.stats import studentized_range

    def over(w: float) -> float:
        return 1 - float(studentized_range.cdf(w, n, np.inf))

    mean, _ = quad(over, 0, 12, epsabs=1e-11, limit=200)
    square, _ = quad(lambda w: 2 * w * over(w), 0, 12, epsabs=1e-11, limit=200)
    assert d2(n) == pytest.approx(mean, rel=1e-9)
    assert d3(n) == pytest.approx(math.sqrt(square - mean**2), rel=1e-8)


def test_large_subgroups_go_on_smoothly() -> None:
    # the mean range of 1000 values is 6.483 (Tippett 1925, from memory)
    assert d2(LARGEST) == pytest.approx(6.483, abs=5e-4)
    steps = [d2(n + 1) - d2(n) for n in range(2, 40)]
    assert steps == sorted(steps, reverse=True)


def test_mean_of_many_ranges_needs_no_correction() -> None:
    assert d2_star(3, 10**9) == pytest.approx(d2(3), rel=1e-9)
    assert d2_star(2, 1) == pytest.approx(math.sqrt(2), rel=1e-12)  # derived: root mean square


@pytest.mark.parametrize("n", [-1, 0, 1, LARGEST + 1])
def test_other_sizes_are_refused(n: int) -> None:
    for name in NAMES:
        with pytest.raises(ValueError, match=f"subgroup of {n} values"):
            getattr(constants, name)(n)
    with pytest.raises(ValueError, match="at least one"):
        d2_star(3, 0)
