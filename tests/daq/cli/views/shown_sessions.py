"""Moments of sessions for the screen, played through the pure rules without disk and clock."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path

from daq.board.asked import PRESS_SEND, TYPE_IT
from daq.board.board import Board
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.cli.ask_first import question_of
from daq.cli.views.screen import Beside, screen_lines
from daq.record.advance import Advance
from daq.record.events import Entry
from daq.record.evolve import begin
from daq.record.state import State, Status, next_position, status
from daq.rules.commands import (
    CheckNow,
    Command,
    FindLink,
    GaugeZeroed,
    LoseLink,
    TakeReading,
)
from daq.rules.decide import decide, settle
from daq.rules.resume import resume
from tests.builders import MINUTE_US, SECOND_US, START_US, opened, reading, setup, source
from tests.daq.gauges.study_builders import study_plan

HEAD = """\
schema = 1
part = "six-cylinder engine"

[check]
stack = "59.970 mm"
readings = 3
max_error = "0.002 mm"
max_spread = "0.002 mm"
max_drift = "0.002 mm"

[[group]]
name = "mains"

[[group]]
name = "rods"
stack = "50.780 mm"

[defaults]
stations = ["front", "rear"]
angles_deg = [0, 90]
"""


def mains(count: int, more: str = "") -> str:
    """So many journals of 59.970 to 59.990 mm."""
    return "".join(
        f'\n[[journal]]\nname = "M{number}"\ngroup = "mains"\nlow = "59.970 mm"\n'
        f'high = "59.990 mm"\nout_of_round = "0.010 mm"\n{more}'
        for number in range(1, count + 1)
    )


def rods(count: int, more: str = "") -> str:
    """So many journals of 50.780 to 50.800 mm."""
    text = mains(count, more).replace('"M', '"R').replace('"mains"', '"rods"')
    return text.replace("59.97", "50.78").replace("59.99", "50.80")


CRANK = HEAD + mains(7) + rods(5)
"""Twelve journals of four places each, on two stacks."""

MAIN = ("59.981", "59.983", "59.980", "59.982")
ROD = ("50.791", "50.793", "50.790", "50.792")
WORN = ("59.958", "59.961", "59.959", "59.962")
"""What is read of a journal, by place."""


class Played:
    """A session as it is shown, one board made from another; M3 is worn where `worn` says so."""

    def __init__(self, plan: str, press: str = PRESS_SEND, worn: Sequence[str] = ()) -> None:
        first = opened(plan, part="six-cylinder engine")
        entry = Entry(1, START_US, first)
        begun = settle(Advance(begin(entry, first.plan_name), START_US, (entry,)))
        self.now_us = START_US
        self.state: State = begun.state
        self.shown: SessionShown = first_shown(begun.state, START_US, begun.entries, press)
        self.news = self.board.news
        self._worn = worn

    @property
    def board(self) -> Board:
        """How things stand now."""
        return self.shown.board

    @property
    def said(self) -> Beside:
        """What is shown beside the board."""
        return Beside(news=self.news)

    def say(self, command: Command, after_us: int = 2 * SECOND_US) -> "Played":
        """A word, or what came."""
        self.now_us += after_us
        return self._show(decide(self.state, command, self.now_us))

    def _show(self, now: Advance) -> "Played":
        self.state = now.state
        self.shown = next_shown(self.shown, now.entries, now.state, self.now_us)
        self.news = self.board.news or self.news
        return self

    def press(
        self,
        *values: str,
        after_us: int = 2 * SECOND_US,
        unit: str = "mm",
        resolution: str = "0.001",
    ) -> "Played":
        """Readings of these sizes, whatever they are of."""
        for value in values:
            at_us = self.now_us + after_us
            taken = reading(value, at_us, unit=unit, resolution=resolution)
            self.say(TakeReading(taken), after_us)
        return self

    def check(self, off_um: int = 0) -> "Played":
        """All readings of the stack that is asked for, each so many um off."""
        stint = self.state.stint
        assert stint is not None
        size = stint.size.mm + Decimal(off_um) / 1000
        return self.press(*[f"{size:.3f}"] * self.state.plan.check.readings)

    def measure(self, until: str | None = None) -> "Played":
        """Place by place up to that journal, or until a check is due."""
        while status(self.state) is Status.MEASURING:
            place = next_position(self.state)
            assert place is not None
            if place.journal == until:
                break
            journal = self.state.scope.journals[place.journal]
            station = journal.stations.index(place.station)
            at = station * len(journal.angles_deg) + journal.angles_deg.index(place.angle_deg)
            worn = place.journal in self._worn
            self.press((WORN if worn else MAIN if place.journal[0] == "M" else ROD)[at % 4])
        return self

    def resumed(self, gauge: str, only: tuple[str, ...]) -> "Played":
        """Carried on an hour later with another gauge."""
        self.now_us += 60 * MINUTE_US
        another = setup(f"usb-{gauge}", gauge=gauge, only=only)
        return self._show(resume(self.state, another, self.now_us))


def _normal() -> Played:
    played = Played(CRANK).check().measure("M3").say(CheckNow()).check()
    return played.measure("M5").press(*MAIN[:2])


def _below() -> Played:
    return Played(CRANK, worn=["M3"]).check().measure("M4").press(MAIN[0])


def _held_in_inch() -> Played:
    return Played(CRANK).check().measure("M2").press("2.36150", unit="in", resolution="0.00005")


def _double_press() -> Played:
    return Played(CRANK).check().measure("M2").press("59.981").press("59.981", after_us=300_000)


def _failed_before() -> Played:
    return Played(CRANK).check(off_um=8)


def _failed_after() -> Played:
    """The mains are done, and the gauge has moved since."""
    return Played(CRANK).check().measure().check(off_um=5)


def _cable_out() -> Played:
    played = Played(CRANK).check().measure("M3").say(CheckNow()).check().measure("M6")
    return played.say(LoseLink("it is gone: unplugged or switched off"))


def _cable_back() -> Played:
    return _cable_out().say(FindLink(source()))


def _measured_again() -> Played:
    return _cable_back().check().measure("M4").press(MAIN[0])


def _two_gauges() -> Played:
    """The mains are proven by one gauge, the rods are measured with another."""
    played = Played(CRANK).check().measure().check()
    return played.resumed("mic-25-50", ("rods",)).check().measure("R2").press(ROD[0])


def _typed() -> Played:
    return Played(CRANK, press=TYPE_IT).check().measure("M2").press(MAIN[0])


def _study() -> Played:
    played = Played(study_plan(operators='["Ada", "Ben"]', trials=2)).press("59.970", "59.970")
    return played.press("59.981", "59.982", "59.980", "59.981")


def _strip() -> Played:
    played = Played(HEAD + mains(4) + _stripped("M5"))
    return played.check().measure("M5")


def _stripped(name: str) -> str:
    return mains(1, 'access = "after-strip"\n').replace("M1", name)


def _taken_again_zeroed() -> Played:
    return Played(CRANK).check().measure("M4").say(GaugeZeroed())


def _many() -> Played:
    head = HEAD.replace('"front", "rear"', '"front"')
    return Played(head + mains(250), worn=["M7", "M40"]).check().measure("M60").press(MAIN[0])


def _long_names() -> Played:
    plan = HEAD + mains(3).replace("M2", "Camshaft bearing no. 2 [left]")
    return Played(plan).check().measure("Camshaft bearing no. 2 [left]").press(MAIN[0])


@cache
def _stop_asked() -> tuple[Board, Beside]:
    played = _cable_back().check()
    question = question_of("stop the shift ends", played.board)
    return played.board, Beside(news=played.news, question=question)


def _of(played: Callable[[], Played]) -> Callable[[], tuple[Board, Beside]]:
    @cache
    def made() -> tuple[Board, Beside]:
        found = played()
        return found.board, found.said

    return made


MOMENTS: dict[str, Callable[[], tuple[Board, Beside]]] = {
    "normal": _of(_normal),
    "below": _of(_below),
    "held in inch": _of(_held_in_inch),
    "double press": _of(_double_press),
    "failed before-check": _of(_failed_before),
    "failed after-check": _of(_failed_after),
    "cable out": _of(_cable_out),
    "cable back": _of(_cable_back),
    "measured again": _of(_measured_again),
    "two gauges": _of(_two_gauges),
    "typed": _of(_typed),
    "study": _of(_study),
    "strip now": _of(_strip),
    "zeroed": _of(_taken_again_zeroed),
    "stop asked": _stop_asked,
    "250 journals": _of(_many),
    "long names": _of(_long_names),
}
"""Each moment that is kept as a picture, by name."""

SIZES = ((60, 20), (80, 24), (100, 30), (200, 60))
PICTURES = Path(__file__).with_name("screens")


def texts(name: str, columns: int, rows: int) -> list[str]:
    """The lines of the screen at a moment, as they look without any colour."""
    lines = screen_lines(*MOMENTS[name](), columns, rows)
    return ["".join(piece.text for piece in line) for line in lines]


def picture(name: str, columns: int, rows: int) -> str:
    """The screen in a frame, as it is kept."""
    body = "".join(f"|{text:<{columns}}|\n" for text in texts(name, columns, rows))
    return f"{name}, {columns} x {rows}\n+{'-' * columns}+\n{body}+{'-' * columns}+\n"
