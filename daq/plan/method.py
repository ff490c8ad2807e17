"""How a plan measures and judges: the check, temperatures, the rule of decision, a gauge study."""

import re
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.lengths import Length, plain
from daq.metrology.conformity import DecisionRule
from daq.metrology.expansion import MATERIALS, Coefficient, parse_coefficient
from daq.plan.fields import between, limit, name_in, positive
from daq.plan.schema import (
    MOST_OPERATORS,
    MOST_REPEATS,
    MOST_SEED,
    MOST_TRIALS,
    CheckTable,
    DecisionTable,
    PlanFile,
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


def check_in(check: CheckTable) -> CheckPlan:
    """[check]; raises WrongKey."""
    between(check.readings, 1, MOST_CHECK_READINGS, "check.readings")
    between(check.max_age_min, 1e-6, MOST_AGE_MIN, "check.max_age_min")
    return CheckPlan(
        stack=check.stack,
        readings=check.readings,
        max_error=limit(check.max_error, "check.max_error"),
        max_spread=limit(check.max_spread, "check.max_spread"),
        max_drift=limit(check.max_drift, "check.max_drift"),
        max_age_us=round(check.max_age_min * 60_000_000),
        near=positive(check.near, "check.near"),
        power_loss_may_lose_zero=check.power_loss_may_lose_zero,
    )


def decision_in(table: DecisionTable) -> DecisionPlan:
    """[decision]; raises WrongKey."""
    between(table.coverage, 0.5, 0.9999, "decision.coverage")
    return DecisionPlan(table.rule, table.coverage)


def temperature_in(table: TemperatureTable | None) -> TemperaturePlan:
    """[temperature]; raises WrongKey."""
    if table is None:
        return TemperaturePlan()
    steel = MATERIALS["steel"]
    return TemperaturePlan(
        part=_part(table) or steel,
        gauge=_expansion(table.gauge_expansion, table.gauge_expansion_limit, "gauge") or steel,
        stack=_expansion(table.stack_expansion, table.stack_expansion_limit, "stack") or steel,
        thermometer_limit_k=_kelvin(
            table.thermometer_limit, MOST_THERMOMETER_K, "temperature.thermometer_limit"
        ),
        room_limit_k=_kelvin(table.room_limit, MOST_ROOM_K, "temperature.room_limit"),
        difference_limit_k=_kelvin(
            table.difference_limit, MOST_ROOM_K, "temperature.difference_limit"
        ),
        is_stated=True,
    )


def _part(table: TemperatureTable) -> Coefficient | None:
    """The part's coefficient: of a known material, or as written."""
    if table.part_material is None:
        return _expansion(table.part_expansion, table.part_expansion_limit, "part")
    key = "temperature.part_material"
    if table.part_expansion is not None:
        raise WrongKey(key, "part_expansion says it already; write one of the two")
    found = MATERIALS.get(table.part_material)
    if found is None:
        raise WrongKey(
            key,
            f"{table.part_material[:60]!r} is not a material that is known here "
            f"({', '.join(MATERIALS)}); write part_expansion instead",
        )
    return _with_limit(found, table.part_expansion_limit, "part")


def _expansion(text: str | None, limit_text: str | None, whose: str) -> Coefficient | None:
    key = f"temperature.{whose}_expansion"
    if text is None:
        if limit_text is not None:
            raise WrongKey(f"{key}_limit", f"a limit without {whose}_expansion that it is for")
        return None
    try:
        found = parse_coefficient(text)
    except ValueError as error:
        raise WrongKey(key, str(error)) from error
    return _with_limit(found, limit_text, whose)


def _with_limit(found: Coefficient, limit_text: str | None, whose: str) -> Coefficient:
    """A coefficient with the half width that the plan states for it."""
    if limit_text is None:
        return found
    key = f"temperature.{whose}_expansion_limit"
    try:
        half_width = parse_coefficient(limit_text).value
    except ValueError as error:
        raise WrongKey(key, str(error)) from error
    if half_width >= found.value:
        raise WrongKey(
            key, f"{limit_text} is not under the coefficient itself, {plain(found.value)} /K"
        )
    return msgspec.structs.replace(found, half_width=half_width)


def _kelvin(text: str, most: Decimal, key: str) -> Decimal:
    """A temperature difference in kelvin; degrees Fahrenheit are taken as an interval.

    5/9 K is no finite decimal, so it is rounded up, the wider limit, to a millionth of a kelvin.
    """
    found = _DIFFERENCE.fullmatch(text.strip())
    if found is None:
        raise WrongKey(key, f'{text[:60]!r} is not a temperature difference, like "0.5 K"')
    kelvin = Fraction(found[1])
    if found[2].endswith("F"):
        kelvin = Fraction(-(-kelvin * 5 * _STEP_K // 9), _STEP_K)
    if not 0 < kelvin <= most:
        raise WrongKey(key, f"{text.strip()} is not over 0 K and at most {most} K")
    return Decimal(kelvin.numerator) / Decimal(kelvin.denominator)


def study_in(file: PlanFile) -> StudyPlan | None:
    """[study], if there is one; raises WrongKey."""
    table = file.study
    if table is None:
        return None
    for operator in table.operators:
        name_in(operator, "study.operators")
    if not 2 <= len(table.operators) <= MOST_OPERATORS:
        raise WrongKey(
            "study.operators",
            f"{len(table.operators)} operators; a study needs 2 to {MOST_OPERATORS}. For the "
            "repeatability of one operator use repeats",
        )
    if len(set(table.operators)) != len(table.operators):
        raise WrongKey("study.operators", "the same operator twice")
    between(table.trials, 2, MOST_TRIALS, "study.trials")
    between(table.order_seed, 0, MOST_SEED, "study.order_seed")
    study = StudyPlan(tuple(table.operators), table.trials, table.order_seed)
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
    return study
