"""How a plan measures and judges: the check, the time a hand needs, the decision, a study."""

import math
import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

import msgspec

from daq.lengths import Length
from daq.metrology.conformity import DecisionRule
from daq.plan.fields import (
    check_between,
    check_name,
    check_positive,
    quoted,
    read_length,
    read_optional_limit,
)
from daq.plan.levels import stating, told_journals
from daq.plan.schema import (
    MOST_CONFIDENCE,
    MOST_OPERATORS,
    MOST_REPEATS,
    MOST_SEED,
    MOST_TRIALS,
    CheckTable,
    DecisionTable,
    DefaultsTable,
    PlanFile,
    StudyTable,
)
from drivers.toml_file import WrongKey

MOST_CHECK_READINGS = 100
MOST_AGE_MIN = 100_000
MOST_INTERVAL_S = 60
"""No hand needs longer from one press to the next. Chosen by us."""

_INTERVAL = re.compile(r"\s*([0-9]{1,6}(?:\.[0-9]{1,6})?) *(s|ms)\s*", re.ASCII)
_US_PER = {"s": 1_000_000, "ms": 1000}


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


class IntervalPlan(msgspec.Struct, frozen=True):
    """The least time in microseconds from one reading to the next: `in_check_us` from a check's
    first counted reading to its last, `else_us` everywhere else. 0 switches it off.
    """

    in_check_us: int = 300_000
    else_us: int = 700_000


class TakingPlan(msgspec.Struct, frozen=True):
    """How readings are taken by hand. `is_typed_twice`: a value that a person types is asked for
    twice. `held`: what answers for a reading that is held back: a word, or "press-again", also a
    second press where only its time is doubted.
    """

    is_typed_twice: bool = False
    held: Literal["ask", "press-again"] = "ask"


class DecisionPlan(msgspec.Struct, frozen=True):
    """The rule of decision: "guarded" (ISO 14253-1) or "simple"; `confidence` is how sure a verdict
    must be, one-sided. `state`: a "used" part need not be shown to lie under its high limit, a
    "ground" one must. `coverage`: the probability of the expanded uncertainty, which judged under
    rule set 2 and does nothing from 3 on.
    """

    rule: DecisionRule = "guarded"
    coverage: float = 0.9545
    confidence: float = 0.95
    state: Literal["used", "ground"] = "used"


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
        raise WrongKey(
            "check.max_age_min",
            f"{table.max_age_min:g} is no number of minutes: write minutes, like 240",
        )
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
    if not 0 < table.max_age_min <= MOST_AGE_MIN:
        raise WrongKey(
            "check.max_age_min",
            f"{table.max_age_min:g} is not over 0 and at most {MOST_AGE_MIN} minutes: write "
            "minutes, like 240",
        )
    for word in ("max_error", "max_spread", "max_drift", "near"):
        check_positive(getattr(table, word), f"check.{word}")


def read_intervals(file: PlanFile) -> IntervalPlan:
    """Both least intervals as written; raises WrongKey for what is no time."""
    return IntervalPlan(
        in_check_us=_interval_us(file.check.least_interval, "check.least_interval"),
        else_us=_interval_us(file.defaults.least_interval, "defaults.least_interval"),
    )


def check_intervals(file: PlanFile) -> None:
    """Refuse an interval that no hand needs; raises WrongKey."""
    given = {"check": file.check.least_interval, "defaults": file.defaults.least_interval}
    for table, text in given.items():
        key = f"{table}.least_interval"
        if _interval_us(text, key) > MOST_INTERVAL_S * _US_PER["s"]:
            raise WrongKey(
                key,
                f"{text.strip()} is more than {MOST_INTERVAL_S} s, which no hand needs: write less",
            )


def _interval_us(text: str, key: str) -> int:
    found = _INTERVAL.fullmatch(text)
    if found is None:
        raise WrongKey(
            key, f'{quoted(text)} is no time with its unit: write it like "0.7 s" or "700 ms"'
        )
    return round(Decimal(found[1]) * _US_PER[found[2]])


def read_taking(table: DefaultsTable) -> TakingPlan:
    """What [defaults] says of readings taken by hand, as written."""
    return TakingPlan(is_typed_twice=table.typed == "twice", held=table.held)


def read_decision(table: DecisionTable) -> DecisionPlan:
    """[decision] as written."""
    return DecisionPlan(table.rule, table.coverage, table.confidence, table.state)


def check_decision(table: DecisionTable) -> None:
    """Refuse a probability that is none, or that nobody works with; raises WrongKey."""
    if not 0.5 <= table.coverage <= 0.9999:
        raise WrongKey(
            "decision.coverage",
            f"{table.coverage:g} is not between 0.5 and 0.9999. It does nothing any more: take it "
            "out",
        )
    if not 0.5 < table.confidence <= MOST_CONFIDENCE:
        raise WrongKey(
            "decision.confidence",
            f"{table.confidence:g} is not over 0.5 and at most {MOST_CONFIDENCE:g}: it is the "
            "probability that a verdict is right. For 95 percent write 0.95",
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
            "study.trials",
            f"{study.repeats} readings at each place (operators times trials), at most "
            f"{MOST_REPEATS}: write fewer trials",
        )
    if sum(1 for _ in told_journals(file)) < 2:
        raise WrongKey("study", "a study needs at least two journals: they are its parts. Add one")
    for key, table in stating(file):
        if table.repeats not in (None, 1):
            raise WrongKey(
                f"{key}.repeats",
                "a study counts its own repeats: take this out, and write trials in [study]",
            )


def _check_operators(operators: Sequence[str]) -> None:
    key = "study.operators"
    for operator in operators:
        check_name(operator, key)
    if not 2 <= len(operators) <= MOST_OPERATORS:
        raise WrongKey(
            key,
            f"has {len(operators)}; a study needs 2 to {MOST_OPERATORS}. To see how one person "
            "repeats, take [study] out and write repeats = 5 in [defaults]",
        )
    if len(set(operators)) != len(operators):
        raise WrongKey(key, "the same operator stands twice: write each once")
