"""A gauge too coarse for form limits says so before the first place is measured, once and in short.

FORM_STEPS is 4: with steps of 0.002 mm a limit of 0.005 mm, two and a half steps, cannot be judged.
"""

from pathlib import Path

import pytest

from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.rules.commands import TakeReading
from tests.builders import PLAN, Bench, opened, reading

COARSE = (
    "Steps of 0.002 mm are too coarse for the form limits of M1, which stay undecided. Take a "
    "finer gauge, or go on for size."
)


def shown_after(bench: Bench, *values: str, resolution: str) -> list[SessionShown]:
    """What is shown after each of these readings."""
    shown, found = first_shown(bench.state, bench.now_us), []
    for value in values:
        at_us = bench.now_us + 1_000_000
        step = bench.say(TakeReading(reading(value, at_us, resolution=resolution)))
        shown = next_shown(shown, step.entries, bench.state, bench.now_us)
        found.append(shown)
    return found


def test_it_is_told_once_and_stands_until_the_first_place_is_measured(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN))
    one, two, three = shown_after(bench, "59.970", "59.970", "59.980", resolution="0.002")
    assert COARSE in one.board.news
    assert COARSE in one.board.warnings
    assert COARSE not in two.board.news
    assert COARSE in two.board.warnings
    assert COARSE not in three.board.warnings


@pytest.mark.parametrize("resolution", ["0.001", "0.00125"])
def test_a_gauge_of_four_steps_to_the_limit_is_fine_enough(tmp_path: Path, resolution: str) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN))
    (shown,) = shown_after(bench, "59.970", resolution=resolution)
    assert shown.coarse == ""
    assert shown.board.warnings == ()


def test_a_study_asks_for_no_verdict(tmp_path: Path) -> None:
    study = PLAN.replace("[check]", '[study]\noperators = ["A", "B"]\ntrials = 2\n\n[check]', 1)
    bench = Bench.new(tmp_path / "s", opened(study))
    (shown,) = shown_after(bench, "59.970", resolution="0.002")
    assert shown.coarse == ""


def test_journals_that_follow_one_another_are_told_by_the_first_and_the_last(
    tmp_path: Path,
) -> None:
    three = PLAN.replace('name = "M1"', 'names = ["M1", "M2", "M3"]')
    bench = Bench.new(tmp_path / "s", opened(three))
    (shown,) = shown_after(bench, "59.970", resolution="0.002")
    assert "the form limits of M1 … M3, which" in shown.coarse
