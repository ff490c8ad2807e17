"""How a plan measures and judges: the check, temperatures, the rule of decision, a gauge study."""

import math
import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.lengths import Length, plain
from daq.metrology.conformity import DecisionRule
from daq.metrology.expansion import (
    MATERIALS,
    Coefficient,
    check_coefficient,
    read_coefficient,
)
from daq.plan.fields import (
    check_between,
    check_name,
    check_positive,
    read_length,
    read_optional_limit,
)
from daq.plan.schema import (
    MOST_OPERATORS,
    MOST_REPEATS,
    MOST_SEED,
    MOST_TRIALS,
    CheckTable,
    DecisionTable,
    PlanFile,
    StudyTable,
    TemperatureTable,
)
from drivers.toml_file import WrongKey

MOST_CHECK_READINGS = 100
MOST_AGE_MIN = 100_000
MOST_THERMOMETER_K = Decimal(5)
MOST_ROOM_K = Decimal(20)

_DIFFERENCE = re.compile(r"(\d{1,3}(?:\.\d{1,6})?) *(K|°?C|°?F)", re.ASCII)
_STEP_K = 10**6


class CheckPlan(msgspec.Struct, frozen=True):
    """How the gauge is proven. Limits left out are None; `stack` is a size or a saved name."""

    stack: str | None
    readings: int
    max_error: Length | None
    max_spread: Length | None
    max_drift: Length | None
    max_age_us: int
    near: Length
    power_loss_may_lose_zero: bool


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


class DecisionPlan(msgspec.Struct, frozen=True):
    """The rule of decision: "guarded" (ISO 14253-1) or "simple"; `coverage` is the probability of
    the expanded uncertainty.
    """

    rule: DecisionRule = "guarded"
    coverage: float = 0.9545


class StudyPlan(msgspec.Struct, frozen=True):
    """A gauge study: each operator measures every journal `trials` times; `order_seed` shuffles."""

    operators: tuple[str, ...]
    trials: int
    order_seed: int

    @property
    def repeats(self) -> int:
        """Readings at each place."""
        return len(self.operators) * self.trials


def read_gauge_check(table: CheckTable) -> CheckPlan:
    """[check] as written; raises WrongKey for what is no length and no time."""
    if not math.isfinite(table.max_age_min):
        raise WrongKey("check.max_age_min", f"{table.max_age_min:g} is no number of minutes")
    return CheckPlan(
        stack=table.stack,
        readings=table.readings,
        max_error=read_optional_limit(table.max_error, "check.max_error"),
        max_spread=read_optional_limit(table.max_spread, "check.max_spread"),
        max_drift=read_optional_limit(table.max_drift, "check.max_drift"),
        max_age_us=round(table.max_age_min * 60_000_000),
        near=read_length(table.near, "check.near"),
        power_loss_may_lose_zero=table.power_loss_may_lose_zero,
    )


def check_gauge_check(table: CheckTable) -> None:
    """Refuse a [check] that cannot be meant; raises WrongKey."""
    check_between(table.readings, 1, MOST_CHECK_READINGS, "check.readings")
    check_between(table.max_age_min, 1e-6, MOST_AGE_MIN, "check.max_age_min")
    for word in ("max_error", "max_spread", "max_drift", "near"):
        check_positive(getattr(table, word), f"check.{word}")


def read_decision(table: DecisionTable) -> DecisionPlan:
    """[decision] as written."""
    return DecisionPlan(table.rule, table.coverage)


def check_decision(table: DecisionTable) -> None:
    """Refuse a probability that is none, or that nobody works with; raises WrongKey."""
    check_between(table.coverage, 0.5, 0.9999, "decision.coverage")


# Temperature --------------------------------------------------------------------------------------


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
            "temperature.part_material", "part_expansion says it already; write one of the two"
        )
    _check_limit_of(_material(table.part_material), table.part_expansion_limit, "part")


def _material(name: str) -> Coefficient:
    found = MATERIALS.get(name)
    if found is None:
        raise WrongKey(
            "temperature.part_material",
            f"{name[:60]!r} is not a material that is known here "
            f"({', '.join(MATERIALS)}); write part_expansion instead",
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
            f"a limit without {whose}_expansion that it is for",
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
            f"{limit_text} is not under the coefficient itself, {plain(found.value)} /K",
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
            f"temperature.{word}", f'{text[:60]!r} is not a temperature difference, like "0.5 K"'
        )
    kelvin = Fraction(found[1])
    if found[2].endswith("F"):
        kelvin = Fraction(-(-kelvin * 5 * _STEP_K // 9), _STEP_K)
    return Decimal(kelvin.numerator) / Decimal(kelvin.denominator)


def _check_kelvin(text: str, most: Decimal, word: str) -> None:
    if not 0 < _read_kelvin(text, word) <= most:
        raise WrongKey(
            f"temperature.{word}", f"{text.strip()} is not over 0 K and at most {most} K"
        )


# A gauge study ------------------------------------------------------------------------------------


def read_study(table: StudyTable | None) -> StudyPlan | None:
    """[study] as written, if there is one."""
    if table is None:
        return None
    return StudyPlan(tuple(table.operators), table.trials, table.order_seed)


def check_study(file: PlanFile) -> None:
    """Refuse a [study] that proves nothing, or does not go with its plan; raises WrongKey."""
    study = read_study(file.study)
    if study is None:
        return
    _check_operators(study.operators)
    check_between(study.trials, 2, MOST_TRIALS, "study.trials")
    check_between(study.order_seed, 0, MOST_SEED, "study.order_seed")
    if study.repeats > MOST_REPEATS:
        raise WrongKey(
            "study.trials", f"{study.repeats} readings at each place; at most {MOST_REPEATS}"
        )
    if len(file.journal) < 2:
        raise WrongKey("study", "a study needs at least two journals: they are its parts")
    stated = [("defaults", file.defaults.repeats)]
    stated += [(f"journal[{n}]", table.repeats or 1) for n, table in enumerate(file.journal, 1)]
    for key, repeats in stated:
        if repeats != 1:
            raise WrongKey(
                f"{key}.repeats", "a study counts its own repeats: trials of each operator"
            )


def _check_operators(operators: Sequence[str]) -> None:
    key = "study.operators"
    for operator in operators:
        check_name(operator, key)
    if not 2 <= len(operators) <= MOST_OPERATORS:
        raise WrongKey(
            key,
            f"{len(operators)} operators; a study needs 2 to {MOST_OPERATORS}. For the "
            "repeatability of one operator use repeats",
        )
    if len(set(operators)) != len(operators):
        raise WrongKey(key, "the same operator twice")
