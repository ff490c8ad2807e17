"""What holds for each journal: said in its own table, its group's or [defaults], in this order."""

from collections.abc import Iterator, Mapping
from typing import TypeAlias

import msgspec

from daq.plan.examples import missing
from daq.plan.schema import DefaultsTable, GroupTable, JournalKeys, JournalTable, PlanFile

Level: TypeAlias = tuple[str, JournalKeys]
"""A table that may speak of a journal, and its place in the file."""

_WORDS = JournalKeys.__struct_fields__


class Told(msgspec.Struct, frozen=True):
    """All that a plan says of one journal: each value of `table` from the nearest place.

    `key` is the place of its [[journal]], `name_key` that of its name, which may stand among
    several; `elsewhere` has the table that a value stands in, for those of other tables.
    """

    key: str
    name: str
    name_key: str
    table: JournalTable
    elsewhere: Mapping[str, str]

    @property
    def group(self) -> str:
        """The name of its group, "" without one."""
        return self.table.group or ""

    def at(self, word: str) -> str:
        """Where in the file a value stands; where it would, if it is nowhere."""
        return f"{self.elsewhere.get(word, self.key)}.{word}"


def stating(file: PlanFile) -> list[Level]:
    """Every table that speaks of journals, from the widest to the nearest."""
    return [
        ("defaults", file.defaults),
        *((f"group[{number}]", table) for number, table in enumerate(file.group, 1)),
        *((f"journal[{number}]", table) for number, table in enumerate(file.journal, 1)),
    ]


def told_journals(file: PlanFile) -> Iterator[Told]:
    """Every journal of a plan, in the order of the file; raises WrongKey for one without a name."""
    groups = {table.name: (f"group[{n}]", table) for n, table in enumerate(file.group, 1)}
    for number, own in enumerate(file.journal, 1):
        key = f"journal[{number}]"
        table, elsewhere = _nearest((key, own), groups, file.defaults)
        for name_key, name in journals_in(own, key):
            yield Told(key, name, name_key, table, elsewhere)


def journals_in(table: JournalTable, key: str) -> list[tuple[str, str]]:
    """The journals that one [[journal]] stands for, each with the place of its name."""
    if table.names is not None:
        return [(f"{key}.names[{number}]", name) for number, name in enumerate(table.names, 1)]
    if table.name is None:
        raise missing(f"{key}.name", "journal.name")
    return [(f"{key}.name", table.name)]


def _nearest(
    journal: tuple[str, JournalTable],
    groups: Mapping[str, tuple[str, GroupTable]],
    defaults: DefaultsTable,
) -> tuple[JournalTable, dict[str, str]]:
    """A [[journal]] with what the others say of it, and where they say it.

    Distances go with the stations they were written for: stations that are stated nearer than
    `station_at` do not take it.
    """
    key, own = journal
    group = own.group if own.group is not None else defaults.group
    levels: list[Level] = [journal]
    if group is not None and group in groups:
        levels.append(groups[group])
    levels.append(("defaults", defaults))
    found: dict[str, object] = {}
    elsewhere = {"group": "defaults"} if own.group is None and group is not None else {}
    for word in _WORDS:
        for place, table in levels:
            value = getattr(table, word)
            if value is not None:
                found[word] = value
                if place != key:
                    elsewhere[word] = place
                break
            if word == "station_at" and table.stations is not None:
                break
    return msgspec.structs.replace(own, group=group, **found), elsewhere
