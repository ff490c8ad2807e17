"""Is a session what its ledger says? Integrity, order, judgements again. Changes nothing."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path

import msgspec

from daq.evaluation.verdict import (
    ACCEPTED,
    OPEN,
    REJECTED,
    groups,
    journals,
    judged,
    natural_verdict,
    reasons,
)
from daq.export.csv_files import files_of
from daq.lengths import Position
from daq.record.advance import Advance
from daq.record.events import (
    RULES,
    CheckJudged,
    Closed,
    Dropped,
    Entry,
    Kept,
    Read,
    Resumed,
)
from daq.record.evolve import end_stint, judged_by
from daq.record.results import JournalResult
from daq.record.rule_sets import EARLIER_MODELS
from daq.record.state import State, Status, next_position, status
from daq.rules.checks import judged_event
from daq.storage.ledger import PLAN_COPY, Scan, scan
from daq.storage.replay import begin_state, evolve_state
from daq.storage.whole import METADATA, WRITTEN, damage_beside
from drivers.plain_file import plain_bytes
from drivers.reading import utc_text


class LedgerFinding(msgspec.Struct, frozen=True):
    """What a session's verification found. `faults` make the answer no; `notes` do not."""

    session: str
    verdict: str
    lines: int
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Nothing is wrong."""
        return not self.faults


def verify(folder: Path) -> LedgerFinding:
    """Verify one session folder.

    Raises LedgerDamaged, LedgerTooNew or LedgerError where the ledger cannot be read to its end.
    """
    found = scan(folder)
    faults: list[str] = []
    notes = _times(found.entries)
    if found.torn:
        notes.append(
            f"the record ends in a half line of {len(found.torn)} bytes, which was never "
            "confirmed as stored; resume sets it aside"
        )
    if found.lacks_lf:
        notes.append("the last line only lacks its end of line; resume adds it")
    state, differences = _replayed(found, folder)
    for rules, text in differences:
        (faults if rules == RULES else notes).append(text)
    damage = damage_beside(folder, state, found)
    if damage is not None and state.closed is None:
        raise damage
    if damage is not None:
        faults.append(damage.reason)
    else:
        faults.extend(
            f"{name} is not what the record gives; jbridge export writes it again"
            for name in unlike_tables(folder, state, found)
        )
    if state.closed and state.closed.verdict == ACCEPTED and not (folder / METADATA).exists():
        notes.append("an accepted session without its tables; jbridge export writes them")
    if not _is_same_or_absent(folder / PLAN_COPY, state.opened.plan.encode("utf-8")):
        notes.append("plan.toml is not the plan in the record; only the record's counts")
    return LedgerFinding(
        state.opened.session,
        state.closed.verdict if state.closed else OPEN,
        len(found.entries),
        tuple(faults),
        tuple(notes),
    )


def _times(entries: Sequence[Entry]) -> list[str]:
    """Runs that began before the last line of the run before, by the computer's clock.

    Within a run lines may be stamped out of order by right: a reading bears its arrival, what was
    typed or decided meanwhile the moment of that.
    """
    return [
        (
            f"line {entry.seq} begins a run at {utc_text(entry.at_us)}, before line "
            f"{earlier.seq}: the computer's clock went back, so how old a check was across "
            "this line is not sure"
        )
        for earlier, entry in pairwise(entries)
        if isinstance(entry.event, Resumed) and entry.at_us < earlier.at_us
    ]


def _replayed(found: Scan, folder: Path) -> tuple[State, list[tuple[int, str]]]:
    """The last state, and what comes out otherwise when computed again, each with the rule set of
    the run that stored the answer. Checks are judged again by that one, verdicts by this program's
    and, where its model is known, by their own.
    """
    state = begin_state(found.entries[0], folder)
    differences: list[tuple[int, str]] = []
    rules = state.opened.rules
    for entry in found.entries[1:]:
        unlike: list[str] = []
        by_verdict: list[tuple[int, str]] = []
        match entry.event:
            case Resumed() as resumed:
                rules = resumed.rules
            case CheckJudged() as stored:
                unlike = _judgement(state, stored, entry)
            case Read(place=place):
                unlike = _place(state, place, entry)
            case Kept(held=held, place=Position() as place):
                answered = Advance(state, entry.at_us).by(Dropped(held=held, why="")).state
                unlike = _place(answered, place, entry)
            case Closed() as closed:
                rules = closed.rules
                by_verdict = _verdict(state, closed, entry)
            case _:
                pass
        by_verdict.extend((min(rules, RULES), text) for text in unlike)
        differences.extend((rules, _by(rules, again, text)) for again, text in by_verdict)
        state = evolve_state(state, entry, folder)
    return state, differences


def _by(rules: int, again: int, text: str) -> str:
    """A difference, with the rule set that it came out by where that is worth telling."""
    if rules == RULES:
        return text
    if rules == again:
        return f"under rule set {rules}, of an earlier program: {text}"
    return f"under rule set {again} instead of {rules}: {text}"


def _judgement(state: State, stored: CheckJudged, entry: Entry) -> list[str]:
    if state.stint is None or state.check is None or not state.check.readings:
        return [f"line {entry.seq} judges a check that has no reading"]
    again = judged_event(state, entry.at_us)
    return [
        f"line {entry.seq}, {field}: stored {before!r}, computed again {now!r}"
        for field, before, now in _unlike(stored, again)
    ]


def _place(state: State, place: Position, entry: Entry) -> list[str]:
    if status(state) is not Status.MEASURING:
        return [f"line {entry.seq} is a reading of the part while {status(state).value}"]
    asked = next_position(state)
    if place != asked:
        return [f"line {entry.seq} is a reading at {place}, asked for was {asked}"]
    return []


def _verdict(state: State, closed: Closed, entry: Entry) -> list[tuple[int, str]]:
    """What comes out otherwise than the closing line has it, each with the rule set that it is
    judged by.

    Another rule set knows other numbers: what it and this program's make of the part is comparable.
    """
    own = closed.rules
    if own == RULES:
        return [(own, text) for text in _in_full(state, closed, entry)]
    earlier = _in_full(judged_by(state, own), closed, entry) if own in EARLIER_MODELS else []
    now = _unlike_journals(closed, journals(state), entry, _VERDICTS)
    return [(own, text) for text in earlier or _accepted(state, closed, entry)] + [
        (RULES, text) for text in now
    ]


def _accepted(state: State, closed: Closed, entry: Entry) -> list[str]:
    if closed.verdict != ACCEPTED or natural_verdict(state) == ACCEPTED:
        return []
    return [
        f"line {entry.seq}, verdict: stored {closed.verdict!r}, computed again "
        f"{natural_verdict(state)!r}"
    ]


def _in_full(state: State, closed: Closed, entry: Entry) -> list[str]:
    """The whole closing line judged again by the state's rule set."""
    differences = _accepted(state, closed, entry)
    ended = end_stint(state)
    judged_again = judged(ended)
    again = tuple(each.result for each in judged_again)
    said = tuple(reasons(ended, closed.verdict, (), judged_again))
    if closed.verdict == REJECTED and natural_verdict(state) == ACCEPTED and closed.reasons == said:
        differences.append(
            f"line {entry.seq}, verdict: stored {closed.verdict!r} without a reason, computed "
            f"again {ACCEPTED!r}"
        )
    if closed.reasons[len(closed.reasons) - len(said) :] != said:
        differences.append(
            f"line {entry.seq}, reasons: stored {list(closed.reasons)}, computed again {list(said)}"
        )
    differences += _unlike_journals(closed, again, entry, JournalResult.__struct_fields__)
    steps = groups(ended, judged_again, is_closing=True)
    for stored, found in zip(closed.groups, steps, strict=False):
        differences.extend(
            f"line {entry.seq}, group {stored.group}, {field}: stored {before!r}, computed again "
            f"{now!r}"
            for field, before, now in _unlike(stored, found)
        )
    for stored_many, planned_many, what in (
        (closed.journals, again, "journals"),
        (closed.groups, steps, "groups"),
    ):
        if len(stored_many) != len(planned_many):
            differences.append(
                f"line {entry.seq} has {len(stored_many)} {what}, the plan {len(planned_many)}"
            )
    return differences


