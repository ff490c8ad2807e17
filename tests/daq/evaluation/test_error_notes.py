"""What was taken off the sizes, in words."""

from pathlib import Path

import pytest

from daq.evaluation.error_notes import error_words, screw_notes
from daq.record.events import Setup
from daq.record.state import State
from daq.rules.commands import CheckNow, GaugeZeroed
from tests.builders import ONE, Bench, opened, setup

FILE = 'schema = 1\nprofile = "bench"\nport = "/dev/x"\n'


def test_the_error_of_both_checks_is_told_for_each_stint(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.971", "59.971", "59.980")
    bench.say(CheckNow())
    bench.press("59.972", "59.972")
    bench.say(GaugeZeroed())
    bench.press("59.970", "59.970", "59.981", "59.970", "59.970").close()
    assert error_words(bench.state) == [
        "stint 1: the gauge was off by +0.0015 mm on the stack, which is taken off",
        "stint 2: the gauge read the stack right, nothing was taken off",
    ]


def test_several_brackets_of_a_stint_are_told_from_least_to_most(tmp_path: Path) -> None:
    # errors -1, 0 and +1: brackets -0.5 and +0.5
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.969", "59.969", "59.980")
    bench.say(CheckNow())
    bench.press("59.970", "59.970", "59.981", "59.971", "59.971").close()
    assert error_words(bench.state) == [
        "stint 1: the gauge was off by -0.0005 to +0.0005 mm on the stack, which is taken off"
    ]


def test_nothing_measured_has_nothing_taken_off(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.971", "59.971").close()
    assert error_words(bench.state) == []


def opened_with(folder: Path, stack: str, with_setup: Setup | None) -> State:
    plan = ONE.replace('stack = "59.970 mm"', f'stack = "{stack}"')
    return Bench.new(folder / "s", opened(plan, with_setup=with_setup)).close().state


@pytest.mark.parametrize(
    ("stack", "is_told"),
    [("59.970 mm", False), ("59.920 mm", False), ("59.919 mm", True), ("60.021 mm", True)],
)
def test_a_stack_more_than_a_twentieth_of_a_mm_away_is_told_where_the_screw_is_unknown(
    tmp_path: Path, stack: str, is_told: bool
) -> None:
    notes = screw_notes(opened_with(tmp_path, stack, setup(gauge_file=FILE)))
    assert len(notes) == is_told
    assert all(note.startswith("M1: ") and "permitted_error" in note for note in notes)


def test_a_stated_permitted_error_leaves_nothing_to_say(tmp_path: Path) -> None:
    known = setup(gauge_file=f'{FILE}permitted_error = "0.002 mm"\n')
    assert screw_notes(opened_with(tmp_path, "59.500 mm", known)) == []


def test_without_a_gauge_file_it_is_told_too(tmp_path: Path) -> None:
    assert len(screw_notes(opened_with(tmp_path, "59.500 mm", None))) == 1
