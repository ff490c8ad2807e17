"""`prove` put together: what is wanted, the readings, the result, the history."""

import sys
from contextlib import ExitStack
from pathlib import Path

import click

from daq.acquisition.inputs import InputSource, TakingMode
from daq.acquisition.proving import Proving, Stopped
from daq.acquisition.typed_port import TypedPort, shared
from daq.cli.displays import safe
from daq.cli.line_editor import lines_if_any
from daq.cli.options import Context
from daq.equipment.gauge import Gauge
from daq.equipment.stacks.stack_file import Stack, assumed_stack
from daq.errors import SettingsError
from daq.gauges.check_result import CheckResult, prove, result_json, result_lines
from daq.gauges.check_rules import Wanted
from daq.gauges.control import Control, control_of
from daq.gauges.history import ADJUSTED, History, history_name
from daq.gauges.series import series_of
from daq.lengths import Length, parse_length
from daq.record.events import Temperatures
from daq.services.choose import Chosen
from daq.services.home import load_stack
from daq.services.taking import trigger_words
from daq.storage.history_file import (
    HistoryError,
    HistoryNotWritten,
    append_check,
    history_path,
    read,
)
from drivers.clock import Clock
from drivers.ports.base import Port


def wanted_of(
    gauge: Gauge | None,
    stack: str | None,
    readings: int,
    max_error: str | None,
    max_spread: str | None,
    home: Path,
) -> Wanted:
    """What options and gauge file ask for; raises UsageError, BadParameter, SettingsError."""
    if stack is None:
        raise click.UsageError('--stack is missing: say the size of the stack, like "60 mm".')
    error = _length(max_error, "--max-error") or (gauge.permitted_error if gauge else None)
    if error is None:
        raise click.UsageError(
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
    spread = _length(max_spread, "--max-spread") or error
    return Wanted(found, stack, readings, error, spread, gauge)


def _length(text: str | None, option: str) -> Length | None:
    if text is None:
        return None
    try:
        length = parse_length(text)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint=option) from error
    if length.value <= 0:
        raise click.BadParameter(f"{length} is not above zero", param_hint=option)
    return length


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


def run(
    context: Context,
    chosen: Chosen,
    port: Port,
    wanted: Wanted,
    taking: TakingMode,
    temperatures: Temperatures,
    operator: str,
    home: Path,
) -> int:
    """Take the readings, tell the result, keep it; gives the exit code."""
    device = port.identity.text
    named = chosen.gauge.name if chosen.gauge is not None else None
    for text in trigger_words(taking):
        _say(f"Note: {text}.")
    _say(
        f"> {named or device}: put the stack of {wanted.stack.size} in and press send, "
        f"{wanted.readings} readings"
    )
    with ExitStack() as at_the_end:
        lines = lines_if_any()
        keyboard: InputSource | None = lines
        if lines is not None:
            at_the_end.callback(lines.stop)
            if isinstance(port, TypedPort):
                keyboard = shared(lines, port)
        if taking.send_key is not None:
            at_the_end.callback(taking.send_key.stop)
        proving = Proving(wanted, port, chosen.profile, Clock(), keyboard, taking, _say)
        try:
            readings = proving.run()
        except Stopped as stopped:
            _say(f"jbridge: The gauge is not proven: {stopped}. Nothing was kept.")
            return 1
    proof = prove(readings, wanted, temperatures, named or device, device, operator)
    return _tell(context, proof, wanted, history_name(named, device), home)


def _tell(context: Context, proof: CheckResult, wanted: Wanted, name: str, home: Path) -> int:
    """Keep the result and tell it: also where it could not be kept."""
    trouble, control, code = "", None, 0 if proof.check.passed else 1
    try:
        append_check(name, home, proof.at_us, proof.check)
        control = _control(read(name, home), proof)
    except HistoryError as error:
        trouble = str(error)
        if isinstance(error, HistoryNotWritten):
            code = 4
    path = str(history_path(name, home)) if name and not trouble else ""
    if context.as_json:
        print(result_json(proof, control, path, trouble), flush=True)
    else:
        print("\n".join(result_lines(proof, wanted, control)))
        if path:
            print(f"Kept in {path}")
        elif not trouble:
            print(
                "Not kept: nobody can know the gauge on this port again. Write a gauge file and "
                "give --gauge"
            )
    if trouble:
        _say(f"jbridge: {trouble}. The result above is NOT in the gauge's history.")
    return code


def _control(history: History, proof: CheckResult) -> Control | None:
    age = sum(1 for _, note in history.notes if note.about == ADJUSTED)
    for series in series_of(history):
        if series.last.check == proof.check:
            return control_of(series, age)
    return None


def _say(text: str) -> None:
    print(safe(text), file=sys.stderr, flush=True)
