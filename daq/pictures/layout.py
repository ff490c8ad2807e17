"""What of a part is drawn: its journals in the order of the plan's file. Pure; plain data, so that
it can go to another process as JSON.
"""

import re
from collections.abc import Iterable

import msgspec

from daq.board.board import PlaceAsked
from daq.board.shown_lengths import stated_unit
from daq.lengths import Length
from daq.plan.plan import JournalPlan
from daq.plan.schema import JournalKind
from drivers.printable import shown

_MAIN = frozenset({"main", "mains"})
_ROD = frozenset(
    {"rod", "rods", "conrod", "conrods", "pin", "pins", "crankpin", "crankpins", "throw", "throws"}
)
_LETTER = re.compile(r"([mrp])[ _-]?[0-9]{1,3}[a-z]?", re.ASCII)


class JournalDrawn(msgspec.Struct, frozen=True):
    """One journal as it is drawn; its limits are those of the part as it is now, `unit` the one
    that they are read in (mm or in).
    """

    name: str
    group: str
    kind: JournalKind
    stations: tuple[str, ...]
    angles_deg: tuple[int, ...]
    repeats: int
    low: Length
    high: Length | None
    unit: str
    is_after_strip: bool = False

    @property
    def places(self) -> int:
        """How many readings it takes."""
        return len(self.stations) * len(self.angles_deg) * self.repeats


class CrankLayout(msgspec.Struct, frozen=True):
    """The journals of a part, in the order of the plan's file."""

    journals: tuple[JournalDrawn, ...]

    def journal(self, name: str) -> JournalDrawn | None:
        """The journal of that name."""
        return next((each for each in self.journals if each.name == name), None)


def layout_of(journals: Iterable[JournalPlan]) -> CrankLayout:
    """The journals of a plan as they are drawn."""
    return CrankLayout(
        tuple(
            JournalDrawn(
                name=journal.name,
                group=journal.group,
                kind=journal.kind or kind_of(journal.group, journal.name),
                stations=journal.stations,
                angles_deg=journal.angles_deg,
                repeats=journal.repeats,
                low=journal.limits.low,
                high=journal.limits.high,
                unit=stated_unit(journal.limits.low),
                is_after_strip=journal.is_after_strip,
            )
            for journal in journals
        )
    )


def kind_of(group: str, name: str) -> JournalKind:
    """What a journal is called shows what it is: by the words of its group, else of its name, else
    by one letter and a number as M1, R1, P1. Chosen by us, for plans in English.
    """
    for said in (group, name):
        words = set(re.findall(r"[a-z]+", said.casefold()))
        is_main, is_rod = bool(words & _MAIN), bool(words & _ROD)
        if is_main != is_rod:
            return "main" if is_main else "rod"
    letter = _LETTER.fullmatch(name.casefold())
    if letter is None:
        return "other"
    return "main" if letter[1] == "m" else "rod"


def here_words(asked: PlaceAsked | None) -> str:
    """Where to measure now, for who does not see a drawing; empty where nothing is asked."""
    if asked is None:
        return ""
    return f"Measure {shown(asked.journal)} {shown(asked.station)} {asked.angle_deg}°. "
