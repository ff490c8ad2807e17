"""The one loop of a run, fed in memory: any interleaving of readings, rejects, losses, returns,
presses, typed lines, a send key that goes and an interrupt, for a session and for a check outside
any. Nothing that was stored is lost, nothing is shown that was not stored, nothing else is raised.
"""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from daq.acquisition.check_run import CheckRun
from daq.acquisition.inputs import (
    Interrupted,
    Item,
    KeyboardGone,
    KeyRefused,
    KeyWord,
    Nudged,
    SendKeyGone,
    SendPressed,
    TakingMode,
    Typed,
)
from daq.acquisition.manager import SessionManager
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.board.board import LinkShown
from daq.board.of_session import first_shown
from daq.equipment.stacks.stack_file import assumed_stack
from daq.errors import CheckStopped, SettingsError
from daq.gauges.check_rules import CheckWanted
from daq.lengths import parse_length
from daq.record.state import State
from daq.services.verify import verify
from daq.storage.ledger import LEDGER
from daq.storage.replay import load_state
from drivers.attached.device_id import DeviceId
from drivers.errors import PortLost
from drivers.gauge.asking import Asking
from drivers.gauge.reader import GaugeBack, GaugeLost, Notice
from drivers.ports.base import Port
from drivers.reading import Instant, Reading, Reject
from tests.builders import ONE, opened, setup
from tests.daq.acquisition.played import Exhausted, HandClock, PlayedInputs, Watcher

NOW = Instant(0, 0)


class Bug(Exception):
    """Something unforeseen in a thread."""


def value(text: str, *flags: str, unit: str = "mm", channel: str | None = None) -> Reading:
    step = Decimal("0.001") if unit == "mm" else Decimal("0.0001")
    return Reading(Decimal(text), unit, step, text.encode(), NOW, channel, flags)


def back(device: str = "usb-1") -> GaugeBack:
    return GaugeBack("/dev/ttyUSB0", DeviceId(device, "A1"), NOW)


LOST = GaugeLost(PortLost("/dev/ttyUSB0", "unplugged"), NOW)
READINGS = [
    *(value("59.970"), value("59.971"), value("59.980"), value("59.965"), value("61.000")),
    *(value("0.010"), value("59.980", "hold"), value("59.970", "zeroed"), value("59.98", "repeat")),
    *(value("2.3614", unit="in"), value("59.970", channel="2"), value("7", unit="")),
]
WORDS = ["back", "keep", "drop", "check", "zeroed", "later", "skip why", "stop now", "note x", "?"]

moments = st.floats(0, 3, allow_nan=False)
items = st.one_of(
    st.sampled_from(READINGS),
    st.just(value("59.970")),
    st.sampled_from([Reject("syntax", "no number", b"x", NOW), Reject("no-reply", "", b"", NOW)]),
    st.sampled_from([LOST, back(), back("usb-2"), Notice("rollover", NOW)]),
    st.sampled_from([SendPressed(), SendKeyGone("unplugged"), Nudged(), KeyboardGone()]),
    st.sampled_from(["", *WORDS, "abandon it"]).map(Typed),
    st.sampled_from([*map(KeyWord, ("back", "keep", "drop")), KeyRefused("no word")]),
    st.none(),
)
COMING = st.lists(st.tuples(moments, items), max_size=40)
ENDINGS = st.sampled_from([None, Interrupted(), Bug()])


def _search(port: Port, gone_s: float) -> Port | None:
    raise AssertionError("the gauge's thread looks, not the loop")


MODES = st.sampled_from(
    [
        TakingMode(),
        TakingMode(search=_search, wait_back_s=5.0),
        TakingMode(search=_search, is_stream=True, is_script=True),
        TakingMode(is_stream=True, rest_s=0.5, needs_press=True),
        TakingMode(asking=Asking(), search=_search, is_script=True),
        TakingMode(asking=Asking(every_s=0.2), rest_s=0.5),
        TakingMode(answers=True),
    ]
)


def answered(at: Instant) -> Item:
    return Reading(Decimal("59.970"), "mm", Decimal("0.001"), b"59.970", at)


def can_be_met(lost: bool, item: Item | None) -> bool:
    """What a gauge's thread can put: nothing of a gauge that is away, a return only then."""
    if isinstance(item, GaugeBack):
        return lost
    return not (lost and isinstance(item, Reading | Reject | GaugeLost | Notice))


def possible(coming: list[tuple[float, Item | None]]) -> list[tuple[float, Item | None]]:
    lost, kept = False, []
    for after_s, item in coming:
        if can_be_met(lost, item):
            kept.append((after_s, item))
            lost = isinstance(item, GaugeLost) or (lost and not isinstance(item, GaugeBack))
    return kept


