"""A group of journals as planned and as measured, and the record of its next step. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.disposition.words import NOT_EXAMINED, clearance_words, forced_words, size_words, trimmed
from daq.lengths import plain
from daq.plan.bearing import clearance, shell_growth_mm
from daq.plan.plan import GroupPlan, JournalPlan, Undersize
from daq.record.results import GroupResult, JournalResult


class Measured(msgspec.Struct, frozen=True, kw_only=True):
    """What disposition needs of one journal's result; lengths in mm, None where not measured.

    `size` and `form` are the words of the evaluation; `guard_mm` is how near a limit is too near
    to call, zero under simple acceptance. `smallest_mm`, `largest_mm` are as they are shown, the
    exact ones what is compared, where they are at hand.
    """

    journal: str
    smallest_mm: Decimal | None
    largest_mm: Decimal | None
    size: str
    form: str
    is_complete: bool
    guard_mm: Decimal
    smallest_exact_mm: Fraction | None = None
    largest_exact_mm: Fraction | None = None

    @property
    def least_mm(self) -> Fraction:
        """The smallest size unrounded; of a journal that has readings."""
        return _exact(self.smallest_exact_mm, self.smallest_mm)

    @property
    def most_mm(self) -> Fraction:
        """The largest size unrounded; of a journal that has readings."""
        return _exact(self.largest_exact_mm, self.largest_mm)


def _exact(exact: Fraction | None, shown: Decimal | None) -> Fraction:
    assert shown is not None, "a journal that was measured has sizes"
    return Fraction(shown) if exact is None else exact


class Case(msgspec.Struct, frozen=True):
    """A group as planned and as measured, one result for each journal in the plan's order."""

    plan: GroupPlan
    journals: Sequence[JournalPlan]
    results: Sequence[Measured]

    @property
    def forced(self) -> list[Measured]:
        """The journals that cannot stay as they are."""
        return [r for r in self.results if r.size == "below" or r.form == "over"]

    @property
    def unmeasured(self) -> list[str]:
        """The journals with places that have no reading."""
        return [result.journal for result in self.results if not result.is_complete]

    @property
    def smallest_mm(self) -> Decimal:
        """The smallest size of the group as shown, whichever the journal."""
        return extremes(self.results)[0]

    @property
    def least_mm(self) -> Fraction:
        """The same unrounded."""
        return min(result.least_mm for result in self.results if result.smallest_mm is not None)

    @property
    def why(self) -> str:
        """Which journals cannot stay as they are, and why."""
        return forced_words(
            [result.journal for result in self.forced if result.size == "below"],
            [result.journal for result in self.forced if result.form == "over"],
        )

    def show(self, mm: Decimal) -> str:
        """A diameter for people, in the units that the plan speaks."""
        return size_words(mm, self.journals[0].limits.low.unit)


def measured(result: JournalResult) -> Measured:
    """One journal's result as disposition takes it; the uncertainty guards unless the rule is
    simple acceptance.
    """
    is_simple = result.decision_rule.startswith("simple")
    return Measured(
        journal=result.journal,
        smallest_mm=Decimal(result.smallest_mm) if result.smallest_mm else None,
        largest_mm=Decimal(result.largest_mm) if result.largest_mm else None,
        size=result.size_verdict,
        form=result.form_verdict,
        is_complete=result.positions_measured == result.positions_planned,
        guard_mm=Decimal(0 if is_simple else result.uncertainty_mm or 0),
    )


def extremes(results: Sequence[Measured]) -> tuple[Decimal, Decimal]:
    """The smallest and the largest reading; there is at least one."""
    return (
        min(result.smallest_mm for result in results if result.smallest_mm is not None),
        max(result.largest_mm for result in results if result.largest_mm is not None),
    )


def result_of(
    case: Case,
    word: str,
    reason: str,
    *,
    step: Undersize | None = None,
    between: tuple[Decimal, Decimal] | None = None,
    is_finished: bool = False,
    remarks: Sequence[str] = (),
) -> GroupResult:
    """A result with what bearings of `step` mean for journals `between` two diameters."""
    oil = clearance(case.plan, step.by if step else None, *between) if between else None
    return GroupResult(
        group=case.plan.name,
        step=word,
        undersize=step.name if step else "",
        finished_low_mm=plain(between[0]) if between and is_finished else "",
        finished_high_mm=plain(between[1]) if between and is_finished else "",
        reason=reason,
        forced_by=";".join(result.journal for result in case.forced),
        bearing_growth_mm=trimmed(shell_growth_mm(step.by)) if step else "",
        clearance_smallest_mm=trimmed(oil.smallest_mm) if oil else "",
        clearance_largest_mm=trimmed(oil.largest_mm) if oil else "",
        remarks="; ".join([*remarks, *clearance_words(case.plan, oil), NOT_EXAMINED]),
    )
