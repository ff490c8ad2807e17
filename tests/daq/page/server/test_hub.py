"""What each viewer gets, and what becomes of presses."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import Board
from daq.page.messages import PageOver, PagePress, PageShown, PageTold, PressAnswer
from daq.page.server.hub import DRAW_EVERY_S, MOST_HEARD, MOST_PRESSES, MOST_STREAMS, NO_ANSWER, Hub
from daq.page.server.moment import Moment
from daq.page.server.press_form import Pressed
from tests.daq.page.boards import Shown


def render(moment: Moment) -> dict[str, str]:
    board = moment.board
    return {
        "place": board.asked.short if board else "",
        "check": f"{moment.passed_s // 60} min",
        "news": "|".join(moment.news),
        "keys": "buttons",
    }


def drawn(moment: Moment) -> dict[str, str]:
    return {"side": f"crank at step {moment.step}"}


class Made:
    """A hub, what it sent, and its clock."""

    def __init__(self) -> None:
        self.sent: list[PagePress] = []
        self.now_s = 0.0
        self.later: list[tuple[float, Callable[[], None]]] = []
        self.hub = Hub(
            render, drawn, self.sent.append, lambda: self.now_s, self._call_later, _spoken
        )

    def _call_later(self, after_s: float, call: Callable[[], None]) -> None:
        self.later.append((after_s, call))


def _spoken(before: Board | None, board: Board) -> str:
    return "" if before == board else f"step {board.step}"


@pytest.fixture
def board(tmp_path: Path) -> Board:
    return Shown(tmp_path / "s").press("59.970", "59.971", "59.980")


def test_a_viewer_gets_all_at_first_and_then_what_changed(board: Board) -> None:
    hub = Made().hub
    hub.take(PageShown(board))
    viewer = hub.enter(may_press=True)
    assert viewer is not None
    first = hub.due(viewer)
    assert first is not None
    assert first.parts == {"place": "M1 front 90°", "check": "0 min", "news": "", "keys": "buttons"}
    assert (first.step, first.cues, first.say, first.over) == (board.step, (), "", False)
    assert hub.due(viewer) is None
    hub.take(PageShown(board, ("kept",), ("one",)))
    hub.take(PageTold("two"))
    later = hub.due(viewer)
    assert later is not None
    assert (later.parts, later.cues) == ({"news": "one|two"}, ("kept",))


def test_drawings_come_after_the_words(board: Board) -> None:
    hub = Made().hub
    hub.take(PageShown(board))
    viewer = hub.enter(may_press=False)
    assert viewer is not None
    words, drawings = hub.due(viewer), hub.due_drawings(viewer)
    assert words is not None
    assert "side" not in words.parts
    assert drawings is not None
    assert drawings.parts == {"side": f"crank at step {board.step}"}
    assert hub.due_drawings(viewer) is None
    hub.take(PageTold("one"))
    hub.due(viewer)
    assert hub.due_drawings(viewer) is None


def test_where_readings_come_quickly_not_each_of_them_is_drawn(board: Board) -> None:
    made = Made()
    viewer = made.hub.enter(may_press=False)
    assert viewer is not None
    made.hub.take(PageShown(replace(board, step=1)))
    assert made.hub.due_drawings(viewer) is not None
    for step in range(2, 6):
        made.now_s += 0.04
        made.hub.take(PageShown(replace(board, step=step)))
        assert made.hub.due(viewer) is not None
        assert made.hub.due_drawings(viewer) is None
    ((after_s, ring),) = made.later
    assert after_s == pytest.approx(DRAW_EVERY_S - 0.04)
    viewer.bell.clear()
    made.now_s = DRAW_EVERY_S
    ring()
    assert viewer.bell.is_set()
    drawings = made.hub.due_drawings(viewer)
    assert drawings is not None
    assert drawings.parts == {"side": "crank at step 5"}


def test_who_may_only_look_gets_no_buttons(board: Board) -> None:
    hub = Made().hub
    hub.take(PageShown(board))
    viewer = hub.enter(may_press=False)
    assert viewer is not None
    event = hub.due(viewer)
    assert event is not None
    assert "keys" not in event.parts


def test_a_slow_viewer_gets_the_newest_board_and_the_sounds_between(board: Board) -> None:
    hub = Made().hub
    viewer = hub.enter(may_press=False)
    assert viewer is not None
    for step in range(1, 40):
        hub.take(PageShown(replace(board, step=step), (f"cue {step}",)))
    event = hub.due(viewer)
    assert event is not None
    assert event.step == 39
    assert event.cues == tuple(f"cue {step}" for step in range(40 - MOST_HEARD, 40))
    assert event.say == "step 39"


def test_nothing_is_rendered_while_nobody_looks(board: Board) -> None:
    rendered: list[Moment] = []

    def counting(moment: Moment) -> dict[str, str]:
        rendered.append(moment)
        return render(moment)

    hub = Hub(counting, drawn, lambda _: None, lambda: 0.0, lambda after_s, call: None, _spoken)
    for _ in range(3):
        hub.take(PageShown(board))
    assert rendered == []
    assert hub.parts["place"] == "M1 front 90°"
    assert hub.parts["place"] == "M1 front 90°"
    assert len(rendered) == 1


def test_time_alone_changes_the_age_of_the_check(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    viewer = made.hub.enter(may_press=False)
    assert viewer is not None
    made.hub.due(viewer)
    viewer.bell.clear()
    made.now_s = 59.0
    made.hub.tick()
    assert viewer.bell.is_set()
    assert viewer.is_ticked
    assert made.hub.due(viewer) is None
    made.now_s = 61.0
    made.hub.tick()
    event = made.hub.due(viewer)
    assert event is not None
    assert event.parts == {"check": "1 min"}


def test_so_many_viewers_and_no_more() -> None:
    hub = Made().hub
    viewers = [hub.enter(may_press=False) for _ in range(MOST_STREAMS)]
    assert all(viewers)
    assert hub.enter(may_press=False) is None
    assert viewers[0] is not None
    hub.leave(viewers[0])
    assert hub.enter(may_press=False) is not None


def test_at_the_end_each_viewer_is_told(board: Board) -> None:
    hub = Made().hub
    viewer = hub.enter(may_press=False)
    assert viewer is not None
    hub.take(PageOver(board, ("All is well.",)))
    first = hub.due_drawings(viewer)
    assert first is not None
    assert not first.over  # the bell rang once more: its words are not there yet
    viewer.bell.clear()
    assert hub.due(viewer) is not None
    last = hub.due_drawings(viewer)
    assert last is not None
    assert last.over
    assert not hub.gone.is_set()
    hub.leave(viewer)
    assert hub.gone.is_set()


def pressing(
    hub: Hub, pressed: Pressed, meanwhile: Callable[[], object], within_s: float = 5.0
) -> tuple[int, str]:
    async def press() -> tuple[int, str]:
        waiting = asyncio.ensure_future(hub.press(pressed, within_s))
        await asyncio.sleep(0)
        meanwhile()
        return await waiting

    return _run(press())


def _run(what: Awaitable[tuple[int, str]]) -> tuple[int, str]:
    async def run() -> tuple[int, str]:
        return await what

    return asyncio.run(run())


@pytest.mark.parametrize(("outcome", "status"), [("done", 204), ("refused", 409), ("bad", 400)])
def test_a_press_ends_as_the_run_answers(outcome: str, status: int, board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))

    def answer() -> None:
        (press,) = made.sent
        assert (press.word, press.text, press.step) == ("back", "", board.step)
        made.hub.take(PressAnswer(press.id, outcome, "so it is"))  # type: ignore[arg-type]  # of a table

    pressed = Pressed("back", "", board.step)
    assert pressing(made.hub, pressed, answer) == (status, "so it is")


def test_a_press_for_an_older_step_goes_nowhere(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    status, words = pressing(made.hub, Pressed("back", "", board.step - 1), lambda: None)
    assert status == 409
    assert "moved on" in words
    assert made.sent == []


def test_a_word_that_is_not_allowed_now_goes_nowhere(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    for word in ("keep", "send"):
        status, words = pressing(made.hub, Pressed(word, "", board.step), lambda: None)
        assert status == 409
        assert word in words
    assert made.sent == []


def test_send_is_a_word_where_a_press_takes_a_reading(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(replace(board, can_send=True)))
    pressed = Pressed("send", "", board.step)
    done = pressing(made.hub, pressed, lambda: made.hub.take(PressAnswer(1, "done")))
    assert done == (204, "")


def test_before_the_first_board_and_after_the_last_nothing_is_pressed(board: Board) -> None:
    made = Made()
    assert pressing(made.hub, Pressed("back", "", 0), lambda: None)[0] == 503
    made.hub.take(PageOver(board))
    assert pressing(made.hub, Pressed("back", "", board.step), lambda: None)[0] == 409


def test_a_press_without_an_answer_says_so(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    assert pressing(made.hub, Pressed("back", "", board.step), lambda: None, 0.0) == (
        503,
        NO_ANSWER,
    )
    made.hub.take(PressAnswer(1, "done"))  # too late, and no error


def test_the_end_answers_those_who_wait(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    found = pressing(made.hub, Pressed("back", "", board.step), lambda: made.hub.take(PageOver()))
    assert found == (409, "the session is over")


def test_presses_that_wait_are_bounded(board: Board) -> None:
    made = Made()
    made.hub.take(PageShown(board))
    pressed = Pressed("back", "", board.step)

    async def many() -> list[tuple[int, str]]:
        first = [asyncio.ensure_future(made.hub.press(pressed, 5)) for _ in range(MOST_PRESSES)]
        await asyncio.sleep(0)
        one_more = await made.hub.press(pressed, 5)
        for press in list(made.sent):
            made.hub.take(PressAnswer(press.id, "done"))
        return [one_more, *await asyncio.gather(*first)]

    found = [status for status, _ in asyncio.run(many())]
    assert found == [503, *[204] * MOST_PRESSES]