@given(MODES, COMING, ENDINGS, st.booleans())
@example(TakingMode(), [(1, value("59.970"))] * 2 + [(1, value("59.980"))] * 2, None, True)
def test_a_session_keeps_all_it_stored_and_shows_nothing_else(
    mode: TakingMode,
    coming: list[tuple[float, Item | None]],
    ending: Item | None,
    is_attended: bool,
) -> None:
    with TemporaryDirectory() as name:
        folder, clock, watcher = Path(name) / "s", HandClock(), Watcher()
        manager, first = SessionManager.create(folder, opened(ONE), clock.now().utc_us)
        owner = SessionRun(manager, first, clock, watcher, is_attended=is_attended)
        all_items = [*possible(coming), *([] if ending is None else [(0.0, ending)])]
        inputs = PlayedInputs(clock, all_items, answered)
        loop = RunLoop(inputs, owner, clock, mode, "text")
        try:
            loop.run()
        except (Exhausted, KeyboardInterrupt, PortLost, SettingsError, Bug):
            pass
        finally:
            manager.close()
        assert inputs.is_given_back
        stored = (folder / LEDGER).read_bytes().splitlines()
        assert watcher.lines == stored  # shown after it was stored, all of it, once, in order
        state, _ = load_state(folder)
        assert same(state, manager.state)
        assert verify(folder).is_whole
        anew = first_shown(state, clock.now().utc_us).board
        assert owner.board.rows == anew.rows
        assert owner.board.words == anew.words
        steps = [board.step for board in watcher.boards]
        assert steps == sorted(steps)


@given(MODES, COMING, ENDINGS)
def test_a_check_outside_any_session_counts_only_what_it_may(
    mode: TakingMode, coming: list[tuple[float, Item | None]], ending: Item | None
) -> None:
    clock, said = HandClock(), list[str]()
    owner = CheckRun(wanted(), LinkShown("mic", "usb-1", "/dev/ttyUSB0"), clock, said.append)
    all_items = [*possible(coming), *([] if ending is None else [(0.0, ending)])]
    inputs = PlayedInputs(clock, all_items, answered)
    try:
        RunLoop(inputs, owner, clock, mode, "text").run()
        assert owner.is_done
    except (Exhausted, KeyboardInterrupt, PortLost, SettingsError, CheckStopped, Bug):
        pass
    assert inputs.is_given_back
    for each in owner.readings:  # all of one kind, near the stack, and none that warns of itself
        assert each.unit == owner.readings[0].unit
        assert each.channel == owner.readings[0].channel
        assert abs(each.value - Decimal("59.970")) <= Decimal("0.5") or each.unit == "in"
        assert not {"hold", "repeat"} & set(each.flags)
    assert owner.board.check is not None
    assert owner.board.check.readings == len(owner.readings)


def same(replayed: State, live: State) -> bool:
    """Equal but for the words that name the plan in messages."""
    return live == msgspec.structs.replace(replayed, plan=live.plan, scope=live.scope)


def wanted(readings: int = 3) -> CheckWanted:
    limit = parse_length("0.002 mm")
    return CheckWanted(
        assumed_stack(parse_length("59.970 mm")), "59.970 mm", readings, limit, limit
    )


def played_session(
    tmp_path: Path,
    *coming: Item | None,
    mode: TakingMode | None = None,
    is_attended: bool = True,
    every_s: float = 1.0,
    answer: Callable[[Instant], Item | None] = answered,
    gauge: str = "mic-50-75",
) -> tuple[SessionRun, Watcher, PlayedInputs]:
    """A session fed with items so far apart, until it is done or all has come."""
    clock, watcher = HandClock(), Watcher()
    first_line = opened(ONE, with_setup=setup(gauge=gauge))
    manager, first = SessionManager.create(tmp_path / "s", first_line, clock.now().utc_us)
    owner = SessionRun(manager, first, clock, watcher, is_attended=is_attended)
    inputs = PlayedInputs(clock, [(every_s, item) for item in coming], answer)
    try:
        RunLoop(inputs, owner, clock, mode or TakingMode(), "text").run()
    except Exhausted:
        pass
    finally:
        manager.close()
    return owner, watcher, inputs


GOOD: list[Item | None] = [
    value(text) for text in ("59.970", "59.970", "59.980", "59.981", "59.970", "59.970")
]


def test_a_whole_session_by_the_send_button_alone(tmp_path: Path) -> None:
    owner, watcher, _ = played_session(tmp_path, *GOOD, is_attended=False)
    assert owner.board.verdict == "accepted"
    assert watcher.boards[-1] == owner.board


def test_enter_asks_the_gauge_and_its_answer_counts(tmp_path: Path) -> None:
    mode = TakingMode(asking=Asking())
    owner, watcher, inputs = played_session(tmp_path, Typed(""), Typed(""), mode=mode)
    assert inputs.asked == 2
    assert owner.board.checks[0].passed
    assert watcher.refusals == []


