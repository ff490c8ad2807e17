"""The drawings of a sheet, from what a session stored: the crank, journal by journal. Pure.

What is drawn of a place is what the table of readings has for it. A reading that no check has
proven, of a session that is over, is not drawn: nothing can prove it any more.
"""

from collections.abc import Mapping, Sequence

import msgspec

from daq.board.board import JournalRow, PlaceShown
from daq.board.placed import STATES
from daq.board.row_words import BAD, stands
from daq.cli.views.ended import SessionEnd
from daq.export.basis import Basis
from daq.export.rows import reading_rows
from daq.lengths import Position
from daq.pictures.around_small import around_small, key_of
from daq.pictures.crank_side import crank_side
from daq.pictures.layout import CrankLayout, JournalDrawn, layout_of
from daq.plan.journals import JournalPlan
from daq.plan.key_words import several
from daq.record.results import JournalResult
from daq.record.state import fates

MOST_AROUND = 24
"""Journals whose diameters are drawn; of more, those that need work come first."""

CRANK_WIDTH = 1180
"""So wide that thirteen journals stand in one row on paper."""


class SheetDrawings(msgspec.Struct, frozen=True):
    """The crank, the journals' diameters with the key to them, and how many are not drawn."""

    crank: str
    around: tuple[str, ...]
    key: str
    left_out: int


def drawings_of(end: SessionEnd) -> SheetDrawings:
    """The drawings of a session, in the first of the units that it is shown in."""
    rows = rows_of(end)
    layout = layout_of(end.state.plan.journals)
    words = {row.result.journal: state_words(row) for row in rows}
    crank = crank_side(layout, rows, width=CRANK_WIDTH, most_rows=3, has_foot=False, final=words)
    by_name = {row.result.journal: row for row in rows}
    drawn = [
        msgspec.structs.replace(journal, unit=end.units(journal.name)[0])
        for journal in layout.journals
        if any(place.estimate_mm for place in _drawn_places(by_name[journal.name]))
    ]
    chosen = _chosen(drawn, by_name)
    around = around_small(chosen, rows)
    return SheetDrawings(
        crank,
        tuple(around),
        _key(CrankLayout(tuple(chosen))) if around else "",
        len(drawn) - len(chosen),
    )


def rows_of(end: SessionEnd) -> list[JournalRow]:
    """The journals as drawings take them."""
    read = reading_rows(Basis(end.state, end.verdict))
    sizes = zip(read.column("diameter_20c_mm"), read.column("diameter_mm"), strict=True)
    estimates = {
        str(seq): str(at_20c or as_read)
        for seq, (at_20c, as_read) in zip(read.column("seq"), sizes, strict=True)
    }
    fated = _fates(end)
    results = {result.journal: result for result in end.results}
    return [
        _row(end, journal, results[journal.name], fated, estimates)
        for journal in end.state.plan.journals
        if journal.name in results
    ]


def state_words(row: JournalRow) -> str:
    """How a journal stands at the end of a session."""
    return "not proven" if row.tainted else stands(row)


def _fates(end: SessionEnd) -> Mapping[int, str]:
    found = fates(end.state)
    if end.state.closed is None:
        return found
    return {seq: "tainted" if fate == "open" else fate for seq, fate in found.items()}


def _row(
    end: SessionEnd,
    journal: JournalPlan,
    result: JournalResult,
    fated: Mapping[int, str],
    estimates: Mapping[str, str],
) -> JournalRow:
    places = []
    for station in journal.stations:
        for angle in journal.angles_deg:
            for repeat in range(1, journal.repeats + 1):
                at = Position(journal.name, station, angle, repeat)
                taken = end.state.standing.get(at)
                if taken is None:
                    state = "skipped" if at in end.state.skips else "to-come"
                    places.append(PlaceShown(station, angle, repeat, state))
                    continue
                places.append(
                    PlaceShown(
                        station,
                        angle,
                        repeat,
                        STATES[fated[taken.seq]],
                        taken.sent.value,
                        taken.sent.unit,
                        estimates[str(taken.seq)],
                    )
                )
    states = [place.state for place in places]
    return JournalRow(
        result=result,
        proven=states.count("proven"),
        not_yet_proven=states.count("measured"),
        tainted=states.count("again"),
        places=tuple(places),
    )


def _drawn_places(row: JournalRow) -> list[PlaceShown]:
    return [place for place in row.places if place.state in ("measured", "proven")]


def _chosen(drawn: Sequence[JournalDrawn], rows: Mapping[str, JournalRow]) -> list[JournalDrawn]:
    """All of them, or those that need work and then the first ones, in the order of the plan."""
    if len(drawn) <= MOST_AROUND:
        return list(drawn)
    good = {name: rows[name].result.verdict not in (*BAD, "undecided") for name in rows}
    kept = {one.name for one in sorted(drawn, key=lambda one: good[one.name])[:MOST_AROUND]}
    return [one for one in drawn if one.name in kept]


def _key(layout: CrankLayout) -> str:
    sorts: dict[tuple[str, ...], list[str]] = {}
    for journal in layout.journals:
        sorts.setdefault(journal.stations, []).append(journal.name)
    names = [(several(names), stations) for stations, names in sorts.items()]
    return key_of(names, has_high=any(journal.high is not None for journal in layout.journals))
