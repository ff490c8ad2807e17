"""The page of one run, seen from the measuring process: shown, told, ended; presses come back.

Nothing here waits for the server, and nothing that happens to it ends a run: it is started again
where it dies, on the same socket and with the same links.
"""

import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress

import msgspec
from msgspec.structs import replace

from daq.acquisition.inputs import Item, PagePressed, PressOutcome
from daq.board.board import Board
from daq.page.address import Secrets, links_of, listening, netloc_of, where_of
from daq.page.child import Child
from daq.page.messages import (
    Hello,
    PageFailed,
    PageOver,
    PagePress,
    PageReady,
    from_server,
)
from daq.page.outbox import Outbox
from daq.pictures.layout import CrankLayout

MOST_STARTS, WITHIN_S = 5, 60.0
"""A server that dies more often is given up. Chosen by us."""

END_S = 1.5
"""How long the end of a command waits for viewers to be told of it. Chosen by us."""

ANSWER_S = 5.0
"""How long a press waits for its answer; one that waited so long is not done any more."""

MOST_PRESSED = 64
"""Presses that wait to be taken in. Chosen by us: more than the server lets wait at once."""

GIVEN_UP = "the page at the bench stopped working and is not shown any more. Measuring goes on"


class PageHost:
    """Listens from its making on; `where` is ADDRESS[:PORT], None for the loopback.

    Raises UsageError and PageUnavailable. Of the rest only `presses` waits, and nothing raises.
    """

    def __init__(self, where: str | None = None) -> None:
        place = where_of(where)
        self._secrets = Secrets.new()
        self._socket = listening(place)
        self._netloc = netloc_of(place, self._socket)
        self.links = links_of(self._netloc, self._secrets)
        self.is_open = place.is_open
        """Others than this machine may reach it."""
        self._outbox = Outbox()
        self._pressed: queue.SimpleQueue[tuple[int, PagePress, float] | None] = queue.SimpleQueue()
        self._child: Child | None = None
        self._hello = Hello(self._secrets.look, self._secrets.press, self._netloc)
        self._reason = ""
        self._is_ending = threading.Event()
        self._is_ready = threading.Event()
        self._say: Callable[[str], None] = lambda _: None
        self._thread: threading.Thread | None = None

    def start(
        self,
        layout: CrankLayout | None = None,
        *,
        is_speaking: bool = False,
        say: Callable[[str], None] | None = None,
    ) -> None:
        """Start the server, and return at once. `layout` is what is drawn, None for a check outside
        any session; `say` is told, from a thread, when the server is given up.
        """
        self._hello = replace(self._hello, layout=layout, is_speaking=is_speaking)
        self._say = say or self._say
        self._thread = threading.Thread(target=self._keep_up, name="page", daemon=True)
        self._thread.start()

    def is_answering(self, within_s: float) -> bool:
        """Wait so long for the server to answer pages."""
        return self._is_ready.wait(within_s)

    @property
    def pid(self) -> int | None:
        """The server's process, if one was started."""
        return None if self._child is None else self._child.pid

    def show(self, board: Board) -> None:
        """The board as it is now."""
        self._outbox.show(board)

    def tell(self, text: str) -> None:
        """One thing to say."""
        self._outbox.tell(text)

    def presses(self, put: Callable[[Item], None]) -> None:
        """Put what is pressed on the page, until the end."""
        while (found := self._pressed.get()) is not None:
            number, press, at_s = found
            if time.monotonic() - at_s < ANSWER_S:
                answer = self._answering(number, press)
                put(PagePressed(press.word, press.text, press.step, answer))

    def end(self, last: Board | None = None, said: Sequence[str] = ()) -> None:
        """The session is over: show the last board and these sentences, then give everything back.
        What viewers see then stays there. Waits a moment for those who are slow.
        """
        self._is_ending.set()
        self._pressed.put(None)
        self._outbox.end(PageOver(last, tuple(said)))
        if self._thread is not None:
            self._thread.join(END_S)
            child = self._child
            if self._thread.is_alive() and child is not None:
                child.kill()
                self._thread.join(END_S)
        self._socket.close()

    def _answering(self, number: int, press: PagePress) -> Callable[[PressOutcome, str], None]:
        def answer(outcome: PressOutcome, words: str) -> None:
            self._outbox.answer(number, press.id, outcome, words)

        return answer

    # The thread of the server -------------------------------------------------------------------

    def _keep_up(self) -> None:
        """A server after the other, as long as they do not die too often."""
        begun: deque[float] = deque(maxlen=MOST_STARTS)
        while not self._is_ending.is_set():
            now_s = time.monotonic()
            if len(begun) == MOST_STARTS and now_s - begun[0] < WITHIN_S:
                self._socket.close()
                self._say(f"{GIVEN_UP} ({self._reason})" if self._reason else GIVEN_UP)
                return
            begun.append(now_s)
            with suppress(OSError):  # none could be started, as one that died at once
                self._serve(Child(self._socket))

    def _serve(self, child: Child) -> None:
        """As long as it lives."""
        self._child = child
        number = self._outbox.begin()
        writer = threading.Thread(
            target=self._write, args=(child, number), name="page out", daemon=True
        )
        writer.start()
        try:
            while line := child.hear():
                if not self._hear(number, line):
                    break
        finally:
            child.kill()
            self._outbox.leave(number)
            writer.join()
            child.bury()

    def _hear(self, number: int, line: bytes) -> bool:
        """Take in what it says; False where it cannot go on."""
        try:
            message = from_server(line)
        except msgspec.MsgspecError:
            return False
        match message:
            case PageReady():
                self._is_ready.set()
            case PagePress() if self._pressed.qsize() < MOST_PRESSED:
                self._pressed.put((number, message, time.monotonic()))
            case PagePress():
                pass  # nobody takes presses in; the page says that no answer came
            case PageFailed():
                self._reason = message.reason
                return False
        return True

    def _write(self, child: Child, number: int) -> None:
        with suppress(OSError):  # it is gone, and its reader knows
            child.greet(self._hello)
            while (due := self._outbox.take(number)) is not None:
                child.send(due)
