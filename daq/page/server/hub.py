"""What the page shows now, who looks at it, and which presses wait for an answer."""

import asyncio
from collections import deque
from collections.abc import Callable

import msgspec

from daq.acquisition.inputs import PressOutcome
from daq.board.asked import page_fault
from daq.board.board import Board
from daq.page.messages import (
    Hello,
    PageOver,
    PagePress,
    PageShown,
    PageTold,
    PressAnswer,
    ToServer,
)
from daq.page.server.moment import MOST_NEWS, Moment
from daq.page.server.press_form import Pressed

MOST_STREAMS, MOST_PRESSES = 16, 16
DRAW_EVERY_S = 0.2
"""So that drawings take no more than a part of the time even of a gauge that sends without a pause.
Chosen by us."""

MOST_HEARD = 8
"""Sounds that a viewer who is behind still gets. Chosen by us."""

NOT_BEGUN = "nothing can be pressed yet: wait until the page shows the place"
OVER = "the session is over"
TOO_MANY = "too many presses at once: wait a moment"
NO_ANSWER = "no answer came in time: look at the page for what happened"


class Viewer:
    """One open event stream: what it got, and a bell that rings when there may be more."""

    def __init__(self, heard: int, *, may_press: bool) -> None:
        self.may_press = may_press
        self.parts: dict[str, str] = {}
        self.heard = heard
        self.bell = asyncio.Event()
        self.bell.set()
        self.is_ticked = False


class PageEvent(msgspec.Struct, frozen=True):
    """What a viewer has not got yet."""

    step: int
    parts: dict[str, str]
    cues: tuple[str, ...] = ()
    say: str = ""
    over: bool = False


