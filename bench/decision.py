"""The decision simulated: cranks of known size, measured by gauges as they are, judged by the
program.

`python -m bench.decision [--cranks N] [--seed N] [--quick]` prints the tables and the goals; on two
cores N = 10000 takes some six minutes. What is drawn: `bench.cranks` and `bench.shop`; how it is
judged: `bench.crank_sessions`. Each crank has a seed of its own, so a run gives the same counts on
any number of cores.
"""

import argparse
import math
import sys
import time
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from multiprocessing import get_context
from random import Random

import msgspec

from bench.crank_sessions import (
    BY_2,
    BY_3,
    BY_SIMPLE,
    RULE_NAMES,
    Job,
    checks,
    session,
    temperatures,
    verdicts,
)
from bench.cranks import POPULATIONS, Journal
from bench.shop import Drawn, Shown, check_shown, drawn_shop, measured
from daq.record.events import RULES

CRANKS, QUICK_CRANKS, SEED = 10_000, 200, 1
AT_ONCE = 100
"""Cranks that a process takes at once."""
REJECTED = ("below", "above", "out-of-form")
VERDICTS = ("within", "undecided", *REJECTED)
MISSED = 1


class Case(msgspec.Struct, frozen=True):
    """What is simulated. `population`: of `bench.cranks`; `rules`: which judge it."""

    name: str
    population: str
    drawn: Drawn
    job: Job
    rules: tuple[str, ...] = (BY_3,)


def _case(
    name: str,
    population: str = "used",
    s: tuple[float, float] = (0.4, 0.4),
    *,
    tolerance: int = 20,
    repeats: int = 1,
    excursion: float = 0.0,
    rules: tuple[str, ...] = (BY_3,),
) -> Case:
    return Case(name, population, Drawn(s, excursion=excursion), Job(tolerance, repeats), rules)


_WIDE = (0.2, 0.8)
CASES = (
    _case("used, s 0.4", rules=RULE_NAMES),
    _case("used, s 0.2 to 0.8", s=_WIDE, rules=RULE_NAMES),
    _case("used, s 0.2", s=(0.2, 0.2)),
    _case("used, s 0.8", s=(0.8, 0.8)),
    _case("used, s 0.4, two readings a place", repeats=2, rules=RULE_NAMES),
    _case("used, s 0.4, three readings a place", repeats=3),
    _case("good, s 0.4", "good", rules=RULE_NAMES),
    _case("worn, s 0.4", "worn", rules=RULE_NAMES),
    _case("used, s 0.4, tolerance 10", tolerance=10),
    _case("used, s 0.4, tolerance 13", tolerance=13),
    _case("used, s 0.4, tolerance 30", tolerance=30),
    _case("used, unlike ends, s 0.4", "unlike", rules=RULE_NAMES),
    _case("used, unlike ends, s 0.2 to 0.8", "unlike", _WIDE),
    _case("used, s 0.4, the gauge 2 steps off and back", excursion=2.0),
)


# Counting -----------------------------------------------------------------------------------------


class Outcome(msgspec.Struct, frozen=True):
    """How one crank came out by one rule: its verdicts; by how much each journal fails its limits
    in um (negative: it keeps them); whether it keeps every one.
    """

    verdicts: tuple[str, ...]
    outside_um: tuple[float, ...]
    is_good: tuple[bool, ...]

    @property
    def wrong_accepts(self) -> tuple[float, ...]:
        """By how much journals that were accepted fail."""
        pairs = zip(self.verdicts, self.outside_um, strict=True)
        return tuple(outside for verdict, outside in pairs if verdict == "within" and outside > 0)

    @property
    def wrong_rejects(self) -> int:
        """Journals that were rejected though they keep every limit."""
        pairs = zip(self.verdicts, self.is_good, strict=True)
        return sum(verdict in REJECTED and is_good for verdict, is_good in pairs)


class Tally(msgspec.Struct, frozen=True):
    """Outcomes added up. `counts`: of journals by verdict, of wrong accepts and rejects, of cranks
    with every journal within; `squares`: of each of these the sum of its squares over the cranks.
    """

    cranks: int = 0
    journals: int = 0
    counts: Mapping[str, int] = {}
    squares: Mapping[str, int] = {}
    worst_um: float = 0.0

    def __add__(self, other: "Tally") -> "Tally":
        """Of both."""
        return Tally(
            self.cranks + other.cranks,
            self.journals + other.journals,
            Counter(self.counts) + Counter(other.counts),
            Counter(self.squares) + Counter(other.squares),
            max(self.worst_um, other.worst_um),
        )

    def share(self, what: str) -> float:
        """Of all journals, or of all cranks where cranks are counted."""
        return self.counts.get(what, 0) / (self.cranks if what == ALL_WITHIN else self.journals)

    def error_of(self, what: str) -> float:
        """The standard error of a share. Journals of one crank share gauge, stack and temperatures,
        so what is drawn is a crank: it goes by how far the cranks lie apart.
        """
        if self.cranks < 2:
            return math.inf
        each = 1 if what == ALL_WITHIN else self.journals / self.cranks
        mean = self.counts.get(what, 0) / self.cranks
        variance = (self.squares.get(what, 0) - self.cranks * mean**2) / (self.cranks - 1)
        return math.sqrt(max(variance, 0.0) / self.cranks) / each


