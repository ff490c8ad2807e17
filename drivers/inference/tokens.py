"""From an understanding of all frames to the layout entries of a profile. Pure."""

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from drivers.inference.fields import Called, Field, token
from drivers.inference.sizes import SizeFound, unit_word

LayoutEntry = dict[str, Any]

_SLACK = 12
"""Padding beyond what was seen that is still believed. Chosen by us: spaces say nothing."""


class TokenLayout(msgspec.Struct, frozen=True):
    """`entries` in order; `zeros` fixed zeros before the size; `units` those that can be given."""

    entries: tuple[LayoutEntry, ...]
    zeros: int


def layout(
    found: SizeFound, units: Mapping[str, str], unit_is_optional: bool, zeros: int, size_unit: str
) -> TokenLayout:
    """The layout; `units` maps unit words as sent, `zeros` leading zeros are fixed text."""
    entries: list[LayoutEntry] = []
    for field in (field for field in found.fields if field.is_left):
        entries += [*_gap(field.gaps), *_field(field, found, size_unit)]
    entries += _pad(found)
    if zeros:
        entries.append({"lit": "0" * zeros})
    entries.append(_number(found, zeros))
    entries += _after(found)
    entries += _right(found, units, unit_is_optional, size_unit)
    entries += _gap([row.rest for row in found.rows])
    return TokenLayout(tuple(_joined(entries)), zeros)


def _gap(counts: Sequence[int]) -> list[LayoutEntry]:
    least, most = min(counts), max(counts)
    if not most:
        return []
    return [{"sp": most if least == most else [least, most]}]


def _field(field: Field, found: SizeFound, size_unit: str) -> list[LayoutEntry]:
    said: Called | None = found.names.get(field.number)
    if said is None and found.exponent is not None and found.exponent == field:
        said = Called("exponent", {})
    if said is None or said.kind == "text":
        return [{"lit": field.values[0]}]
    return [token(field, said, size_unit, _is_glued(field, found))]


def _is_glued(field: Field, found: SizeFound) -> bool:
    """Nothing parts it from the digits of the size behind it."""
    last = [other for other in found.fields if other.is_left][-1:] == [field]
    return last and any(not row.pad and not row.sign for row in found.rows)


def _is_right_aligned(found: SizeFound) -> bool:
    """The spaces before the number grow as it gets shorter, or are too many to be mere distance."""
    pads = [row.pad for row in found.rows]
    return len(set(pads)) > 1 or min(pads) > 1 or any(row.gap for row in found.rows)


def _pad(found: SizeFound) -> list[LayoutEntry]:
    pads = [row.pad for row in found.rows]
    if found.place.shape.kind == "columns" or not _is_right_aligned(found):
        return _gap(pads)
    left = found.rows[0].left
    least = 1 if left and left[-1].is_word else 0
    return [{"sp": [min(least, *pads), max(pads) + _SLACK]}]


def may_have_sign(found: SizeFound) -> bool:
    """A minus before the number can mean nothing else."""
    left, pad = found.rows[0].left, found.rows[0].pad
    if found.sign != "left" or any(said.kind == "sign" for said in found.names.values()):
        return False
    return not (left and left[-1].text[-1:].isdigit() and not pad)


def _number(found: SizeFound, zeros: int) -> LayoutEntry:
    shape, rows = found.place.shape, found.rows
    sign = "none"
    if may_have_sign(found):
        signs = {row.sign for row in rows}
        # Where only minus was seen, plus may be left out.
        sign = "required" if "+" in signs and "" not in signs else "optional"
    entry: LayoutEntry = {"name": "number", "form": _form(found), "sign": sign}
    if sign == "none":
        del entry["sign"]
    elif _is_right_aligned(found) and shape.kind != "columns":
        entry["gap"] = True
    if shape.kind in ("decimal", "columns") and shape.sep == ",":
        entry["sep"] = ","
    if shape.kind == "dms":
        entry["sep"] = shape.sep
    lengths = {len(row.digits) for row in rows}
    is_padded = any(len(row.digits) > 1 and row.digits[0] == "0" for row in rows)
    if entry["form"] == "int":
        if shape.kind == "columns" or (len(lengths) == 1 and is_padded):
            entry["width"] = lengths.pop() - zeros
        if found.exponent is None and found.place.implied:
            entry["decimals"] = found.place.implied
    elif shape.kind == "columns":
        entry["decimals"] = rows[0].span.decimals
        if sign != "optional":
            entry["width"] = lengths.pop() - zeros + (sign == "required")
    return entry


def _form(found: SizeFound) -> str:
    shape = found.place.shape
    styles = {row.span.style for row in found.rows}
    if shape.kind in ("fraction", "dms"):
        return shape.kind
    if shape.kind == "int" or styles == {"int"}:
        return "int"
    if styles in ({"fixed"}, {"exp"}):
        return styles.pop()
    return "nrf"


def _after(found: SizeFound) -> list[LayoutEntry]:
    if found.sign != "right":
        return []
    seen = {row.after for row in found.rows}
    signs = {"+": "+", "-": "-"} | ({" ": "+"} if " " in seen else {})
    return [{"name": "sign", "map": signs, **({"optional": True} if "" in seen else {})}]


def _right(
    found: SizeFound, units: Mapping[str, str], is_optional: bool, size_unit: str
) -> list[LayoutEntry]:
    rows = found.rows
    at = next((row.unit_at for row in rows if row.unit is not None), None)
    entries: list[LayoutEntry] = []
    right = [field for field in found.fields if not field.is_left]
    for place in range(len(right) + 1):
        if place == at and units:
            gaps = [row.unit.gap for row in rows if row.unit is not None]
            entries += _unit_gap(gaps, is_optional)
            unit: LayoutEntry = {"name": "unit", "map": dict(units)}
            entries.append({**unit, "optional": True} if is_optional else unit)
        if place < len(right):
            entries += [*_gap(right[place].gaps), *_field(right[place], found, size_unit)]
    return entries


def _unit_gap(gaps: Sequence[int], is_optional: bool) -> list[LayoutEntry]:
    """The spaces before a unit, which may go with it where it is left out."""
    if not is_optional or not max(gaps):
        return _gap(gaps)
    return [{"sp": [0, max(gaps)]}]


def _joined(entries: Sequence[LayoutEntry]) -> list[LayoutEntry]:
    """Fixed texts, and fixed spaces between them, as one text."""
    out: list[LayoutEntry] = []
    for entry in entries:
        if list(entry) == ["lit"] and out:
            if list(out[-1]) == ["lit"]:
                out[-1] = {"lit": out[-1]["lit"] + entry["lit"]}
                continue
            if len(out) > 1 and isinstance(out[-1].get("sp"), int) and list(out[-2]) == ["lit"]:
                spaces = out.pop()["sp"]
                out[-1] = {"lit": out[-1]["lit"] + " " * spaces + entry["lit"]}
                continue
        out.append(entry)
    return out


def words_sent(found: SizeFound) -> dict[str, str]:
    """Every unit word as it was sent, and its unit, in order of appearance."""
    words: dict[str, str] = {}
    for row in found.rows:
        if row.unit is not None:
            words[row.unit.text] = unit_word(row) or ""
    return words
