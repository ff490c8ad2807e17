"""What each reading's estimate and its uncertainty rest on, gathered from the state of a session.
Pure.
"""

from bisect import bisect_right
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.evaluation.conditions import (
    USUAL_PITCH_MM,
    Checks,
    Conditions,
    HistoryDrift,
)
from daq.evaluation.places import Place, places
from daq.evaluation.stack_on_day import stack_of, stack_on_day
from daq.metrology.statistics.compare import f_test
from daq.metrology.statistics.samples import (
    NO_SQUARES,
    ExactSquares,
    exact_mean,
    exact_sd,
    exact_squares,
)
from daq.metrology.uncertainty.mean import Scatter
from daq.plan.plan import JournalPlan
from daq.record.environment import ratio_at_20c, reference
from daq.record.standing import JournalReadings, PartReading
from daq.record.state import JudgedCheck, State, step_mm
from drivers.reading import utc_day

LARGER_ALPHA = 0.05
"""The scatter on the part counts alone if an F test at this level calls it larger than that on the
stack; else both are one scatter. Chosen by us, the usual level."""


class Scatters(msgspec.Struct, frozen=True):
    """The scatter of one reading on the part and of one on the stack; `is_one`: the same estimate
    serves for both. It does not where the part scatters more than the stack does.
    """

    on_part: Scatter
    on_stack: Scatter
    is_one: bool


class SessionFacts:
    """What the checks and the repeats of a session say now, worked out once for all its journals.

    A journal judged by it need not be judged again as long as nothing of it has changed.
    """

    def __init__(self, state: State, repeats: Mapping[str, ExactSquares]) -> None:
        self._of = _rests_on(state)
        self._repeats = repeats
        self._checks: dict[tuple[int, int], Checks] = {}
        self._stint_means: dict[int, tuple[Fraction, ...]] = {}
        self._conditions: dict[tuple[int, int, int, date], Conditions] = {}
        self._by_stint: dict[int, list[JudgedCheck]] = {}
        for judged in state.judged:
            if judged.errors:  # a forged record judges a check without readings, which says nothing
                self._by_stint.setdefault(judged.event.stint, []).append(judged)
        self._lines = {
            stint: [judged.seq for judged in found] for stint, found in self._by_stint.items()
        }

    def is_of(self, state: State, repeats: Mapping[str, ExactSquares]) -> bool:
        """Nothing that it rests on has changed."""
        return self._repeats == repeats and all(
            old is new for old, new in zip(self._of, _rests_on(state), strict=True)
        )

    def bracket(self, taken: PartReading) -> int:
        """How many checks of its stint were judged before a reading: those that share the number
        lie between the same ones.
        """
        return bisect_right(self._lines.get(taken.stint, ()), taken.seq)

    def around(self, taken: PartReading) -> tuple[JudgedCheck | None, JudgedCheck | None]:
        """The last passed check before a reading, and the check after it if that passed."""
        found = self._by_stint.get(taken.stint, [])
        index = self.bracket(taken)
        earlier = (found[at] for at in range(index - 1, -1, -1))
        before = next((one for one in earlier if one.event.passed), None)
        after = found[index] if index < len(found) and found[index].event.passed else None
        return before, after

    def checks_around(self, taken: PartReading) -> Checks:
        """The checks around a reading; the same record for readings between the same ones."""
        key = taken.stint, self.bracket(taken)
        checks = self._checks.get(key)
        if checks is None:
            checks = self._checks[key] = self._checks_of(taken)
        return checks

    def _checks_of(self, taken: PartReading) -> Checks:
        bracket = [check for check in self.around(taken) if check is not None]
        means = [exact_mean(check.errors) for check in bracket]
        return Checks(
            error_mm=exact_mean(means) if means else Fraction(0),
            moved_mm=abs(means[1] - means[0]) if len(means) == 2 else None,
            readings=min((len(check.errors) for check in bracket), default=1),
            max_drift_mm=max(
                (Decimal(check.event.max_drift_mm) for check in bracket), default=Decimal(0)
            ),
            stint_means_mm=self._stint_means_mm(taken.stint),
        )

    def _stint_means_mm(self, stint: int) -> tuple[Fraction, ...]:
        """The mean errors of the passed checks of a stint."""
        means = self._stint_means.get(stint)
        if means is None:
            passed = [one for one in self._by_stint.get(stint, []) if one.event.passed]
            means = self._stint_means[stint] = tuple(exact_mean(one.errors) for one in passed)
        return means

    def conditions(self, state: State, taken: PartReading) -> Conditions:
        """Under what a reading was taken, but for the size of its journal. `state` is the one that
        this is known of.
        """
        day = utc_day(taken.at_us)
        key = taken.stint, taken.run, self.bracket(taken), day
        found = self._conditions.get(key)
        if found is None:
            found = self._conditions[key] = _conditions(state, taken, day, self)
        return found

    def repeats_of(self, device: str) -> ExactSquares:
        """The scatter of repeats at a place by this gauge, as read."""
        return self._repeats.get(device, NO_SQUARES)


def _rests_on(state: State) -> tuple[object, ...]:
    return state.plan, state.judged, state.setups, state.stints


def known(state: State, last: SessionFacts | None = None) -> SessionFacts:
    """What is known now: `last` again, if nothing that it rests on has changed since."""
    repeats = _repeats(state)
    return last if last is not None and last.is_of(state, repeats) else SessionFacts(state, repeats)


def _repeats(state: State) -> dict[str, ExactSquares]:
    """The scatter of repeats at a place by the gauge that took them, all journals together."""
    found: dict[str, ExactSquares] = {}
    for readings in state.by_journal.values():
        for stint, squares in readings.exact_repeat_squares.items():
            device = state.stints[stint - 1].source.device
            found[device] = found.get(device, NO_SQUARES) + squares
    return found


