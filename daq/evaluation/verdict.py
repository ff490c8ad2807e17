"""What a session comes to: each journal against its limits, the verdict and its reasons. Pure."""

from collections.abc import Container, Sequence
from fractions import Fraction
from itertools import chain

import msgspec

from daq.disposition.case import Measured, measured
from daq.disposition.next_step import dispose
from daq.disposition.wear import form_remarks, is_oval_by_guard
from daq.evaluation.earlier import judge as earlier
from daq.evaluation.earlier.journals import RULES_SAID
from daq.evaluation.error_notes import error_words
from daq.evaluation.inputs import SessionFacts, conditions_of, known, places_of
from daq.evaluation.journals import Judged, evaluate, rule_words
from daq.evaluation.temperature_notes import correction_words
from daq.lengths import Position
from daq.metrology.gauge_check import age_words
from daq.plan.plan import GroupPlan, JournalPlan
from daq.plan.scope import planned
from daq.record.events import RULES, Closed
from daq.record.evolve import end_stint
from daq.record.results import GroupResult, JournalResult
from daq.record.rule_sets import RULE_SET_3
from daq.record.standing import PartReading, is_place_of
from daq.record.state import State, fate, fates
from daq.version import __version__
from drivers.reading import utc_day

ACCEPTED, REJECTED, ABANDONED, OPEN = "accepted", "rejected", "abandoned", "open"

PART_SCATTERS = "the part scatters more than the stack: wipe it, and take two readings a place"
"""The reason that tells of it."""


def judge_journal(
    state: State, journal: JournalPlan, about: SessionFacts | None = None, *, is_live: bool = False
) -> Judged:
    """One journal by the readings that stand now; `about` is `known(state)`, if it is at hand.

    `is_live`: judged after each reading, so without the words for what would settle it. A session
    that an earlier rule set closed is judged by that one's model.
    """
    if state.rules < RULE_SET_3:
        return Judged(earlier.judge_journal(state, journal))
    readings = state.by_journal.get(journal.name)
    decision = state.plan.decision
    if readings is None:
        return evaluate(journal, (), decision, 0)
    about = about or known(state)
    return evaluate(
        journal,
        places_of(state, readings, about),
        decision,
        len(readings.taken),
        is_live=is_live,
    )


def judged(state: State) -> tuple[Judged, ...]:
    """All journals of the plan, in its order; see `judge_journal`."""
    if state.rules < RULE_SET_3:
        facts = earlier.known(state)
        return tuple(
            Judged(earlier.judge_journal(state, journal, facts)) for journal in state.plan.journals
        )
    about = known(state)
    return tuple(judge_journal(state, journal, about) for journal in state.plan.journals)


def journals(state: State) -> tuple[JournalResult, ...]:
    """The results of all journals of the plan, in its order."""
    return tuple(each.result for each in judged(state))


def groups(
    state: State, found: Sequence[Judged] | None = None, *, is_closing: bool = False
) -> tuple[GroupResult, ...]:
    """The next step for each group of the plan, by its journals as judged (`found`, if at hand).

    Readings that a failed check has tainted support no step; nor does, when the session is closed,
    any that no check has proven.
    """
    results = found if found is not None else judged(state)
    pairs = list(zip(state.plan.journals, results, strict=True))
    doubted = suspects(state, is_closing=is_closing)
    return tuple(
        _group(
            state.plan.group(name),
            [(j, each) for j, each in pairs if j.group == name],
            doubted,
        )
        for name in dict.fromkeys(journal.group for journal in state.plan.journals)
    )


