"""A whole example worked by hand beside the program: every line of the size's budget, the fitted
oval, the answers. Lengths in um where not said.
"""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from daq.evaluation.conditions import Conditions
from daq.evaluation.inputs import conditions_of
from daq.evaluation.journals import Judged
from daq.record.standing import PartReading
from tests.builders import ONE, Bench, opened
from tests.estimate_builders import judged_by_3, scatter
from tests.judged_builders import limits

FRONT = {0: "59.974", 45: "59.976", 90: "59.975", 135: "59.973"}
REAR = {0: "59.973", 45: "59.975", 90: "59.975", 135: "59.973"}
LIMITS = limits(out_of_round="0.005 mm", taper="0.005 mm")
PLAN = ONE.replace("readings = 2", "readings = 5")


@pytest.fixture
def found(tmp_path: Path) -> Judged:
    """Errors of the checks +0.4 (0 0 0 1 1) and +0.8 (0 1 1 1 1); the scatter is given, 0.4 with 8
    degrees of freedom. No temperature is given, and of the stack only its size.
    """
    bench = Bench.new(tmp_path / "s", opened(PLAN))
    bench.press("59.970", "59.970", "59.970", "59.971", "59.971", "59.974", "59.975")
    bench.press("59.970", "59.971", "59.971", "59.971", "59.971")
    state = bench.state
    about: Callable[[PartReading], Conditions] = conditions_of(state, state.plan.journals[0])
    read = about(state.readings[0])
    known = scatter("0.4", 8)
    of_all = msgspec.structs.replace(read, on_part=known, on_stack=known, is_one=True)
    return judged_by_3({"front": FRONT, "rear": REAR}, LIMITS, of_all)


def test_the_estimate_is_what_was_read_less_the_mean_error_of_both_checks(found: Judged) -> None:
    result = found.result
    assert result.smallest_mm == "59.97240"  # 59.973 less 0.6
    assert (result.smallest_at, result.smallest_read_mm) == ("front/135", "59.973")
    assert result.margin_to_low_mm == "0.00240"
    assert (result.largest_mm, result.largest_read_mm) == ("59.97540", "59.976")


def test_every_line_of_the_budget(found: Judged) -> None:
    assert found.size is not None
    lines = found.size.smallest.budget.components
    shown = {line.name: round(line.contribution_mm * 1000, 3) for line in lines}
    warm = [
        line.contribution_mm * 1000
        for line in lines
        if line.distribution in ("rectangular", "product") and line.name != "check repeatability"
    ]
    assert shown["stack"] == 0.732  # four blocks of unknown grade
    assert shown["wringing"] == 0.021
    assert shown["check repeatability"] == 0.289  # a step / sqrt(12), more than 0.4 / sqrt(5)
    assert shown["drift between checks"] == 0.200  # half of what the gauge moved
    assert shown["reading repeatability"] == 0.400
    assert round(sum(u * u for u in warm) ** 0.5, 3) == 0.430  # temperatures


def test_size(found: Judged) -> None:
    from scipy import stats  # loads slowly

    assert found.size is not None
    budget = found.size.smallest.budget
    assert round(budget.combined * 1000, 3) == 1.002
    assert budget.dof == 315  # 1.002**4 / (0.4**4 / 8)
    assert round(budget.k, 4) == 1.6497
    assert found.size.smallest.guard_mm == Decimal("0.00166")
    # By SciPy's Student's t: 2.4 over the limit, 315 degrees of freedom, u_c as summed here
    u_c = sum(line.contribution_mm**2 for line in budget.components) ** 0.5 * 1000
    assert found.size.probability == pytest.approx(stats.t.cdf(2.4 / u_c, 315), rel=1e-12)
    assert found.result.conformance_probability == f"{stats.t.cdf(2.4 / u_c, 315):.5f}"
    assert found.result.size_verdict == "within"


def test_form_by_the_fit(found: Judged) -> None:
    result = found.result
    assert result.form_by == "fit"
    assert found.form is not None
    assert found.form.oval is not None
    # a = -0.75, b = 1.25: 2 sqrt(0.75**2 + 1.25**2) = 2.9155; it points half of 121 degrees away
    assert float(found.form.oval.ovality_mm) * 1000 == pytest.approx(2.9155, abs=5e-5)
    assert (result.out_of_round_mm, result.out_of_round_at) == ("0.00292", "")
    assert result.out_of_round_uncertainty_mm == "0.00075"  # 1.860 * 2 * 0.4 sqrt(2/8) = 0.744
    assert (result.taper_mm, result.taper_at) == ("0.00050", "front;rear")
    assert result.taper_uncertainty_mm == "0.00053"  # 1.860 * 0.4 sqrt(2/4) = 0.526
    assert result.form_verdict == "within"
    assert result.verdict == "within"


def test_by_range_it_would_have_been_known_less_well(found: Judged) -> None:
    """Two stints share no oval; the front end alone has one, a = -0.5, b = 1.5, which is 3.16.
    The range there is 3.0, known to k sqrt(2) 0.4 = 1.06.
    """
    about = found.size.smallest.place.about if found.size else None
    assert about is not None
    other_stint = msgspec.structs.replace(about, stint=2)
    apart = judged_by_3(
        {"front": FRONT, "rear": REAR}, LIMITS, {"front": about, "rear": other_stint}
    )
    assert apart.result.form_by == "range"
    assert (apart.result.out_of_round_mm, apart.result.out_of_round_at) == ("0.00316", "front")
    assert apart.result.out_of_round_uncertainty_mm == "0.00106"
