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
    from daq.cli.displays import LiveShow, PlainShow
    from daq.record.state import State
    from drivers.reading import Reading
    from simulator.links import PtyLink
    from simulator.scenario import Player

FORMAT = "number-unit-sum-crlf"
BETWEEN_PRESSES_S = 0.17
"""Slow enough that equal readings in a row are presses, not a held button."""


@click.command("demo", epilog="\b\nExample: jbridge demo")
@click.option("--session", type=click.Path(path_type=Path), metavar="DIR", help="A new folder.")
@common_options
def command(context: Context, session: Path | None) -> int:
    """Check, measure, check, verdict and tables on a virtual crankshaft; takes under 30 s.

    One journal is out of form and one below its low limit, among good ones. The part is invented.
    """
    from daq.acquisition.manager import SessionManager
    from daq.cli import run_session as measuring
    from daq.plan.plan import parse_plan
    from daq.record.events import FORMAT as LEDGER_FORMAT
    from daq.record.events import RULES, Opened, Temperatures
    from daq.services import choose as choosing
    from daq.services.home import home_folder, load_profile, new_session_id
    from daq.version import __version__
    from drivers.clock import Clock
    from drivers.ports import open_port
    from simulator.links import PtyLink

    home = home_folder(context.home)
    text = files("daq.cli").joinpath("demo_plan.toml").read_text(encoding="utf-8")
    plan = parse_plan(text, "demo_plan.toml")
    clock = Clock()
    now = clock.now().utc_us
    session_id = new_session_id(now)
    folder = session or home / "demo" / session_id
    with PtyLink() as link:
        chosen = choosing.Chosen(link.port, load_profile(FORMAT, home), None)
        port = open_port(chosen.port, chosen.profile.link)
        try:
            opened = Opened(
                format=LEDGER_FORMAT,
                program=__version__,
                rules=RULES,
                session=session_id,
                job="demo",
                part=plan.part,
                operator="virtual operator",
                plan_name="demo_plan.toml",
                plan=text,
                setup=measuring.setup_of(
                    chosen, port, (), None, measuring.Stacks({}, {}), Temperatures(), None
                ),
            )
            manager, first = SessionManager.create(folder, opened, now)
            measuring.keep_plan(folder, text)
        except BaseException:
            port.close()
            raise
        show = _Operated(measuring.show_for(context), _Operator(link))
        return measuring.run_session(
            context, manager, first, port, chosen, clock, show=show, is_unattended=True
        )


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

    def begun(self, state: "State") -> None:
        self._operator.start()
        self._shown.begun(state)

    def step(self, before: "State", step: "Step", state: "State") -> None:
        self._shown.step(before, step, state)
        self._operator.ask(wanted(state))

    def refused(self, reason: str) -> None:
        self._shown.refused(reason)

    def advice(self, text: str) -> None:
        self._shown.advice(text)

    def streamed(self, reading: "Reading") -> None:
        self._shown.streamed(reading)

    def end(self) -> None:
        self._operator.ask(None)
        self._shown.end()


def wanted(state: "State") -> str | None:
    """What is asked for now, in the simulator's language; None when nothing is."""
    from daq.record.state import next_position, phase

    if state.closed is not None or state.stint is None:
        return None
    position = next_position(state)
    if phase(state) is not None or position is None:
        return f"stack {state.stint.size}"
    return f"at {position.journal} {position.station} {position.angle_deg}"
