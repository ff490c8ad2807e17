"""What stands in the tables of the session itself: one row of it, what was said and done, the sizes
that its groups can serve at. Pure.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

import msgspec

from daq.disposition.case import measured
from daq.disposition.steps import sizes_of
from daq.evaluation.verdict import OPEN, groups, journals, reasons, suspects
from daq.export.rows import Cells, gauges_of, of_session, texts, truth
from daq.lengths import Position
from daq.record.events import (
    CheckRead,
    Dropped,
    Entry,
    GaugeSource,
    Held,
    Kept,
    LinkBack,
    LinkLost,
    Noted,
    Read,
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

_Aside: TypeAlias = Voided | Skipped | Noted | Kept | Dropped | Zeroed
"""What a word of the operator may have led to; it tells by what means that came."""

OPERATOR = "operator"
"""The reason of a line that the operator's word led to and nothing else."""


def session_rows(state: State, verdict: str, entries: Sequence[Entry], chain: str) -> list[Cells]:
    """The session, in one row."""
    opened, closed = state.opened, state.closed
    temperatures = [setup.temperatures for setup in state.setups]
    said = closed.reasons if closed else tuple(reasons(state, OPEN))
    return [
        of_session(state, verdict)
        | {
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
            "reasons": said,
            "readings": str(len(state.standing)),
            "skipped": str(sum(place not in state.standing for place in state.skips)),
            "stints": str(len(state.stints)),
            "checks": str(len(state.judged)),
            "checks_failed": str(sum(not judged.event.passed for judged in state.judged)),
            "program": closed.program if closed else opened.program,
            "last_chain": chain,
        }
        | _counted(entries)
    ]


def _last(given: Sequence[str]) -> str:
    return next((text for text in reversed(given) if text), "")


def _counted(entries: Sequence[Entry]) -> Cells:
    held, taken, taken_back = 0, set(), 0
    for entry in entries:
        match entry.event:
            case Read() | CheckRead() | Kept():
                taken.add(entry.seq)
            case Held():
                held += 1
                taken.add(entry.seq)  # a kept one is taken back by the line that holds its number
            case Dropped(held=0, count=count):
                held += count  # in a row, told as one line
            case Voided(target=target):
                taken_back += target in taken
    return {"held": str(held), "taken_back": str(taken_back)}


# What was said and done ---------------------------------------------------------------------------


def note_rows(state: State, verdict: str, entries: Sequence[Entry]) -> list[Cells]:
    """What was said and done around the readings, in the order of the ledger."""
    every = of_session(state, verdict)
    return [every | cells for cells in _asides(state, entries)]


def _asides(state: State, entries: Sequence[Entry]) -> Iterator[Cells]:
    taken: dict[int, tuple[Position | None, Sent]] = {}
    held: dict[int, Held] = {}
    skipped: dict[int, Position] = {}
    gauge = state.opened.setup.source.gauge
    for entry in entries:
        event = entry.event
        place: Position | None = None
        match event:
            case StintBegan(source=source):
                gauge = source.gauge
                continue
            case CheckRead(sent=sent):
                taken[entry.seq] = (None, sent)
                continue
            case Read(place=place, sent=sent):
                taken[entry.seq] = (place, sent)
                continue
            case Held():
                held[entry.seq] = event
                continue
            case Kept(held=seq, place=place) if seq in held:
                taken[seq] = taken[entry.seq] = (place, held[seq].sent)
                text = f"{_size(held[seq].sent)} though {_why(held[seq])}"
            case Dropped(held=seq, why=why, count=count):
                doubted = held.get(seq)
                what = f"{_size(doubted.sent)}, as {_why(doubted)}" if doubted else _many(count)
                text = what if why == OPERATOR else f"{what}: {why}"
            case Voided(target=target, why=why) if target in skipped:
                place, text = skipped[target], f"the skip of line {target}: {why}"
            case Voided(target=target, why=why):
                place, sent_then = taken.get(target, (None, None))
                size = f"{_size(sent_then)} of line {target}" if sent_then else f"line {target}"
                text = f"{size}: {why}"
            case Skipped(place=place, reason=text):
                skipped[entry.seq] = place
            case Noted(text=text) | LinkLost(reason=text):
                pass
            case Zeroed(why=why):
                text = "" if why == OPERATOR else why
            case LinkBack(source=source):
                gauge = source.gauge
                text = _plugged(source)
            case Resumed():
                gauge = event.setup.source.gauge
                text = _resumed(event)
            case _:
                continue
        yield {
            "gauge": gauge,
            "seq": str(entry.seq),
            "at": utc_text(entry.at_us),
            "kind": _kind(event),
            "journal": place.journal if place else "",
            "station": place.station if place else "",
            "angle_deg": str(place.angle_deg) if place else "",
            "repeat": str(place.repeat) if place else "",
            "text": text,
            "by": _by(event),
        }


def _kind(event: msgspec.Struct) -> str:
    if isinstance(event, Noted):
        return event.about
    tag = event.__struct_config__.tag
    assert isinstance(tag, str)
    return tag


def _by(event: msgspec.Struct) -> str:
    """By what means it came: as the line says, else where its kind leaves no doubt."""
    if isinstance(event, _Aside) and event.by:
        return event.by
    match event:
        case Zeroed(why=why):
            return "" if why == OPERATOR else "gauge"
        case LinkLost() | LinkBack() | Noted(about="link") | Dropped(held=0):
            return "program"
        case Voided(why=why) if why not in ("back", "retake"):
            return "program"
        case _:
            return ""


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


def step_rows(state: State, verdict: str) -> list[Cells]:
    """Each group at the size that it has and at each undersize of the plan, by the journals as the
    closing line has them.

    Rule set 1 kept no uncertainty to decide by, so of its sessions nothing is assessed.
    """
    closed = state.closed
    results = closed.journals if closed else journals(state)
    steps = {step.group: step for step in (closed.groups if closed else groups(state))}
    doubted = suspects(state, is_closing=closed is not None)
    planned = state.plan.journals
    pairs = list(zip(planned, map(measured, results), strict=False))
    every = of_session(state, verdict)
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
        rows += [
            every | texts(answer) | gauges | {"chosen": truth(answer.chosen)} for answer in answers
        ]
    return rows
