"""What temperatures do to a session's sizes, in words with numbers. Pure."""

from decimal import ROUND_HALF_EVEN, Decimal

import msgspec

from daq.lengths import EXACT, plain, signed
from daq.metrology.expansion import check_range, difference_words
from daq.record.environment import Environment, reference
from daq.record.rule_sets import RULE_SET_3
from daq.record.standing import PartReading
from daq.record.state import State, standing_readings

_TABLE_STEP = Decimal("0.00001")
"""Of lengths in the tables, in mm."""


def temperature_notes(state: State) -> list[str]:
    """Warnings about the running setup: an effect that matters against the tolerance, and a
    coefficient used outside the temperatures that it is stated for.
    """
    around = state.environments[-1]
    notes = _not_used(state) if around.stack_c is not None else _stack_unknown(around)
    for name, size in state.scope.sizes.items():
        against = reference(around, name)
        journals = [j for j in state.scope.journals.values() if state.scope.stacks[j.name] == name]
        tolerances = [j.limits.tolerance_mm for j in journals if j.limits.tolerance_mm is not None]
        words = difference_words(
            size.mm,
            part_c=around.part_c,
            part=around.plan.part,
            reference_c=against.celsius,
            reference=against.coefficient,
            tolerance_mm=min(tolerances, default=None),
            reference_name=against.name,
        )
        if words:
            notes.append(words)
        for celsius, coefficient in (
            (around.part_c, around.plan.part),
            (against.celsius, against.coefficient),
        ):
            words = None if celsius is None else check_range(coefficient, celsius)
            if words:
                notes.append(words)
    return list(dict.fromkeys(notes))


def _not_used(state: State) -> list[str]:
    """What was stated and does not count."""
    around = state.environments[-1]
    said = []
    if around.gauge_c is not None and around.gauge_c != around.stack_c:
        said.append(
            "the gauge's temperature is kept and not used: the stack, which proves the gauge, has "
            "its own"
        )
    for name in state.scope.sizes:
        stack = around.stacks.get(name)
        own = stack.coefficient if stack is not None else None
        if own is not None and around.plan.is_stated and own.value != around.plan.stack.value:
            said.append(
                f"the file of the stack {name} states {own}, which goes before the plan's "
                f"{around.plan.stack}"
            )
    return said


def _stack_unknown(around: Environment) -> list[str]:
    """What is assumed of a stack whose temperature was not given, where that is not 20 degrees."""
    if around.gauge_c is not None:
        return ["the stack's temperature is not given: it is taken to be as warm as the gauge"]
    if around.part_c is not None and around.part_c != 20:
        return [
            f"the part's temperature is given, {plain(around.part_c)} °C, and the stack's is not: "
            "the stack is taken as 20 °C. If it is as warm as the part, sizes come out wrong by "
            "all of the correction: give --stack-temp"
        ]
    return []


def correction_words(state: State) -> list[str]:
    """How sizes were brought to 20 degrees Celsius, one sentence for each way it was done."""
    said = [f"{of.before}{of.amount()}{of.behind}" for of in _corrections(state)]
    return list(dict.fromkeys(said))


def correction_words_in_short(state: State) -> list[str]:
    """As `correction_words`, amounts rounded as the tables have them, those of one way together."""
    ways: dict[tuple[str, str], list[str]] = {}
    for of in _corrections(state):
        amounts = ways.setdefault((of.before, of.behind), [])
        amount = of.amount(_TABLE_STEP)
        if amount not in amounts:
            amounts.append(amount)
    said = (f"{before}{' and '.join(found)}{behind}" for (before, behind), found in ways.items())
    return [words.replace("+-", "±") for words in said]


class _Correction(msgspec.Struct, frozen=True):
    """One way in which sizes were brought to 20 degrees, with an example where there is one: what
    was added to a size in mm.
    """

    before: str
    behind: str = ""
    by_mm: Decimal | None = None
    on_mm: Decimal = Decimal(0)

    def amount(self, step: Decimal | None = None) -> str:
        """The example in words, empty if there is none; rounded half-even to `step`."""
        if self.by_mm is None:
            return ""
        by = self.by_mm if step is None else self.by_mm.quantize(step, ROUND_HALF_EVEN)
        return f"{signed(by)} mm on {plain(self.on_mm)} mm"


def _corrections(state: State) -> list[_Correction]:
    first: dict[tuple[int, str], PartReading] = {}
    for taken in standing_readings(state):
        first.setdefault((taken.run, state.stints[taken.stint - 1].stack), taken)
    as_read = "as read" if state.rules < RULE_SET_3 else "not corrected for temperature"
    return [
        _of(state.environments[run], stack, taken.mm, taken.at_20c_mm, as_read)
        for (run, stack), taken in sorted(first.items())
    ]


def _of(
    around: Environment, stack: str, mm: Decimal, at_20c_mm: Decimal, as_read: str
) -> _Correction:
    against = reference(around, stack)
    shown = "not given" if around.part_c is None else f"{plain(around.part_c)} °C"
    other = "not given" if against.celsius is None else f"{plain(against.celsius)} °C"
    where = f"part {shown}, {against.name} {other}"
    if around.part_c is None and against.celsius is None:
        return _Correction(
            f"no temperature was given: sizes are {as_read}, right if part, gauge and stack had "
            "the same temperature"
        )
    if around.part_c is None and mm == at_20c_mm:
        return _Correction(
            f"sizes are {as_read}, right if the part had the {against.name}'s temperature ({where})"
        )
    if mm == at_20c_mm:
        return _Correction(f"sizes are at 20 °C: nothing to correct ({where})")
    taken_as = ", taken as 20 °C" if against.celsius is None else ""
    if around.part_c is None:
        taken_as = f"; the part taken to be as warm as the {against.name}"
    elif against.name == "gauge":
        taken_as = "; the stack taken to be as warm as the gauge"
    return _Correction(
        "sizes are at 20 °C: ",
        f" ({where}{taken_as}; part {around.plan.part}, {against.name} {against.coefficient})",
        EXACT.subtract(at_20c_mm, mm),
        mm,
    )
