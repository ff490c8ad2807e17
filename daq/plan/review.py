"""What looks wrong in the limits of a plan, with the arithmetic: manuals have misprints, and hands
slip. Nothing is mended: the plan stands as written, and people ask the manual. Pure.

What cannot be meant at all (limits upside down, inch and mm that disagree) a plan is refused for;
here stand the doubts. Their thresholds are chosen by us, so that the published tables that we know
to be right pass, and those that we know to be wrong do not.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import msgspec

from daq.lengths import EXACT, Length, Limits, parse_length, plain, shortest
from daq.plan.bearing import clearance
from daq.plan.fields import check_limit
from daq.plan.key_words import several
from daq.plan.levels import stating
from daq.plan.plan import GroupPlan, JournalPlan, Plan
from daq.plan.review_undersizes import step_doubts
from daq.plan.schema import SCHEMA, PlanFile
from drivers.toml_file import WrongKey, converted, table_in

TIMES = 8
"""So many times a comparable value is taken for a decimal point out of place (ten times it)."""

EXTENT_TIMES = 2
"""A high limit so many times the low one is no limit of the same journal."""

BAND_TIMES = 2
"""A limit on form so many times the tolerance of the diameter is doubted."""

IT_UM = (
    (Decimal(18), Decimal(30), 9, 13, 21),
    (Decimal(30), Decimal(50), 11, 16, 25),
    (Decimal(50), Decimal(80), 13, 19, 30),
    (Decimal(80), Decimal(120), 15, 22, 35),
    (Decimal(120), Decimal(180), 18, 25, 40),
)
"""Diameters over and up to, in mm, with IT5, IT6, IT7 in um. Source: ISO 286-1, table 1, as two
stored tables quote it."""


class Finding(msgspec.Struct, frozen=True):
    """A doubt about one value: its `key` in the plan, a stable word, and what is odd in words."""

    key: str
    kind: str
    words: str


def findings(plan: Plan) -> tuple[Finding, ...]:
    """All that looks wrong in a plan that can be used, in the order of the file's tables."""
    found: list[Finding] = [*_without_effect(plan)]
    for group in plan.groups:
        members = [journal for journal in plan.journals if journal.group == group.name]
        for key, kind, words in step_doubts(group, members):
            found.append(Finding(key, kind, words))
        found += _clearances(group, members)
    for word in ("out_of_round", "taper"):
        found += _times(plan.journals, word)
    found += _times(plan.journals, "tolerance")
    for journal in _alike(plan.journals):
        found += _extent(journal)
        found += _form(journal)
        found += _grade(journal)
    for name in dict.fromkeys(journal.group for journal in plan.journals if journal.group):
        found += _odd_one_out([journal for journal in plan.journals if journal.group == name])
    return tuple(found)


def _alike(journals: Sequence[JournalPlan]) -> Iterator[JournalPlan]:
    """One journal for all that have the same limits, by the names of them all."""
    found: dict[Limits, list[JournalPlan]] = {}
    for journal in journals:
        found.setdefault(journal.standard_limits, []).append(journal)
    for members in found.values():
        names = several([journal.name for journal in members])
        yield msgspec.structs.replace(members[0], name=names)


def _without_effect(plan: Plan) -> Iterator[Finding]:
    """What is written and does nothing any more."""
    try:
        written = table_in(plan.text, SCHEMA).get("decision", {})
    except WrongKey:  # a plan that was not made of a text
        return
    if "coverage" in written:
        yield Finding(
            "decision.coverage",
            "no-effect",
            f"coverage = {plan.decision.coverage:g} does nothing any more: a verdict is held to "
            f"confidence = {plan.decision.confidence:g}. Take it out, or write confidence",
        )


def cross_checks(text: str) -> tuple[Finding, ...]:
    """Every limit of a plan's text whose inch and mm disagree, also where the plan is refused for
    another reason; nothing where the text is no plan at all.
    """
    try:
        file = converted(table_in(text, SCHEMA), PlanFile)
    except WrongKey:
        return ()
    found = []
    for key, spec in _limits_of(file):
        if not isinstance(spec, list):
            continue
        try:
            check_limit(spec, key)
        except WrongKey as wrong:
            found.append(Finding(wrong.key, "inch-mm", wrong.reason))
    return tuple(found)


