"""Moments of sessions as drawings of the part, played through the pure rules."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

from daq.board.board import JournalRow
from daq.pictures.around import around
from daq.pictures.crank_side import crank_side
from daq.pictures.journal_end import journal_end
from daq.pictures.layout import CrankLayout, JournalDrawn, layout_of
from daq.pictures.plan_picture import plan_picture
from daq.pictures.route_map import route_map
from daq.rules.commands import CheckNow, Skip
from tests.daq.cli.views.shown_sessions import HEAD, MAIN, Played, mains, rods

CAM = """
[[journal]]
name = "Middle bearing"
group = "cams"
low = "59.970 mm"
high = "59.990 mm"
"""
SMALL = (HEAD + mains(3) + rods(2) + CAM).replace("[0, 90]", "[0, 45, 90, 135]")
"""Three mains, two rods and one that is neither, eight places each, on two stacks."""


def layout(played: Played) -> CrankLayout:
    """What of its part is drawn."""
    return layout_of(played.state.plan.journals)


def journal(played: Played, name: str) -> JournalDrawn:
    """One journal as it is drawn."""
    found = layout(played).journal(name)
    assert found is not None
    return found


def row(played: Played, name: str) -> JournalRow:
    """How one journal stands."""
    return next(one for one in played.board.rows if one.result.journal == name)


@cache
def between() -> Played:
    """M1 is proven and within, M2 proven and below. Of M3 three places are measured and one is left
    out when a check fails: they must be measured again, and one of them is.
    """
    played = Played(SMALL, worn=["M2"]).check().measure("M2").say(CheckNow()).check()
    played.measure("M3").say(CheckNow()).check()
    played.press(*MAIN[:3]).say(Skip("no access")).say(CheckNow()).check(off_um=5)
    return played.check().press(MAIN[0])


@cache
def held() -> Played:
    """As between, and then the gauge sends what cannot be."""
    played = Played(SMALL, worn=["M2"]).check().measure("M2")
    return played.press(MAIN[0]).press("57.113")


@cache
def finished() -> Played:
    """All measured, M2 below, the last check passed."""
    return Played(SMALL, worn=["M2"]).check().measure().check().check().measure().check()


def _crank(played: Played) -> str:
    return crank_side(layout(played), played.board.rows, played.board.place)


def _map(played: Played) -> str:
    return route_map(layout(played), played.board.rows, played.board.place)


def _around(played: Played, name: str) -> str:
    return around(journal(played, name), row(played, name), played.board.place, with_values=True)


MOMENTS: dict[str, Callable[[], str]] = {
    "plan": lambda: plan_picture("six-cylinder engine", layout(between())),
    "crank in between": lambda: _crank(between()),
    "crank held": lambda: _crank(held()),
    "crank finished": lambda: _crank(finished()),
    "map in between": lambda: _map(between()),
    "map finished": lambda: _map(finished()),
    "around M2 finished": lambda: _around(finished(), "M2"),
    "around M3 in between": lambda: _around(between(), "M3"),
    "end at 45": lambda: journal_end(journal(between(), "M3"), 45),
}
"""Each drawing that is kept, by name."""

DRAWINGS = Path(__file__).with_name("drawings")
