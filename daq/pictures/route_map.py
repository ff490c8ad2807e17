"""The route as a map of journals, stations and angles that fills up. Pure.

A block for each journal, a line in it for each station, a box for each angle; up to three repeats
are boxes beside one another, more of them one box with their count. A route of more than
MOST_BOXES boxes or MOST_BLOCKS journals, or with more angles than fit across, has a bar for each
journal instead; of more than MOST_BARS journals the others are counted in words. So the picture is
bounded for every plan.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

import msgspec

from daq.board.board import JournalRow, PlaceAsked
from daq.pictures.cells import NOT_IN_RUN, STATES, WORDS, box, together
from daq.pictures.layout import CrankLayout, JournalDrawn, here_words
from daq.pictures.lettering import clean, fitted, text_width
from daq.pictures.svg import Own, group, picture, text
from drivers.printable import shown

WIDTH = 960
MOST_BOXES, MOST_BLOCKS, MOST_BARS = 1000, 100, 120
MOST_BESIDE = 3
"""Repeats that have a box each."""

_GAP, _LEAST = 22, 10
_LEAST_LABEL, _MOST_LABEL = 40, 110
"""Room for the names of stations."""

_MOST_NAME = 180
"""How much a block may be widened for the name of its journal."""

_BOX, _NARROW, _COUNTED = 26.0, 16.0, 36.0
"""How wide a box is: of a place, of one of its repeats, of several with their count."""

_HIGH = 22
"""How high a box is with its gap; also a line of bars."""

_HEAD = 40
_MARGIN = 10


class _Block(msgspec.Struct, frozen=True):
    """One journal of the map: the states of each place, by station and angle."""

    journal: JournalDrawn
    states: Mapping[tuple[str, int], list[str]]

    @property
    def counts(self) -> Counter[str]:
        """How many of its readings stand how."""
        return Counter(state for states in self.states.values() for state in states)


def route_map(
    layout: CrankLayout,
    rows: Sequence[JournalRow] = (),
    asked: PlaceAsked | None = None,
    *,
    width: int = WIDTH,
) -> str:
    """The route as SVG, `width` wide (320 at least). Without rows it is the plan alone."""
    found = {row.result.journal: row for row in rows}
    blocks = [
        _block(journal, found.get(journal.name), asked, is_plan=not rows)
        for journal in layout.journals
    ]
    is_small = (
        len(blocks) <= MOST_BLOCKS
        and sum(len(one.states) * _across(one.journal) for one in blocks) <= MOST_BOXES
        and all(_least(one.journal) <= width - 2 * _MARGIN - _MOST_LABEL for one in blocks)
    )
    drawn, y = _boxes(blocks, width) if is_small else _bars(blocks, width, asked)
    counts: Counter[str] = Counter()
    for one in blocks:
        counts += one.counts
    key, bottom = _key(counts, y, width, is_plan=not rows)
    about = _about(blocks, counts, asked)
    return picture(width, bottom, "The route: what is measured", about, [*drawn, *key], "pic-map")


def _block(
    journal: JournalDrawn, row: JournalRow | None, asked: PlaceAsked | None, *, is_plan: bool
) -> _Block:
    """A journal with the states of its places, the asked one marked."""
    known = {}
    if row is not None:
        known = {(one.station, one.angle_deg, one.repeat): one.state for one in row.places}
    usual = "to-come" if is_plan or row is not None else NOT_IN_RUN
    if asked is not None and asked.journal == journal.name:
        known[asked.station, asked.angle_deg, asked.repeat] = "here"
    states = {
        (station, angle): [
            known.get((station, angle, repeat), usual) for repeat in range(1, journal.repeats + 1)
        ]
        for station in journal.stations
        for angle in journal.angles_deg
    }
    return _Block(journal, states)


# Boxes --------------------------------------------------------------------------------------------


def _across(journal: JournalDrawn) -> int:
    """How many boxes a place has."""
    return journal.repeats if journal.repeats <= MOST_BESIDE else 1


def _wide(journal: JournalDrawn) -> float:
    """How wide a place is, with all its boxes."""
    if journal.repeats == 1:
        return _BOX
    return _COUNTED if journal.repeats > MOST_BESIDE else journal.repeats * _NARROW + 6


def _least(journal: JournalDrawn) -> float:
    """The least width that a block needs beside the names of its stations."""
    each = _COUNTED if journal.repeats > MOST_BESIDE else _LEAST * journal.repeats
    return len(journal.angles_deg) * each


def _boxes(blocks: Sequence[_Block], width: float) -> tuple[list[str], float]:
    """A block for each journal, in as many columns as fit."""
    parts: list[str] = []
    room = width - 2 * _MARGIN
    label = _label_room(blocks)
    widest = max(label + len(one.journal.angles_deg) * _wide(one.journal) for one in blocks)
    names = max(text_width(clean(one.journal.name), 15, is_bold=True) for one in blocks) + 5
    widest = min(max(widest, min(names, _MOST_NAME)), room)
    columns = max(1, int((room + _GAP) // (widest + _GAP)))
    y = float(_MARGIN)
    for start in range(0, len(blocks), columns):
        line = blocks[start : start + columns]
        for at, one in enumerate(line):
            parts.append(_drawn(one, _MARGIN + at * (widest + _GAP), y, widest, label))
        y += _HEAD + max(len(one.journal.stations) for one in line) * _HIGH + 14
    return parts, y


def _label_room(blocks: Sequence[_Block]) -> float:
    """How wide the names of stations stand."""
    names = {station for one in blocks for station in one.journal.stations}
    widest = max(text_width(clean(name), 12) for name in names)
    return min(max(widest + 7, _LEAST_LABEL), _MOST_LABEL)


def _drawn(block: _Block, x: float, y: float, wide: float, label: float) -> str:
    """One journal: its name, its angles, its stations, a box for each place."""
    journal = block.journal
    each = min(_wide(journal), (wide - label) / len(journal.angles_deg))
    name = fitted(journal.name, wide - 4, 15, is_bold=True)
    parts = [text(x, y + 14, Own(name), size=15, is_bold=True, kind="pic-name")]
    widest = text_width(f"{max(journal.angles_deg)}°", 10)
    every = max(1, -int(-widest // each))
    for at, angle in enumerate(journal.angles_deg):
        if at % every == 0:
            middle = x + label + (at + 0.5) * each
            parts.append(text(middle, y + 34, f"{angle}°", size=10, anchor="middle"))
    for line, station in enumerate(journal.stations):
        top = y + _HEAD + line * _HIGH
        word = Own(fitted(station, label - 6, 12))
        parts.append(text(x + label - 6, top + 13, word, anchor="end", kind="pic-station"))
        for at, angle in enumerate(journal.angles_deg):
            left = x + label + at * each
            parts += _place(block.states[station, angle], left, top, each - 3)
    return group(parts, "pic-block")


def _place(states: Sequence[str], x: float, y: float, wide: float) -> Iterator[str]:
    """The boxes of one place."""
    high = _HIGH - 4
    if len(states) <= MOST_BESIDE:
        own = (wide + 2) / len(states)
        for at, state in enumerate(states):
            yield box(x + at * own, y, own - 2, high, state)
        return
    done = sum(state in ("measured", "proven") for state in states)
    state = together(states)
    yield box(x, y, wide, high, "to-come" if state == "proven" else state)
    if state not in ("here", "again"):
        words = f"{done}/{len(states)}"
        yield text(x + wide / 2, y + 13, words, size=11, anchor="middle", is_bold=state == "proven")


# Bars ---------------------------------------------------------------------------------------------


def _bars(
    blocks: Sequence[_Block], width: float, asked: PlaceAsked | None
) -> tuple[list[str], float]:
    """A bar for each journal, in columns read downwards; the asked one is always among them."""
    parts: list[str] = []
    kept = _kept(blocks, asked)
    columns = max(1, int((width - 2 * _MARGIN) // 230))
    deep = -(-len(kept) // columns)
    wide = (width - 2 * _MARGIN) / columns
    for at, one in enumerate(kept):
        x, y = _MARGIN + at // deep * wide, _MARGIN + at % deep * _HIGH
        parts.append(_bar(one, x, y, wide - _GAP))
    bottom = _MARGIN + deep * _HIGH + 6.0
    more = len(blocks) - len(kept)
    if more:
        parts.append(text(_MARGIN, bottom + 10, f"and {more} more journals"))
        bottom += 22
    return parts, bottom


def _kept(blocks: Sequence[_Block], asked: PlaceAsked | None) -> Sequence[_Block]:
    """Those that have a bar: the first ones, or those about the asked one."""
    here = next(
        (at for at, one in enumerate(blocks) if asked and one.journal.name == asked.journal), 0
    )
    start = max(0, min(here - MOST_BARS // 2, len(blocks) - MOST_BARS))
    return blocks[start : start + MOST_BARS]


def _bar(block: _Block, x: float, y: float, wide: float) -> str:
    """One journal: its name, how far it is, and how many of its readings are in."""
    counts = block.counts
    total = sum(counts.values())
    done = counts["measured"] + counts["proven"]
    is_here = counts["here"] > 0
    name = fitted(block.journal.name, 72, 12, is_bold=True)
    paint = "here" if is_here else "ink"
    parts = [text(x, y + 14, Own(name), is_bold=True, paint=paint, kind="pic-name")]
    left, room = x + 78, wide - 78 - 66
    for state in ("proven", "measured", "again", "skipped", "here", "to-come", NOT_IN_RUN):
        if share := room * counts[state] / total:
            if state == "here":
                share = max(share, 10.0)
            parts.append(box(left, y + 3, max(1.0, share), 14, state))
            left += share
    words = "not in run" if counts[NOT_IN_RUN] else f"{done}/{total}"
    parts.append(text(x + wide, y + 14, words, size=11, anchor="end"))
    return group(parts, "pic-bar")


# Words --------------------------------------------------------------------------------------------


def _key(counts: Counter[str], y: float, width: float, *, is_plan: bool) -> tuple[list[str], float]:
    """What the boxes mean, each with how many there are, and how far down it reaches."""
    if is_plan:
        total = sum(counts.values())
        words = f"A box is a reading: {total} in all, to be filled in the order of the route."
        return [text(_MARGIN, y + 12, fitted(words, width - 2 * _MARGIN))], y + 24
    parts: list[str] = []
    x, top = float(_MARGIN), y + 4
    for state in STATES:
        words = f"{WORDS[state]} ({counts[state]})"
        wide = 26 + text_width(words) + 14
        if x + wide > width and x > _MARGIN:
            x, top = float(_MARGIN), top + 24
        parts += [box(x, top, 18, 18, state), text(x + 24, top + 13, words)]
        x += wide
    return parts, top + 28


def _about(blocks: Sequence[_Block], counts: Counter[str], asked: PlaceAsked | None) -> str:
    """The map in words."""
    parts = [f"{WORDS[state]}: {counts[state]}" for state in STATES if counts[state]]
    each = []
    for one in blocks[:60]:
        own = one.counts
        done = own["measured"] + own["proven"]
        each.append(f"{shown(one.journal.name)} {done} of {sum(own.values())}")
    return f"{here_words(asked)}Readings: {', '.join(parts)}. {'; '.join(each)}"
