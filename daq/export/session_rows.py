"""What stands in the tables of the session itself: one row of it, what was said and done, the sizes
that its groups can serve at. Pure.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias, assert_never, get_args

import msgspec

from daq.disposition.case import measured
from daq.disposition.steps import sizes_of
from daq.evaluation.verdict import suspects
from daq.export.basis import Basis
from daq.export.rows import Cell, Cells, Rows, gauges_of, of_session, rows_of, texts, truth
from daq.lengths import Position
from daq.record.events import (
    CheckJudged,
    CheckRead,
    Closed,
    Dropped,
    Entry,
    GaugeSource,
    Held,
    Kept,
    LinkBack,
    LinkLost,
    Noted,
    Opened,
    Read,
    Rejected,
    Resumed,
    Sent,
    Skipped,
    StintBegan,
    Temperatures,
    Voided,
    Zeroed,
)
from daq.record.state import State
from drivers.reading import utc_text

OPERATOR = "operator"
"""The reason of a line that the operator's word led to and nothing else."""


def session_rows(basis: Basis) -> Rows:
    """The session, in one row."""
    state = basis.state
    opened, closed = state.opened, state.closed
    temperatures = [setup.temperatures for setup in state.setups]
    cells: Cells = {
        "part_type": state.plan.part,
        "operator": opened.operator,
        "gauge": tuple(dict.fromkeys(stint.source.gauge for stint in state.stints)),
        "rule_set": str(closed.rules if closed else state.rules),
        "plan_sha256": hashlib.sha256(opened.plan.encode("utf-8")).hexdigest(),
        "begun_at": utc_text(state.opened_us),
        "closed_at": utc_text(state.last_us) if closed else "",
        "local_offset": state.setup.local_offset,
        "part_temp_c": _last([each.part for each in temperatures]),
        "gauge_temp_c": _last([each.gauge for each in temperatures]),
        "stack_temp_c": _last([each.stack for each in temperatures]),
        "reasons": basis.reasons,
        "readings": str(len(state.standing)),
        "skipped": str(sum(place not in state.standing for place in state.skips)),
        "stints": str(len(state.stints)),
        "checks": str(len(state.judged)),
        "checks_failed": str(sum(not judged.event.passed for judged in state.judged)),
        "program": closed.program if closed else opened.program,
        "last_chain": basis.chain,
    }
    return Rows(1, of_session(basis) | cells | _counted(basis.entries), {})


def _last(given: Sequence[str]) -> str:
    return next((text for text in reversed(given) if text), "")


def _counted(entries: Sequence[Entry]) -> Cells:
    held, taken_back = 0, 0
    # A kept one is taken back by the line that holds its number.
    taken = {entry.seq for entry in entries if type(entry.event) in _TAKEN}
    for entry in entries:
        if type(entry.event) not in _COUNTED:
            continue
        match entry.event:
            case Voided(target=target):
                taken_back += target in taken and target < entry.seq
            case Held():
                held += 1
            case Dropped(held=0, count=count):
                held += count  # in a row, told as one line
    return {"held": str(held), "taken_back": str(taken_back)}


_TAKEN = frozenset((Read, CheckRead, Kept, Held))
_COUNTED = frozenset((Voided, Held, Dropped))


# What was said and done ---------------------------------------------------------------------------


def note_rows(basis: Basis) -> Rows:
    """What was said and done around the readings, in the order of the ledger."""
    found = list(_asides(basis.state, basis.entries))
    own = dict(zip(_OWN, zip(*found, strict=True), strict=True)) if found else {}
    return Rows(len(found), of_session(basis), own)


class _Kept(msgspec.Struct, frozen=True):
    """A reading that was held and counts: at which place, None for one of the stack."""

    place: Position | None
    sent: Sent


class _Before:
    """What the lines before one have told: the readings by their lines, those that were doubted,
    the places left out, the gauge in use.
    """

    def __init__(self, gauge: str) -> None:
        self.taken: dict[int, Read | CheckRead | _Kept] = {}
        self.held: dict[int, Held] = {}
        self.skipped: dict[int, Position] = {}
        self.gauge = gauge


def _asides(state: State, entries: Sequence[Entry]) -> Iterator[tuple[Cell, ...]]:
    """The cells of each row, in the order of `_OWN`."""
    before = _Before(state.opened.setup.source.gauge)
    for entry in entries:
        event = entry.event
        match event:
            case Noted() | Voided():  # the most rows are of these
                yield _row(event, entry, before)
            case Read():
                before.taken[entry.seq] = event
            case CheckRead():
                before.taken[entry.seq] = event
            case Held():
                before.held[entry.seq] = event
            case StintBegan():
                before.gauge = event.source.gauge
            case Rejected() | CheckJudged() | Opened() | Closed():
                pass
            case Kept(held=seq) if seq not in before.held:
                pass
            case _:
                yield _row(event, entry, before)


