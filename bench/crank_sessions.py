"""What a gauge showed of a crank as the program's own record of a session, and how it is judged.

A session that is pressed reading by reading takes a hundred times as long as its judgement. So one
is pressed for each plan, and every other is that one with its numbers in the place of the first
ones; the tests hold some of them against sessions that were pressed.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import lru_cache

import msgspec

from bench.shop import ANGLES_DEG, CHECK_READINGS, Shop, Shown
from daq.evaluation.earlier import judge as earlier
from daq.evaluation.inputs import known, places_of
from daq.evaluation.journals import evaluate
from daq.lengths import mean_text, plain
from daq.metrology.gauge_check import CheckLimits, CheckRules, Judgement
from daq.metrology.gauge_check import judge as judge_check
from daq.plan.plan import DecisionPlan, Plan
from daq.plan.scope import check_limits
from daq.record.advance import Advance
from daq.record.environment import Environment, at_20c
from daq.record.events import FORMAT, RULES, Entry, GaugeSource, Opened, Setup, Temperatures
from daq.record.evolve import begin, judged_by
from daq.record.log import Log
from daq.record.rule_sets import check_rules
from daq.record.shared_map import SharedMap
from daq.record.standing import JournalReadings, PartReading
from daq.record.state import JudgedCheck, State
from daq.rules.commands import TakeReading
from daq.rules.decide import decide, settle
from drivers.reading import Instant, Reading, utc_micros

LOW_MM, STEP_MM = Decimal("59.970"), Decimal("0.001")
SIMPLE = DecisionPlan(rule="simple")
BY_3, BY_2, BY_SIMPLE = "rule set 3", "rule set 2", "simple"
RULE_NAMES = (BY_3, BY_2, BY_SIMPLE)

_BEGAN_US = utc_micros("2026-11-25T08:00:00.000000Z")
_SECOND_US = 1_000_000
_STACK = """\
schema = 1
size = "59.970 mm"
grade = "1"
[[block]]
nominal = "1.47 mm"
[[block]]
nominal = "8.5 mm"
[[block]]
nominal = "50 mm"
"""


class Job(msgspec.Struct, frozen=True):
    """What is measured and how: the tolerance in steps, readings a place, journals."""

    tolerance: int
    repeats: int
    journals: int = 4


def mm_of(steps: int) -> Decimal:
    """What the gauge shows, in mm, from steps over the low limit."""
    return LOW_MM + steps * STEP_MM


def plan_text(job: Job) -> str:
    """The plan of a job."""
    journals = "".join(
        f"[[journal]]\nname = 'M{number}'\nlow = '{LOW_MM} mm'\nhigh = '{mm_of(job.tolerance)} mm'"
        "\nout_of_round = '0.005 mm'\ntaper = '0.005 mm'\n"
        for number in range(1, job.journals + 1)
    )
    return (
        f"schema = 1\npart = 'crank'\n[check]\nstack = 'three blocks'\n"
        f"readings = {CHECK_READINGS}\n[defaults]\nstations = ['front', 'rear']\n"
        f"angles_deg = {list(ANGLES_DEG)}\nrepeats = {job.repeats}\n{journals}"
    )


def temperatures(shop: Shop) -> Temperatures:
    """As they are given to a session, by what the thermometers showed."""
    return Temperatures(_tenths(shop.part_said_c), "", _tenths(shop.stack_said_c))


def _tenths(celsius: int) -> str:
    return str(Decimal(celsius) / 10)


def opened(job: Job, given: Temperatures) -> Opened:
    """The first line of a session."""
    setup = Setup(
        source=GaugeSource("bench", "bench", None, "bench"),
        profile="",
        gauge_file=None,
        only=(),
        stack=None,
        saved_stacks={"three blocks": f"{LOW_MM} mm"},
        temperatures=given,
        local_offset="+00:00",
        stack_files={"three blocks": _STACK},
    )
    return Opened(
        format=FORMAT,
        program="bench",
        rules=RULES,
        session="bench",
        job="",
        part="",
        operator="",
        plan_name="bench",
        plan=plan_text(job),
        setup=setup,
    )


def pressed_in_order(shown: Shown) -> Iterable[int]:
    """All that the gauge sends in a session, in order, in steps over the low limit."""
    yield from shown.before
    for repeats in shown.places:
        yield from repeats
    yield from shown.after


@lru_cache(maxsize=32)
def _pressed(job: Job) -> State:
    """A session of a job, pressed from the first check to the last, all at the middle."""
    middle = job.tolerance // 2
    on_stack, places = (0,) * CHECK_READINGS, job.journals * 2 * len(ANGLES_DEG)
    shown = Shown(on_stack, on_stack, ((middle,) * job.repeats,) * places)
    first = opened(job, Temperatures())
    state = settle(Advance(begin(Entry(1, _BEGAN_US, first), "bench"), _BEGAN_US)).state
    for steps in pressed_in_order(shown):
        at = state.last_us + _SECOND_US
        reading = Reading(mm_of(steps), "mm", STEP_MM, b"", Instant(at, at))
        state = decide(state, TakeReading(reading), at).state
    assert len(state.judged) == 2, "both checks passed"
    return state


# Checks -------------------------------------------------------------------------------------------


def errors(steps: Sequence[int]) -> tuple[Decimal, ...]:
    """Of readings of the stack, in mm."""
    return tuple(number * STEP_MM for number in steps)


def limits_of(plan: State, rules: CheckRules) -> CheckLimits:
    """The derived limits of a check of this job."""
    return check_limits(plan.scope, STEP_MM, rules)


def checks(job: Job, shown: Shown, rules: int = RULES) -> tuple[Judgement, Judgement]:
    """The checks before and after, as rule set `rules` judges them."""
    by = check_rules(rules)
    limits = limits_of(_pressed(job), by)
    before, after = errors(shown.before), errors(shown.after)
    return (
        judge_check(before, None, limits, rules=by),
        judge_check(after, before, limits, rules=by),
    )


def _judged(old: JudgedCheck, found: Judgement, of: tuple[Decimal, ...]) -> JudgedCheck:
    event = msgspec.structs.replace(
        old.event,
        mean_error_mm=mean_text(found.mean_error),
        spread_mm=plain(found.spread),
        drift_mm="" if found.drift is None else mean_text(found.drift),
        passed=found.passed,
        reason=found.reason,
    )
    return msgspec.structs.replace(old, event=event, errors=of)


# Journals -----------------------------------------------------------------------------------------


def session(job: Job, shown: Shown, given: Temperatures) -> State:
    """The state of a session in which the gauge showed this; both checks must have passed."""
    old = _pressed(job)
    setup = msgspec.structs.replace(old.setup, temperatures=given)
    around = msgspec.structs.replace(
        old.environments[0], part_c=Decimal(given.part), stack_c=Decimal(given.stack)
    )
    values = iter(steps for repeats in shown.places for steps in repeats)
    readings = tuple(_read(each, next(values), around) for each in old.readings)
    of: dict[str, list[PartReading]] = {}
    for each in readings:
        of.setdefault(each.position.journal, []).append(each)
    by_journal = SharedMap(
        (name, JournalReadings.of(found.journal, of[name]))
        for name, found in old.by_journal.items()
    )
    judged = tuple(
        _judged(each, judgement, errors(steps))
        for each, judgement, steps in zip(
            old.judged, checks(job, shown), (shown.before, shown.after), strict=True
        )
    )
    return msgspec.structs.replace(
        old,
        opened=msgspec.structs.replace(old.opened, setup=setup),
        setup=setup,
        setups=(setup,),
        environments=(around,),
        judged=Log(judged),
        readings=Log(readings),
        standing=SharedMap((each.position, each) for each in readings),
        by_journal=by_journal,
    )


def _read(old: PartReading, steps: int, around: Environment) -> PartReading:
    mm = mm_of(steps)
    sent = msgspec.structs.replace(old.sent, value=plain(mm))
    at_20 = at_20c(around, "three blocks", mm)
    return msgspec.structs.replace(old, sent=sent, mm=mm, at_20c_mm=at_20)


def verdicts(state: State, rules: Iterable[str]) -> dict[str, list[str]]:
    """The verdicts of all journals in the order of the plan, by each of these rules."""
    found: dict[str, list[str]] = {name: [] for name in rules}
    if BY_2 in found:
        by_2 = judged_by(state, 2)
        facts_of_2 = earlier.known(by_2)
        found[BY_2] = [
            earlier.judge_journal(by_2, journal, facts_of_2).verdict
            for journal in by_2.plan.journals
        ]
    facts = known(state)
    for journal in state.plan.journals:
        readings = state.by_journal[journal.name]
        places = places_of(state, readings, facts)
        for name, decision in _decisions(state.plan).items():
            if name in found:
                judged = evaluate(
                    journal,
                    places,
                    decision,
                    len(readings.taken),
                    is_live=True,  # without words for what would settle it
                )
                found[name].append(judged.result.verdict)
    return found


def _decisions(plan: Plan) -> dict[str, DecisionPlan]:
    return {BY_3: plan.decision, BY_SIMPLE: SIMPLE}
