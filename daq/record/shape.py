"""Is a record of a ledger one that a run could have stored? Pure.

A right chain says that a line is as it was written, not by whom. What is asked here is shape alone:
numbers that are numbers, and references that lead somewhere. Rules are not asked: what a rule of
today forbids is a record all the same.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import Any

import msgspec

from daq.lengths import MM_PER, Position, parse_length
from daq.record.events import (
    AnyEvent,
    CheckJudged,
    CheckRead,
    Closed,
    Dropped,
    Held,
    Kept,
    Noted,
    Opened,
    Read,
    Rejected,
    Resumed,
    Sent,
    Setup,
    Skipped,
    StintBegan,
    Voided,
    Zeroed,
)
from daq.record.results import GroupResult, JournalResult
from daq.record.state import State

MOST_WHOLE = 10**9
"""Of angles and counts. Chosen by us."""

# Gauges send some tens of digits at most; a hundred still stay exact in every sum.
_DECIMAL = re.compile(r"-?[0-9]{1,100}(\.[0-9]{1,100})?", re.ASCII)
_STEP = re.compile(r"(?=.*[1-9])[0-9]{1,100}(\.[0-9]{1,100})?", re.ASCII)
_HEX = re.compile(r"[0-9a-f]*", re.ASCII)
_OFFSET = re.compile(r"[+-][0-9]{2}:[0-9]{2}", re.ASCII)
_PHASES = ("before", "during", "after")
_NUMBERS = (
    "coverage_factor",
    "effective_dof",
    "conformance_probability",
    "ovality_seen",
    "ellipse_deg",
)


def shape_fault(event: AnyEvent) -> str:
    """What in a record cannot be what its field holds, "" for nothing."""
    find = _FAULT_OF.get(type(event))
    return find(event) if find else ""


def reference_fault(state: State, event: AnyEvent) -> str:
    """What a record speaks of that is not there before it, "" for nothing."""
    match event:  # the commonest kinds first
        case Read():
            running = state.stint
            is_usual = running is not None and event.stint == running.event.stint
            if is_usual and event.place.journal in state.plan.by_name:
                return ""
            return _unknown_place(state, event.place) or _unknown_stint(state, event.stint)
        case Voided() | Noted() | Rejected():
            return ""
        case CheckRead() | CheckJudged() | Held() | Zeroed():
            return _unknown_stint(state, event.stint)
        case Skipped():
            return _unknown_place(state, event.place)
        case Kept():
            unknown = "" if event.place is None else _unknown_place(state, event.place)
            return unknown or _unknown_stint(state, event.stint) or _kept_unit(state, event)
        case StintBegan(stint=stint) if stint != len(state.stints) + 1:
            return f"stint {stint} begins after {len(state.stints)} others"
        case _:
            return ""


def _unknown_place(state: State, place: Position) -> str:
    if place.journal in state.plan.by_name:
        return ""
    return f"journal {place.journal[:80]!r} is none of the plan"


def _unknown_stint(state: State, stint: int) -> str:
    known = len(state.stints)
    return "" if 1 <= stint <= known else f"stint {stint} is none of the {known} that were begun"


def _kept_unit(state: State, event: Kept) -> str:
    """A reading that is held may be in any unit, one that is kept may not."""
    held = state.held
    return _unit(held.event.sent) if held is not None and held.seq == event.held else ""


def _of_setup(event: Opened | Resumed) -> str:
    return _first(_setup(event.setup))


def _of_check_read(event: CheckRead) -> str:
    return (
        _phase(event.phase)
        or _whole("check_no", event.check_no)
        or _unit(event.sent)
        or _sent(event.sent)
    )


def _of_check_judged(event: CheckJudged) -> str:
    return (
        _phase(event.phase)
        or _whole("check_no", event.check_no)
        or _whole("readings", event.readings, least=1)
        or _decimals(event, may_be_empty=("drift_mm",))
    )


def _of_read(event: Read) -> str:
    return _place(event.place) or _unit(event.sent) or _sent(event.sent)


def _of_held(event: Held) -> str:
    return _sent(event.sent)


def _of_kept(event: Kept) -> str:
    tag = event.check
    in_check = _phase(tag.phase) or _whole("check_no", tag.check_no) if tag else ""
    return in_check or (_place(event.place) if event.place else "")


def _of_skipped(event: Skipped) -> str:
    return _place(event.place)


def _of_dropped(event: Dropped) -> str:
    return (
        _whole("count", event.count, least=1)
        or _hex("raw_hex", event.raw_hex)
        or _hex("last_raw_hex", event.last_raw_hex)
    )


def _of_rejected(event: Rejected) -> str:
    return _hex("raw_hex", event.raw_hex) or _hex("last_raw_hex", event.last_raw_hex)


def _of_closed(event: Closed) -> str:
    results = (*event.journals, *event.groups)
    return _first(_decimals(result, may_be_empty=_NAMES_OF[type(result)]) for result in results)


def _first(faults: Iterable[str]) -> str:
    return next(filter(None, faults), "")


def _unit(sent: Sent) -> str:
    return "" if sent.unit in MM_PER else f"unit {sent.unit[:40]!r} is no length"


def _sent(sent: Sent) -> str:
    value = "" if _DECIMAL.fullmatch(sent.value) else _decimal("value", sent.value)
    return value or _resolution(sent.resolution) or _hex("raw_hex", sent.raw_hex)


@lru_cache(maxsize=64)
def _resolution(text: str) -> str:
    """Kept, as a gauge has one resolution or two."""
    fault = f"resolution {text[:40]!r} is not a decimal above zero"
    return "" if _STEP.fullmatch(text) else fault


def _setup(setup: Setup) -> list[str]:
    given = msgspec.structs.asdict(setup.temperatures).items()
    faults = [_decimal(f"temperature of the {name}", text) for name, text in given if text]
    for known in (setup.study, setup.drift):
        if known is not None:
            faults += [_decimal("sd_mm", known.sd_mm), _decimal("dof", known.dof)]
    if setup.step is not None:
        faults.append(_step(setup.step))
    if setup.local_offset and not _OFFSET.fullmatch(setup.local_offset):
        faults.append(f"local_offset {setup.local_offset[:40]!r} is not like +01:00")
    return faults


def _step(text: str) -> str:
    fault = f"step {text[:40]!r} is not a length above zero"
    try:
        return "" if parse_length(text).value > 0 else fault
    except ValueError:
        return fault


def _place(place: Position) -> str:
    if 0 <= place.angle_deg <= MOST_WHOLE and 0 <= place.repeat <= MOST_WHOLE:
        return ""
    return _whole("angle_deg", place.angle_deg) or _whole("repeat", place.repeat)


def _whole(name: str, number: int, least: int = 0) -> str:
    return "" if least <= number <= MOST_WHOLE else f"{name} is out of range"


def _phase(phase: str) -> str:
    return "" if phase in _PHASES else f"phase {phase[:40]!r} is none of {', '.join(_PHASES)}"


def _hex(name: str, text: str) -> str:
    is_hex = len(text) % 2 == 0 and _HEX.fullmatch(text)
    return "" if is_hex else f"{name} {text[:40]!r} is not bytes in lower-case hex"


def _decimal(name: str, text: str) -> str:
    return "" if _DECIMAL.fullmatch(text) else f"{name} {text[:40]!r} is not a decimal number"


def _decimals(record: msgspec.Struct, may_be_empty: tuple[str, ...]) -> str:
    return _first(
        _decimal(name, text)
        for name in _NAMES_OF[type(record)]
        if (text := getattr(record, name)) or name not in may_be_empty
    )


_FAULT_OF: Mapping[type, Callable[[Any], str]] = {
    Opened: _of_setup,
    Resumed: _of_setup,
    CheckRead: _of_check_read,
    CheckJudged: _of_check_judged,
    Read: _of_read,
    Held: _of_held,
    Kept: _of_kept,
    Skipped: _of_skipped,
    Dropped: _of_dropped,
    Rejected: _of_rejected,
    Closed: _of_closed,
}
"""What finds the fault in a record, by its kind; the other kinds hold words alone."""

_NAMES_OF: dict[type, tuple[str, ...]] = {
    kind: tuple(name for name in kind.__struct_fields__ if name.endswith("_mm") or name in _NUMBERS)
    for kind in (CheckJudged, JournalResult, GroupResult)
}
"""The fields of each that hold a number as text."""
