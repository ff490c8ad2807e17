"""A block set's file: its text to a checked record. Pure."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

import msgspec

from daq.equipment.fields import fault_in, read_length, record_of
from daq.equipment.stacks.block import Block, BlockTable, block_in, parse_small
from daq.equipment.stacks.materials import check_stated, read_stated
from daq.equipment.stacks.stack_file import (
    check_certificate,
    check_certified,
    check_grade,
    trimmed,
)
from daq.lengths import EXACT, Length, plain
from daq.metrology.expansion import Coefficient
from drivers.toml_file import WrongKey

MOST_IN_SET = 400
"""Blocks in a set. Chosen by us: about three times the largest common set."""

FINEST = {"mm": Decimal("0.0001"), "in": Decimal("0.00001")}
"""Nominal lengths are engraved to this at most, by unit."""


class RowTable(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One [[row]]: `count` blocks from `start`, each `step` longer than the last."""

    start: str
    step: str = ""
    count: int = 1


class _SetFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    """HOME/blocks/NAME.toml, and the shipped sets."""

    file_schema: int
    title: str = ""
    unit: str | None = None
    like: str | None = None
    missing: list[str] = []
    grade: str | None = None
    certificate: str | None = None
    certificate_date: date | None = None
    certificate_due: date | None = None
    uncertainty: str | None = None
    k: float = 2.0
    expansion: str | None = None
    expansion_limit: str | None = None
    row: list[RowTable] = []
    block: list[BlockTable] = []
    deviations: dict[str, str] = {}


class BlockSet(msgspec.Struct, frozen=True):
    """A set of gauge blocks, checked: `blocks` ascending, protectors apart from them.

    `grade` and `certificate` are "" where not stated, `coefficient` None.
    """

    name: str
    title: str
    unit: str
    blocks: tuple[Block, ...]
    protectors: tuple[Block, ...] = ()
    grade: str = ""
    certificate: str = ""
    certificate_date: date | None = None
    certificate_due: date | None = None
    coefficient: Coefficient | None = None


def parse_block_set(
    text: str, name: str, source: str, shipped: Mapping[str, str] | None = None
) -> BlockSet:
    """A block set's text, checked; raises SettingsError naming `source` and the key.

    `shipped` holds the texts of the sets that `like` may name.
    """
    with fault_in(source):
        return _set(record_of(text, _SetFile), name, shipped or {})


def _set(table: _SetFile, name: str, shipped: Mapping[str, str]) -> BlockSet:
    base = _base(table, shipped)
    unit = table.unit or (base.unit if base else None)
    if unit not in FINEST:
        raise WrongKey("unit", f"{str(unit)[:20]!r} is not one of {', '.join(FINEST)}")
    found = {
        **{_key(one): one for one in _kept(base, table.missing)},
        **_rows(table.row, unit, base),
    }
    protectors = []
    seen = set()
    for number, row in enumerate(table.block, 1):
        key = f"block[{number}]"
        one = block_in(_with_defaults(row, table), key)
        _check_nominal(one.nominal, unit, f"{key}.nominal")
        if one.is_protector:
            protectors.append(one)
            continue
        place = (one.nominal.mm, one.mark)
        if place in seen or ((one.nominal.mm, "") in found and not _is_told(base, one)):
            raise WrongKey(f"{key}.nominal", _twice(one))
        seen.add(place)
        found.pop((one.nominal.mm, ""), None)
        found[place] = one
    for text, deviation in table.deviations.items():
        _certify(found, text, deviation, table)
    blocks = tuple(found[place] for place in sorted(found))
    _check_whole(table, blocks, protectors)
    check_stated(table.expansion, table.expansion_limit)
    return BlockSet(
        name=name,
        title=table.title or (base.title if base else ""),
        unit=unit,
        blocks=blocks,
        protectors=tuple(protectors),
        grade=table.grade or "",
        certificate=table.certificate or "",
        certificate_date=table.certificate_date,
        certificate_due=table.certificate_due,
        coefficient=read_stated(table.expansion, table.expansion_limit),
    )


def _key(one: Block) -> tuple[Decimal, str]:
    return one.nominal.mm, one.mark


def _twice(one: Block) -> str:
    return f"{one.nominal} is in this set twice. If there really are two, give each its own mark"


def _base(table: _SetFile, shipped: Mapping[str, str]) -> BlockSet | None:
    """The shipped set that this one is like."""
    if table.like is None:
        if table.missing:
            raise WrongKey("missing", "only with like: leave the block out of the list instead")
        return None
    if table.like not in shipped:
        known = ", ".join(sorted(shipped)) or "none"
        raise WrongKey("like", f"{table.like[:40]!r} is no set known here ({known})")
    base = parse_block_set(shipped[table.like], table.like, f"the set {table.like}")
    if table.unit is not None and table.unit != base.unit:
        raise WrongKey("unit", f"{table.unit} is not the unit of {base.name}, {base.unit}")
    return base


