"""A plan as one picture: the crank, its journals from the end, the route. Pure."""

from collections.abc import Iterator, Sequence

import msgspec

from daq.pictures.crank_side import WIDTH, crank_side
from daq.pictures.journal_end import LOW_HEIGHT, WHERE_ZERO_IS, journal_end
from daq.pictures.journal_end import WIDTH as END_WIDTH
from daq.pictures.layout import CrankLayout, JournalDrawn
from daq.pictures.lettering import fitted
from daq.pictures.route_map import route_map
from daq.pictures.svg import Own, picture, placed, size_of, text

MARK = "<!-- made by jbridge plan show -->"
"""By this the program knows a picture of its own."""

MOST_SORTS = 12
"""Views from the end; the journals of further sorts are counted in words."""

_ACROSS, _END_SHOWN = 3, 300
_MOST_NAMES = 4
_HEAD = 44


def plan_picture(part: str, layout: CrankLayout) -> str:
    """The file: an SVG document with all that is drawn of a plan."""
    body = [text(12, 30, Own(fitted(part, WIDTH - 24, 20, is_bold=True)), size=20, is_bold=True)]
    y = float(_HEAD)
    crank = crank_side(layout)
    wide, high = size_of(crank)
    body.append(placed(crank, (WIDTH - wide) / 2, y, wide, high))
    y += high + 18
    sorts = list(sorts_of(layout))
    high = LOW_HEIGHT * _END_SHOWN / END_WIDTH
    for at, journal in enumerate(sorts[:MOST_SORTS]):
        x = 12 + at % _ACROSS * (WIDTH - 24) / _ACROSS
        drawn = journal_end(journal, has_foot=False)
        body.append(placed(drawn, x, y + at // _ACROSS * high, _END_SHOWN, high))
    y += -(-min(len(sorts), MOST_SORTS) // _ACROSS) * high
    if len(sorts) > MOST_SORTS:
        body.append(text(12, y + 16, f"and {len(sorts) - MOST_SORTS} more sorts of journals"))
        y += 26
    body.append(text(12, y + 16, WHERE_ZERO_IS, paint="quiet"))
    y += 24
    route = route_map(layout)
    wide, high = size_of(route)
    body.append(placed(route, 0, y + 14, wide, high))
    about = f"{part}: {len(layout.journals)} journals."
    return f"{MARK}\n{picture(WIDTH, y + 14 + high, 'A plan, drawn', about, body, 'pic-plan')}\n"


def sorts_of(layout: CrankLayout) -> Iterator[JournalDrawn]:
    """One journal for all of a group that are measured at the same angles, with their names."""
    found: dict[tuple[str, str, tuple[int, ...]], list[JournalDrawn]] = {}
    for journal in layout.journals:
        sort = journal.group, journal.kind, journal.angles_deg
        found.setdefault(sort, []).append(journal)
    for members in found.values():
        names = _names([one.name for one in members])
        yield msgspec.structs.replace(members[0], name=names)


def _names(names: Sequence[str]) -> str:
    """Names as they fit over a drawing: of many the first two and the last, and how many."""
    if len(names) <= _MOST_NAMES:
        return ", ".join(names)
    return f"{names[0]}, {names[1]} … {names[-1]} ({len(names)})"