class Hub:
    """`render` makes the parts of a moment but its drawings, which take longer and which `draw`
    makes; `send` tells the measuring process; `now_s` is a monotonic clock, `call_later` calls
    something after so many seconds. All of it belongs to one loop.
    """

    def __init__(
        self,
        render: Callable[[Moment], dict[str, str]],
        draw: Callable[[Moment], dict[str, str]],
        send: Callable[[PagePress], None],
        now_s: Callable[[], float],
        call_later: Callable[[float, Callable[[], None]], object],
        spoken: Callable[[Board | None, Board], str],
    ) -> None:
        self._render = render
        self._draw = draw
        self._send = send
        self._now_s = now_s
        self._call_later = call_later
        self._spoken = spoken
        self.moment = Moment()
        self._shown_s = now_s()
        self._parts: dict[str, str] | None = None
        self._drawings: dict[str, str] | None = None
        self._drawn_s = now_s() - DRAW_EVERY_S
        self._is_drawing_due = False
        self._heard: deque[tuple[int, str]] = deque(maxlen=MOST_HEARD)
        self._count = 0
        self._say = (0, "")
        self._viewers: set[Viewer] = set()
        self._pending: dict[int, asyncio.Future[tuple[PressOutcome, str]]] = {}
        self._presses = 0
        self.gone = asyncio.Event()
        """Nobody looks any more."""

    # From the measuring process -----------------------------------------------------------------

    def take(self, message: ToServer) -> None:
        """Take one message in."""
        match message:
            case PageShown():
                self._show(message.board, message.cues, message.news)
            case PageTold():
                self._change(news=(*self.moment.news, message.text)[-MOST_NEWS:])
            case PressAnswer():
                waiting = self._pending.pop(message.id, None)
                if waiting is not None and not waiting.done():
                    waiting.set_result((message.outcome, message.words))
            case PageOver():
                if message.board is not None:
                    self._show(message.board, (), ())
                self._change(is_over=True, said=message.said)
                for waiting in self._pending.values():
                    if not waiting.done():
                        waiting.set_result(("refused", OVER))
            case Hello():
                pass  # it was the first line, and read before

    def _show(self, board: Board, cues: tuple[str, ...], news: tuple[str, ...]) -> None:
        before, kept = self.moment.board, news[-MOST_NEWS:] if news else self.moment.news
        self._shown_s = self._now_s()
        self._count += 1
        self._heard.extend((self._count, cue) for cue in cues)
        self._change(board=board, news=kept, passed_s=0)
        say = self._spoken(before, board)
        if say:
            self._say = (self._count, say)

    def _change(self, **changed: object) -> None:
        if "board" in changed:
            self._drawings = None
        self.moment = msgspec.structs.replace(self.moment, **changed)
        self._parts = None
        for viewer in self._viewers:
            viewer.bell.set()

    def tick(self) -> None:
        """Time passed: the age of the check grew, and viewers want to know that this is alive."""
        self._change(passed_s=int(self._now_s() - self._shown_s))
        for viewer in self._viewers:
            viewer.is_ticked = True

    # To viewers ---------------------------------------------------------------------------------

    @property
    def parts(self) -> dict[str, str]:
        """The page as it is now, part by part; made only where somebody looks."""
        return {**self._texts(), **self._drawn()}

    def _texts(self) -> dict[str, str]:
        if self._parts is None:
            self._parts = self._render(self.moment)
        return self._parts

    def _drawn(self) -> dict[str, str]:
        if self._drawings is None:
            self._drawings = self._draw(self.moment)
            self._drawn_s = self._now_s()
        return self._drawings

    @property
    def has_viewers(self) -> bool:
        """Somebody looks."""
        return bool(self._viewers)

    def enter(self, *, may_press: bool) -> Viewer | None:
        """Another viewer; None where there are too many."""
        if len(self._viewers) >= MOST_STREAMS:
            return None
        viewer = Viewer(self._count, may_press=may_press)
        self._viewers.add(viewer)
        self.gone.clear()
        return viewer

    def leave(self, viewer: Viewer) -> None:
        """It is gone."""
        self._viewers.discard(viewer)
        if not self._viewers:
            self.gone.set()

    def due(self, viewer: Viewer) -> PageEvent | None:
        """What a viewer has not got yet but drawings, None if nothing; from now on it has it."""
        parts = self._new(viewer, self._texts())
        cues = tuple(cue for count, cue in self._heard if count > viewer.heard)
        say = self._say[1] if self._say[0] > viewer.heard else ""
        viewer.heard = self._count
        if not (parts or cues or say):
            return None
        return PageEvent(self.moment.step, parts, cues, say)

    def due_drawings(self, viewer: Viewer) -> PageEvent | None:
        """The drawings that a viewer has not got yet, None if nothing; and whether it was the last
        that there is. Where readings come quickly not each of them is drawn.
        """
        left_s = self._drawn_s + DRAW_EVERY_S - self._now_s()
        if self._drawings is None and left_s > 0 and not self.moment.is_over:
            if not self._is_drawing_due:
                self._is_drawing_due = True
                self._call_later(left_s, self._ring)
            return None
        parts = self._new(viewer, self._drawn())
        is_over = self.moment.is_over and not viewer.bell.is_set()  # else there is more to come
        return PageEvent(self.moment.step, parts, over=is_over) if parts or is_over else None

    def _ring(self) -> None:
        """It is time to draw."""
        self._is_drawing_due = False
        for viewer in self._viewers:
            viewer.bell.set()

    def _new(self, viewer: Viewer, parts: dict[str, str]) -> dict[str, str]:
        new = {
            name: html
            for name, html in parts.items()
            if is_for(name, viewer.may_press) and viewer.parts.get(name) != html
        }
        viewer.parts |= new
        return new

    # Presses ------------------------------------------------------------------------------------

    def fault(self, pressed: Pressed) -> tuple[int, str] | None:
        """Why a press can do nothing now, with the status to answer; None if it may be able to."""
        board = self.moment.board
        if board is None:
            return 503, NOT_BEGUN
        if self.moment.is_over:
            return 409, OVER
        words = page_fault(board, pressed.word, pressed.step)
        return (409, words) if words else None

    async def press(self, pressed: Pressed, within_s: float) -> tuple[int, str]:
        """The status that a press ends with, and words."""
        fault = self.fault(pressed)
        if fault is not None:
            return fault
        if len(self._pending) >= MOST_PRESSES:
            return 503, TOO_MANY
        self._presses += 1
        number = self._presses
        waiting = asyncio.get_running_loop().create_future()
        self._pending[number] = waiting
        try:
            self._send(PagePress(number, pressed.word, pressed.text, pressed.step))
            outcome, words = await asyncio.wait_for(waiting, within_s)
        except TimeoutError:
            return 503, NO_ANSWER
        finally:
            self._pending.pop(number, None)
        return {"done": 204, "refused": 409, "bad": 400}[outcome], words


def is_for(part: str, may_press: bool) -> bool:
    """Parts with buttons are for those who may press."""
    return may_press or not part.startswith("keys")
