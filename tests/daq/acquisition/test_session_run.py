"""The owner of a session's run: what came before its prompt is no reading of it, floods fold."""

import itertools
from pathlib import Path

import msgspec
import pytest

from daq.acquisition.inputs import Item, Nudged, TakingMode, Typed
from daq.acquisition.manager import SessionManager
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.record.state import Status, standing_readings, status
from daq.rules.commands import Why
from daq.services.verify import verify
from daq.storage.ledger import LEDGER
from daq.storage.replay import load_state
from drivers.attached.device_id import DeviceId
from drivers.errors import PortLost
from drivers.gauge.asking import Asking
from drivers.gauge.reader import GaugeBack, GaugeLost
from drivers.reading import Instant, Reading, Reject
from tests.builders import ONE, START_US, opened, reading
from tests.daq.acquisition.played import Exhausted, HandClock, PlayedInputs, Watcher


class Run:
    """A session whose owner is fed by hand, at moments in seconds."""

    def __init__(self, folder: Path, *, is_attended: bool = True, plan: str = ONE) -> None:
        self.clock, self.shown = HandClock(), Watcher()
        self.folder = folder / "s"
        self.manager, first = SessionManager.create(self.folder, opened(plan), START_US)
        self.owner = SessionRun(
            self.manager, first, self.clock, self.shown, is_attended=is_attended
        )
        self.begin_at(10.0)

    def at(self, second: float) -> Instant:
        self.clock.us = round(second * 1e6)
        return self.clock.now()

    def begin_at(self, second: float) -> None:
        self.at(second)
        self.owner.begin()

    def take(
        self,
        value: str,
        came_s: float,
        now_s: float | None = None,
        why: Why = "sent",
        channel: str | None = None,
        flags: tuple[str, ...] = (),
    ) -> "Run":
        """A reading that came at one moment and is met at another."""
        at = self.at(came_s)
        self.at(came_s if now_s is None else now_s)
        made = reading(value, at.utc_us, channel=channel, flags=flags)
        self.owner.take_reading(msgspec.structs.replace(made, at=at), why, at)
        return self

    def say(self, text: str, second: float) -> "Run":
        self.owner.typed(text, self.at(second))
        return self

    @property
    def taken(self) -> list[str]:
        checks = [each.sent.value for each in self.owner.state.checks]
        return checks + [each.sent.value for each in standing_readings(self.owner.state)]

    @property
    def whys(self) -> list[str]:
        lines = [msgspec.json.decode(line) for line in self.shown.lines]
        return [line["why"] for line in lines if line["kind"] == "dropped"]


def test_what_came_before_the_first_prompt_is_no_reading_of_the_stack(tmp_path: Path) -> None:
    run = Run(tmp_path).take("59.970", 9.9, 10.1)
    assert run.taken == []
    assert run.whys == ["it came before the stack was asked for"]
    assert status(run.owner.state) is Status.WAITING  # nobody is asked about it
    assert run.take("59.970", 11.0).taken == ["59.970"]


def test_what_came_before_an_answer_is_no_reading_of_the_place_asked_for_again(
    tmp_path: Path,
) -> None:
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("61.000", 13)
    run.say("drop", 14.0)
    run.take("59.980", 13.9, 14.1)
    assert run.whys[-1] == "it came before M1 front 0° was asked for"
    assert run.taken == ["59.970", "59.971"]
    assert run.take("59.980", 15).taken[-1] == "59.980"


@pytest.mark.parametrize("word", ["back", "check", "retake M1/front/0", "zeroed", "stop now"])
def test_a_word_that_asks_for_something_else_is_such_an_answer(tmp_path: Path, word: str) -> None:
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("59.980", 13)
    before = len(run.owner.state.readings) + len(run.owner.state.checks)
    run.say(word, 14.0).take("59.970", 13.9, 14.1)
    assert len(run.owner.state.readings) + len(run.owner.state.checks) == before
    assert run.whys[-1].startswith("it came before ")


@pytest.mark.parametrize("word", ["note warm", "nonsense", "keep"])
def test_a_word_that_asks_for_nothing_else_is_none(tmp_path: Path, word: str) -> None:
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12)
    run.say(word, 14.0).take("59.980", 13.9, 14.1)
    assert run.taken[-1] == "59.980"


def test_one_place_after_another_needs_no_prompt_in_between(tmp_path: Path) -> None:
    """A disk that takes two seconds to sync puts nobody off who knows the route."""
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("59.980", 13, 15.0)
    run.take("59.981", 14, 17.0)
    assert run.taken[-2:] == ["59.980", "59.981"]


