"""`jbridge demo`: true drivers, session and ledger against a virtual gauge on a real pty."""

import queue
import threading
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options

if TYPE_CHECKING:
    from daq.acquisition.manager import Step
    from daq.board.board import Board
    from daq.cli.displays import LiveShow, PlainShow
    from drivers.reading import Reading
    from simulator.links import PtyLink
    from simulator.scenario import Player

PLAN = "demo_plan.toml"
FORMAT = "number-unit-sum-crlf"
BETWEEN_PRESSES_S = 0.17
"""Slow enough that equal readings in a row are presses, not a held button."""

SAID = (
    "the virtual operator is quicker than any hand, so this plan has least_interval = "
    '"0 s"; in your own plan leave it out, and a button pressed twice is asked about'
)


@click.command("demo", epilog="\b\nExample: jbridge demo")
@click.option("--session", type=click.Path(path_type=Path), metavar="DIR", help="A new folder.")
@common_options
def command(context: Context, session: Path | None) -> int:
    """Check, measure, check, verdict and tables on a virtual crankshaft; takes under 30 s.

    One journal is out of form and one below its low limit, among good ones. The part is invented.
    """
    from daq.cli.run_session import around, run_session, show_for, tell
    from daq.plan.plan import parse_plan
    from daq.services.opening import NewSession, open_new
    from daq.services.run_wanted import RunWanted
    from simulator.links import PtyLink

    text = files("daq.cli").joinpath(PLAN).read_text(encoding="utf-8")
    new = NewSession(
        plan=parse_plan(text, PLAN),
        plan_name=PLAN,
        job="demo",
        operator="virtual operator",
        folder=session,
        below="demo",
    )
    with PtyLink() as link:
        asked = RunWanted(port=link.port, profile=FORMAT)
        run = open_new(asked, new, around(context))
        tell(SAID)
        show = _Operated(show_for(context), _Operator(link))
        return run_session(context, run, show=show, is_unattended=True)


class _Operator:
    """Puts what is asked for into the virtual gauge and presses send."""

    def __init__(self, link: "PtyLink") -> None:
        self._link = link
        self._player = _player()
        self._asked: queue.Queue[str | None] = queue.Queue()
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._work, name="operator", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def ask(self, what: str | None) -> None:
        """A line of the simulator's language; None ends the work."""
        if what is None:
            self._over.set()
        self._asked.put(what)

    def _work(self) -> None:
        while (what := self._asked.get()) is not None:
            if self._over.wait(BETWEEN_PRESSES_S):
                return
            self._press(what)

    def _press(self, what: str) -> None:
        from simulator.clock import WallClock
        from simulator.scenario import parse, play

        try:
            play(parse(f"{what}\npress\n"), self._player, self._link, WallClock())
        except Exception:
            self._link.unplug()  # so that the session ends instead of waiting for ever
            raise


def _player() -> "Player":
    from simulator.example import EXAMPLE
    from simulator.formats import FORMATS
    from simulator.gauge import Micrometer
    from simulator.scenario import Player as VirtualPlayer

    gauge = Micrometer(bias_mm=0.0003, repeatability_mm=0.0003, seed=20)
    return VirtualPlayer(EXAMPLE, gauge, FORMATS[FORMAT], press_every_s=0)


class _Operated:
    """A display that also tells the virtual operator what is asked for."""

    def __init__(self, shown: "PlainShow | LiveShow", operator: _Operator) -> None:
        self._shown = shown
        self._operator = operator

    def begun(self, board: "Board") -> None:
        self._operator.start()
        self._shown.begun(board)

    def step(self, board: "Board", step: "Step") -> None:
        self._shown.step(board, step)
        self._operator.ask(wanted(board))

    def refused(self, reason: str) -> None:
        self._shown.refused(reason)

    def advice(self, text: str) -> None:
        self._shown.advice(text)

    def streamed(self, reading: "Reading") -> None:
        self._shown.streamed(reading)

    def end(self) -> None:
        self._operator.ask(None)
        self._shown.end()


def wanted(board: "Board") -> str | None:
    """What is asked for now, in the simulator's language; None when nothing is."""
    if board.check is not None:
        return f"stack {board.check.stack}"
    place = board.place
    return None if place is None else f"at {place.journal} {place.station} {place.angle_deg}"
