"""One run's work: the plan, narrowed to what this gauge reaches, with a stack for each journal."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cached_property

import msgspec

from daq.errors import PlanError
from daq.lengths import EXACT, Length, Position, parse_length
from daq.metrology.gauge_check import CheckLimits, CheckRules, derived_limit, too_coarse
from daq.plan.fields import quoted
from daq.plan.key_words import names_in, place_words, several
from daq.plan.plan import JournalPlan, Plan
from daq.plan.route import Stop, positions, route, study_route
from drivers.printable import shown


class Scope(msgspec.Struct, frozen=True, dict=True):
    """What one run measures. `route` holds the positions in order; `stacks` the stack of each
    journal on it (as named in plan or option) and `sizes` the size of each stack.
    """

    plan: Plan
    journals: dict[str, JournalPlan]
    stacks: dict[str, str]
    sizes: dict[str, Length]
    route: tuple[Position, ...]

    @cached_property
    def index(self) -> dict[Position, int]:
        """Where on the route each position stands."""
        return {position: at for at, position in enumerate(self.route)}

    @property
    def tolerance_mm(self) -> Decimal | None:
        """The smallest high - low in the run; None if no journal has a high limit."""
        found = [journal.limits.tolerance_mm for journal in self.journals.values()]
        return min((tolerance for tolerance in found if tolerance is not None), default=None)


def reached(plan: Plan, only: Sequence[str]) -> tuple[JournalPlan, ...]:
    """The journals whose name or group stands in `only`; all of them if it is empty."""
    if not only:
        return plan.journals
    return tuple(j for j in plan.journals if j.name in only or (j.group and j.group in only))


def stacks_wanted(plan: Plan, only: Sequence[str], stack: str | None) -> dict[str, str]:
    """The stack of each journal in reach: its group's, else `stack`, else the plan's.

    Raises PlanError where there is none, and for a word of `only` that is no journal and no group.
    """
    _check_only(plan, only)
    return _read_stacks(plan, only, stack)


def make_scope(
    plan: Plan, only: Sequence[str], stack: str | None, saved: Mapping[str, str]
) -> Scope:
    """The work of a new run, checked; `saved` has the size, as text, of every stack that is called
    by name.

    Raises PlanError: an unknown name, a stack too far from a journal, limits too wide to prove, a
    recorded plan with keys that this program does not know.
    """
    _check_unknown(plan)
    _check_sizes(plan, only, stacks_wanted(plan, only, stack), saved)
    scope = read_scope(plan, only, stack, saved)
    _check_near(scope)
    _check_fine(scope)
    return scope


def read_scope(
    plan: Plan, only: Sequence[str], stack: str | None, saved: Mapping[str, str]
) -> Scope:
    """The work of a run that is recorded: as `make_scope`, without judging it.

    Raises PlanError where it has not the shape of one: no stack, or one without a size.
    """
    stacks = _read_stacks(plan, only, stack)
    journals = {journal.name: journal for journal in reached(plan, only)}
    sizes = {
        name: _read_size(plan, key, name, saved)
        for name, key in _where_named(journals.values(), stacks)
    }
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


def _read_stacks(plan: Plan, only: Sequence[str], stack: str | None) -> dict[str, str]:
    wanted = {}
    for journal in reached(plan, only):
        name = journal.group_stack or stack or plan.check.stack
        if name is None:
            raise _refused(
                plan,
                "check.stack",
                f"no stack to prove the gauge for {journal.name}: write stack = "
                f'"{journal.limits.low}" or near it, or give --stack',
            )
        wanted[journal.name] = name
    return wanted


def _where_named(
    journals: Iterable[JournalPlan], stacks: Mapping[str, str]
) -> list[tuple[str, str]]:
    """Each stack once, with the key of the plan that first names it."""
    found: dict[str, str] = {}
    for journal in journals:
        key = f"{journal.group_key}.stack" if journal.group_stack else "check.stack"
        found.setdefault(stacks[journal.name], key)
    return list(found.items())


def _read_size(plan: Plan, key: str, name: str, saved: Mapping[str, str]) -> Length:
    text = saved.get(name, name)
    try:
        return parse_length(text)
    except ValueError as error:
        raise _refused(
            plan,
            key,
            f"{quoted(name)} is neither a size nor a saved stack. Write its size, like "
            '"59.97 mm", or save it by that name',
        ) from error


def _refused(plan: Plan, key: str, reason: str) -> PlanError:
    return PlanError(plan.source, key, reason, place_words(key, reason, names_in(plan.text)))


# What the work of a run is refused for ------------------------------------------------------------


def _check_unknown(plan: Plan) -> None:
    """Refuse a recorded plan with keys that this program would have to leave out."""
    if plan.unknown:
        raise _refused(
            plan,
            plan.unknown[0],
            "this program does not know this key, so it cannot measure as the plan says. Use the "
            "program that the session was begun with",
        )


def _check_only(plan: Plan, only: Sequence[str]) -> None:
    """Refuse a word that is no journal and no group."""
    for word in only:
        if not word or not any(word in (j.name, j.group) for j in plan.journals):
            known = several([journal.name for journal in plan.journals])
            raise _refused(
                plan,
                "journal",
                f"--only {shown(word)}: no such journal or group (there are {known})",
            )


def _check_sizes(
    plan: Plan, only: Sequence[str], stacks: Mapping[str, str], saved: Mapping[str, str]
) -> None:
    for name, key in _where_named(reached(plan, only), stacks):
        size = _read_size(plan, key, name, saved)
        if size.value <= 0:
            raise _refused(plan, key, f"{size} is not above zero: write the stack's size")


def _check_near(scope: Scope) -> None:
    """Refuse a stack that lies so far from a journal that it proves nothing there."""
    plan = scope.plan
    for journal in scope.journals.values():
        size = scope.sizes[scope.stacks[journal.name]]
        far = EXACT.subtract(size.mm, journal.limits.low.mm).copy_abs()
        if far > plan.check.near.mm:
            raise _refused(
                plan,
                f"{journal.key}.low",
                f"the stack {size} lies {far:f} mm from the low limit {journal.limits.low} of "
                f"{journal.name}, more than check.near = {plan.check.near}: it proves nothing "
                "there. Give the group a stack of its own, or build one nearer to the limit",
            )


def _check_fine(scope: Scope) -> None:
    """Refuse limits of the check that are too wide for the tolerances."""
    plan = scope.plan
    for key in ("max_error", "max_spread", "max_drift"):
        written: Length | None = getattr(plan.check, key)
        fault = written and too_coarse(f"{key} of", written.mm, scope.tolerance_mm)
        if fault:
            raise _refused(plan, f"check.{key}", fault)


# What follows from it -----------------------------------------------------------------------------


def planned(journal: JournalPlan) -> tuple[Position, ...]:
    """All positions of one journal in the order of measuring."""
    return positions(
        Stop(journal.name, "", journal.stations, journal.angles_deg, journal.repeats, False)
    )


def check_limits(scope: Scope, step_mm: Decimal, rules: CheckRules) -> CheckLimits:
    """The limits of a check: as written, else derived from the tolerance and the gauge's step."""
    check = scope.plan.check

    def limit(written: Length | None, steps: int) -> Decimal:
        if written is not None:
            return written.mm
        derived = derived_limit(scope.tolerance_mm, step_mm, steps)
        assert derived is not None, "the plan is refused if a limit can be neither read nor derived"
        return derived

    return CheckLimits(
        limit(check.max_error, rules.mean_steps),
        limit(check.max_spread, rules.spread_steps),
        limit(check.max_drift, rules.mean_steps),
    )


def coarse_fault(scope: Scope, step_mm: Decimal) -> str | None:
    """Why a gauge of this step cannot judge this part; None if it can. Derived limits of the check
    do not count: they follow from the step.
    """
    return too_coarse("its resolution of", step_mm, scope.tolerance_mm)
