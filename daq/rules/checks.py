"""The check under way: its judgement once all is read, and whether the gauge will do."""

import msgspec

from daq.lengths import EXACT, mean_text, plain
from daq.metrology.gauge_check import judge
from daq.plan.scope import check_limits, coarse_fault
from daq.record.events import (
    CheckJudged,
)
from daq.record.rule_sets import check_rules
from daq.record.state import (
    CheckUnderWay,
    JudgedCheck,
    StackReading,
    State,
    Stint,
    sent_mm_or_zero,
    step_mm,
)


def coarse_gauge(state: State) -> str | None:
    """Why the gauge of this check is too coarse for the run's work; None if it will do."""
    assert state.stint is not None
    assert state.check is not None
    return coarse_fault(state.scope, step_mm(state, _first(state.stint, state.check)))


def judged_event(state: State, at_us: int) -> CheckJudged:
    """The judgement of the check under way, all its readings being there."""
    stint, run = state.stint, state.check
    assert stint is not None
    assert run is not None
    errors = [EXACT.subtract(sent_mm_or_zero(taken.sent), stint.size.mm) for taken in run.readings]
    before: JudgedCheck | None = stint.before
    rules = check_rules(state.run_rules)
    limits = check_limits(state.scope, step_mm(state, _first(stint, run)), rules)
    found = judge(
        errors,
        before.errors if before is not None else None,
        limits,
        None if stint.last_passed_us is None else at_us - stint.last_passed_us,
        state.plan.check.max_age_us,
        rules,
    )
    return CheckJudged(
        stint=stint.event.stint,
        check_no=run.check_no,
        phase=run.phase,
        stack_size_mm=plain(stint.size.mm),
        readings=len(errors),
        mean_error_mm=mean_text(found.mean_error),
        spread_mm=plain(found.spread),
        drift_mm="" if found.drift is None else mean_text(found.drift),
        max_error_mm=plain(limits.max_error),
        max_spread_mm=plain(limits.max_spread),
        max_drift_mm=plain(limits.max_drift),
        passed=found.passed,
        reason=found.reason,
    )


def _first(stint: Stint, run: CheckUnderWay) -> StackReading:
    """The reading that sets the resolution: this check's first, in the terms in which the stint's
    before-check began.
    """
    first = run.readings[0]
    if stint.unit is None or stint.resolution is None:
        return first
    replace = msgspec.structs.replace
    return replace(first, sent=replace(first.sent, unit=stint.unit, resolution=stint.resolution))
