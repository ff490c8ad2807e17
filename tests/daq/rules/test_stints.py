"""A port that is open again in mid-session: which stint, which check, what is asked for again."""

from pathlib import Path

import pytest

from daq.board.asked import prompt
from daq.board.messages import news
from daq.record.events import LinkBack, Noted, StintBegan
from daq.record.state import Status, next_position, status
from daq.rules.commands import CheckNow, FindLink, LinkNote, LoseLink, StopHere
from tests.builders import ONE, Bench, opened, source

STACK = ("59.970", "59.970")
KEEPS = ONE.replace("[check]\n", "[check]\npower_loss_may_lose_zero = false\n")


def bench(folder: Path, plan: str = ONE) -> Bench:
    return Bench.new(folder / "s", opened(plan))


def pull_and_plug(bench: Bench, device: str = "usb-1") -> list[str]:
    """Unplug and plug in; the kinds of what followed the loss."""
    bench.say(LoseLink("unplugged"))
    lost = bench.state
    assert lost.link_lost
    assert prompt(lost).headline.startswith("Waiting for gauge")
    step = bench.say(FindLink(source(device)))
    found = bench.state
    assert not found.link_lost
    return [type(entry.event).__name__ for entry in step.entries]


def test_before_anything_was_proven_the_check_begins_afresh(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press("59.970")
    assert pull_and_plug(session) == ["LinkBack"]
    assert status(session.state) is Status.WAITING
    assert session.state.check is None
    session.press(*STACK)
    assert status(session.state) is Status.MEASURING
    session.close()


def test_a_zero_that_may_be_lost_begins_a_new_stint(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK, "59.980")
    assert pull_and_plug(session) == ["LinkBack", "StintBegan"]
    assert session.state.stints[-1].cause == "power-loss"
    session.press(*STACK)
    first = next_position(session.state)
    assert first is not None
    assert first.angle_deg == 0, "what was open at the loss is asked for again"
    session.close()


def test_what_a_check_had_proven_stands(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK, "59.980")
    session.say(CheckNow())
    session.press(*STACK)
    pull_and_plug(session)
    session.press(*STACK)
    following = next_position(session.state)
    assert following is not None
    assert following.angle_deg == 90
    session.close()


def test_a_zero_that_is_kept_needs_a_check_in_between(tmp_path: Path) -> None:
    session = bench(tmp_path, KEEPS)
    session.press(*STACK, "59.980")
    assert pull_and_plug(session) == ["LinkBack", "Noted"]
    assert status(session.state) is Status.CHECKING
    assert len(session.state.stints) == 1
    session.close()


@pytest.mark.parametrize("plan", [ONE, KEEPS])
def test_another_gauge_begins_a_new_stint_whatever_the_plan_says(tmp_path: Path, plan: str) -> None:
    session = bench(tmp_path, plan)
    session.press(*STACK, "59.980")
    assert pull_and_plug(session, "usb-2") == ["LinkBack", "StintBegan"]
    stint = session.state.stints[-1]
    assert stint.cause == "swapped"
    assert stint.source.device == "usb-2"
    assert "usb-1" in stint.why
    session.close()


def test_a_swapped_gauge_is_noticed_before_its_check_too(tmp_path: Path) -> None:
    session = bench(tmp_path)
    assert pull_and_plug(session, "usb-2") == ["LinkBack", "StintBegan"]
    assert session.state.stints[-1].source.device == "usb-2"
    session.close()


def test_a_held_reading_is_dropped(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK, "61.000")
    assert status(session.state) is Status.ASKING
    assert pull_and_plug(session) == ["Dropped", "LinkBack", "StintBegan"]
    assert status(session.state) is Status.WAITING
    session.close()


def test_at_the_closing_check_what_was_not_proven_is_measured_again(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK, "59.980", "59.981", "59.970")
    assert status(session.state) is Status.CLOSING
    pull_and_plug(session)
    session.press(*STACK, "59.980", "59.981", *STACK)
    assert session.state.closed is not None
    assert session.state.closed.verdict == "accepted"
    session.close()


def test_a_stop_that_can_no_longer_be_proven_is_asked_for_again(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK, "59.980")
    session.say(StopHere("enough"))
    pull_and_plug(session)
    session.press(*STACK)
    assert status(session.state) is Status.MEASURING
    session.close()


def test_what_the_link_meets_is_kept_and_changes_nothing(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK)
    before = session.state
    step = session.say(LinkNote("rollover (3 times)"))
    (entry,) = step.entries
    assert entry.event == Noted(about="link", text="rollover (3 times)")
    assert session.state.standing == before.standing
    assert status(session.state) is status(before)
    assert news(before, step.entries, session.state, {}) == ["The link: rollover (3 times)"]
    session.close()


def test_the_events_name_the_gauge_that_is_there_now(tmp_path: Path) -> None:
    session = bench(tmp_path)
    session.press(*STACK)
    session.say(LoseLink("unplugged"))
    step = session.say(FindLink(source("usb-2", "the other mike")))
    back, stint = (entry.event for entry in step.entries)
    assert isinstance(back, LinkBack)
    assert isinstance(stint, StintBegan)
    assert back.source.gauge == stint.source.gauge == "the other mike"
    session.close()
