"""One run's work: the plan, narrowed to what this gauge reaches, with a stack for each journal."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

import msgspec

from daq.errors import PlanError
from daq.lengths import EXACT, Length, Position, parse_length
from daq.metrology.gauge_check import CheckLimits, derived_limit, too_coarse
from daq.plan.plan import JournalPlan, Plan
from daq.plan.route import Stop, positions, route, study_route


class Scope(msgspec.Struct, frozen=True):
    """What one run measures. `route` holds the positions in order; `stacks` the stack of each
    journal on it (as named in plan or option) and `sizes` the size of each stack.
    """

    plan: Plan
    journals: dict[str, JournalPlan]
    stacks: dict[str, str]
    sizes: dict[str, Length]
    route: tuple[Position, ...]

    @property
    def tolerance_mm(self) -> Decimal | None:
        """The smallest high - low in the run; None if no journal has a high limit."""
        found = [journal.limits.tolerance_mm for journal in self.journals.values()]
        return min((tolerance for tolerance in found if tolerance is not None), default=None)


def reached(plan: Plan, only: Sequence[str]) -> tuple[JournalPlan, ...]:
    """The journals whose name or group stands in `only`; all of them if it is empty.

    Raises PlanError for a word that is neither.
    """
    for word in only:
        if not word or not any(word in (j.name, j.group) for j in plan.journals):
            known = ", ".join(journal.name for journal in plan.journals[:12])
            raise PlanError(
                plan.source,
                "journal",
                f"--only {word}: no such journal or group (there are {known})",
            )
    if not only:
        return plan.journals
    return tuple(j for j in plan.journals if j.name in only or (j.group and j.group in only))


def stacks_wanted(plan: Plan, only: Sequence[str], stack: str | None) -> dict[str, str]:
    """The stack of each journal in reach: its group's, else `stack`, else the plan's.

    Raises PlanError where there is none.
    """
    wanted = {}
    for journal in reached(plan, only):
        name = journal.group_stack or stack or plan.check.stack
        if name is None:
            raise PlanError(
                plan.source,
                "check.stack",
                f"no stack to prove the gauge for {journal.name}; write one, or give --stack",
            )
        wanted[journal.name] = name
    return wanted


def make_scope(
    plan: Plan, only: Sequence[str], stack: str | None, saved: Mapping[str, str]
) -> Scope:
    """The work of a new run; `saved` has the size, as text, of every stack that is called by name.

    Raises PlanError: an unknown name, a stack too far from a journal, limits too wide to prove.
    """
    scope = build_scope(plan, only, stack, saved)
    for journal in scope.journals.values():
        size = scope.sizes[scope.stacks[journal.name]]
        far = EXACT.subtract(size.mm, journal.limits.low.mm).copy_abs()
        if far > plan.check.near.mm:
            raise PlanError(
                plan.source,
                f"{journal.key}.low",
                f"the stack {size} lies {far:f} mm from the low limit {journal.limits.low} of "
                f"{journal.name}, more than check.near = {plan.check.near}: it proves nothing "
                "there. Give the group a stack of its own, or build one nearer to the limit",
            )
    for key in ("max_error", "max_spread", "max_drift"):
        written: Length | None = getattr(plan.check, key)
        fault = written and too_coarse(f"{key} of", written.mm, scope.tolerance_mm)
        if fault:
            raise PlanError(plan.source, f"check.{key}", fault)
    return scope


def build_scope(
    plan: Plan, only: Sequence[str], stack: str | None, saved: Mapping[str, str]
) -> Scope:
    """As `make_scope`, without judging: a record is replayed though a rule has changed since."""
    stacks = stacks_wanted(plan, only, stack)
    journals = {journal.name: journal for journal in reached(plan, only)}
    sizes: dict[str, Length] = {}
    for journal in journals.values():
        name = stacks[journal.name]
        if name not in sizes:
            key = f"{journal.group_key}.stack" if journal.group_stack else "check.stack"
            sizes[name] = _size(plan, key, name, saved)
    stops = [
        Stop(j.name, stacks[j.name], j.stations, j.angles_deg, j.repeats, j.is_after_strip)
        for j in journals.values()
    ]
    study = plan.study
    ordered = (
        route(stops)
        if study is None
        else study_route(stops, len(study.operators), study.trials, study.order_seed)
    )
    return Scope(plan, journals, stacks, sizes, ordered)


def _size(plan: Plan, key: str, name: str, saved: Mapping[str, str]) -> Length:
    text = saved.get(name, name)
    try:
        size = parse_length(text)
    except ValueError as error:
        raise PlanError(
            plan.source, key, f"{name!r} is neither a size nor a saved stack: {error}"
        ) from error
    if size.value <= 0:
        raise PlanError(plan.source, key, f"{size} is not above zero")
    return size


def planned(journal: JournalPlan) -> tuple[Position, ...]:
    """All positions of one journal in the order of measuring."""
    return positions(
        Stop(journal.name, "", journal.stations, journal.angles_deg, journal.repeats, False)
    )


def check_limits(scope: Scope, resolution_mm: Decimal) -> CheckLimits:
    """The limits of a check: as written, else derived from the tolerance and one step."""
    check = scope.plan.check
    derived = derived_limit(scope.tolerance_mm, resolution_mm)

    def limit(written: Length | None) -> Decimal:
        if written is not None:
            return written.mm
        assert derived is not None, "the plan is refused if a limit can be neither read nor derived"
        return derived

    return CheckLimits(limit(check.max_error), limit(check.max_spread), limit(check.max_drift))


def coarse_fault(scope: Scope, resolution_mm: Decimal) -> str | None:
    """Why a gauge of this resolution cannot judge this part; None if it can."""
    return too_coarse("its resolution of", resolution_mm, scope.tolerance_mm)
