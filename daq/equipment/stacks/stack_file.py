"""The file of one saved stack: its text to a record. Pure."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

import msgspec

from daq.equipment.fields import (
    check_positive,
    fault_in,
    known_record_of,
    read_length,
    record_of,
)
from daq.equipment.stacks.block import Block, BlockTable, block_in, read_block
from daq.equipment.stacks.grades import limit_um
from daq.equipment.stacks.materials import check_stated, read_stated
from daq.equipment.stacks.stack import ASSUMED_GRADE, Stack, StackUncertainty, assumed_blocks
from daq.lengths import EXACT, MM_PER, Length, plain
from drivers.toml_file import WrongKey

MOST_BLOCKS = 20
"""In one stack. Chosen by us: nobody wrings that many."""

_FINEST = Decimal("1e-9")


class _StackFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    """HOME/stacks/NAME.toml."""

    file_schema: int
    size: str
    set: str = ""
    grade: str | None = None
    certificate: str | None = None
    certificate_date: date | None = None
    certificate_due: date | None = None
    expansion: str | None = None
    expansion_limit: str | None = None
    block: list[BlockTable] = []


def parse_stack(text: str, name: str, source: str) -> Stack:
    """A stack file's text, checked; raises SettingsError naming `source` and the key.

    `size` is the nominal size, the sum of the blocks as engraved; certified deviations are added to
    it here.
    """
    with fault_in(source):
        table = record_of(text, _StackFile)
        _check_stack(table)
        return _stack(table, name, text)


def read_stack(text: str, name: str, source: str) -> Stack:
    """A stack file's text, which some program has checked: the same record as `parse_stack` gives.

    Raises SettingsError naming `source` and the key where it has not the shape of one.
    """
    with fault_in(source):
        return _stack(known_record_of(text, _StackFile), name, text)


def _stack(table: _StackFile, name: str, text: str) -> Stack:
    nominal = read_length(table.size, "size")
    blocks = _read_blocks(table)
    return Stack(
        name=name,
        nominal=nominal,
        size=certified_size(nominal, blocks),
        blocks=blocks,
        set_name=table.set,
        grade=table.grade or "",
        certificate=table.certificate or "",
        certificate_date=table.certificate_date,
        certificate_due=table.certificate_due,
        coefficient=read_stated(table.expansion, table.expansion_limit),
        text=text,
    )


def _read_blocks(table: _StackFile) -> tuple[Block, ...]:
    return tuple(read_block(row, f"block[{number}]") for number, row in enumerate(table.block, 1))


# What a stack file is refused for -----------------------------------------------------------------


def _check_stack(table: _StackFile) -> None:
    check_positive(table.size, "size")
    _check_blocks(table)
    blocks = _read_blocks(table)
    if blocks:
        check_sum(read_length(table.size, "size"), blocks)
    check_grade(table.grade, blocks)
    check_certificate(
        table.certificate, table.certificate_date, table.certificate_due, has_blocks=bool(blocks)
    )
    check_certified(table.certificate, blocks)
    check_stated(table.expansion, table.expansion_limit)


def _check_blocks(table: _StackFile) -> None:
    if len(table.block) > MOST_BLOCKS:
        raise WrongKey("block", f"{len(table.block)} blocks; at most {MOST_BLOCKS}")
    found: list[Block] = []
    for number, row in enumerate(table.block, 1):
        one = block_in(row, f"block[{number}]")
        same = [other for other in found if other.nominal.mm == one.nominal.mm]
        if any(not (one.is_protector or (one.mark and one.mark != other.mark)) for other in same):
            raise WrongKey(
                f"block[{number}].nominal",
                f"{one.nominal} stands here twice, and a set has one of each size. If there are "
                "two, give each its mark",
            )
        found.append(one)


def check_sum(nominal: Length, blocks: tuple[Block, ...]) -> None:
    """Refuse a size that is not the sum of its blocks; raises WrongKey."""
    total = Decimal(0)
    for one in blocks:
        total = EXACT.add(total, one.nominal.mm)
    if total != nominal.mm:
        words = " + ".join(str(one.nominal) for one in blocks)
        raise WrongKey(
            "size",
            f"{nominal} is not the sum of the blocks: {words} = {plain(trimmed(total))} mm, and "
            f"{nominal} = {plain(trimmed(nominal.mm))} mm",
        )


def check_grade(grade: str | None, blocks: tuple[Block, ...]) -> None:
    """Refuse a grade that is not known, or not for such long blocks; raises WrongKey."""
    try:
        if grade is not None:
            limit_um(grade, Length(Decimal(1), "mm"))
        for one in blocks:
            limit_um(grade or ASSUMED_GRADE, one.nominal)
    except ValueError as error:
        raise WrongKey("grade", str(error)) from error


def check_certificate(
    certificate: str | None, of: date | None, due: date | None, *, has_blocks: bool
) -> None:
    """Refuse a certificate that cannot be judged; raises WrongKey."""
    if certificate is None:
        for key, day in (("certificate_date", of), ("certificate_due", due)):
            if day is not None:
                raise WrongKey(key, "a date without its certificate: write that too")
        return
    if not certificate.strip() or len(certificate) > 120 or not certificate.isprintable():
        raise WrongKey("certificate", "1 to 120 printable characters: its number, and whose it is")
    if not has_blocks:
        raise WrongKey("block", "a certificate is for blocks: write each as a [[block]]")
    if due is None:
        raise WrongKey(
            "certificate_due",
            "this key is required with certificate, so that a late one is noticed",
        )
    if of is not None and of >= due:
        raise WrongKey("certificate_due", f"{due} is not after certificate_date {of}")


def check_certified(certificate: str | None, blocks: Iterable[Block]) -> None:
    """Refuse a certified deviation without the certificate that states it; raises WrongKey."""
    certified = next((one for one in blocks if one.is_certified), None)
    if certified is not None and certificate is None:
        raise WrongKey(
            "certificate", f"this key is required: {certified} has a certified deviation"
        )


# Sizes --------------------------------------------------------------------------------------------


def certified_size(nominal: Length, blocks: tuple[Block, ...]) -> Length:
    """Nominal and all certified deviations, exactly: in the unit of `nominal` where that takes at
    most nine decimals, else in mm.
    """
    total = Decimal(0)
    for one in blocks:
        total = EXACT.add(total, one.deviation_um or Decimal(0))
    if not total:
        return nominal
    mm = trimmed(EXACT.add(nominal.mm, EXACT.multiply(total, MM_PER["um"])))
    value = trimmed((mm / MM_PER[nominal.unit]).quantize(_FINEST))
    is_exact = EXACT.multiply(value, MM_PER[nominal.unit]) == mm
    return Length(value, nominal.unit) if is_exact else Length(mm, "mm")


def trimmed(value: Decimal) -> Decimal:
    """A decimal without trailing zeros behind the point."""
    whole = value.to_integral_value()
    return whole.quantize(Decimal(1)) if value == whole else value.normalize(EXACT)


def assumed_stack(size: Length) -> Stack:
    """The stack of a bare size: nobody said which blocks, so grade and joints are assumed."""
    return Stack(name=str(size), nominal=size, size=size)


__all__ = [
    "Stack",
    "StackUncertainty",
    "assumed_blocks",
    "assumed_stack",
    "parse_stack",
    "read_stack",
]
