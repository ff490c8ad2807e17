"""The places of a journal as a board shows them: one of each state, in route order, and made again
only where something changed.
"""

from pathlib import Path

import pytest

from daq.board.board import PlaceShown
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.rules.commands import Command, Skip, TakeReading
from tests.builders import ONE, PLAN, Bench, opened, reading

STACK = ("59.970", "59.970")


class Placing:
    """A session, and its places as shown after each step."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.shown: SessionShown = first_shown(bench.state, bench.now_us)

    def say(self, command: Command) -> None:
        step = self.bench.say(command)
        self.shown = next_shown(self.shown, step.entries, self.bench.state, self.bench.now_us)

    def press(self, *values: str) -> None:
        for value in values:
            self.say(TakeReading(reading(value, self.bench.now_us + 1_000_000)))

    def of(self, journal: str) -> tuple[PlaceShown, ...]:
        found = {row.result.journal: row.places for row in self.shown.board.rows}
        return found[journal]

    def states(self, journal: str) -> list[str]:
        return [place.state for place in self.of(journal)]


@pytest.fixture
def placing(tmp_path: Path) -> Placing:
    return Placing(Bench.new(tmp_path / "s", opened(ONE)))


def test_a_place_is_to_come_then_measured_then_proven_by_the_check_after(placing: Placing) -> None:
    assert placing.of("M1") == (PlaceShown("front", 0, 1), PlaceShown("front", 90, 1))
    assert placing.states("M1") == ["to-come", "to-come"]
    placing.press(*STACK, "59.980")
    assert placing.states("M1") == ["measured", "to-come"]
    # The stack reads its size, so the estimate is the value itself.
    assert placing.of("M1")[0] == PlaceShown(
        "front", 0, 1, "measured", "59.980", "mm", estimate_mm="59.98000"
    )
    placing.press("59.981", *STACK)
    assert placing.states("M1") == ["proven", "proven"]


def test_a_place_whose_check_after_fails_is_to_be_measured_again(placing: Placing) -> None:
    placing.press(*STACK, "59.980", "59.981", "59.990", "59.990")
    assert placing.states("M1") == ["again", "again"]


def test_a_place_left_out_is_skipped(placing: Placing) -> None:
    placing.press(*STACK)
    placing.say(Skip("no access"))
    assert placing.states("M1") == ["skipped", "to-come"]


def test_the_estimate_is_the_value_less_the_error_on_the_stack(placing: Placing) -> None:
    placing.press("59.971", "59.971", "59.980")
    assert [place.estimate_mm for place in placing.of("M1")] == ["59.97900", ""]


def test_journals_that_nothing_happened_to_are_not_made_again(tmp_path: Path) -> None:
    placing = Placing(Bench.new(tmp_path / "s", opened(PLAN)))
    placing.press(*STACK)
    journals = [row.result.journal for row in placing.shown.board.rows]
    before = {name: placing.of(name) for name in journals}
    placing.press("59.980")
    changed = [name for name in journals if placing.of(name) is not before[name]]
    assert changed == journals[:1]
