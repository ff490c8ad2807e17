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


def test_once_it_is_too_late_a_press_is_not_offered_any_more(tmp_path: Path) -> None:
    run = Run(tmp_path, plan=AGAIN).take("59.970", 11).take("59.971", 12).take("59.980", 13)
    run.take("59.980", 13.2)
    asked = run.owner.board
    assert asked.press_answers
    assert "once more at M1 front 90° within 10 s" in asked.asked.action
    run.at(13.2 + 9.5)
    assert run.owner.patience_s() == pytest.approx(0.501)
    run.at(13.2 + 10.001)
    run.owner.pass_time()
    late = run.owner.board
    assert not late.press_answers
    assert late.asked.action.endswith("pressed twice? Type keep or drop")
    assert (late.status, late.step, late.cue) == ("asking", asked.step, "")
    assert run.owner.patience_s() is None
    run.take("59.980", 13.2 + 12)  # pressed all the same
    assert not run.owner.board.press_answers
    assert run.whys[-1].endswith("it came more than 10 s after that")


def test_send_is_no_word_any_more_once_it_is_too_late_for_it(tmp_path: Path) -> None:
    """A gauge that is asked: what is allowed has changed, so has the step."""
    coming: list[tuple[float, Item | None]] = [(1.0, Typed("")), (10.5, None)]
    owner, _, _ = played(
        tmp_path,
        TakingMode(asking=Asking()),
        coming,
        plan=AGAIN,
        flags=(("repeat",),),
        can_send=True,
    )
    assert owner.state.held is not None
    assert not owner.board.can_send
    assert owner.board.step == 3  # at first 1, held 2
