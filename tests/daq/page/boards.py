"""Boards to be shown: of a session of two journals, as it goes on."""

from pathlib import Path

import msgspec

from daq.board.board import Board
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.pictures.layout import CrankLayout, layout_of
from daq.rules.commands import Command, TakeReading
from tests.builders import PLAN, Bench, opened, reading

STEP_US = 20_000_000


class Shown:
    """A session, and the board after each of its steps."""

    def __init__(self, folder: Path, plan: str = PLAN, *, can_send: bool = False) -> None:
        self.bench = Bench.new(folder, opened(plan))
        self.shown: SessionShown = first_shown(
            self.bench.state, self.bench.now_us, can_send=can_send
        )

    @property
    def board(self) -> Board:
        """How things stand."""
        return self.shown.board

    @property
    def layout(self) -> CrankLayout:
        """What is drawn."""
        return layout_of(self.bench.state.plan.journals)

    def say(self, command: Command) -> Board:
        """A word, or what came."""
        step = self.bench.say(command, STEP_US)
        self.shown = next_shown(self.shown, step.entries, self.bench.state, self.bench.now_us)
        return self.board

    def press(self, *values: str) -> Board:
        """Readings, each long after the one before."""
        for value in values:
            self.say(TakeReading(reading(value, self.bench.now_us + STEP_US)))
        return self.board


def hostile(board: Board, text: str) -> Board:
    """The board with a text in every place where one stands."""
    return msgspec.convert(_all(msgspec.to_builtins(board), text), Board)


def _all(what: object, text: str, key: str = "") -> object:
    kept = ("status", "made_at", "at", "next_check_by", "estimate_mm", "verdict", "state")
    if isinstance(what, dict):
        return {name: _all(each, text, name) for name, each in what.items()}
    if isinstance(what, list):
        return [_all(each, text, key) for each in what] or ([text] if key in _LISTS else [])
    if isinstance(what, str) and key not in kept and not key.endswith(("_mm", "_verdict")):
        return text
    return what


_LISTS = ("news", "warnings", "reasons", "why_not", "again")
