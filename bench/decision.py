"""The decision simulated: cranks of known size, measured by gauges as they are, judged by the
program.

`python -m bench.decision [--cranks N] [--seed N] [--quick]` prints the tables and the goals; on two
idle cores N = 4000 takes some five minutes. What is drawn: `bench.cranks` and `bench.shop`; how it
is judged: `bench.crank_sessions`. Each crank has a seed of its own, so a run gives the same counts
on any number of cores.
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
    BY_3,
    RULE_NAMES,
    Job,
    checks,
    session,
    temperatures,
    verdicts,
)
from bench.cranks import JOURNALS, POPULATIONS, Journal
from bench.ratio import Row
from bench.shop import Drawn, Shown, check_shown, drawn_shop, measured
from daq.record.events import RULES

CRANKS, QUICK_CRANKS, SEED = 4_000, 200, 1
LEAST_CRANKS = 2
"""Of one alone no standard error is known."""
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
    _case("used, s 0.2 to 0.8, two readings a place", s=_WIDE, repeats=2),
    _case("used, s 0.4, tolerance 10", tolerance=10),
    _case("used, s 0.4, tolerance 13", tolerance=13),
    _case("used, s 0.4, tolerance 30", tolerance=30),
    _case("good, s 0.2 to 0.8", "good", _WIDE, rules=RULE_NAMES),
    _case("worn, s 0.2 to 0.8", "worn", _WIDE, rules=RULE_NAMES),
    _case("used, unlike ends, s 0.4", "unlike", rules=RULE_NAMES),
    _case("used, unlike ends, s 0.2 to 0.8", "unlike", _WIDE, rules=RULE_NAMES),
    _case("used, s 0.4, 2 steps up for a while", excursion=2.0),
    _case("used, s 0.2 to 0.8, 2 steps up for a while", s=_WIDE, excursion=2.0),
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
    """One session's checks: 1 where they fail, by rule set 3 and by 2. Of a gauge that drifts the
    check after counts.
    """
    rng = Random(f"{seed}/{case.name}/{number}")
    shop = drawn_shop(rng, Drawn((case.scatter, case.scatter)))
    shop = msgspec.structs.replace(shop, stack_um=0.0)  # the limits were chosen by the gauge alone
    if case.drift is not None:
        shop = msgspec.structs.replace(shop, drift_um=case.drift, jump_at=None)
    shown = Shown(check_shown(rng, shop, 0), check_shown(rng, shop, 1), ())
    failed = []
    for rules in _RULES_OF_CHECKS:
        before, after = checks(Job(20, 1), shown, rules)
        is_before_well = before.passed or case.drift is not None
        failed.append(int(not (is_before_well and after.passed)))
    return tuple(failed)


# Running ------------------------------------------------------------------------------------------


class Work(msgspec.Struct, frozen=True):
    """A part of a case for one process: cranks or sessions from number `first` on."""

    case: Case | ChecksCase
    seed: int
    first: int
    count: int


class Simulated(msgspec.Struct, frozen=True):
    """All cases; of checks: sessions, and how many failed by each rule set."""

    found: Mapping[str, Found]
    checks: Mapping[str, tuple[int, tuple[int, ...]]]
    seconds: float = 0.0


def work_list(cranks: int, seed: int) -> list[Work]:
    """All that is to be done, in parts."""
    counts: list[tuple[Case | ChecksCase, int]] = [(case, cranks) for case in CASES]
    counts += [(case, CHECK_SESSIONS * cranks) for case in CHECK_CASES]
    return [
        Work(case, seed, first, min(AT_ONCE, count - first))
        for case, count in counts
        for first in range(0, count, AT_ONCE)
    ]


def worked(work: Work) -> tuple[str, Found | tuple[int, tuple[int, ...]]]:
    """One part, by the name of its case."""
    numbers = range(work.first, work.first + work.count)
    case = work.case
    if isinstance(case, Case):
        each = (one_crank(case, work.seed, number) for number in numbers)
        return case.name, sum(each, Found())
    failed = [one_of_checks(case, work.seed, number) for number in numbers]
    return case.name, (work.count, tuple(map(sum, zip(*failed, strict=True))))


def added(parts: Iterable[tuple[str, Found | tuple[int, tuple[int, ...]]]]) -> Simulated:
    """All parts together, the cases in the order in which they come first."""
    found: dict[str, Found] = {}
    failed: dict[str, tuple[int, tuple[int, ...]]] = {}
    for name, part in parts:
        if isinstance(part, Found):
            found[name] = found.get(name, Found()) + part
        else:
            count, each = failed.get(name, (0, (0,) * len(part[1])))
            sums = tuple(one + other for one, other in zip(each, part[1], strict=True))
            failed[name] = count + part[0], sums
    return Simulated(found, failed)


def simulated(cranks: int, seed: int, processes: int | None = None) -> Simulated:
    """The whole simulation, on all cores."""
    began = time.monotonic()
    with get_context("spawn").Pool(processes) as pool:
        found = added(pool.imap(worked, work_list(cranks, seed)))
    return msgspec.structs.replace(found, seconds=time.monotonic() - began)


# Words --------------------------------------------------------------------------------------------


def goals(found: Mapping[str, Found]) -> list[Row]:
    """What the decision is to reach."""
    alike, apart = found["used, s 0.2 to 0.8"], found["used, unlike ends, s 0.2 to 0.8"]
    used, other = alike.by_rule[BY_3], apart.by_rule[BY_3]
    return [
        # Rows hold what must not be passed, so of what must be reached they hold the rest.
        _goal(used, "not within", 40, 100 * (1 - used.share("within")), "within"),
        _goal(used, WRONG_ACCEPTS, 0.1, 100 * used.share(WRONG_ACCEPTS), WRONG_ACCEPTS),
        Row(
            goal="decision, used cranks, ends alike: largest miss of a wrong accept in um",
            limit="2 um",
            ours=f"{used.worst_um:.2f} um",
            value=round(used.worst_um, 2),
            bound=2,
        ),
        _goal(other, WRONG_ACCEPTS, 1, 100 * other.share(WRONG_ACCEPTS), WRONG_ACCEPTS, "unlike"),
    ]


def _goal(
    found: Tally, what: str, bound: float, value: float, counted: str, ends: str = "alike"
) -> Row:
    percent = f"{value:.3g} % ± {100 * found.error_of(counted):.2g}"
    return Row(
        goal=f"decision, used cranks, ends {ends}: {what}, % of {found.journals} journals",
        limit=f"{bound:g} %",
        ours=percent,
        value=round(value, 3),
        bound=bound,
    )


def table(found: Mapping[str, Found]) -> str:
    """The outcomes by case and rule as a Markdown table, in % with their standard errors."""
    columns = (*VERDICTS, WRONG_ACCEPTS, WRONG_REJECTS, ALL_WITHIN)
    lines = [f"| cranks | rule | {' | '.join(columns)} |", "|---" * (len(columns) + 2) + "|"]
    for name, case in found.items():
        for rule, counted in case.by_rule.items():
            cells = [_cell(counted, what) for what in columns]
            lines.append("| " + " | ".join((name, rule, *cells)) + " |")
    return "\n".join(lines)


def _cell(counted: Tally, what: str) -> str:
    if not counted.counts.get(what, 0):
        return "0"
    digits = 3 if what in (WRONG_ACCEPTS, WRONG_REJECTS) else 1
    text = f"{100 * counted.share(what):.{digits}f} ± {100 * counted.error_of(what):.{digits}f}"
    return f"{text} ({counted.worst_um:.2f} um)" if what == WRONG_ACCEPTS else text


def checks_table(found: Simulated) -> str:
    """How often checks fail, in %."""
    lines = ["| gauge | sessions | rule set 3 | rule set 2 |", "|---|---|---|---|"]
    for name, (count, failed) in found.checks.items():
        lines.append(
            f"| {name} | {count} | {_percent(failed[0], count)} | {_percent(failed[1], count)} |"
        )
    return "\n".join(lines)


def _percent(failed: int, count: int) -> str:
    share = failed / count
    return f"{100 * share:.2f} ± {100 * math.sqrt(share * (1 - share) / count):.2f}"


def words(found: Simulated) -> str:
    """The section of RESULTS.md."""
    begun = next(iter(found.found.values())).begun
    left = ", ".join(
        f"{100 * one.left_out / one.begun:.2f} ({name})" for name, one in found.found.items()
    )
    return f"""{begun} cranks of {JOURNALS} journals a case, 2 stations x 4 angles, steps of 1 um,
