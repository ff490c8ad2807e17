"""What a plan says of temperatures: materials, and how well a temperature is known."""

import re
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.lengths import plain
from daq.metrology.expansion import (
    MATERIALS,
    Coefficient,
    check_coefficient,
    read_coefficient,
)
from daq.plan.fields import quoted
from daq.plan.schema import TemperatureTable
from drivers.toml_file import WrongKey

MOST_THERMOMETER_K = Decimal(5)
MOST_ROOM_K = Decimal(20)

_DIFFERENCE = re.compile(r"(\d{1,3}(?:\.\d{1,6})?) *(K|°?C|°?F)", re.ASCII)
_STEP_K = 10**6


class TemperaturePlan(msgspec.Struct, frozen=True):
    """Expansion of part, gauge and stack, and how well temperatures are known.

    A stack whose own file has a coefficient goes by that one. Limits are half widths in kelvin:
    `thermometer_limit_k` of what a thermometer shows, `room_limit_k` of how far an unmeasured
    temperature may lie from 20 °C, `difference_limit_k` of how far part, gauge and stack may lie
    from one another where they were not measured one by one. Defaults: steel, and limits chosen
    by us for a shop without air conditioning whose parts have lain overnight.
    """

    part: Coefficient = MATERIALS["steel"]
    gauge: Coefficient = MATERIALS["steel"]
    stack: Coefficient = MATERIALS["steel"]
    thermometer_limit_k: Decimal = Decimal("0.5")
    room_limit_k: Decimal = Decimal(5)
    difference_limit_k: Decimal = Decimal(1)
    is_stated: bool = False


def read_temperature(table: TemperatureTable | None) -> TemperaturePlan:
    """[temperature] as written; raises WrongKey for what is no coefficient and no difference."""
    if table is None:
        return TemperaturePlan()
    steel = MATERIALS["steel"]
    return TemperaturePlan(
        part=_read_part(table) or steel,
        gauge=_read_expansion(table.gauge_expansion, table.gauge_expansion_limit, "gauge") or steel,
        stack=_read_expansion(table.stack_expansion, table.stack_expansion_limit, "stack") or steel,
        thermometer_limit_k=_read_kelvin(table.thermometer_limit, "thermometer_limit"),
        room_limit_k=_read_kelvin(table.room_limit, "room_limit"),
        difference_limit_k=_read_kelvin(table.difference_limit, "difference_limit"),
        is_stated=True,
    )


def check_temperature(table: TemperatureTable | None) -> None:
    """Refuse a [temperature] that says a thing twice or cannot be meant; raises WrongKey."""
    if table is None:
        return
    _check_part(table)
    _check_expansion(table.gauge_expansion, table.gauge_expansion_limit, "gauge")
    _check_expansion(table.stack_expansion, table.stack_expansion_limit, "stack")
    _check_kelvin(table.thermometer_limit, MOST_THERMOMETER_K, "thermometer_limit")
    _check_kelvin(table.room_limit, MOST_ROOM_K, "room_limit")
    _check_kelvin(table.difference_limit, MOST_ROOM_K, "difference_limit")


def _read_part(table: TemperatureTable) -> Coefficient | None:
    """The part's coefficient: of a known material, or as written."""
    if table.part_material is None:
        return _read_expansion(table.part_expansion, table.part_expansion_limit, "part")
    return _with_limit(_material(table.part_material), table.part_expansion_limit, "part")


def _check_part(table: TemperatureTable) -> None:
    if table.part_material is None:
        _check_expansion(table.part_expansion, table.part_expansion_limit, "part")
        return
    if table.part_expansion is not None:
        raise WrongKey(
            "temperature.part_material",
            "part_expansion says it already: write one of the two, and take the other out",
        )
    _check_limit_of(_material(table.part_material), table.part_expansion_limit, "part")


def _material(name: str) -> Coefficient:
    found = MATERIALS.get(name)
    if found is None:
        raise WrongKey(
            "temperature.part_material",
            f"{quoted(name)} is not a material that is known here: write one of "
            f"{', '.join(MATERIALS)}, or part_expansion instead",
        )
    return found


def _read_expansion(text: str | None, limit_text: str | None, whose: str) -> Coefficient | None:
    if text is None:
        return None
    return _with_limit(_coefficient(text, f"{whose}_expansion"), limit_text, whose)


def _with_limit(found: Coefficient, limit_text: str | None, whose: str) -> Coefficient:
    """A coefficient with the half width that the plan states for it."""
    if limit_text is None:
        return found
    half_width = _coefficient(limit_text, f"{whose}_expansion_limit").value
    return msgspec.structs.replace(found, half_width=half_width)


def _coefficient(text: str, word: str) -> Coefficient:
    try:
        return read_coefficient(text)
    except ValueError as error:
        raise WrongKey(f"temperature.{word}", str(error)) from error


def _check_expansion(text: str | None, limit_text: str | None, whose: str) -> None:
    if text is not None:
        _check_coefficient(text, f"{whose}_expansion")
        _check_limit_of(_coefficient(text, f"{whose}_expansion"), limit_text, whose)
    elif limit_text is not None:
        raise WrongKey(
            f"temperature.{whose}_expansion_limit",
            f"a limit without {whose}_expansion, which it is for: write that too",
        )


def _check_limit_of(found: Coefficient, limit_text: str | None, whose: str) -> None:
    """Refuse a half width that is no coefficient, or as wide as what it is for."""
    if limit_text is None:
        return
    word = f"{whose}_expansion_limit"
    _check_coefficient(limit_text, word)
    if _coefficient(limit_text, word).value >= found.value:
        raise WrongKey(
            f"temperature.{word}",
            f"{limit_text} is not under the coefficient itself, {plain(found.value)} /K: write how "
            "far that may be off",
        )


def _check_coefficient(text: str, word: str) -> None:
    try:
        check_coefficient(read_coefficient(text), text)
    except ValueError as error:
        raise WrongKey(f"temperature.{word}", str(error)) from error


def _read_kelvin(text: str, word: str) -> Decimal:
    """A temperature difference in kelvin; degrees Fahrenheit are taken as an interval.

    5/9 K is no finite decimal, so it is rounded up, the wider limit, to a millionth of a kelvin.
    """
    found = _DIFFERENCE.fullmatch(text.strip())
    if found is None:
        raise WrongKey(
            f"temperature.{word}",
            f'{quoted(text)} is not a temperature difference: write it like "0.5 K"',
        )
    kelvin = Fraction(found[1])
    if found[2].endswith("F"):
        kelvin = Fraction(-(-kelvin * 5 * _STEP_K // 9), _STEP_K)
    return Decimal(kelvin.numerator) / Decimal(kelvin.denominator)


def _check_kelvin(text: str, most: Decimal, word: str) -> None:
    if not 0 < _read_kelvin(text, word) <= most:
        raise WrongKey(
            f"temperature.{word}",
            f"{text.strip()} is not over 0 K and at most {most} K: write a difference, not a "
            "temperature",
        )
