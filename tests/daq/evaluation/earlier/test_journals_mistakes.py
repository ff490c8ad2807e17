"""Mistakes about limits from inches and about their uncertainty, by the evaluation itself."""

from decimal import Decimal
from pathlib import Path

import pytest

from daq.evaluation.earlier.journals import evaluate
from daq.evaluation.verdict import journals
from daq.lengths import EXACT, Position, to_mm
from daq.plan.plan import parse_plan
from daq.record.evolve import judged_by
from daq.record.results import JournalResult
from tests.builders import ONE, Bench, opened
from tests.judged_builders import EXACTLY, journal_readings


def judged(low: str, size_mm: Decimal) -> JournalResult:
    """A journal with only a low limit, as a plan writes it, of this diameter."""
    plan = parse_plan(
        'schema = 1\npart = "p"\n[check]\nmax_error = "1 um"\nmax_spread = "1 um"\n'
        'max_drift = "1 um"\n[[journal]]\nname = "J"\nstations = ["front"]\nangles_deg = [0]\n'
        f'low = "{low}"\n',
        "x",
    )
    (journal,) = plan.journals
    place = Position("J", "front", 0)
    return evaluate(journal, journal_readings(journal, {place: size_mm}), EXACTLY, None)


@pytest.mark.parametrize(
    ("low", "exact", "tenths"),
    [
        # x 25.4, and what is left of it in steps of 0.1 um, half to even
        ("2.3611 in", "59.97194", "59.9719"),
        ("2.7481 in", "69.80174", "69.8017"),
        ("1.12301 in", "28.524454", "28.5245"),
    ],
)
def test_a_limit_in_inches_does_not_fit_steps_of_a_tenth_of_a_micrometre(
    low: str, exact: str, tenths: str
) -> None:
    limit = judged(low, Decimal(exact))
    assert (limit.size_verdict, Decimal(limit.low_limit_mm)) == ("within", Decimal(exact))
    cut = Decimal(tenths)
    assert cut == Decimal(exact).quantize(Decimal("0.0001"))
    verdict = judged(low, cut).size_verdict
    assert verdict == ("below" if cut < Decimal(exact) else "within")
    hair = EXACT.subtract(Decimal(exact), Decimal("0.000001"))
    assert judged(low, hair).size_verdict == "below"


def test_a_reading_is_not_rounded_inward_as_a_limit_is() -> None:
    # 2.7480 in is 69.7992 mm. Rounded up to 0.001 mm, as a low limit is, it would be 69.800.
    size = to_mm(Decimal("2.7480"), "in")
    found = judged("69.800 mm", size)
    assert (found.size_verdict, Decimal(found.smallest_mm)) == ("below", Decimal("69.7992"))
    assert judged("2.7480 in", size).size_verdict == "within"


def test_a_size_is_guarded_by_the_expanded_uncertainty_and_not_the_standard_one(
    tmp_path: Path,
) -> None:
    # ISO 14253-1 by its outline: the guard is U = k u, here with the uncorrected error added
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press("59.970", "59.971", "59.980", "59.981", "59.970", "59.971").close()
    (found,) = journals(judged_by(bench.state, 2))
    u, k = float(found.standard_uncertainty_mm), float(found.coverage_factor)
    added, guard = float(found.uncorrected_error_mm), float(found.uncertainty_mm)
    assert k >= 2
    # u is printed to 0.001 um and the guard rounded up to 0.01 um
    assert guard == pytest.approx(k * u + added, abs=1.5e-5)
    assert guard >= k * (u - 5e-7) + added
    assert added == pytest.approx(0.0005)  # mean error of 0 and 0.001
