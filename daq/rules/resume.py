"""What carrying on a session leads to: always a check first. Pure."""

from decimal import Decimal

from daq.evaluation.verdict import stint_age_fault
from daq.record.advance import Advance
from daq.record.events import RULES, Dropped, LinkBack, Noted, Resumed, Setup
from daq.record.state import State, Status, Stint, status
from daq.rules.decide import settle
from daq.rules.stints import WITHOUT_POWER, begin_stint
from daq.version import __version__


def resume(
    state: State,
    setup: Setup,
    at_us: int,
    *,
    same_gauge: str | None = None,
    torn_bytes: int = 0,
    torn_file: str = "",
) -> Advance:
    """What a resume leads to: `before` if none passed yet or the stint is over, else `during`;
    `after` if no position is left.

    `same_gauge`: the operator's reason why another port is still the same gauge; with it the stint
    goes on after an unplugged cable too, and the check in between shows a zero that was lost.
    """
    now = Advance(state, at_us).by(
        Resumed(
            program=__version__,
            rules=RULES,
            setup=setup,
            same_gauge=same_gauge,
            torn_bytes=torn_bytes,
            torn_file=torn_file,
        )
    )
    if state.held is not None:
        # Nobody can say now what was between the anvils then; its place is asked for again.
        now = now.by(Dropped(held=state.held.seq, why="the run ended before it was answered"))
    if state.link_lost:
        now = now.by(LinkBack(source=setup.source))
    stint = now.state.stint
    if stint is not None and not stint.is_over:
        now = _go_on(now, state, stint, same_gauge)
    return settle(now)


def _go_on(now: Advance, before: State, stint: Stint, same_gauge: str | None) -> Advance:
    """The running stint of the state `before` goes on with a check, or a new one begins."""
    setup = now.state.setup
    fault = stint_age_fault(now.state, now.at_us, is_new_run=True)
    if not (same_gauge or _is_same(before, stint, setup)):
        was = stint.event.source.device
        why = f"another gauge: {setup.source.device}, before it was {was}"
        return begin_stint(now, "swapped", why)
    if stint.size not in now.state.scope.sizes.values():
        sizes = ", ".join(str(size) for size in now.state.scope.sizes.values())
        return begin_stint(now, "stack", f"another stack: {sizes}, before it was {stint.size}")
    if _other_temperature(before, stint, setup):
        return begin_stint(now, "temperature", _other_temperature(before, stint, setup))
    if _other_stack_file(before, stint, setup):
        why = f"the file of the stack {stint.event.stack} was changed since the check before"
        return begin_stint(now, "stack", why)
    if fault:
        return begin_stint(now, "age", fault)
    if lost_power(before, stint) and not same_gauge:
        return begin_stint(now, "power-loss", WITHOUT_POWER)
    if status(now.state) is Status.MEASURING:
        return now.by(Noted(about="check", text="a resume begins with a check"))
    return now


def _other_temperature(state: State, stint: Stint, setup: Setup) -> str:
    """Why the gauge's error now cannot be compared with that of the stint's first check; empty if
    it can.

    A drift is only one if both checks were made at the same temperatures.
    """
    for name in ("stack", "gauge"):
        is_now = getattr(setup.temperatures, name)
        stated = (getattr(run.temperatures, name) for run in _runs(state, stint))
        was = next((degrees for degrees in stated if degrees), "")
        if was and is_now and Decimal(was) != Decimal(is_now):
            return f"the {name} has {is_now} °C now, at the check before it had {was} °C"
    return ""


def _other_stack_file(state: State, stint: Stint, setup: Setup) -> bool:
    """The stack's own file was changed since a run of this stint."""
    name = stint.event.stack
    known = [run.stack_files[name] for run in _runs(state, stint) if name in run.stack_files]
    return bool(known) and setup.stack_files.get(name) != known[0]


def _runs(state: State, stint: Stint) -> list[Setup]:
    """The setups of the runs that a stint has been measured in, in order."""
    number = stint.event.stint
    of_checks = {check.run for check in state.checks if check.stint == number}
    runs = of_checks | {taken.run for taken in state.readings if taken.stint == number}
    return [state.setups[run] for run in sorted(runs)]


def lost_power(state: State, stint: Stint) -> bool:
    """The last run ended by an unplugged gauge, which may have lost the zero that was proven."""
    return state.link_lost and bool(stint.before) and state.plan.check.power_loss_may_lose_zero


def _is_same(state: State, stint: Stint, setup: Setup) -> bool:
    """The gauge that began the stint, or the one that the last run took for it."""
    known = [(source.device, source.gauge) for source in (stint.event.source, state.setup.source)]
    return (setup.source.device, setup.source.gauge) in known