def places_of(
    state: State, readings: JournalReadings, about: SessionFacts | None = None
) -> tuple[Place, ...]:
    """A journal's places with the conditions they were read under; `about` is `known(state)`, if it
    is at hand.
    """
    return places(readings.by_place, conditions_of(state, readings.journal, about))


def conditions_of(
    state: State, journal: JournalPlan, about: SessionFacts | None = None
) -> Callable[[PartReading], Conditions]:
    """Under what each reading of a journal was taken; the same record for readings between the
    same checks.
    """
    facts = about or known(state)
    made: dict[tuple[int, int, int], Conditions] = {}

    def conditions(taken: PartReading) -> Conditions:
        key = taken.stint, taken.run, facts.bracket(taken)
        found = made.get(key)
        if found is None:
            shared = facts.conditions(state, taken)
            found = made[key] = msgspec.structs.replace(shared, size_mm=journal.limits.low.mm)
        return found

    return conditions


def _conditions(state: State, taken: PartReading, day: date, facts: SessionFacts) -> Conditions:
    around = state.environments[taken.run]
    stint = state.stints[taken.stint - 1]
    stack = stack_of(around, stint)
    found = stack_on_day(stack, day)
    scatter = scatters(state, taken, facts)
    gauge, method = state.gauges[taken.run], state.plan.temperature
    return Conditions(
        stint=taken.stint,
        checks=facts.checks_around(taken),
        drift=_history_drift(state, taken),
        on_part=scatter.on_part,
        on_stack=scatter.on_stack,
        is_one=scatter.is_one,
        step_mm=step_mm(state, taken),
        stack_mm=stack.size.mm,
        stack_u_mm=found.u_mm,
        stack_note=found.words,
        joints=found.joints,
        wringing_u_mm=found.wringing_u_mm,
        permitted_error_mm=(
            gauge.permitted_error.mm if gauge and gauge.permitted_error is not None else None
        ),
        pitch_mm=gauge.pitch.mm if gauge and gauge.pitch is not None else USUAL_PITCH_MM,
        ratio=ratio_at_20c(around, stint.stack),
        size_mm=Decimal(0),  # each journal has its own
        part_c=around.part_c,
        part=around.plan.part,
        reference=reference(around, stint.stack),
        thermometer_limit_k=method.thermometer_limit_k,
        room_limit_k=method.room_limit_k,
        difference_limit_k=method.difference_limit_k,
    )


def _history_drift(state: State, taken: PartReading) -> HistoryDrift | None:
    """By the history of the gauge that took the reading, not of one that it was swapped for."""
    setup, device = state.setups[taken.run], state.stints[taken.stint - 1].source.device
    if setup.drift is None or setup.source.device != device:
        return None
    return HistoryDrift(float(setup.drift.sd_mm), float(setup.drift.dof), setup.drift.source)


# Scatter ------------------------------------------------------------------------------------------


def scatters(state: State, taken: PartReading, facts: SessionFacts) -> Scatters:
    """The scatter of one reading, on the part and on the stack, by the gauge that took `taken`.

    On the stack: pooled over the checks around it. On the part: repeats at a place and the gauge's
    kept study. The two are pooled by degrees of freedom where an F test does not tell them apart,
    so that a few readings never outweigh many. A part that scatters more counts alone, for itself;
    one that scatters less does not count: no part repeats better than a stack, and a few equal
    readings prove nothing. Where nothing was read twice, the spread permitted stands for a
    rectangular distribution as wide.
    """
    bracket = [check for check in facts.around(taken) if check is not None]
    stack = NO_SQUARES
    for check in bracket:
        stack += exact_squares(check.errors)
    part, words = _on_part(state, taken, facts)
    if not part.dof and not stack.dof:
        widest = max((Decimal(check.event.max_spread_mm) for check in bracket), default=Decimal(0))
        note = "nothing was read twice: all of the permitted spread"
        unseen = Scatter(Fraction(widest) ** 2 / 12, float("inf"), note)
        return Scatters(unseen, unseen, is_one=True)
    checked = _scatter(stack, "the checks before and after") if stack.dof else None
    if checked is None or not part.dof:
        one = checked or _scatter(part, words)
        return Scatters(one, one, is_one=True)
    on_part = _scatter(part, words)
    if f_test(part.pooled, stack.pooled, LARGER_ALPHA).is_larger:
        return Scatters(on_part, checked, is_one=False)
    if f_test(stack.pooled, part.pooled, LARGER_ALPHA).is_larger:
        return Scatters(checked, checked, is_one=True)
    both = _scatter(part + stack, f"{words} and the checks")
    return Scatters(both, both, is_one=True)


def _on_part(state: State, taken: PartReading, facts: SessionFacts) -> tuple[ExactSquares, str]:
    """Repeats and study of the gauge that took a reading, with words of where they come from."""
    setup, device = state.setups[taken.run], state.stints[taken.stint - 1].source.device
    repeats = facts.repeats_of(device)
    study = setup.study if setup.source.device == device else None  # not that of a swapped gauge
    if study is None:
        return repeats, "repeats"
    words = f"gauge study {study.source}"
    studied = exact_sd(Decimal(study.sd_mm), Decimal(study.dof))
    return repeats + studied, f"repeats and {words}" if repeats.dof else words


def _scatter(found: ExactSquares, of: str) -> Scatter:
    pooled = found.pooled
    note = f"s = {pooled.sd * 1000:.2f} um from {of}, {pooled.dof:g} degrees of freedom"
    return Scatter(found.variance, pooled.dof, note)
