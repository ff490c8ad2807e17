"""The checks of a session as records for the histories of the gauges that made them. Pure."""

import math
from decimal import Decimal

from daq.equipment.stacks.stack_file import Stack, assumed_stack
from daq.gauges.history import CheckRecord, history_name
from daq.gauges.spread import sd_text
from daq.lengths import EXACT, parse_length, plain
from daq.record.state import JudgedCheck, StackReading, State, step_mm
from daq.version import __version__
from drivers.reading import utc_day


def checks_of(state: State) -> list[tuple[str, int, CheckRecord]]:
    """The judged checks of a session in order of time: history, time and record. Pure."""
    taken: dict[int, StackReading] = {}
    for each in state.checks:
        if each.seq not in state.voided:
            taken.setdefault(each.check_no, each)
    found = []
    for judged in state.judged:
        first = taken.get(judged.event.check_no)
        if first is not None and judged.errors:
            name = _name_of(state, first, judged)
            found.append((name, judged.at_us, _record(state, first, judged)))
    return found


def _name_of(state: State, first: StackReading, judged: JudgedCheck) -> str:
    """By the device that the stint was measured with: after a swap the gauge file is another's."""
    setup = state.setups[first.run]
    source = state.stints[judged.event.stint - 1].source
    is_filed = setup.gauge_file is not None and source.gauge == setup.source.gauge
    return history_name(source.gauge if is_filed else None, source.device)


def _record(state: State, first: StackReading, judged: JudgedCheck) -> CheckRecord:
    event = judged.event
    stint = state.stints[event.stint - 1]
    setup, around = state.setups[first.run], state.environments[first.run]
    saved = around.stacks.get(stint.stack)
    own = saved.coefficient if saved is not None else None
    size = Decimal(event.stack_size_mm)
    u_mm, basis = stack_uncertainty(saved, stint.stack_size, judged.at_us)
    return CheckRecord(
        source=state.opened.session,
        check_no=event.check_no,
        stint=event.stint,
        phase=event.phase,
        gauge=stint.source.gauge,
        device=stint.source.device,
        stack=stint.stack,
        stack_size_mm=event.stack_size_mm,
        readings=tuple(plain(EXACT.add(error, size)) for error in judged.errors),
        resolution_mm=plain(step_mm(state, first)),
        mean_error_mm=event.mean_error_mm,
        spread_mm=event.spread_mm,
        sd_mm=sd_text(judged.errors),
        max_error_mm=event.max_error_mm,
        max_spread_mm=event.max_spread_mm,
        passed=event.passed,
        reason=event.reason,
        drift_mm=event.drift_mm,
        max_drift_mm=event.max_drift_mm if event.drift_mm else "",
        stack_u_mm=u_mm,
        stack_u_basis=basis,
        gauge_temp_c=setup.temperatures.gauge,
        stack_temp_c=setup.temperatures.stack,
        gauge_per_k=plain(around.plan.gauge.value),
        stack_per_k=plain((own or around.plan.stack).value),
        operator=state.opened.operator,
        program=__version__,
    )


def stack_uncertainty(saved: Stack | None, size: str, at_us: int) -> tuple[str, str]:
    """The standard uncertainty of a stack's size in mm, joints included, and what it rests on."""
    stack = saved or assumed_stack(parse_length(size))
    try:
        found = stack.standard_uncertainty_mm(utc_day(at_us))
        u_mm = math.hypot(found.u_mm, stack.wringing_u_mm)
    except ValueError:  # longer than any block: what is not known is left out
        return "", ""
    return f"{u_mm:.7f}", found.basis
