"""What each diameter's uncertainty rests on, gathered from the state of a session. Pure.

Standard deviations are sample ones, pooled by degrees of freedom, floats in mm.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

import msgspec

from daq.evaluation.earlier.diameter import DiameterInputs
from daq.evaluation.stack_on_day import stack_of, stack_on_day
from daq.metrology.statistics.compare import f_test
from daq.metrology.statistics.samples import (
    Pooled,
    Squares,
    exact_mean,
    pooled_squares,
    squares,
    together,
)
from daq.record.environment import reference
from daq.record.standing import JournalReadings, PartReading
from daq.record.state import JudgedCheck, State, step_mm
from drivers.reading import utc_day

LARGER_ALPHA = 0.05
"""The scatter on the part counts alone if an F test at this level calls it larger than that on the
stack; else both are one scatter. Chosen by us, the usual level."""

LONG_US = 15 * 60_000_000
"""Readings of one journal further apart than this may lie a drift apart. Chosen by us."""


class PooledScatter(msgspec.Struct, frozen=True):
    """A pooled sample standard deviation in mm; `dof` 0: nothing was seen. `note` for people."""

    sd_mm: float
    dof: float
    note: str

    @property
    def squares(self) -> Squares:
        """The sum of squares that it comes from, in square mm."""
        return Squares(self.dof * self.sd_mm**2, self.dof)

    def is_larger_than(self, other: "PooledScatter") -> bool:
        """By an F test of the two variances."""
        one = Pooled(self.sd_mm, self.dof)
        return f_test(one, Pooled(other.sd_mm, other.dof), LARGER_ALPHA).is_larger


NOTHING = PooledScatter(0.0, 0.0, "")


class StintFacts(msgspec.Struct, frozen=True):
    """What the judged checks of one stint say; lengths in mm."""

    check: PooledScatter
    readings: int
    max_spread: Decimal
    max_drift: Decimal
    error: float
    bias: float
    seqs: tuple[int, ...]


NO_FACTS = StintFacts(NOTHING, 1, Decimal(0), Decimal(0), 0.0, 0.0, ())


class EarlierFacts:
    """What the checks and the repeats of a session say now, worked out once for all its journals.

    A journal judged by it need not be judged again as long as nothing of it has changed.
    """

    def __init__(self, state: State, repeats: Mapping[str, Squares]) -> None:
        self.of = (state.plan, state.judged, state.setups, state.stints)
        self.repeats = repeats
        self.facts = {
            number: _facts([j for j in state.judged if j.event.stint == number])
            for number in {judged.event.stint for judged in state.judged}
        }

    def is_of(self, state: State, repeats: Mapping[str, Squares]) -> bool:
        """Nothing that it rests on has changed."""
        now = (state.plan, state.judged, state.setups, state.stints)
        return all(old is new for old, new in zip(self.of, now, strict=True)) and (
            self.repeats == repeats
        )


def known(state: State, last: EarlierFacts | None = None) -> EarlierFacts:
    """What is known now: `last` again, if nothing that it rests on has changed since."""
    repeats = _repeats(state)
    return last if last is not None and last.is_of(state, repeats) else EarlierFacts(state, repeats)


def _facts(judged: Sequence[JudgedCheck]) -> StintFacts:
    passed = [one for one in judged if one.event.passed]
    errors = [Decimal(one.event.mean_error_mm) for one in passed]
    return StintFacts(
        check=_pooled(
            [squares(one.errors) for one in passed if len(one.errors) > 1],
            "the stint's passed checks",
        ),
        readings=min((one.event.readings for one in passed), default=1),
        max_spread=max(Decimal(one.event.max_spread_mm) for one in judged),
        max_drift=max(Decimal(one.event.max_drift_mm) for one in judged),
        error=float(max(map(abs, errors), default=Decimal(0))),
        bias=float(exact_mean(errors)) if errors else 0.0,
        seqs=tuple(one.seq for one in judged),
    )


def _repeats(state: State) -> dict[str, Squares]:
    """The scatter of repeats at a place by the gauge that took them."""
    found: dict[str, list[Squares]] = {}
    for readings in state.by_journal.values():
        for stint, repeats in readings.repeat_squares.items():
            device = state.stints[stint - 1].source.device
            found.setdefault(device, []).append(repeats)
    return {device: together(each) for device, each in found.items()}


def diameter_inputs(
    state: State, readings: JournalReadings, about: EarlierFacts | None = None
) -> tuple[DiameterInputs, ...]:
    """One for each stint and run that a journal's readings come from, in order; `about` is
    `known(state)`, if it is at hand.
    """
    about = about or known(state)
    return tuple(
        _of_stint(state, readings, last, about)
        for _, last in sorted(readings.last_of_parts.items())
    )


def is_shared(abouts: Sequence[DiameterInputs]) -> bool:
    """All of a journal's readings share one stint and its temperatures, so that these cancel."""
    first = abouts[0]
    return all(
        (about.stint, about.part_c, about.reference) == (first.stint, first.part_c, first.reference)
        for about in abouts
    )


