"""A session run by a Python program: the same run as the command line's, with the program in the
operator's place.
"""

import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Self

from daq.acquisition.inputs import is_attended as somebody_answers
from daq.acquisition.manager import Step
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.acquisition.sources import Sources
from daq.board.board import Board
from daq.errors import Refused
from daq.evaluation.verdict import OPEN
from daq.record.state import State
from daq.services.finish import write_tables
from daq.services.opening import OpenRun, given_back, start_notes
from drivers.reading import Reading


class LiveSession:
    """An open session; `close` it, or use it in a `with` block. Belongs to the thread that opened
    it: nothing is taken in but while `wait` or `run` are waited for.
    """

    def __init__(self, run: OpenRun, told: Sequence[str], *, is_attended: bool = True) -> None:
        self._run = run
        self._notes = list(told)
        self._is_closed = False
        self._failed: Exception | None = None
        with ExitStack() as begun:  # gives all back if beginning fails
            begun.enter_context(given_back(run, self._notes.append))
            self._notes += start_notes(run)
            profile, show = run.chosen.profile, _Notes(self._notes.append)
            inputs = Sources(run.port, profile, run.clock, None, run.mode, with_signals=False)
            self._owner = SessionRun(
                run.manager,
                run.first,
                run.clock,
                show,
                is_attended=somebody_answers(run.mode, has_keyboard=is_attended),
                press=run.mode.press,
            )
            self._loop = RunLoop(inputs, self._owner, run.clock, run.mode, profile.kind)
            begun.enter_context(inputs.listening())
            if run.mode.send_key is not None:
                begun.callback(run.mode.send_key.stop)
            self._owner.begin()
            self._at_the_end = begun.pop_all()

    @property
    def board(self) -> Board:
        """All that a person would be shown now."""
        return self._owner.board

    @property
    def state(self) -> State:
        """What the ledger says now. Ask anew for each look: one that is kept keeps all that came
        after it, too.
        """
        return self._owner.state

    @property
    def folder(self) -> Path:
        """Where the session lies."""
        return self._run.manager.folder

    @property
    def is_done(self) -> bool:
        """Nothing more is taken in: closed, left open for another day, or given back."""
        return self._is_closed or self._owner.is_done

    @property
    def verdict(self) -> str:
        """accepted, rejected or abandoned; "open" until it is closed."""
        closed = self.state.closed
        return closed.verdict if closed is not None else OPEN

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why, once it is closed; else empty."""
        closed = self.state.closed
        return closed.reasons if closed is not None else ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What was worth knowing so far: at the start, of the link, of presses not taken."""
        return tuple(self._notes)

    def wait(self, timeout_s: float) -> Board:
        """Take in what comes until something was stored, or for `timeout_s` seconds; gives the
        board as it stands then.

        Raises PortLost when the gauge is gone for good, and LedgerNotWritten; after that nothing
        more comes, and each further wait raises the same.
        """
        until_s, before = time.monotonic() + timeout_s, self.board
        while not self.is_done and self.board is before:
            if self._failed is not None:
                raise self._failed
            left_s = until_s - time.monotonic()
            if left_s <= 0:
                break
            try:
                self._loop.step(left_s)
            except Exception as error:
                self._failed = error
                raise
        return self.board

    def run(self, shown: Callable[[Board], None] | None = None) -> str:
        """Until the session is done; `shown` gets each new board. Gives the verdict."""
        while not self.is_done:
            board = self.wait(60.0)
            if shown is not None:
                shown(board)
        return self.verdict

    def say(self, line: str) -> Board:
        """Do what an operator's line says, like `back` or `skip no access`; raises Refused, and
        then nothing has happened.
        """
        self._refuse_given_back()
        self._owner.say(line, self._run.clock.now(), "program")
        return self.board

    def press(self) -> None:
        """The send key, for a gauge that is asked or that sends without end; what comes of it is
        taken in by `wait`. Raises Refused once the session was given back.
        """
        self._refuse_given_back()
        self._loop.press(self._run.clock.now())

    def close(self) -> None:
        """Write the tables of an accepted session, keep its checks in the gauge's history, and give
        port and session back; as often as you like. A session that is not closed stays open and can
        be carried on.
        """
        if not self._is_closed:
            self._is_closed = True
            with self._at_the_end:
                write_tables(self._run.manager)

    def _refuse_given_back(self) -> None:
        if self._is_closed:
            raise Refused("given-back", "this session was let go: open it again to say more")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


class _Notes:
    """A display that keeps what no board says."""

    def __init__(self, keep: Callable[[str], None]) -> None:
        self._keep = keep

    def begun(self, board: Board) -> None:
        """Nothing: the program reads the board."""

    def step(self, board: Board, step: Step) -> None:
        """Nothing: the program reads the board."""

    def refused(self, reason: str) -> None:
        """A press that was not taken."""
        self._keep(f"Not done: {reason}")

    def advice(self, text: str) -> None:
        """A hint about the link."""
        self._keep(f"Hint: {text}")

    def streamed(self, reading: Reading) -> None:
        """Nothing: a stream would fill the notes."""