def inch_reach(text: str) -> tuple[Finding, ...]:
    """Where limits that are printed in both units allow more in inches than in mm, so that a part
    may be good by the one and not by the other. Said once of limits that are the same.
    """
    try:
        file = converted(table_in(text, SCHEMA), PlanFile)
    except WrongKey:
        return ()
    found: dict[tuple[str, str], Finding] = {}
    for key, spec in _limits_of(file):
        word = key.rpartition(".")[2]
        if isinstance(spec, list) and word not in ("by", "greatest_undersize"):
            outside = _outside(word, spec)
            if outside:
                found.setdefault((word, str(spec)), Finding(key, "inch-outside", outside))
    return tuple(found.values())


def _outside(word: str, spec: Sequence[str]) -> str:
    """By how much an inch limit reaches outside the mm limit that it stands beside, in words; ""
    where it does not, or where the two are no such pair.
    """
    try:
        stated, cross = (parse_length(text) for text in spec)
    except ValueError:
        return ""
    if (stated.unit == "in") == (cross.unit == "in"):
        return ""
    inch, metric = (stated, cross) if stated.unit == "in" else (cross, stated)
    over = EXACT.subtract(inch.mm, metric.mm)
    if word in ("low", "worn_low"):
        over = -over
    if over <= 0:
        return ""
    return (
        f"{word} = {inch} is {shortest(inch.mm)} mm, which reaches {shortest(over)} mm outside the "
        f"{metric} that is printed with it. What counts is the first of the two, {stated}"
    )


def _limits_of(file: PlanFile) -> Iterator[tuple[str, str | list[str] | None]]:
    for key, table in stating(file):
        for name in ("low", "high", "out_of_round", "taper"):
            yield f"{key}.{name}", getattr(table, name)
    for number, group in enumerate(file.group, 1):
        yield f"group[{number}].greatest_undersize", group.greatest_undersize
        for place, step in enumerate(group.undersize, 1):
            for name in ("by", "low", "high", "worn_low"):
                yield f"group[{number}].undersize[{place}].{name}", getattr(step, name)


def _stated(journal: JournalPlan, word: str) -> tuple[str, Decimal, str] | None:
    """A value of a journal: the key it stands at, exact mm, and as people wrote it."""
    limits = journal.standard_limits
    if word == "tolerance":
        if limits.tolerance_mm is None:
            return None
        said = f"high - low = {plain(limits.tolerance_mm)} mm"
        return f"{journal.key}.high", limits.tolerance_mm, said
    found: Length | None = getattr(limits, word)
    if found is None or (word == "taper" and limits.taper_per is not None):
        return None
    return f"{journal.key}.{word}", found.mm, f"{word} = {found}"


def _times(journals: Sequence[JournalPlan], word: str) -> Iterator[Finding]:
    """A value many times the next smaller one of its kind; each value is told once."""
    first: dict[Decimal, tuple[str, str, str]] = {}
    for journal in journals:
        stated = _stated(journal, word)
        if stated is not None:
            first.setdefault(stated[1], (journal.name, stated[0], stated[2]))
    sizes = sorted(first)
    for smaller, larger in pairwise(sizes):
        if larger >= TIMES * smaller:
            name, key, said = first[larger]
            other, _, other_said = first[smaller]
            yield Finding(
                key,
                "ten-times",
                f"{said} of {name} is {_ratio(larger, smaller)} times that of {other} "
                f"({other_said}): is a decimal point out of place in one of them?",
            )


def _extent(journal: JournalPlan) -> Iterator[Finding]:
    """A high limit that is no neighbour of the low one."""
    limits = journal.standard_limits
    if limits.high is not None and limits.high.mm >= EXTENT_TIMES * limits.low.mm:
        yield Finding(
            f"{journal.key}.high",
            "ten-times",
            f"high = {limits.high} of {journal.name} is {_ratio(limits.high.mm, limits.low.mm)} "
            f"times low = {limits.low}: is a decimal point out of place in one of them?",
        )


