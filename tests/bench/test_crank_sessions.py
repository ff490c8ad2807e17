"""The short way to a session's state is the program: sessions that were pressed give the same."""

from pathlib import Path
from random import Random

import pytest

from bench.crank_sessions import (
    BY_2,
    BY_3,
    RULE_NAMES,
    Job,
    checks,
    mm_of,
    opened,
    pressed_in_order,
    session,
    temperatures,
    verdicts,
)
from bench.cranks import POPULATIONS
from bench.shop import Drawn, Shown, drawn_shop, measured
from daq.evaluation.earlier import judge as earlier
from daq.evaluation.verdict import journals
from daq.lengths import plain
from daq.record.evolve import judged_by
from tests.builders import Bench


@pytest.mark.parametrize("repeats", [1, 2])
@pytest.mark.parametrize("population", POPULATIONS)
def test_a_session_made_the_short_way_is_that_which_was_pressed(
    tmp_path: Path, population: str, repeats: int
) -> None:
    job, rng, compared = Job(20, repeats), Random(f"{population}/{repeats}"), 0
    while compared < 3:
        shop = drawn_shop(rng, Drawn((0.2, 0.8)))
        shown = measured(rng, shop, POPULATIONS[population](rng, job.tolerance), repeats)
        if not all(check.passed for check in checks(job, shown)):
            continue
        given = temperatures(shop)
        bench = Bench.new(tmp_path / str(compared), opened(job, given))
        bench.press(*(plain(mm_of(steps)) for steps in pressed_in_order(shown)))
        pressed, made = bench.close().state, session(job, shown, given)
        assert pressed.closed is not None
        results = journals(pressed)
        assert journals(made) == results
        by_2 = judged_by(pressed, 2)
        of_2 = [earlier.judge_journal(by_2, journal).verdict for journal in by_2.plan.journals]
        found = verdicts(made, RULE_NAMES)
        assert found[BY_3] == [result.verdict for result in results]
        assert found[BY_2] == of_2
        compared += 1


def test_checks_are_judged_by_the_limits_that_a_plan_derives() -> None:
    """Two steps of mean error and drift, three of spread; by rule set 2 a tenth of the tolerance,
    two steps of 20, and the error after too.
    """
    sound = Shown((0, 0, 0, 0, 3), (2, 2, 3, 3, 3), ())  # means 0.6 and 2.6
    assert [check.passed for check in checks(Job(20, 1), sound)] == [True, True]
    assert [check.passed for check in checks(Job(20, 1), sound, 2)] == [False, False]
    drifted = Shown((0, 0, 0, 0, 0), (2, 2, 2, 2, 3), ())  # 2.2
    assert [check.passed for check in checks(Job(20, 1), drifted)] == [True, False]