def _of_stint(
    state: State, readings: JournalReadings, taken: PartReading, about: EarlierFacts
) -> DiameterInputs:
    around = state.environments[taken.run]
    stint = state.stints[taken.stint - 1]
    stack = stack_of(around, stint)
    found = stack_on_day(stack, utc_day(taken.at_us))
    facts = about.facts.get(taken.stint, NO_FACTS)
    reading = _reading_scatter(state, taken, facts.check, about)
    method = state.plan.temperature
    first_seq, last_seq = readings.seqs
    return DiameterInputs(
        size_mm=readings.journal.limits.low.mm,
        stint=taken.stint,
        repeats=readings.fewest_repeats,
        is_apart=readings.span_us > LONG_US
        or any(first_seq < seq < last_seq for seq in facts.seqs),
        stack_mm=stack.size.mm,
        stack_u_mm=found.u_mm,
        stack_note=found.words,
        joints=found.joints,
        wringing_u_mm=found.wringing_u_mm,
        check_sd_mm=facts.check.sd_mm,
        check_dof=facts.check.dof,
        check_readings=facts.readings,
        max_spread_mm=facts.max_spread,
        reading_sd_mm=reading.sd_mm,
        reading_dof=reading.dof,
        reading_note=reading.note,
        is_reading_as_check=reading.note.startswith(AS_ON_THE_STACK),
        step_mm=step_mm(state, taken),
        max_drift_mm=facts.max_drift,
        bias_mm=facts.bias,
        error_mm=facts.error,
        part_c=around.part_c,
        part=around.plan.part,
        reference=reference(around, stint.stack),
        thermometer_limit_k=method.thermometer_limit_k,
        room_limit_k=method.room_limit_k,
        difference_limit_k=method.difference_limit_k,
        coverage=state.plan.decision.coverage,
    )


AS_ON_THE_STACK = "as on the stack"


def _reading_scatter(
    state: State, taken: PartReading, check: PooledScatter, about: EarlierFacts
) -> PooledScatter:
    """That of one reading on the part, by the gauge that took it.

    Repeats at a place and the gauge's kept study are pooled by degrees of freedom, and with the
    scatter on the stack where an F test does not tell the two apart, so that a few readings never
    outweigh many. A part that scatters more counts alone; one that scatters less does not count: no
    part repeats better than a stack, and a few equal readings prove nothing.
    """
    setup, device = state.setups[taken.run], state.stints[taken.stint - 1].source.device
    repeats = about.repeats.get(device, NOTHING.squares)
    part = _pooled([repeats], "repeats")
    study = setup.study if setup.source.device == device else None  # not that of a swapped gauge
    if study is not None:
        dof = float(study.dof)
        words = f"gauge study {study.source}"
        studied = PooledScatter(float(study.sd_mm), dof, words).squares
        part = _pooled([repeats, studied], f"repeats and {words}" if repeats.dof else words)
    if not part.dof:
        return msgspec.structs.replace(check, note=f"{AS_ON_THE_STACK}; {check.note}")
    if not check.dof or part.is_larger_than(check):
        return part
    if check.is_larger_than(part):
        return msgspec.structs.replace(
            check, note=f"{AS_ON_THE_STACK}, which scattered more; {check.note}"
        )
    return _pooled(
        [part.squares, check.squares],
        f"{part.note.partition(' from ')[2].partition(',')[0]} and the checks",
    )


def _pooled(found: Sequence[Squares], of: str) -> PooledScatter:
    """Pooled by degrees of freedom, with words of where it comes from."""
    if not any(one.dof for one in found):
        return NOTHING
    pooled = pooled_squares(found)
    return PooledScatter(
        pooled.sd,
        pooled.dof,
        f"s = {pooled.sd * 1000:.2f} um from {of}, {pooled.dof:g} degrees of freedom",
    )