tolerance 20 steps and one reading a place where not said. In % of all journals with their standard
errors. *Wrong accepts*: `within`, though somewhere all around the journal is under its low limit or
over a limit of form (the largest miss behind it). *Wrong rejects*: rejected, though every limit is
kept. *s*: how far one reading scatters, in steps.

{table(found.found)}

Checks that fail, in %: of sound gauges before or after; of those that drift, after.

{checks_table(found)}

Sessions left out since a check failed, in %: {left}."""


def main() -> int:
    """Print the tables and the goals; gives the exit code."""
    parser = argparse.ArgumentParser(prog="python -m bench.decision", description=__doc__)
    parser.add_argument("--cranks", type=int, default=CRANKS, help="a case")
    parser.add_argument("--seed", type=int, default=SEED, help="of the random numbers")
    parser.add_argument("--quick", action="store_true", help=f"only {QUICK_CRANKS} cranks a case")
    options = parser.parse_args()
    if options.cranks < LEAST_CRANKS:
        parser.error(f"at least {LEAST_CRANKS} cranks")
    found = simulated(QUICK_CRANKS if options.quick else options.cranks, options.seed)
    print(words(found))
    print(f"{found.seconds:.0f} s")
    if options.quick:
        return 0  # so few cranks prove no goal
    rows = goals(found.found)
    for row in rows:
        print(f"{row.goal}: {row.ours}; limit {row.limit} ({row.verdict})")
    return MISSED if any(row.is_missed for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