def suspects(state: State, *, is_closing: bool) -> set[str]:
    """The journals with a standing reading that is tainted or, when closing, not proven."""
    bad = ("tainted", "open") if is_closing else ("tainted",)
    checks = [judged for judged in state.judged if judged.event.phase != "before"]
    has_failed = any(not judged.event.passed for judged in checks)
    if not is_closing and not has_failed and not state.over_stints:
        return set()
    last = {judged.event.stint: judged.seq for judged in checks}
    doubtful = {
        name: readings.taken
        for name, readings in state.by_journal.items()
        if has_failed
        or any(readings.seqs[1] > last.get(stint, 0) for stint, _ in readings.last_of_parts)
    }
    fated = fates(state, chain.from_iterable(doubtful.values()))
    return {
        name for name, taken in doubtful.items() if any(fated[each.seq] in bad for each in taken)
    }


def _group(
    group: GroupPlan,
    found: Sequence[tuple[JournalPlan, Judged]],
    suspects: Container[str],
) -> GroupResult:
    unproven = [journal.name for journal, _ in found if journal.name in suspects]
    if unproven:
        return GroupResult(
            group=group.name,
            step="not-assessed",
            reason=f"readings of {', '.join(unproven)} are not proven by a passed check, so no "
            "step rests on them: measure again",
        )
    step = dispose(group, [(journal, _measured(each)) for journal, each in found])
    worn = [(each.result, _is_oval(each)) for _, each in found]
    remarks = [step.remarks, *form_remarks(worn)]
    return msgspec.structs.replace(step, remarks="; ".join(filter(None, remarks)))


def _measured(each: Judged) -> Measured:
    """What the next step needs of a journal: its sizes unrounded, where they are at hand."""
    found = measured(each.result)
    if each.size is None:
        return found
    return msgspec.structs.replace(
        found,
        smallest_exact_mm=each.size.smallest.y_mm,
        largest_exact_mm=each.size.largest.y_mm,
    )


def _is_oval(each: Judged) -> bool:
    """The fitted oval of a journal is more than scatter."""
    if each.form is None:
        return is_oval_by_guard(each.result)
    return each.form.oval is not None and each.form.oval.is_significant


def natural_verdict(state: State) -> str:
    """`accepted` if every standing reading is proven and some before-check passed, else
    `rejected`.
    """
    passed = any(j.event.passed and j.event.phase == "before" for j in state.judged)
    proven = all(found == "proven" for found in fates(state).values())
    return ACCEPTED if passed and proven else REJECTED


def close(state: State, verdict: str | None = None, said: Sequence[str] = ()) -> Closed:
    """The closing line. `verdict` None takes the natural one; `said` come first in the reasons.

    A stint that still runs ends with the session: what no check has proven by then is tainted.
    """
    state = end_stint(state)
    given = verdict or natural_verdict(state)
    found = judged(state)
    return Closed(
        program=__version__,
        rules=RULES,
        verdict=given,
        reasons=tuple(reasons(state, given, said, found)),
        journals=tuple(each.result for each in found),
        groups=groups(state, found, is_closing=True),
    )


def reasons(
    state: State, verdict: str, said: Sequence[str] = (), found: Sequence[Judged] | None = None
) -> list[str]:
    """Why, in words with numbers; also what was not known. `found`: the journals as judged, if at
    hand.
    """
    words = list(said)
    if not state.standing and verdict != OPEN:
        words.append("nothing of the part was measured")
    later = {check.event.stint for check in state.judged if check.event.phase != "before"}
    for check in state.judged:
        event = check.event
        if not event.passed:
            words.append(
                f"{event.phase} check {event.check_no} of stint {event.stint} failed: "
                f"{event.reason}"
            )
        elif event.phase != "before" or event.stint not in later:
            words.append(
                f"{event.phase} check {event.check_no} of stint {event.stint} passed: "
                f"{event.reason}"
            )
    tries = sum(not each.event.passed for each in state.judged)
    if tries:
        words.append(f"{tries} of {len(state.judged)} checks failed")
    if not any(j.event.passed and j.event.phase == "before" for j in state.judged):
        words.append("no before-check ever passed")
    fated = list(fates(state).values())
    for state_of, meaning in (
        ("tainted", "not proven by a passed check"),
        ("open", "taken after the last passed check"),
    ):
        count = fated.count(state_of)
        if count and (verdict != OPEN or state_of == "tainted"):
            words.append(f"{count} of {len(fated)} standing readings are {meaning}")
    words.extend(f"the gauge was used despite its history: {text}" for text in state.despite)
    words.extend(expired_stacks(state))
    words.append(f"decided by {_rule_words(state)}")
    words.extend(correction_words(state))
    if state.rules >= RULE_SET_3:
        words.extend(_of_estimates(state, judged(state) if found is None else found))
    missing = len(_missing(state))
    if missing:
        places = "place of the plan was" if missing == 1 else "places of the plan were"
        words.append(f"{missing} {places} not measured")
    runs = {taken.run for taken in state.standing.values()} or {len(state.gauges) - 1}
    gauges = [state.gauges[run] for run in runs]
    if any(gauge is None or gauge.permitted_error is None for gauge in gauges):
        words.append("the permitted error of the gauge is not known: no gauge file states it")
    return words


