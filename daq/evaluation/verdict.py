"""What a session comes to: each journal against its limits, the verdict and its reasons. Pure."""

from collections.abc import Container, Sequence
from decimal import Decimal

import msgspec

from daq.disposition.next_step import dispose
from daq.disposition.wear import form_remarks
from daq.evaluation.diameter import DiameterInputs, form_uncertainty, size_uncertainty
from daq.evaluation.inputs import SessionFacts, diameter_inputs, is_shared, known
from daq.evaluation.journals import RULES_SAID, Certainty, evaluate
from daq.evaluation.remedies import form_settled_by, settled_by
from daq.evaluation.temperature_notes import correction_words
from daq.lengths import EXACT, Position
from daq.metrology.gauge_check import age_words
from daq.plan.plan import GroupPlan, JournalPlan
from daq.plan.scope import planned
from daq.record.events import RULES, Closed
from daq.record.evolve import end_stint
from daq.record.results import GroupResult, JournalResult
from daq.record.standing import JournalReadings
from daq.record.state import State, fate, fates
from daq.version import __version__
from drivers.reading import utc_day

ACCEPTED, REJECTED, ABANDONED, OPEN = "accepted", "rejected", "abandoned", "open"


def judge_journal(
    state: State, journal: JournalPlan, about: SessionFacts | None = None, *, is_live: bool = False
) -> JournalResult:
    """One journal by the readings that stand now; `about` is `known(state)`, if it is at hand.

    `is_live`: judged after each reading, so without the words for what would settle it.
    """
    readings = state.by_journal.get(journal.name)
    if readings is None:
        return evaluate(journal, None, Certainty(state.plan.decision.rule), None)
    about = about or known(state)
    abouts = diameter_inputs(state, readings, about)
    worst, is_one = max(abouts, key=_guard), is_shared(abouts)
    return evaluate(
        journal,
        readings,
        proof(state, readings, abouts),
        max(about.step_mm for about in abouts),
        *(
            ()
            if is_live
            else (
                lambda needed_mm: settled_by(worst, needed_mm),
                lambda needed_mm: form_settled_by(worst, needed_mm, is_one_stint=is_one),
            )
        ),
    )


def proof(state: State, readings: JournalReadings, abouts: Sequence[DiameterInputs]) -> Certainty:
    """How well one journal's diameters are known: by the worst of the stints they come from."""
    worst = max(abouts, key=_guard)
    size = size_uncertainty(worst)
    form = form_uncertainty(worst, is_one_stint=is_shared(abouts))
    parts = sorted(readings.last_of_parts)
    return Certainty(
        rule=state.plan.decision.rule,
        size_mm=size.guard_mm,
        form_mm=form.guard_mm,
        standard_mm=size.budget.combined,
        parts={
            part: (size_uncertainty(about).budget.combined, about.bias_mm)
            for part, about in zip(parts, abouts, strict=True)
        },
        added_mm=size.added_mm,
        coverage_factor=size.budget.k,
        dof=size.budget.effective_dof,
    )


def _guard(about: DiameterInputs) -> Decimal:
    return size_uncertainty(about).guard_mm


def guard_mm(state: State, journal: JournalPlan, about: SessionFacts | None = None) -> Decimal:
    """How near a size limit of a journal is too near to call now, in mm; 0 by simple acceptance."""
    readings = state.by_journal.get(journal.name)
    if readings is None or state.plan.decision.rule == "simple":
        return Decimal(0)
    return max(map(_guard, diameter_inputs(state, readings, about)))


def journals(state: State) -> tuple[JournalResult, ...]:
    """All journals of the plan, in its order; see `judge_journal`."""
    about = known(state)
    return tuple(judge_journal(state, journal, about) for journal in state.plan.journals)


def groups(
    state: State, found: Sequence[JournalResult] | None = None, *, is_closing: bool = False
) -> tuple[GroupResult, ...]:
    """The next step for each group of the plan, by its journals' results (`found`, if at hand).

    Readings that a failed check has tainted support no step; nor does, when the session is closed,
    any that no check has proven.
    """
    results = found if found is not None else journals(state)
    pairs = list(zip(state.plan.journals, results, strict=True))
    suspects = _suspects(state, is_closing=is_closing)
    return tuple(
        _group(
            state.plan.group(name),
            [(j, result) for j, result in pairs if j.group == name],
            suspects,
        )
        for name in dict.fromkeys(journal.group for journal in state.plan.journals)
    )


def _suspects(state: State, *, is_closing: bool) -> set[str]:
    """The journals with a standing reading that is tainted or, when closing, not proven."""
    bad = ("tainted", "open") if is_closing else ("tainted",)
    checks = [judged for judged in state.judged if judged.event.phase != "before"]
    has_failed = any(not judged.event.passed for judged in checks)
    if not is_closing and not has_failed and not state.over_stints:
        return set()
    last = {judged.event.stint: judged.seq for judged in checks}
    return {
        name
        for name, readings in state.by_journal.items()
        if (
            has_failed
            or any(readings.seqs[1] > last.get(stint, 0) for stint, _ in readings.last_of_parts)
        )
        and any(fate(state, taken) in bad for taken in readings.taken)
    }


def _group(
    group: GroupPlan,
    found: Sequence[tuple[JournalPlan, JournalResult]],
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
    step = dispose(group, found)
    remarks = [step.remarks, *form_remarks([result for _, result in found])]
    return msgspec.structs.replace(step, remarks="; ".join(filter(None, remarks)))


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
    found = journals(state)
    return Closed(
        program=__version__,
        rules=RULES,
        verdict=given,
        reasons=tuple(reasons(state, given, said)),
        journals=found,
        groups=groups(state, found, is_closing=True),
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
    words.extend(f"the gauge was used despite its history: {text}" for text in state.despite)
    words.extend(_expired(state))
    words.append(f"decided by {RULES_SAID[state.plan.decision.rule]}")
    words.extend(correction_words(state))
    missing = len(_missing(state))
    if missing:
        places = "place of the plan was" if missing == 1 else "places of the plan were"
        words.append(f"{missing} {places} not measured")
    runs = {taken.run for taken in state.standing.values()} or {len(state.gauges) - 1}
    gauges = [state.gauges[run] for run in runs]
    if any(gauge is None or gauge.permitted_error is None for gauge in gauges):
        words.append("the permitted error of the gauge is not known: no gauge file states it")
    return words


def _expired(state: State) -> list[str]:
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
    state: State, journal: JournalPlan, about: SessionFacts | None = None
) -> str | None:
    """Words for a journal that cannot serve as it is, once two readings agree: a second one at the
    same place, or one at another position of the journal; None before that. `about` is
    `known(state)`, if it is at hand.
    """
    low = journal.limits.low.mm
    standing = state.by_journal.get(journal.name)
    if standing is None or standing.smallest.at_20c_mm >= low:
        return None
    near = [
        taken
        for taken in state.readings
        if taken.at_20c_mm < low and taken.position.journal == journal.name
    ]
    if not near:
        return None
    limit = EXACT.subtract(low, guard_mm(state, journal, about))
    under = [
        taken
        for taken in near
        if taken.at_20c_mm < limit
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
