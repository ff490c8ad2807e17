"""Histories made by hand: checks, moments and files."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from daq.gauges.history import AnyRecord, CheckRecord, History, HistoryLine, NoteRecord
from daq.gauges.spread import sd_text
from daq.storage.chain import START
from daq.storage.history_lines import line_of
from drivers.reading import utc_micros

HOUR_US = 3_600_000_000
DAY_US = 24 * HOUR_US
FIRST_US = utc_micros("2026-01-05T08:00:00.000000Z")


def check(
    *values: str,
    size: str = "59.970",
    source: str = "prove",
    check_no: int = 1,
    phase: str = "prove",
    limit: str = "0.004",
    step: str = "0.001",
    temperatures: tuple[str, str] = ("", ""),
    per_k: tuple[str, str] = ("0.0000115", "0.0000115"),
    stack_u: str = "0.0004500",
) -> CheckRecord:
    """A check of these values in mm; judged by its mean error alone. `temperatures` and `per_k`:
    gauge, stack.
    """
    errors = [Decimal(value) - Decimal(size) for value in values]
    mean = sum(errors, Decimal(0)) / len(errors)
    passed = abs(mean) <= Decimal(limit)
    return CheckRecord(
        source=source,
        check_no=check_no,
        stint=1,
        phase=phase,
        gauge="mic-50-75",
        device="usb-1",
        stack=f"{size} mm",
        stack_size_mm=size,
        readings=values,
        resolution_mm=step,
        mean_error_mm=f"{mean:.5f}",
        spread_mm=str(max(errors) - min(errors)),
        sd_mm=sd_text(errors),
        max_error_mm=limit,
        max_spread_mm=limit,
        passed=passed,
        reason=f"mean error {mean:+.4f} mm",
        stack_u_mm=stack_u,
        stack_u_basis="assumed",
        gauge_temp_c=temperatures[0],
        stack_temp_c=temperatures[1],
        gauge_per_k=per_k[0],
        stack_per_k=per_k[1],
    )


def near(
    error_um: float,
    size: str = "59.970",
    spread_um: float = 1.0,
    *,
    limit: str = "0.004",
    step: str = "0.0001",
) -> CheckRecord:
    """A check of three readings whose mean error is `error_um`, for tests that look at means."""
    mid = Decimal(size) + Decimal(str(error_um)) / 1000
    half = Decimal(str(spread_um)) / 2000
    return check(
        *(str(mid + away) for away in (-half, Decimal(0), half)), size=size, limit=limit, step=step
    )


def daily(
    records: Sequence[AnyRecord], start_us: int = FIRST_US, every_us: int = DAY_US
) -> History:
    """A history with one record a day."""
    return at((start_us + place * every_us, record) for place, record in enumerate(records))


def at(entries: Iterable[tuple[int, AnyRecord]]) -> History:
    """A history of these moments (microseconds UTC) and records."""
    lines = [
        HistoryLine(number, at_us, record) for number, (at_us, record) in enumerate(entries, 1)
    ]
    return History("mic-50-75", "/shop/history/mic-50-75.jsonl", tuple(lines))


def adjusted(text: str = "zero set on the 50 mm block") -> NoteRecord:
    """The gauge was set anew."""
    return NoteRecord(about="adjusted", text=text)


def file_of(records: Sequence[AnyRecord]) -> bytes:
    """A history file's bytes, one record a day."""
    data, after = b"", START
    for number, record in enumerate(records, 1):
        line, after = line_of(number, FIRST_US + (number - 1) * DAY_US, record, after)
        data += line + b"\n"
    return data