def test_a_press_made_before_the_answer_is_none_for_the_place_asked_for_after_it(
    tmp_path: Path,
) -> None:
    """An asked gauge: pressed at 13.5 s, taken back at 13.6 s, answered at 13.7 s."""
    run = Run(tmp_path)
    for second, value in ((11, "59.970"), (12, "59.971"), (13, "59.980")):
        run.take(value, second, why="pressed")
    pressed = run.at(13.5)
    run.say("back", 13.6)
    answer = reading("59.981", run.at(13.7).utc_us)
    run.owner.take_reading(answer, "pressed", pressed)
    assert run.whys[-1] == "it came before M1 front 0° was asked for"
    assert not run.owner.state.standing


def test_what_is_typed_comes_in_the_order_of_its_lines(tmp_path: Path) -> None:
    run = Run(tmp_path).take("59.970", 9.9, 10.1, "typed").take("59.971", 9.95, 10.1, "typed")
    assert run.taken == ["59.970", "59.971"]


def test_what_a_gauge_says_as_it_comes_back_is_no_reading(tmp_path: Path) -> None:
    run = Run(tmp_path).take("59.970", 11)
    lost = PortLost("/dev/ttyUSB0", "unplugged")
    run.owner.lose(lost, run.at(12), is_waited_for=True)
    run.owner.find(GaugeBack("/dev/ttyUSB0", DeviceId("usb-1", "A1"), run.at(14)))
    run.take("59.970", 13.9, 14.1)
    assert run.owner.state.check is None
    run.take("59.970", 15)
    assert run.owner.state.check is not None


def test_a_check_that_grew_too_old_sets_aside_what_came_before_that_was_said(
    tmp_path: Path,
) -> None:
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12)
    run.at(12 + 241 * 60)
    run.owner.pass_time()
    run.take("59.980", 11 + 241 * 60, 13 + 241 * 60)
    assert run.whys[-1] == "it came before the stack was asked for"


def test_zeroed_said_within_the_first_check_asks_for_the_stack_anew(tmp_path: Path) -> None:
    run = Run(tmp_path).take("59.970", 11).say("zeroed", 14.0)
    run.take("59.970", 13.9, 14.1)
    assert run.whys[-1] == "it came before the stack was asked for"
    assert run.owner.state.check is None


def test_what_came_before_a_lost_zero_was_met_is_no_reading_of_the_stack(tmp_path: Path) -> None:
    """The disk takes two seconds; one that was pressed for the place comes meanwhile."""
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12)
    run.take("59.980", 13, 15, flags=("zeroed",)).take("59.980", 14, 15.1)
    assert run.whys[-1] == "it came before the stack was asked for"
    assert run.taken == ["59.970", "59.971"]


def test_what_came_before_a_check_too_old_was_met_is_no_reading_of_the_stack(
    tmp_path: Path,
) -> None:
    old_s = 12.0 + 241 * 60
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12)
    run.take("59.980", old_s, old_s + 2).take("59.980", old_s + 1, old_s + 2.1)
    assert run.whys[-1] == "it came before the stack was asked for"
    assert run.taken == ["59.970", "59.971"]


def test_nobody_at_a_keyboard_a_slow_disk_puts_off_nobody_after_one_that_was_dropped(
    tmp_path: Path,
) -> None:
    run = Run(tmp_path, is_attended=False).take("59.970", 11).take("59.971", 12)
    run.take("61.000", 13, 15.0).take("59.980", 14, 15.1)
    assert run.taken[-1] == "59.980"


# Floods -------------------------------------------------------------------------------------------


def test_a_flood_while_a_question_waits_costs_twenty_lines_and_one_a_second(
    tmp_path: Path,
) -> None:
    """Ten seconds of 2000 a second: 1 held and asked about, 20 held and dropped, then 10 lines."""
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("61.000", 13)
    for number in range(20_000):
        run.take("61.000", 13.0005 + number / 2000)
    run.say("drop", 23.5)
    kinds = [msgspec.json.decode(line)["kind"] for line in run.shown.lines]
    assert kinds.count("held") == 1 + 20
    assert kinds.count("dropped") == 20 + 10 + 1
    counts = [
        line["count"]
        for line in map(msgspec.json.decode, run.shown.lines)
        if line["kind"] == "dropped"
    ]
    assert sum(counts) == 20_000 + 1  # and the one that was answered
    run.manager.close()
    assert (run.folder / LEDGER).stat().st_size < 40_000
    assert verify(run.folder).is_whole
    state, _ = load_state(run.folder)
    assert state.arrivals == run.owner.state.arrivals
    assert state.drops_in_row == run.owner.state.drops_in_row


def test_the_first_after_an_answered_flood_is_asked_about_and_the_rest_folds_on(
    tmp_path: Path,
) -> None:
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("61.000", 13)
    for number in range(100):
        run.take("61.000", 13.01 + number / 100)
    before = len(run.shown.lines)
    run.say("drop", 14.1).take("61.000", 14.2)
    assert run.owner.state.held is not None
    for number in range(50):
        run.take("61.000", 14.21 + number / 100)
    # The pending line, the answer, the new question; all else waits for its second.
    assert len(run.shown.lines) == before + 3
    wait_s = run.owner.patience_s()
    assert wait_s is not None
    assert wait_s <= 1.0