def test_a_press_is_refused_while_a_held_reading_waits(tmp_path: Path) -> None:
    mode = TakingMode(asking=Asking())
    coming: list[Item | None] = [Typed(""), Typed(""), value("61.000"), Typed("")]
    owner, watcher, inputs = played_session(tmp_path, *coming, mode=mode)
    assert owner.state.held is not None
    assert inputs.asked == 2
    assert watcher.refusals == ["a reading is in question: type keep or drop first"]


def test_of_a_stream_only_what_was_pressed_for_counts(tmp_path: Path) -> None:
    mode = TakingMode(is_stream=True)
    coming: list[Item | None] = [value("59.970"), SendPressed(), value("59.971"), value("59.972")]
    owner, watcher, _ = played_session(tmp_path, *coming, mode=mode)
    assert [str(each.value) for each in watcher.stream] == ["59.970", "59.972"]
    assert owner.board.last is not None
    assert owner.board.last.value == "59.971"


def test_a_check_that_grows_too_old_begins_a_new_stint_by_itself(tmp_path: Path) -> None:
    owner, _, _ = played_session(tmp_path, *GOOD[:3], None)
    assert [stint.cause for stint in owner.state.stints] == ["first", "age"]


def test_of_a_stream_a_zero_that_is_lost_counts_without_a_press(tmp_path: Path) -> None:
    mode = TakingMode(is_stream=True)
    pressed: list[Item | None] = [
        item for text in ("59.970", "59.970") for item in (SendPressed(), value(text))
    ]
    owner, watcher, _ = played_session(tmp_path, *pressed, value("59.980", "zeroed"), mode=mode)
    assert set(owner.state.over_stints) == {1}
    assert watcher.stream == []


def test_nothing_is_waited_for_in_a_closing_check_however_old_the_last_one_is(
    tmp_path: Path,
) -> None:
    """Only while measuring does the age begin a new stint; else the loop would never rest."""
    owner, _, _ = played_session(tmp_path, *GOOD[:4])
    assert owner.board.status == "closing"
    assert owner.patience_s() is None


def test_an_absent_gauge_is_waited_for_and_then_given_up(tmp_path: Path) -> None:
    mode = TakingMode(search=_search, wait_back_s=2.0)
    with pytest.raises(PortLost):
        played_session(tmp_path, *GOOD[:3], LOST, None, mode=mode)
    state, _ = load_state(tmp_path / "s")
    assert state.link_lost


def test_the_last_keyboard_gone_ends_a_run_that_needs_its_presses(tmp_path: Path) -> None:
    mode = TakingMode(is_stream=True, needs_press=True)
    with pytest.raises(SettingsError, match="nobody else could trigger a reading"):
        played_session(tmp_path, KeyboardGone(), mode=mode)


def noise(many: int, code: str = "syntax") -> list[Item | None]:
    """So many rejects in a row."""
    return [Reject(code, "no number", b"%d" % n, NOW) for n in range(many)]


def rejects_in(folder: Path) -> list[int]:
    """What each reject line counts, in order."""
    lines = (folder / LEDGER).read_text().splitlines()
    counts = [line for line in lines if '"kind":"reject"' in line]
    return [int(line.split('"count":')[1].split(",")[0]) for line in counts]


@pytest.mark.parametrize(
    ("ending", "error"), [(Interrupted(), KeyboardInterrupt), (LOST, PortLost)]
)
def test_counted_rejects_are_stored_before_a_run_ends(
    tmp_path: Path, ending: Item, error: type[BaseException]
) -> None:
    with pytest.raises(error):
        played_session(tmp_path, *noise(40), ending, every_s=0.01)
    assert rejects_in(tmp_path / "s") == [1] * 20 + [20]
    kinds = [line.split('"kind":"')[1].split('"')[0] for line in _lines(tmp_path)]
    assert kinds[-1] == ("link_lost" if ending is LOST else "reject")


def _lines(tmp_path: Path) -> list[str]:
    return (tmp_path / "s" / LEDGER).read_text().splitlines()


def test_a_reading_ends_a_row_of_rejects(tmp_path: Path) -> None:
    played_session(tmp_path, *noise(20), value("59.970"), *noise(5), every_s=0.01)
    assert rejects_in(tmp_path / "s") == [1] * 25


def test_a_loss_forgets_what_was_pressed_for(tmp_path: Path) -> None:
    stream = TakingMode(is_stream=True, search=_search)
    coming: list[Item | None] = [SendPressed(), LOST, back(), value("59.970")]
    owner, watcher, _ = played_session(tmp_path, *coming, mode=stream)
    assert owner.board.last is None
    assert [str(each.value) for each in watcher.stream] == ["59.970"]