WRONG_ACCEPTS, WRONG_REJECTS = "wrong accepts", "wrong rejects"
ALL_WITHIN = "cranks all within"


def tally(outcome: Outcome) -> Tally:
    """Of one crank."""
    counts = Counter(outcome.verdicts)
    wrong = outcome.wrong_accepts
    counts[WRONG_ACCEPTS] = len(wrong)
    counts[WRONG_REJECTS] = outcome.wrong_rejects
    counts[ALL_WITHIN] = int(counts["within"] == len(outcome.verdicts))
    squares = {what: count**2 for what, count in counts.items()}
    return Tally(1, len(outcome.verdicts), counts, squares, max(wrong, default=0.0))


class Found(msgspec.Struct, frozen=True):
    """What came of a case: cranks begun, those left out since a check failed, the rest by rule."""

    begun: int = 0
    left_out: int = 0
    by_rule: Mapping[str, Tally] = {}

    def __add__(self, other: "Found") -> "Found":
        """Of both."""
        rules = dict.fromkeys((*self.by_rule, *other.by_rule))
        return Found(
            self.begun + other.begun,
            self.left_out + other.left_out,
            {
                rule: self.by_rule.get(rule, Tally()) + other.by_rule.get(rule, Tally())
                for rule in rules
            },
        )


def one_crank(case: Case, seed: int, number: int) -> Found:
    """A crank drawn, measured and judged."""
    rng = Random(f"{seed}/{case.name}/{number}")
    shop = drawn_shop(rng, case.drawn)
    crank = POPULATIONS[case.population](rng, case.job.tolerance)
    shown = measured(rng, shop, crank, case.job.repeats)
    if not all(check.passed for check in checks(case.job, shown)):
        return Found(1, 1)
    state = session(case.job, shown, temperatures(shop))
    return Found(
        1,
        0,
        {
            rule: tally(outcome(crank, found, case.job.tolerance))
            for rule, found in verdicts(state, case.rules).items()
        },
    )


def outcome(crank: Sequence[Journal], found: Sequence[str], tolerance: int) -> Outcome:
    """Verdicts beside the truth."""
    return Outcome(
        tuple(found),
        tuple(journal.outside_um for journal in crank),
        tuple(journal.is_good(tolerance) for journal in crank),
    )


# The checks ---------------------------------------------------------------------------------------


class ChecksCase(msgspec.Struct, frozen=True):
    """Sessions of checks alone. `drift`: exactly so many steps, or None: of a sound gauge."""

    name: str
    scatter: float
    drift: float | None = None


CHECK_CASES = (
    *(ChecksCase(f"sound, s {s}", s) for s in (0.3, 0.5, 0.7)),
    *(ChecksCase(f"drift of {by:g} steps, s 0.4", 0.4, by) for by in (2, 2.5, 3, 4)),
)
CHECK_SESSIONS = 5
"""Times as many sessions of checks as cranks: they are quick."""
_RULES_OF_CHECKS = (RULES, 2)


def one_of_checks(case: ChecksCase, seed: int, number: int) -> tuple[int, ...]:
    """One session's checks: 1 where they fail, by rule set 3 and by 2. Of a gauge that drifts by
    so much only the drift counts.
    """
    rng = Random(f"{seed}/{case.name}/{number}")
    shop = drawn_shop(rng, Drawn((case.scatter, case.scatter)))
    shop = msgspec.structs.replace(shop, stack_um=0.0)  # the limits were derived without
    if case.drift is not None:
        shop = msgspec.structs.replace(shop, drift_um=case.drift, jump_at=None)
    shown = Shown(check_shown(rng, shop, 0), check_shown(rng, shop, 1), ())
    job = Job(20, 1)
    if case.drift is not None:
        return tuple(
            int("drift" in checks(job, shown, rules)[1].reason.partition(",")[0].split("; ")[-1])
            for rules in _RULES_OF_CHECKS
        )
    return tuple(
        int(not all(check.passed for check in checks(job, shown, rules)))
        for rules in _RULES_OF_CHECKS
    )