def test_of_two_channels_by_turns_neither_hides_when_the_other_came_last(tmp_path: Path) -> None:
    """Ten of each a second, while a question waits. It is answered at 18.16 s; what channel 1 sends
    at 18.2 s comes 0.1 s after its last, and channel 2 sent at 18.15 s.
    """
    run = Run(tmp_path)
    for second, value in ((11, "59.970"), (12, "59.971"), (13, "61.000")):
        run.take(value, second, channel="1")
    for number in range(51):
        run.take("59.980", 13.1 + number / 10, channel="1")
        run.take("59.980", 13.15 + number / 10, channel="2")
    run.say("drop", 18.16).take("59.980", 18.2, channel="1")
    held = run.owner.state.held
    assert held is not None
    assert held.event.reasons[0] == "that came 0.1 s after M1 front 0°: pressed twice?"
    assert not run.owner.state.standing


@pytest.mark.parametrize(("came_s", "counts"), [(10.6, False), (10.7, True)])
def test_the_interval_runs_from_the_last_of_those_that_were_only_counted(
    tmp_path: Path, came_s: float, counts: bool
) -> None:
    """Thirty before the prompt, 10 ms apart: the twentieth, the last with a line, at 9.89 s, the
    thirtieth at 9.99 s. One that counts ends the row.
    """
    run = Run(tmp_path)
    for number in range(30):
        run.take("59.970", 9.7 + number / 100, 10.1)
    run.take("59.970", came_s)
    assert (run.taken == ["59.970"]) is counts
    if counts:
        run.take("61.000", 12)
        before = len(run.shown.lines)
        run.take("61.000", 12.1).take("61.000", 12.2)
        assert len(run.shown.lines) == before + 4  # each held, and dropped at once


def test_readings_and_rejects_by_turns_fold_both(tmp_path: Path) -> None:
    """A second of 500 each: twenty lines of each, then one, and what is left with the answer."""
    run = Run(tmp_path).take("59.970", 11).take("59.971", 12).take("61.000", 13)
    for number in range(500):
        second = 13.001 + number / 500
        run.take("61.000", second)
        at = run.at(second + 0.001)
        run.owner.take_reject(Reject("syntax", "no number", b"x", at))
    run.say("drop", 14.5)
    kinds = [msgspec.json.decode(line)["kind"] for line in run.shown.lines]
    assert kinds.count("reject") <= 22
    assert kinds.count("dropped") <= 23


def test_unattended_ten_in_a_row_before_the_prompt_end_it_too(tmp_path: Path) -> None:
    run = Run(tmp_path, is_attended=False)
    for number in range(10):
        run.take("59.970", 9.0 + number / 100, 10.1)
    assert run.owner.board.verdict == "abandoned"


# Presses here, through the loop -------------------------------------------------------------------


def played(
    tmp_path: Path,
    mode: TakingMode,
    coming: list[tuple[float, Item | None]],
    *,
    does_answer: bool = True,
    plan: str = ONE,
    flags: tuple[tuple[str, ...], ...] = (),
    can_send: bool = False,
) -> tuple[SessionRun, Watcher, PlayedInputs]:
    """`flags`: those of the first answers of the gauge."""
    clock, watcher = HandClock(), Watcher()
    manager, first = SessionManager.create(tmp_path / "s", opened(plan), START_US)
    flagged = iter(flags)
    owner = SessionRun(manager, first, clock, watcher, is_attended=True, can_send=can_send)

    def answer(at: Instant) -> Item:
        return msgspec.structs.replace(reading("59.970", flags=next(flagged, ())), at=at)

    inputs = PlayedInputs(clock, coming, answer if does_answer else None)
    try:
        RunLoop(inputs, owner, clock, mode, "text").run()
    except Exhausted:
        pass
    finally:
        manager.close()
    return owner, watcher, inputs


def test_a_key_held_down_asks_the_gauge_once(tmp_path: Path) -> None:
    coming: list[tuple[float, Item | None]] = [(0.03, Typed("")) for _ in range(60)]
    owner, watcher, inputs = played(tmp_path, TakingMode(asking=Asking()), coming)
    assert inputs.asked == 1
    assert len(owner.state.checks) == 1
    assert watcher.refusals[0].startswith("that press came less than 0.1 s after the one before")
    assert len(watcher.refusals) == 2  # 1.8 s long, told once a second


def test_of_a_stream_a_key_held_down_takes_one_reading(tmp_path: Path) -> None:
    stream: Reading = reading("59.970")
    coming: list[tuple[float, Item | None]] = []
    for _ in range(30):
        coming += [(0.02, Typed("")), (0.02, stream)]
    owner, _, _ = played(tmp_path, TakingMode(is_stream=True), coming)
    assert len(owner.state.checks) == 1


