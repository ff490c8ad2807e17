"""A session's run where a second press may answer: floods, nobody there, presses here."""

from pathlib import Path

import msgspec
import pytest

from daq.acquisition.inputs import Item, TakingMode, Typed
from daq.services.verify import verify
from daq.storage.replay import load_state
from drivers.gauge.asking import Asking
from tests.builders import ONE
from tests.daq.acquisition.test_session_run import Run, played

AGAIN = ONE.replace("[defaults]\n", '[defaults]\nheld = "press-again"\n')


def test_a_flood_answers_for_nothing_where_a_second_press_would_and_folds_as_ever(
    tmp_path: Path,
) -> None:
    """Seven seconds of 100 a second, each near enough and soon after one that may have no line: 1
    held, 20 set aside line by line, then a line a second; and one second later a press.
    """
    run = Run(tmp_path, plan=AGAIN).take("59.970", 11).take("59.971", 12).take("59.980", 13)
    run.take("59.980", 13.2)
    for number in range(700):
        run.take("59.980", 13.21 + number / 100)
    assert len(run.owner.state.standing) == 1
    kinds = [msgspec.json.decode(line)["kind"] for line in run.shown.lines]
    assert kinds.count("held") == 1 + 20
    assert kinds.count("dropped") <= 20 + 8
    assert all("too soon" in why for why in run.whys)
    run.take("59.980", 13.2 + 8.0)  # 0.99 s after the last of them
    assert len(run.owner.state.standing) == 2
    assert run.whys[-1] == "pressed again"
    run.manager.close()
    assert verify(run.folder).is_whole
    state, _ = load_state(run.folder)
    assert state.standing == run.owner.state.standing
    assert state.arrivals == run.owner.state.arrivals


def test_unattended_one_that_came_too_soon_is_dropped_at_once_as_ever(tmp_path: Path) -> None:
    run = Run(tmp_path, is_attended=False, plan=AGAIN)
    run.take("59.970", 11).take("59.971", 12).take("59.980", 13).take("59.981", 13.2)
    assert run.owner.state.held is None
    assert run.whys == ["held, and nobody is at a keyboard to ask"]
    run.take("59.982", 14.2)
    assert run.taken == ["59.970", "59.971", "59.980", "59.982"]


@pytest.mark.parametrize(("after_s", "asked", "checks"), [(1.0, 2, 1), (9.99, 2, 1), (10.0, 1, 0)])
def test_a_press_here_answers_within_ten_seconds_and_later_is_refused(
    tmp_path: Path, after_s: float, asked: int, checks: int
) -> None:
    """The first answer, 1 ms after its press, is flagged as a repeat."""
    coming: list[tuple[float, Item | None]] = [(1.0, Typed("")), (after_s + 0.002, Typed(""))]
    owner, watcher, inputs = played(
        tmp_path, TakingMode(asking=Asking()), coming, plan=AGAIN, flags=(("repeat",),)
    )
    assert inputs.asked == asked
    assert len(owner.state.checks) == checks
    said = ["a reading is in question: type keep or drop first"]
    assert watcher.refusals == ([] if checks else said)


def test_where_the_plan_asks_no_press_here_is_let_through(tmp_path: Path) -> None:
    coming: list[tuple[float, Item | None]] = [(1.0, Typed("")), (1.0, Typed(""))]
    _, watcher, inputs = played(tmp_path, TakingMode(asking=Asking()), coming, flags=(("repeat",),))
    assert inputs.asked == 1
    assert watcher.refusals == ["a reading is in question: type keep or drop first"]
