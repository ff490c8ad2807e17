"""The tables of a sheet: the journals in numbers, and the checks of the gauge. Pure.

Numbers are rounded as on the bench (daq/board/shown_lengths.py), an uncertainty upwards.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from daq.board.board import JournalRow
from daq.board.shown_lengths import (
    CONVERTED,
    SHOWN_STEPS,
    shown_limit,
    shown_size,
    stated_unit,
)
from daq.cli.views.answer_details import chance_words
from daq.cli.views.answer_numbers import JournalShown, shown_journal
from daq.cli.views.answer_table import size_limits
from daq.cli.views.ended import SessionEnd
from daq.cli.views.sheet_drawings import state_words
from daq.cli.views.sheet_times import local_minute
from daq.lengths import Length, inward, parse_length, plain, shortest
from daq.record.results import JournalResult
from daq.record.state import JudgedCheck
from daq.sheet.content import SheetTable

MOST_JOURNALS, MOST_CHECKS = 260, 60
"""Rows of a sheet; the record has all."""

_PHASES = {"before": "before", "during": "in between", "after": "after"}

Cell = tuple[str, ...]


def journals_table(end: SessionEnd, rows: Sequence[JournalRow]) -> SheetTable:
    """A row a journal; where lengths are shown in both units each cell has a line for each."""
    has_largest = any(
        end.journals[result.journal].is_ground or result.size_verdict == "above"
        for result in end.results
    )
    units = {end.units(result.journal) for result in end.results}
    one_unit = " / ".join(next(iter(units))) if len(units) == 1 else ""
    of = f", {one_unit}" if one_unit else ""
    headings = (
        "journal",
        f"limits{of}",
        f"smallest{of}",
        "there it read",
        "at",
        "could be off by",
        f"largest{of}",
        "out of round (limit)",
        "taper (limit)",
        "size inside, probability",
        "decision",
    )
    by_name = {row.result.journal: row for row in rows}
    found = [
        _journal(end, result, by_name[result.journal], one_unit)
        for result in end.results[:MOST_JOURNALS]
    ]
    used = [
        at
        for at in range(len(headings))
        if (at != 6 or has_largest) and (at in (0, 10) or any(any(row[at]) for row in found))
    ]
    return SheetTable(
        tuple(headings[at] for at in used),
        tuple(tuple(row[at] for at in used) for row in found),
        max(0, len(end.results) - MOST_JOURNALS),
        words=("at", "decision"),
    )


def _journal(
    end: SessionEnd, result: JournalResult, row: JournalRow, one_unit: str
) -> tuple[Cell, ...]:
    """Of what no check can prove any more nobody can say how far off or how likely it is."""
    journal = end.journals[result.journal]
    uncertainty = "" if row.tainted else result.uncertainty_mm
    chance = "" if row.tainted else result.conformance_probability
    every = [shown_journal(result, journal, unit) for unit in end.units(result.journal)]
    return (
        (result.journal,),
        tuple(size_limits(one, one_unit) for one in every),
        _each(every, [one.smallest for one in every]),
        _each(every, [_read(result.smallest_read_mm, one) for one in every]),
        (result.smallest_at.replace("/", " ") + "°",) if result.smallest_at else (),
        _each(every, [_upwards(uncertainty, one.unit) for one in every]),
        _each(every, [one.largest for one in every]),
        tuple(_form(one, one.off_round, one.off_round_limit, "") for one in every),
        tuple(_form(one, one.taper, one.taper_limit, one.taper_per) for one in every),
        (chance_words(chance),),
        (state_words(row),),
    )


def _each(every: Sequence[JournalShown], values: Sequence[Decimal | None]) -> Cell:
    return tuple(
        f"{CONVERTED if one.is_converted else ''}{plain(value)}"
        for one, value in zip(every, values, strict=True)
        if value is not None
    )


def _read(text: str, shown: JournalShown) -> Decimal | None:
    """What the gauge showed, as it is shown; not on its own side of the limits, which it is not
    held against.
    """
    return shown_size(Fraction(text), shown.unit) if text else None


def _upwards(text: str, unit: str) -> Decimal | None:
    if not text:
        return None
    value, _ = inward(Decimal(text), unit, SHOWN_STEPS[unit], is_low=True)
    return value


def _form(one: JournalShown, value: Decimal | None, limit: object, per: str) -> str:
    if value is None:
        return ""
    mark = CONVERTED if one.is_converted else ""
    return f"{mark}{plain(value)} ({limit}{per})" if limit is not None else f"{mark}{plain(value)}"


# Checks -------------------------------------------------------------------------------------------


def checks_table(end: SessionEnd) -> SheetTable | None:
    """A row a check of the gauge on gauge blocks, in the order of time; None if there was none.
    In one unit, like the blocks, also where the journals are shown in both.
    """
    judged = end.state.judged
    if not judged:
        return None
    unit = end.units(end.results[0].journal)[0] if end.results else "mm"
    gauges = {end.state.stints[one.event.stint - 1].source.gauge for one in judged}
    headings = (
        "check",
        *(["gauge"] if len(gauges) > 1 else []),
        "time",
        "gauge blocks",
        "readings",
        f"off by, {unit} (allowed)",
        "readings apart",
        "moved since before",
        "result",
    )
    shown = judged[-MOST_CHECKS:] if len(judged) > MOST_CHECKS else judged
    return SheetTable(
        headings,
        tuple(_check(end, one, unit, with_gauge=len(gauges) > 1) for one in shown),
        len(judged) - len(shown),
        words=("gauge", "gauge blocks", "result"),
    )


def _check(
    end: SessionEnd, judged: JudgedCheck, unit: str, *, with_gauge: bool
) -> tuple[Cell, ...]:
    event = judged.event
    began = end.state.stints[event.stint - 1]
    size = parse_length(began.stack_size)
    stack = str(size) if began.stack in ("", began.stack_size) else f"{began.stack}, {size}"
    stated = stated_unit(size)
    allowed = event.max_error_mm if event.phase == "before" else ""
    return (
        (f"{event.check_no} {_PHASES[event.phase]}",),
        *([(began.source.gauge,)] if with_gauge else []),
        (local_minute(judged.at_us, end.state.setup.local_offset),),
        (stack,),
        (str(event.readings),),
        _amount(event.mean_error_mm, allowed, unit, stated, is_signed=True),
        _amount(event.spread_mm, event.max_spread_mm, unit, stated),
        _amount(event.drift_mm, event.max_drift_mm, unit, stated, is_signed=True),
        ("passed" if event.passed else "FAILED",),
    )


def _amount(text: str, allowed: str, unit: str, stated: str, *, is_signed: bool = False) -> Cell:
    """An amount in mm of a check, with what is allowed where it is held to that."""
    if not text:
        return ()
    mm = abs(Fraction(text))
    sign = ("-" if text.startswith("-") else "+") if is_signed and mm else ""
    mark = "" if unit == stated else CONVERTED
    limit = shown_limit(Length(Decimal(allowed), "mm"), unit, is_low=False) if allowed else None
    size = shown_size(mm, unit, [limit] if limit is not None else [])
    if mm and not size:
        size = SHOWN_STEPS[unit]
    most = f" ({mark}{shortest(limit.value)})" if limit is not None else ""
    return (f"{mark}{sign}{shortest(size)}{most}",)