def _kept(base: BlockSet | None, missing: Sequence[str]) -> list[Block]:
    """The blocks of the base, without those that the shop has lost."""
    if base is None:
        return []
    lost = {_length(text, base.unit, "missing").mm for text in missing}
    for mm in lost - {one.nominal.mm for one in base.blocks}:
        raise WrongKey("missing", f"{plain(mm)} mm is not in {base.name}. Leave it out")
    return [one for one in base.blocks if one.nominal.mm not in lost]


def _is_told(base: BlockSet | None, one: Block) -> bool:
    """A block of the base, told in full: it takes the place of the bare one."""
    return base is not None and any(one.nominal.mm == other.nominal.mm for other in base.blocks)


def _rows(
    rows: Sequence[RowTable], unit: str, base: BlockSet | None
) -> dict[tuple[Decimal, str], Block]:
    found: dict[tuple[Decimal, str], Block] = {}
    known = {one.nominal.mm for one in base.blocks} if base else set()
    for number, row in enumerate(rows, 1):
        key = f"row[{number}]"
        start = _length(row.start, unit, f"{key}.start")
        if not 1 <= row.count <= MOST_IN_SET:
            raise WrongKey(f"{key}.count", f"{row.count} is not between 1 and {MOST_IN_SET}")
        if bool(row.step) != (row.count > 1):
            raise WrongKey(f"{key}.step", "write both step and count")
        step = _length(row.step, unit, f"{key}.step") if row.step else start
        for number_in_row in range(row.count):
            value = EXACT.add(start.value, EXACT.multiply(step.value, Decimal(number_in_row)))
            one = Block(Length(trimmed(value) if unit == "mm" else value, unit))
            if _key(one) in found or one.nominal.mm in known:
                raise WrongKey(key, _twice(one))
            found[_key(one)] = one
        if len(found) > MOST_IN_SET:
            raise WrongKey("row", f"more than {MOST_IN_SET} blocks")
    return found


def _with_defaults(row: BlockTable, table: _SetFile) -> BlockTable:
    """A [[block]] without an uncertainty of its own has that of the whole set."""
    if row.deviation is None or row.uncertainty is not None:
        return row
    return msgspec.structs.replace(row, uncertainty=table.uncertainty, k=table.k)


def _certify(
    found: dict[tuple[Decimal, str], Block], text: str, deviation: str, table: _SetFile
) -> None:
    """One line of [deviations]."""
    key = f"deviations.{text[:40]}"
    nominal = read_length(text, key)
    place = (nominal.mm, "")
    if place not in found:
        raise WrongKey(key, f"no block of {nominal} without a mark is in this set")
    if table.uncertainty is None:
        raise WrongKey(
            "uncertainty",
            "this key is required with [deviations]: the certificate's expanded uncertainty, "
            'like "0.06 um"',
        )
    if found[place].is_certified:
        raise WrongKey(key, "its [[block]] states the deviation already")
    row = BlockTable(
        nominal=str(found[place].nominal),
        deviation=deviation,
        uncertainty=table.uncertainty,
        k=table.k,
    )
    found[place] = block_in(row, key)


def _check_whole(table: _SetFile, blocks: tuple[Block, ...], protectors: list[Block]) -> None:
    if not blocks:
        raise WrongKey("", "an empty block set: write [[row]], [[block]] or like")
    if len(blocks) + len(protectors) > MOST_IN_SET:
        raise WrongKey("block", f"{len(blocks)} blocks; at most {MOST_IN_SET}")
    if len(table.title) > 120 or not table.title.isprintable():
        raise WrongKey("title", "at most 120 printable characters")
    marked: dict[Decimal, list[str]] = {}
    for one in blocks:
        marked.setdefault(one.nominal.mm, []).append(one.mark)
    for one in blocks:
        if "" in (marks := marked[one.nominal.mm]) and len(marks) > 1:
            raise WrongKey("block", _twice(one))
    check_grade(table.grade, (*blocks, *protectors))
    check_certificate(
        table.certificate, table.certificate_date, table.certificate_due, has_blocks=True
    )
    check_certified(table.certificate, (*blocks, *protectors))
    if table.uncertainty is not None:
        try:
            parse_small(table.uncertainty)
        except ValueError as error:
            raise WrongKey("uncertainty", str(error)) from error


def _length(text: str, unit: str, key: str) -> Length:
    found = read_length(text, key)
    _check_nominal(found, unit, key)
    return found


def _check_nominal(found: Length, unit: str, key: str) -> None:
    if found.value <= 0:
        raise WrongKey(key, f"{found} is not above zero")
    if found.unit != unit:
        raise WrongKey(key, f"{found} is not in {unit}, the unit of the set")
    if found.value % FINEST[unit]:
        raise WrongKey(
            key,
            (
                f"{found} is finer than {plain(FINEST[unit])} {unit}: write the size engraved "
                "on the block; what it differs by goes into deviation"
            ),
        )
