"""What the people at the gauge are told in a study: whose turn, which trial."""

import re
from pathlib import Path

from daq.board.asked import prompt
from daq.record.state import next_position
from daq.rules.commands import Retake, TakeReading
from tests.builders import Bench, opened, reading
from tests.daq.gauges.study_builders import press_route, study_plan, telling


def begun(folder: Path, presses: int) -> Bench:
    """A study of three parts, two operators and two trials, so far."""
    bench = Bench.new(folder, opened(study_plan()))
    press_route(bench, telling, presses)
    return bench


def test_the_prompt_says_whose_turn_it_is_and_which_trial(tmp_path: Path) -> None:
    bench = begun(tmp_path / "s", 0)
    headlines = []
    for _ in range(12):
        headlines.append(prompt(bench.state).headline)
        bench.press("59.980")
    assert all(
        re.fullmatch(r"P[123]  middle  0°  operator [AB], trial [12]", headline)
        for headline in headlines
    )
    turns = [headline.split("  ")[-1] for headline in headlines]
    assert turns == [
        turn
        for turn in (
            "operator A, trial 1",
            "operator B, trial 1",
            "operator A, trial 2",
            "operator B, trial 2",
        )
        for _ in range(3)
    ]


def told(bench: Bench, value: str) -> list[str]:
    """What is said when `value` is pressed."""
    board, _ = bench.board_after(TakeReading(reading(value, bench.now_us)))
    return list(board.news)


def test_a_change_of_operator_is_said_once_and_nothing_within_a_turn(tmp_path: Path) -> None:
    bench = begun(tmp_path / "s", 1)
    assert not any("Now operator" in words for words in told(bench, "59.980"))
    assert told(bench, "59.980")[-1] == "Now operator B, trial 1."
    assert not any("Now operator" in words for words in told(bench, "59.980"))


def test_a_reading_is_told_with_its_place_to_retake_and_who_took_it(tmp_path: Path) -> None:
    bench = begun(tmp_path / "s", 3)
    position = next_position(bench.state)
    assert position is not None
    first = told(bench, "59.980")[0]
    place = f"{position.journal} middle 0° repeat 2"
    assert first == f"{place} (operator B, trial 1): 59.980 mm"
    bench.say(Retake(place))
    assert next_position(bench.state) == position


def test_the_last_reading_calls_nobody(tmp_path: Path) -> None:
    bench = begun(tmp_path / "s", 11)
    assert not any("Now operator" in words for words in told(bench, "59.980"))