def _row(event: "_Aside", entry: Entry, before: _Before) -> tuple[Cell, ...]:
    place, text, by = _told(event, entry.seq, before)
    where = _NOWHERE if place is None else _where(place)
    return before.gauge, str(entry.seq), utc_text(entry.at_us), _kind(event), *where, text, by


_Aside: TypeAlias = (
    Noted | Voided | Dropped | Kept | Skipped | Zeroed | LinkLost | LinkBack | Resumed
)


def _told(event: _Aside, seq: int, before: _Before) -> tuple[Position | None, str, str]:
    """The place that a line is about, what it tells, and by what means that came: as the line says,
    else where its kind leaves no doubt.
    """
    match event:
        case Noted(text=text, by=by):
            return None, text, by or ("program" if event.about == "link" else "")
        case Voided(why=why, by=by):
            place, what = _taken_back(event.target, before)
            return place, f"{what}: {why}", by or ("" if why in _BY_HAND else "program")
        case Dropped(why=why, by=by):
            doubted = before.held.get(event.held)
            what = f"{_size(doubted.sent)}, as {_why(doubted)}" if doubted else _many(event.count)
            text = what if why == OPERATOR else f"{what}: {why}"
            return None, text, by or ("" if event.held else "program")
        case Kept(held=line, place=place, by=by):
            held = before.held[line]
            before.taken[line] = before.taken[seq] = _Kept(place, held.sent)
            return place, f"{_size(held.sent)} though {_why(held)}", by
        case Skipped(place=place, reason=reason, by=by):
            before.skipped[seq] = place
            return place, reason, by
        case Zeroed(why=why, by=by):
            return (None, "", by) if why == OPERATOR else (None, why, by or "gauge")
        case LinkLost(reason=reason):
            return None, reason, "program"
        case LinkBack(source=source):
            before.gauge = source.gauge
            return None, _plugged(source), "program"
        case Resumed():
            before.gauge = event.setup.source.gauge
            return None, _resumed(event), ""
        case _:
            assert_never(event)


def _taken_back(target: int, before: _Before) -> tuple[Position | None, str]:
    """The place of a line that was taken back, and what it held."""
    if target in before.skipped:
        return before.skipped[target], f"the skip of line {target}"
    taken = before.taken.get(target)
    if taken is None:
        return None, f"line {target}"
    place = None if isinstance(taken, CheckRead) else taken.place
    return place, f"{_size(taken.sent)} of line {target}"


def _where(place: Position) -> tuple[str, str, str, str]:
    return place.journal, place.station, str(place.angle_deg), str(place.repeat)


_OWN = ("gauge", "seq", "at", "kind", "journal", "station", "angle_deg", "repeat", "text", "by")
_NOWHERE = ("", "", "", "")
_BY_HAND = ("back", "retake")
"""Why an operator takes a reading back; else the program does."""


def _kind(event: _Aside) -> str:
    return event.about if isinstance(event, Noted) else _KINDS[type(event)]


_KINDS = {kind: str(kind.__struct_config__.tag) for kind in get_args(_Aside)}


def _many(count: int) -> str:
    return f"{count} readings in a row"


def _size(sent: Sent) -> str:
    return f"{sent.value} {sent.unit}"


def _why(held: Held) -> str:
    return "; ".join(held.reasons)


def _plugged(source: GaugeSource) -> str:
    return f"{source.gauge} on {source.port}"


def _resumed(event: Resumed) -> str:
    given = _degrees(event.setup.temperatures)
    torn = f"half a line of {event.torn_bytes} bytes set aside" if event.torn_bytes else ""
    same = f"the same gauge: {event.same_gauge}" if event.same_gauge else ""
    told = [f"by program {event.program}", _plugged(event.setup.source), given, same, torn]
    return ", ".join(filter(None, told))


def _degrees(given: Temperatures) -> str:
    found: Mapping[str, str] = msgspec.structs.asdict(given)
    return ", ".join(f"{of} {degrees} °C" for of, degrees in found.items() if degrees)


# Sizes --------------------------------------------------------------------------------------------


def step_rows(basis: Basis) -> Rows:
    """Each group at the size that it has and at each undersize of the plan, by the journals as the
    closing line has them.

    Rule set 1 kept no uncertainty to decide by, so of its sessions nothing is assessed.
    """
    state = basis.state
    steps = {step.group: step for step in basis.groups}
    doubted = suspects(state, is_closing=state.closed is not None)
    pairs = list(zip(state.plan.journals, map(measured, basis.journals), strict=False))
    rows = []
    for name in dict.fromkeys(journal.group for journal in state.plan.journals):
        own = [pair for pair in pairs if pair[0].group == name]
        names = [journal.name for journal, _ in own]
        answers = sizes_of(
            state.plan.group(name),
            own,
            steps.get(name),
            is_proven=state.rules > 1 and doubted.isdisjoint(names),
        )
        gauges: Cells = {"gauge": gauges_of(state, names)}
        rows += [texts(answer) | gauges | {"chosen": truth(answer.chosen)} for answer in answers]
    return rows_of(of_session(basis), rows)
