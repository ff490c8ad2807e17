"""A check of a gauge outside any session: what is wanted, the gauge opened, the result kept."""

from contextlib import ExitStack
from pathlib import Path

import msgspec

from daq.acquisition.inputs import TakingMode
from daq.equipment.gauge import Gauge
from daq.equipment.stacks.stack_file import Stack, assumed_stack
from daq.errors import HistoryError, SettingsError, UsageError
from daq.gauges.check_result import CheckResult
from daq.gauges.check_rules import CheckWanted
from daq.gauges.control import Control, control_of
from daq.gauges.history import History
from daq.gauges.series import series_of
from daq.lengths import Length, parse_length
from daq.plan.method import IntervalPlan
from daq.record.events import Temperatures
from daq.services.choose import Chosen, check_step, choose
from daq.services.home import load_stack
from daq.services.opening import Around, opened_port, temperatures_of
from daq.services.option_values import length_of, stack_of, text_of
from daq.services.run_wanted import RunWanted
from daq.services.taking import taking_of
from daq.storage.history_file import append_check, history_path, read
from drivers.clock import Clock
from drivers.ports.base import Port


class ProveWanted(msgspec.Struct, frozen=True, kw_only=True):
    """What a check is asked for besides its run, in the words of the options."""

    readings: int = 5
    max_error: str | None = None
    max_spread: str | None = None
    operator: str = ""
    step: str | None = None
    least_interval_s: float | None = None


class OpenCheck(msgspec.Struct, frozen=True):
    """A check that can begin: what is wanted of it, and its gauge on its open port, which whoever
    holds it closes.
    """

    wanted: CheckWanted
    port: Port
    chosen: Chosen
    mode: TakingMode
    clock: Clock
    temperatures: Temperatures
    operator: str

    @property
    def named(self) -> str | None:
        """The gauge's name, if a gauge file gives it one."""
        return self.chosen.gauge.name if self.chosen.gauge is not None else None

    @property
    def device(self) -> str:
        """What is on the port."""
        return self.port.identity.text


def open_check(run: RunWanted, asked: ProveWanted, around: Around) -> OpenCheck:
    """The gauge opened; raises UsageError, SettingsError, ProfileError, PortError, and then
    nothing is left open.
    """
    operator = text_of(asked.operator, "--operator")
    temperatures = temperatures_of(None, run.gauge_temp, run.stack_temp)
    chosen = choose(run.port, run.profile, run.gauge, around.home)
    wanted = check_wanted(chosen.gauge, stack_of(run.stack), asked, around.home)
    wanted = msgspec.structs.replace(wanted, is_by_hand=chosen.is_by_hand)
    check_step(chosen, wanted.step)
    mode = taking_of(run.trigger, chosen, around.attendance)
    with ExitStack() as failed:
        port = opened_port(chosen, mode, failed)
        failed.pop_all()
    return OpenCheck(wanted, port, chosen, mode, Clock(), temperatures, operator)


def check_wanted(
    gauge: Gauge | None, stack: str | None, asked: ProveWanted, home: Path
) -> CheckWanted:
    """What options and gauge file ask for; raises UsageError, SettingsError."""
    if stack is None:
        raise UsageError('--stack is missing: say the size of the stack, like "60 mm".')
    error = length_of(asked.max_error, "--max-error") or (gauge.permitted_error if gauge else None)
    if error is None:
        raise UsageError(
            '--max-error is missing: say how far the gauge may be off, like "0.004 mm", or write '
            "permitted_error into the gauge file."
        )
    found = _stack(stack, home)
    reach = gauge.range if gauge is not None else None
    if reach is not None and not reach[0].mm <= found.size.mm <= reach[1].mm:
        raise SettingsError(
            f"The stack of {found.size} lies outside the range of the gauge, {reach[0]} to "
            f"{reach[1]}. Take another stack."
        )
    spread = length_of(asked.max_spread, "--max-spread")
    step = length_of(asked.step, "--step")
    intervals = _intervals(asked.least_interval_s)
    return CheckWanted(found, stack, asked.readings, error, spread, gauge, step, intervals)


def _intervals(seconds: float | None) -> IntervalPlan:
    """The least interval asked for, everywhere; else those that a plan has where it says none."""
    if seconds is None:
        return IntervalPlan()
    us = round(seconds * 1_000_000)
    return IntervalPlan(in_check_us=us, else_us=us)


def _stack(word: str, home: Path) -> Stack:
    saved = load_stack(word, home)
    if saved is not None:
        return saved[0]
    return assumed_stack(_size(word, home))


def _size(word: str, home: Path) -> Length:
    try:
        length = parse_length(word)
    except ValueError as error:
        raise SettingsError(
            f"There is no stack {word[:60]!r} in {home / 'stacks'}, and it is no size with its "
            'unit, like "60 mm".'
        ) from error
    if length.value <= 0:
        raise SettingsError(f"The stack {length} is not above zero.")
    return length


class KeptCheck(msgspec.Struct, frozen=True):
    """What became of a result: `path` of the history that holds it, or the trouble that kept it
    from that; neither for a port that nobody can know again. `control` by the history with it.
    """

    path: str = ""
    trouble: HistoryError | None = None
    control: Control | None = None


def keep_check(result: CheckResult, name: str, home: Path) -> KeptCheck:
    """Store a result in the history called `name`, "" for none; never raises for trouble there."""
    try:
        append_check(name, home, result.at_us, result.check)
        control = _control(read(name, home), result)
    except HistoryError as error:
        return KeptCheck(trouble=error)
    return KeptCheck(str(history_path(name, home)) if name else "", None, control)


def _control(history: History, result: CheckResult) -> Control | None:
    for series in series_of(history):
        if series.last.check == result.check:
            return control_of(series, history.age)
    return None
