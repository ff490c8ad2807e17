"""What a session comes to: each journal against its limits, the verdict and its reasons. Pure."""

from collections.abc import Sequence
from decimal import Decimal

from daq.evaluation import JournalResult, evaluate
from daq.events import RULES, Closed
from daq.job import planned
from daq.plan import JournalPlan
from daq.session import State, Taken, fate, fates, step_mm
from daq.terms import EXACT, Position
from daq.verifier import age_words
from daq.version import __version__

ACCEPTED, REJECTED, ABANDONED, OPEN = "accepted", "rejected", "abandoned", "open"


def guard_mm(state: State, taken: Sequence[Taken]) -> Decimal:
    """How near a limit is too near to call: the largest permitted error of the checks that the
    readings rest on, in mm. It is what was proven on the stack, not an uncertainty.
    """
    stints = {reading.stint for reading in taken}
    found = [
        Decimal(judged.event.max_error_mm)
        for judged in state.judged
        if not stints or judged.event.stint in stints
    ]
    written = state.plan.check.max_error
    if not found:
        return written.mm if written is not None else Decimal(0)
    return max(found)


def judge_journal(state: State, journal: JournalPlan) -> JournalResult:
    """One journal by the readings that stand now."""
    positions = planned(journal)
    taken = [state.standing[p] for p in positions if p in state.standing]
    steps = [step_mm(state, reading) for reading in taken]
    return evaluate(
        journal.name,
        journal.group,
        journal.limits,
        positions,
        {reading.position: reading.mm for reading in taken},
        guard_mm(state, taken),
        max(steps, default=None),
    )


def journals(state: State) -> tuple[JournalResult, ...]:
    """All journals of the plan, in its order."""
    return tuple(judge_journal(state, journal) for journal in state.plan.journals)


def natural_verdict(state: State) -> str:
    """`accepted` if every standing reading is proven and some before-check passed, else
    `rejected`.
    """
    passed = any(j.event.passed and j.event.phase == "before" for j in state.judged)
    proven = all(found == "proven" for found in fates(state).values())
    return ACCEPTED if passed and proven else REJECTED


def close(state: State, verdict: str | None = None, said: Sequence[str] = ()) -> Closed:
    """The closing line. `verdict` None takes the natural one; `said` come first in the reasons."""
    given = verdict or natural_verdict(state)
    return Closed(
        program=__version__,
        rules=RULES,
        verdict=given,
        reasons=tuple(reasons(state, given, said)),
        journals=journals(state),
    )


def reasons(state: State, verdict: str, said: Sequence[str] = ()) -> list[str]:
    """Why, in words with numbers; also what was not known."""
    words = list(said)
    if not state.standing and verdict != OPEN:
        words.append("nothing of the part was measured")
    for judged in state.judged:
        event = judged.event
        if not event.passed:
            words.append(
                f"{event.phase} check {event.check_no} of stint {event.stint} failed: "
                f"{event.reason}"
            )
        elif event.phase != "before" or not any(
            other.event.stint == event.stint and other.event.phase != "before"
            for other in state.judged
        ):
            words.append(
                f"{event.phase} check {event.check_no} of stint {event.stint} passed: "
                f"{event.reason}"
            )
    tries = sum(not judged.event.passed for judged in state.judged)
    if tries:
        words.append(f"{tries} of {len(state.judged)} checks failed")
    if not any(j.event.passed and j.event.phase == "before" for j in state.judged):
        words.append("no before-check ever passed")
    found = list(fates(state).values())
    for state_of, meaning in (
        ("tainted", "not proven by a passed check"),
        ("open", "taken after the last passed check"),
    ):
        count = found.count(state_of)
        if count and (verdict != OPEN or state_of == "tainted"):
            words.append(f"{count} of {len(found)} standing readings are {meaning}")
    missing = len(_missing(state))
    if missing:
        places = "place of the plan was" if missing == 1 else "places of the plan were"
        words.append(f"{missing} {places} not measured")
    runs = {taken.run for taken in state.standing.values()} or {len(state.gauges) - 1}
    gauges = [state.gauges[run] for run in runs]
    if any(gauge is None or gauge.permitted_error is None for gauge in gauges):
        words.append("the permitted error of the gauge is not known: no gauge file states it")
    return words


def _missing(state: State) -> list[Position]:
    return [p for j in state.plan.journals for p in planned(j) if p not in state.standing]


def confirmed_below(state: State, journal: JournalPlan) -> str | None:
    """Words for a journal that cannot serve as it is, once two readings agree: a second one at the
    same place, or one at another position of the journal; None before that.
    """
    limit = EXACT.subtract(
        journal.limits.low.mm,
        guard_mm(state, [t for t in state.standing.values() if t.position.journal == journal.name]),
    )
    under = [
        taken
        for taken in state.readings
        if taken.position.journal == journal.name
        and taken.mm < limit
        and fate(state, taken) != "tainted"  # a gauge that was found wrong scraps no part
    ]
    for taken in under:
        if state.standing.get(taken.position) is not taken:
            continue
        agreeing = [
            other
            for other in under
            if other is not taken
            and (other.position == taken.position or state.standing.get(other.position) is other)
        ]
        if agreeing:
            return (
                f"{journal.name} is below its low limit {journal.limits.low} at {taken.position} "
                f"and again at {agreeing[0].position}: the part cannot serve as it is, and the "
                "rest need not be stripped for this decision"
            )
    return None


def stint_age_fault(state: State, at_us: int, *, is_new_run: bool = False) -> str | None:
    """Why the running stint's last passed check is too old; None if it is not.

    Only between runs can the clock have gone back: within one it is steady, and what arrived a
    moment before the judgement may be taken in a moment after it.
    """
    stint = state.stint
    if stint is None or stint.is_over or stint.last_passed_us is None:
        return None
    age = at_us - stint.last_passed_us
    if age <= state.plan.check.max_age_us and (age >= 0 or not is_new_run):
        return None
    return age_words(age, state.plan.check.max_age_us)


__all__ = [
    "ABANDONED",
    "ACCEPTED",
    "OPEN",
    "REJECTED",
    "close",
    "confirmed_below",
    "guard_mm",
    "journals",
    "judge_journal",
    "natural_verdict",
    "reasons",
    "stint_age_fault",
]