def _form(journal: JournalPlan) -> Iterator[Finding]:
    """Limits on form against each other and against the tolerance of the diameter."""
    limits = journal.standard_limits
    both = (_stated(journal, "out_of_round"), _stated(journal, "taper"))
    pair = [stated for stated in both if stated is not None]
    if len(pair) == 2:
        (_, small, small_said), (key, large, large_said) = sorted(pair, key=lambda one: one[1])
        if large >= TIMES * small:
            yield Finding(
                key,
                "ten-times",
                f"{large_said} of {journal.name} is {_ratio(large, small)} times {small_said}: is "
                "a decimal point out of place in one of them?",
            )
    tolerance = limits.tolerance_mm
    for key, size, said in pair:
        if tolerance is not None and size >= BAND_TIMES * tolerance:
            yield Finding(
                key,
                "wider-than-band",
                f"{said} of {journal.name} is {_ratio(size, tolerance)} times high - low = "
                f"{plain(tolerance)} mm: a journal within its limits can never reach it",
            )


def _grade(journal: JournalPlan) -> Iterator[Finding]:
    """The tolerance against the grades that journals are commonly made to."""
    limits = journal.standard_limits
    tolerance = limits.tolerance_mm
    if limits.high is None or tolerance is None:
        return
    for over, up_to, it5, _, it7 in IT_UM:
        if not over < limits.high.mm <= up_to:
            continue
        um = EXACT.multiply(tolerance, Decimal(1000))
        if um * 2 < it5:
            words = f"under half of IT5 there, {it5} um"
        elif um > 3 * it7:
            words = f"over three times IT7 there, {it7} um"
        else:
            continue
        yield Finding(
            f"{journal.key}.high",
            "unusual-tolerance",
            f"high - low of {journal.name}, {plain(um.normalize(EXACT))} um on {limits.high}, is "
            f"{words} (ISO 286-1): is a digit wrong, or is one of them a wear limit?",
        )


def _odd_one_out(members: Sequence[JournalPlan]) -> Iterator[Finding]:
    """One journal of a group whose limit differs while all others agree."""
    for word in ("low", "high", "out_of_round", "taper"):
        found: list[tuple[JournalPlan, Length]] = []
        for journal in members:
            stated: Length | None = getattr(journal.standard_limits, word)
            if stated is not None:
                found.append((journal, stated))
        times = Counter(stated.mm for _, stated in found)
        if len(times) != 2 or len(found) < 3:
            continue
        for journal, stated in found:
            if times[stated.mm] == 1:
                usual = next(other for _, other in found if other.mm != stated.mm)
                yield Finding(
                    f"{journal.key}.{word}",
                    "odd-one-out",
                    f"{word} of {journal.name} is {stated}, of the {len(found) - 1} other "
                    f"journals of {journal.group} {usual}: {_apart(stated, usual)} mm apart",
                )


def _clearances(group: GroupPlan, members: Sequence[JournalPlan]) -> Iterator[Finding]:
    """The clearance of a standard journal in standard shells against the one stated."""
    limits = members[0].standard_limits if members else None
    if limits is None or limits.high is None:
        return
    oil = clearance(group, None, limits.low.mm, limits.high.mm)
    if oil is not None and oil.smallest_mm <= 0:
        yield Finding(
            f"{group.key}.housing_bore",
            "clearance",
            f"housing bore less two walls less the journal is {plain(oil.smallest_mm)} to "
            f"{plain(oil.largest_mm)} mm at the limits stated: no journal could turn in that",
        )
        return
    if group.oil_clearance is None or oil is None:
        return
    low, high = group.oil_clearance
    if low.mm <= oil.smallest_mm and oil.largest_mm <= high.mm:
        return
    yield Finding(
        f"{group.key}.oil_clearance",
        "clearance",
        f"housing bore less two walls less the journal is {plain(oil.smallest_mm)} to "
        f"{plain(oil.largest_mm)} mm at the limits stated, not {low} to {high}",
    )


def _apart(one: Length, other: Length) -> str:
    return plain(EXACT.subtract(one.mm, other.mm).copy_abs().normalize(EXACT))


def _ratio(large: Decimal, small: Decimal) -> str:
    """How many times, to a tenth; for show only."""
    return f"{float(Fraction(large) / Fraction(small)):.1f}".removesuffix(".0")