def test_a_gauge_that_never_answered_may_be_asked_again_once_it_is_back(tmp_path: Path) -> None:
    asked = TakingMode(asking=Asking(), search=_search)
    coming: list[Item | None] = [Typed(""), Typed(""), LOST, Typed(""), back(), Typed("")]
    _, watcher, inputs = played_session(tmp_path, *coming, mode=asked, answer=lambda at: None)
    assert inputs.asked == 2
    assert watcher.refusals == ["the gauge has not answered yet", "the gauge is not connected"]


def test_the_time_of_absence_begins_again_only_once_the_gauge_spoke(tmp_path: Path) -> None:
    waiting = TakingMode(search=_search, wait_back_s=10.0)
    for spoke, left_s in (([value("59.970")], 10.001), ([Nudged()], 7.001)):
        folder = tmp_path / str(left_s)
        coming: list[Item | None] = [LOST, back(), *spoke, LOST, Nudged()]
        _, _, inputs = played_session(folder, *coming, mode=waiting)
        assert inputs.waits[-2] == pytest.approx(left_s)


def test_a_hint_is_given_again_for_the_gauge_that_came_back(tmp_path: Path) -> None:
    waiting = TakingMode(search=_search)
    coming: list[Item | None] = [*noise(10, "overlong"), LOST, back(), *noise(10, "overlong")]
    _, watcher, _ = played_session(tmp_path, *coming, mode=waiting)
    assert len(watcher.hints) == 2
    assert watcher.hints[0] == watcher.hints[1]


def test_of_a_stream_rejects_matter_only_while_a_press_waits(tmp_path: Path) -> None:
    stream = TakingMode(is_stream=True)
    played_session(tmp_path, *noise(3), SendPressed(), *noise(2), mode=stream)
    assert rejects_in(tmp_path / "s") == [1, 1]


def test_lines_of_a_script_wait_for_their_press_and_none_is_acted_on_behind_the_end(
    tmp_path: Path,
) -> None:
    script = TakingMode(asking=Asking(), is_script=True)
    late: list[Item | None] = [Typed(""), Typed("abandon the lamp is out"), Typed("note too late")]
    owner, watcher, _ = played_session(
        tmp_path, *late, value("59.970"), mode=script, answer=lambda at: None
    )
    assert owner.board.verdict == "abandoned"
    assert len(owner.state.checks) == 1  # the press had its reading first
    assert watcher.refusals == []


def test_a_loss_lets_the_lines_go_that_waited_for_a_press(tmp_path: Path) -> None:
    script = TakingMode(asking=Asking(), is_script=True, search=_search)
    coming: list[Item | None] = [Typed(""), Typed("note the cable fell out"), LOST]
    played_session(tmp_path, *coming, mode=script, answer=lambda at: None)
    assert "the cable fell out" in _lines(tmp_path)[-1]


def test_an_empty_line_is_nothing_where_the_gauge_has_its_own_button(tmp_path: Path) -> None:
    _, watcher, inputs = played_session(tmp_path, Typed(""), Typed("  "))
    assert watcher.refusals == []
    assert inputs.asked == 0


def test_once_the_keyboard_is_gone_a_held_reading_is_dropped(tmp_path: Path) -> None:
    owner, _, _ = played_session(tmp_path, *GOOD[:2], value("61.000"), KeyboardGone())
    assert owner.state.held is None
    assert "nobody is at a keyboard" in _lines(tmp_path)[-1]


@pytest.mark.parametrize(("gauge", "name"), [("mic-50-75", "mic-50-75"), ("usb-1", "usb-2")])
def test_another_gauge_has_the_old_name_only_where_that_is_a_name(
    tmp_path: Path, gauge: str, name: str
) -> None:
    waiting = TakingMode(search=_search)
    coming: list[Item | None] = [LOST, back("usb-2")]
    owner, _, _ = played_session(tmp_path, *coming, mode=waiting, gauge=gauge)
    assert owner.state.setup.source.gauge == name
    assert owner.state.setup.source.device == "usb-2"


def test_a_resumed_run_shows_its_first_lines(tmp_path: Path) -> None:
    played_session(tmp_path, *GOOD[:3])
    clock, watcher = HandClock(), Watcher()
    clock.us = 60_000_000
    manager, first = SessionManager.resume(tmp_path / "s", setup(), clock.now().utc_us, None)
    owner = SessionRun(manager, first, clock, watcher, is_attended=True)
    inputs = PlayedInputs(clock, [])
    with pytest.raises(Exhausted):
        RunLoop(inputs, owner, clock, TakingMode(), "text").run()
    manager.close()
    assert watcher.lines == list(first.lines)
    assert watcher.boards == [owner.board, owner.board]  # as it begins, and with its lines
    assert owner.board.check is not None
    assert owner.board.check.phase == "during"
