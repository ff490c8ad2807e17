"""All that a sheet says, as plain text and drawings; nothing here judges or words anything. Pure.

Texts may come from people: the page escapes and bounds each of them.
"""

import msgspec


class SheetSentence(msgspec.Struct, frozen=True):
    """A sentence of the answer; `is_led`: it belongs to the one before, as what would decide it."""

    text: str
    is_led: bool = False


class SheetFact(msgspec.Struct, frozen=True):
    """Something about the session: `name` in a word or two, and its value."""

    name: str
    value: str


class SheetTable(msgspec.Struct, frozen=True):
    """Headings and rows of cells. A cell has one line or several; the first column is a name.
    `words`: the headings of columns whose cells are words, which may be broken where a paper is too
    narrow; numbers never are.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[tuple[str, ...], ...], ...]
    left_out: int = 0
    words: tuple[str, ...] = ()


class SheetStep(msgspec.Struct, frozen=True):
    """An undersize of a group: its name and its limits; `is_chosen`: it is the next step;
    `is_present`: the journals are of it already.
    """

    name: str
    limits: str
    is_chosen: bool = False
    is_present: bool = False


class SheetGroup(msgspec.Struct, frozen=True):
    """A group of journals with the undersizes that its plan has."""

    name: str
    steps: tuple[SheetStep, ...]


class SheetContent(msgspec.Struct, frozen=True, kw_only=True):
    """One sheet. `line` and `chain`: the record's last line and its digest. `across`: words that
    stand across the page where the measurement cannot be relied on, `across_why` says more; empty
    for an accepted session. `units`: what --units said, empty for the plan's own. Drawings are SVG,
    made by this program.
    """

    session: str
    line: int
    chain: str
    program: str
    units: str
    verdict: str
    title: str
    facts: tuple[SheetFact, ...]
    across: str = ""
    across_why: str = ""
    answer: tuple[SheetSentence, ...] = ()
    measurement: str = ""
    crank: str = ""
    around: tuple[str, ...] = ()
    around_key: str = ""
    around_left_out: int = 0
    journals: SheetTable | None = None
    journals_notes: tuple[str, ...] = ()
    groups: tuple[SheetGroup, ...] = ()
    gauges: tuple[str, ...] = ()
    checks: SheetTable | None = None
    temperatures: tuple[str, ...] = ()
    not_examined: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