def test_lines_of_a_script_wait_for_the_interval_and_none_is_refused(tmp_path: Path) -> None:
    coming: list[tuple[float, Item | None]] = [(0.0, Typed("")) for _ in range(4)]
    mode = TakingMode(asking=Asking(), is_script=True)
    owner, watcher, inputs = played(tmp_path, mode, [*coming, *[(0.0, None)] * 8])
    assert watcher.refusals == []
    assert inputs.asked == 4
    # Two of the stack 0.3 s apart, then two places, each 0.7 s after the press before.
    moments = [each.at_us for each in owner.state.checks]
    moments += [each.at_us for each in owner.state.readings]
    gaps = [later - sooner for sooner, later in itertools.pairwise(moments)]
    assert [round(gap / 1e6, 2) for gap in gaps] == [0.3, 0.7, 0.7]


def test_a_script_s_line_behind_a_press_waits_for_the_gauge_without_looking_again_and_again(
    tmp_path: Path,
) -> None:
    coming: list[tuple[float, Item | None]] = [(0.0, Typed("")), (0.0, Typed("")), (1.0, Nudged())]
    mode = TakingMode(asking=Asking(), is_script=True)
    _, _, inputs = played(tmp_path, mode, coming, does_answer=False)
    assert inputs.asked == 1
    assert inputs.waits == [None] * 4


def test_a_press_while_the_gauge_is_away_is_refused(tmp_path: Path) -> None:
    lost = GaugeLost(PortLost("/dev/ttyUSB0", "unplugged"), Instant(0, 0))
    mode = TakingMode(asking=Asking(), search=lambda port, gone_s: None)
    _, watcher, inputs = played(tmp_path, mode, [(1.0, lost), (1.0, Typed(""))])
    assert inputs.asked == 0
    assert watcher.refusals == ["the gauge is not connected"]


def streamed(value: str, count: int) -> list[tuple[float, Item | None]]:
    """So many values of a stream, 0.1 s from one to the next."""
    return [(0.1, reading(value)) for _ in range(count)]


@pytest.mark.parametrize("word", ["retake M1/front/0", "check"])
def test_what_began_to_rest_before_a_word_is_no_reading_of_what_that_asks_for(
    tmp_path: Path, word: str
) -> None:
    """Rested at 0.5 s. On the stack twice, at the first place, then at the second from the third
    tenth of a second on, when a word asks for something else: 0.2 s later the rest is long enough.
    """
    coming: list[tuple[float, Item | None]] = []
    for value in ("59.970", "59.971", "59.980"):
        coming += streamed("12.000", 3) + streamed(value, 7)
    coming += streamed("12.000", 3) + streamed("59.981", 4)
    coming += [(0.0, Typed(word)), *streamed("59.981", 8)]
    mode = TakingMode(is_stream=True, rest_s=0.5)
    owner, watcher, _ = played(tmp_path, mode, coming)
    state = owner.state
    read = [each.sent.value for each in state.checks]
    read += [each.sent.value for each in state.readings]
    assert read == ["59.970", "59.971", "59.980"]
    whys = [line["why"] for line in map(msgspec.json.decode, watcher.lines) if "why" in line]
    asked_for = "M1 front 0°" if word.startswith("retake") else "the stack"
    assert whys[-1] == (
        f"it rested there before {asked_for} was asked for: take the gauge off, then measure that"
    )


@pytest.mark.parametrize(("after", "refused"), [(2, 1), (4, 0)])
def test_enter_is_too_soon_after_a_value_that_was_taken_by_itself(
    tmp_path: Path, after: int, refused: int
) -> None:
    """Taken at the sixth of the values at rest; Enter so many tenths of a second later, and 0.3 s
    are asked for within a check.
    """
    coming = streamed("12.000", 3) + streamed("59.970", 6 + after)
    coming += [(0.0, Typed("")), *streamed("59.970", 1)]
    owner, watcher, _ = played(tmp_path, TakingMode(is_stream=True, rest_s=0.5), coming)
    assert len(watcher.refusals) == refused
    assert len(owner.state.checks) == 2 - refused


def test_what_began_to_rest_after_the_word_counts(tmp_path: Path) -> None:
    coming: list[tuple[float, Item | None]] = []
    for value in ("59.970", "59.971", "59.980"):
        coming += streamed("12.000", 3) + streamed(value, 7)
    coming += streamed("12.000", 3)
    coming += [(0.0, Typed("retake M1/front/0")), *streamed("59.982", 8)]
    owner, _, _ = played(tmp_path, TakingMode(is_stream=True, rest_s=0.5), coming)
    assert [each.sent.value for each in owner.state.standing.values()] == ["59.982"]