_VERDICTS = ("verdict", "size_verdict", "form_verdict")


def _unlike_journals(
    closed: Closed, again: Sequence[JournalResult], entry: Entry, fields: Sequence[str]
) -> list[str]:
    return [
        f"line {entry.seq}, journal {stored.journal}, {field}: stored {before!r}, computed again "
        f"{now!r}"
        for stored, found in zip(closed.journals, again, strict=False)
        for field, before, now in _unlike(stored, found)
        if field in fields
    ]


def _unlike(stored: msgspec.Struct, again: msgspec.Struct) -> list[tuple[str, object, object]]:
    pairs = zip(
        stored.__struct_fields__,
        msgspec.structs.astuple(stored),
        msgspec.structs.astuple(again),
        strict=True,
    )
    return [(field, before, now) for field, before, now in pairs if before != now]


def unlike_tables(folder: Path, state: State, found: Scan) -> list[str]:
    """The names of the tables and their metadata beside a ledger that are not what it gives, byte
    for byte; none where none were written. A table that such a session does not have is not missed.
    """
    if state.closed is None or not _is_written(folder):
        return []
    return unlike_files(folder, files_of(state, found))


def unlike_files(folder: Path, files: Mapping[str, bytes]) -> list[str]:
    """As `unlike_tables`, by the files that a closed session gives."""
    if not _is_written(folder):
        return []
    if not (folder / METADATA).exists():  # it comes last: the others were being written
        files = {name: data for name, data in files.items() if (folder / name).exists()}
    return [name for name, data in files.items() if not _is_same(folder / name, data)]


def _is_written(folder: Path) -> bool:
    return any((folder / name).exists() for name in WRITTEN)


def _is_same(path: Path, data: bytes) -> bool:
    try:
        return plain_bytes(path, len(data)) == data
    except OSError:
        return False


def _is_same_or_absent(path: Path, data: bytes) -> bool:
    return _is_same(path, data) or not path.exists()
