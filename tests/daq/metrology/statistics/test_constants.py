"""Control-chart constants against the printed tables, closed forms and another program."""

import math

import pytest

from daq.metrology.statistics import constants
from daq.metrology.statistics.constants import LARGEST, c4, d2, d2_star, d3

# Exact values by numerical integration (derived), which agree with the tables printed in NIST
# e-Handbook 6.3.2 and in Montgomery, appendix VI (from memory), to the 3 decimals printed there.
NAMES = ("d2", "d3", "c4", "A2", "D3", "D4", "A3", "B3", "B4", "E2")
TABLE = {
    2: "1.1284 0.8525 0.7979 1.8800 0 3.2665 2.6587 0 3.2665 2.6587 0.7071",
    3: "1.6926 0.8884 0.8862 1.0233 0 2.5746 1.9544 0 2.5682 1.7725 0.5231",
    4: "2.0588 0.8798 0.9213 0.7286 0 2.2821 1.6281 0 2.2660 1.4572 0.4467",
    5: "2.3259 0.8641 0.9400 0.5768 0 2.1145 1.4273 0 2.0890 1.2898 0.4030",
    6: "2.5344 0.8480 0.9515 0.4832 0 2.0038 1.2871 0.0304 1.9696 1.1837 0.3742",
    7: "2.7044 0.8332 0.9594 0.4193 0.0757 1.9243 1.1819 0.1177 1.8823 1.1093 0.3534",
    8: "2.8472 0.8198 0.9650 0.3725 0.1362 1.8638 1.0991 0.1851 1.8149 1.0537 0.3375",
    9: "2.9700 0.8078 0.9693 0.3367 0.1840 1.8160 1.0317 0.2391 1.7609 1.0101 0.3249",
    10: "3.0775 0.7971 0.9727 0.3083 0.2230 1.7770 0.9754 0.2837 1.7163 0.9748 0.3146",
}


@pytest.mark.parametrize("n", TABLE)
def test_table(n: int) -> None:
    *printed, inverse = map(float, TABLE[n].split())
    found = [getattr(constants, name)(n) for name in NAMES]
    assert found == pytest.approx(printed, rel=0, abs=5.01e-5)
    assert 1 / d2_star(n, 1) == pytest.approx(inverse, rel=0, abs=5.01e-5)


def test_closed_forms() -> None:
    # derived: |x - y| of two normal values is half normal with scale sqrt(2); three have 3/sqrt(pi)
    assert d2(2) == pytest.approx(2 / math.sqrt(math.pi), rel=1e-13)
    assert d3(2) == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-12)
    assert d2(3) == pytest.approx(3 / math.sqrt(math.pi), rel=1e-13)
    assert c4(2) == pytest.approx(math.sqrt(2 / math.pi), rel=1e-14)


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
    # derived: c4 nears 1 - 1 / (4 n); the mean range of 1000 values is 6.483 (Tippett 1925, memory)
    assert c4(LARGEST) == pytest.approx(1 - 1 / (4 * LARGEST), abs=1e-6)
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