def _rule_words(state: State) -> str:
    decision = state.plan.decision
    return RULES_SAID[decision.rule] if state.rules < RULE_SET_3 else rule_words(decision)


def _of_estimates(state: State, found: Sequence[Judged]) -> list[str]:
    """What was taken off the sizes, what is provisional, what no check can see."""
    if not state.standing:
        return []
    words = error_words(state)
    if any(each.result.provisional for each in found):
        words.append("provisional: no closing check has passed yet for some of the readings")
    measured_ones = [each for each in found if each.size is not None]
    if 2 * sum(each.is_scattering for each in measured_ones) >= len(measured_ones) > 0:
        words.append(PART_SCATTERS)
    words.append("what no check can see: a gauge that moved and came back between two checks")
    return words


def expired_stacks(state: State) -> list[str]:
    """Stacks that were used with a certificate out of date, by the day of the last line."""
    day = utc_day(state.last_us)
    used = {stint.stack for stint in state.stints}
    stacks = {
        name: stack
        for around in state.environments
        for name, stack in around.stacks.items()
        if name in used and stack.is_out_of_date(day)
    }
    return [
        f"the certificate of the stack {name} was due on {stack.certificate_due}: judged by the "
        "limits of its grade"
        for name, stack in stacks.items()
    ]


def _missing(state: State) -> list[Position]:
    return [p for j in state.plan.journals for p in planned(j) if p not in state.standing]


def confirmed_below(
    state: State,
    journal: JournalPlan,
    found: Judged | None = None,
    about: SessionFacts | None = None,
) -> str | None:
    """Words for a journal that cannot serve as it is, once two readings agree: a second one at the
    same place, or one at another position of the journal; None before that. `found` is the journal
    as judged, `about` is `known(state)`, if they are at hand.
    """
    low = Fraction(journal.limits.low.mm)
    size = (found or judge_journal(state, journal, about, is_live=True)).size
    if size is None or size.smallest.y_mm >= low:
        return None  # the usual case, asked for every journal after each reading
    is_guarded = state.plan.decision.rule == "guarded"
    guard = Fraction(size.smallest.guard_mm) if is_guarded else Fraction(0)
    conditions = conditions_of(state, journal, about)

    def estimate(taken: PartReading) -> Fraction:
        return conditions(taken).estimate(Fraction(taken.mm))

    under = [
        taken
        for taken in state.readings
        if taken.position.journal == journal.name
        and is_place_of(journal, taken.position)
        and estimate(taken) < low
        and estimate(taken) <= low - guard
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
                f"{journal.name} is below its low limit {journal.limits.low} at "
                f"{taken.position.spoken} and again at {agreeing[0].position.spoken}: the part "
                "cannot serve as it is, and the rest need not be stripped for this decision"
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
    "PART_SCATTERS",
    "REJECTED",
    "close",
    "confirmed_below",
    "expired_stacks",
    "journals",
    "judge_journal",
    "judged",
    "natural_verdict",
    "reasons",
    "stint_age_fault",
    "suspects",
]
