"""What a check outside a session found: its judgement, its record, and both for people. Pure."""

import json
from decimal import Decimal

import msgspec

from daq.gauges.check_rules import CheckWanted
from daq.gauges.control import Control
from daq.gauges.history import PROVE, CheckRecord
from daq.gauges.series import error_at_20c
from daq.gauges.session_checks import stack_uncertainty
from daq.gauges.spread import sd_text
from daq.gauges.words import bias_words
from daq.lengths import EXACT, mean_text, plain, shortest, to_mm
from daq.metrology.expansion import MATERIALS, Coefficient
from daq.metrology.gauge_check import CHECKS, CheckLimits, Judgement, judge, signed_text
from daq.metrology.statistics.samples import exact_mean
from daq.record.events import Temperatures
from daq.version import __version__
from drivers.reading import Reading, utc_day, utc_text

_STEEL = MATERIALS["steel"]
_FINEST_MM = Decimal("0.0000001")


class CheckResult(msgspec.Struct, frozen=True):
    """A judged check with the time of its last reading (microseconds UTC) and its record."""

    at_us: int
    check: CheckRecord
    judgement: Judgement
    remarks: tuple[str, ...]


def prove(
    readings: tuple[Reading, ...],
    wanted: CheckWanted,
    temperatures: Temperatures,
    gauge: str,
    device: str,
    operator: str,
) -> CheckResult:
    """Judge as a before-check of a session is judged, but at 20 degrees Celsius where the
    temperatures of both gauge and stack are given: no part stands between the two here.

    `readings`: at least one, all of one unit.
    """
    size = wanted.stack.size.mm
    values = [to_mm(reading.value, reading.unit) for reading in readings]
    stack = wanted.stack.coefficient or _STEEL
    errors = [
        EXACT.subtract(EXACT.subtract(value, size), _grown(wanted, temperatures, stack))
        for value in values
    ]
    step = _step_mm(readings[0], wanted)
    limits = CheckLimits(wanted.max_error.mm, _max_spread_mm(wanted, step), Decimal(0))
    found = judge(errors, None, limits)
    at_us = readings[-1].at.utc_us
    u_mm, basis = stack_uncertainty(wanted.stack, str(wanted.stack.size), at_us)
    check = CheckRecord(
        source=PROVE,
        check_no=1,
        stint=0,
        phase=PROVE,
        gauge=gauge,
        device=device,
        stack=wanted.stack_word,
        stack_size_mm=plain(size),
        readings=tuple(plain(value) for value in values),
        resolution_mm=plain(step),
        mean_error_mm=mean_text(found.mean_error),
        spread_mm=plain(found.spread),
        sd_mm=sd_text(errors),
        max_error_mm=plain(limits.max_error),
        max_spread_mm=plain(limits.max_spread),
        passed=found.passed,
        reason=found.reason,
        stack_u_mm=u_mm,
        stack_u_basis=basis,
        gauge_temp_c=temperatures.gauge,
        stack_temp_c=temperatures.stack,
        gauge_per_k=plain(_STEEL.value),
        stack_per_k=plain(stack.value),
        operator=operator,
        program=__version__,
    )
    return CheckResult(at_us, check, found, tuple(_remarks(check, wanted, step, at_us)))


def _grown(wanted: CheckWanted, temperatures: Temperatures, stack: Coefficient) -> Decimal:
    """By how much the stack is longer than the gauge shows for their temperatures, in mm, rounded
    to 0.1 nm; nothing unless both are given. Source: ISO 1, as `error_at_20c`.
    """
    if not (temperatures.gauge and temperatures.stack):
        return Decimal(0)
    size = wanted.stack.size.mm
    warm = EXACT.multiply(stack.value, Decimal(temperatures.stack) - 20)
    cool = EXACT.multiply(_STEEL.value, Decimal(temperatures.gauge) - 20)
    return EXACT.multiply(size, EXACT.subtract(warm, cool)).quantize(_FINEST_MM)


def _step_mm(first: Reading, wanted: CheckWanted) -> Decimal:
    """The gauge's step as told, else by its file, else one unit of the last digit."""
    if wanted.step is not None:
        return wanted.step.mm
    gauge = wanted.gauge
    if gauge is not None and gauge.resolution is not None:
        return gauge.resolution.mm
    return to_mm(first.resolution, first.unit)


def _max_spread_mm(wanted: CheckWanted, step: Decimal) -> Decimal:
    """The permitted spread as written, else as large as the permitted error, but at least as many
    steps as in a session.
    """
    if wanted.max_spread is not None:
        return wanted.max_spread.mm
    return max(wanted.max_error.mm, EXACT.multiply(step, Decimal(CHECKS.spread_steps)))


def _remarks(check: CheckRecord, wanted: CheckWanted, step: Decimal, at_us: int) -> list[str]:
    said = []
    for name, limit in (("error", wanted.max_error), ("spread", wanted.max_spread)):
        if limit is not None and limit.mm < step:
            said.append(
                f"the permitted {name} of {limit} is under the gauge's step of {plain(step)} mm: "
                "no reading can show it"
            )
    if wanted.stack.is_out_of_date(utc_day(at_us)):
        said.append(
            f"the certificate of the stack was due on {wanted.stack.certificate_due}: its size is "
            "known by its grade only"
        )
    at_20c = error_at_20c(check)
    as_read = exact_mean(check.errors)
    if at_20c != as_read:
        said.append(
            f"judged at 20 °C (ISO 1), mean error {signed_text(at_20c)} mm: gauge at "
            f"{check.gauge_temp_c} °C, stack at {check.stack_temp_c} °C; as read it would be "
            f"{signed_text(as_read)} mm"
        )
    elif bool(check.gauge_temp_c) != bool(check.stack_temp_c):
        said.append("only one temperature is given, so nothing is corrected")
    return said


def result_lines(proof: CheckResult, wanted: CheckWanted, control: Control | None) -> list[str]:
    """The result for people."""
    check, found = proof.check, proof.judgement
    spread = shortest(found.spread)
    word = "PASSED" if check.passed else "FAILED"
    lines = [
        f"{check.gauge} on the stack of {wanted.stack.size}: {word}",
        f"  mean error {signed_text(found.mean_error)} mm, permitted {plain(wanted.max_error.mm)} "
        f"mm ({len(check.readings)} readings, error = reading - stack)",
        f"  spread {spread} mm, permitted {check.max_spread_mm} mm",
    ]
    if check.stack_u_mm:
        lines.append(
            f"  stack known to u = {check.stack_u_mm} mm, wringing included ({check.stack_u_basis})"
        )
    lines += [f"  {remark}" for remark in proof.remarks]
    if control is not None:
        lines.append(f"  history: {control.state}; {bias_words(control.marks[-1])}")
    return lines


def result_json(proof: CheckResult, control: Control | None, kept: str, trouble: str) -> str:
    """The result as one JSON document."""
    document = msgspec.to_builtins(proof.check)
    document.update(
        at=utc_text(proof.at_us),
        remarks=proof.remarks,
        control=None if control is None else control.state,
        history=kept or None,
        trouble=trouble or None,
    )
    return json.dumps(document, ensure_ascii=False)
