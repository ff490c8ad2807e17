"""Tables of closed sessions reach pandas and a workbook: against the libraries alone."""

import io
import shutil
import time
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from bench.crank_sessions import Job, opened
from bench.ratio import Row, interleaved, timed_row
from bench.shop import ANGLES_DEG, CHECK_READINGS
from daq.acquisition.manager import SessionManager
from daq.export.tables import tables
from daq.record.events import Temperatures
from daq.rules.commands import TakeReading
from daq.services.finish import write_tables
from daq.storage.whole import whole
from drivers.reading import Instant, Reading, utc_micros

JOB = Job(tolerance=20, repeats=2, journals=8)
SESSIONS = 500
_BEGAN_US = utc_micros("2026-11-25T08:00:00.000000Z")
_SECOND_US = 1_000_000


def readings_of(job: Job) -> int:
    """How many readings of the part a whole session of a job has."""
    return job.journals * 2 * len(ANGLES_DEG) * job.repeats


READINGS = readings_of(JOB)


def session(folder: Path, job: Job = JOB) -> Path:
    """A whole session with its tables."""
    readings = readings_of(job)
    manager, _ = SessionManager.create(folder, opened(job, Temperatures()), _BEGAN_US)
    check = ["59.970", "59.971"] * CHECK_READINGS
    values = [*check[:CHECK_READINGS], *["59.980", "59.981", "59.982"] * readings][
        : CHECK_READINGS + readings
    ]
    for number, value in enumerate([*values, *check[:CHECK_READINGS]], 1):
        at_us = _BEGAN_US + number * _SECOND_US
        sent = Reading(
            value=Decimal(value),
            unit="mm",
            resolution=Decimal("0.001"),
            raw=f"{value} mm".encode(),
            at=Instant(at_us, at_us * 1000),
            channel=None,
            flags=(),
        )
        manager.submit(TakeReading(sent), at_us)
    assert manager.state.closed is not None
    write_tables(manager)
    manager.close()
    return folder


def _read_csv_ms(folder: Path) -> float:
    import pandas as pd  # noqa: PLC0415 - loads slowly

    began_s = time.process_time()
    for path in folder.glob("*.csv"):
        pd.read_csv(path)
    return (time.process_time() - began_s) * 1000


def _load_ms(folder: Path) -> float:
    import daq  # noqa: PLC0415

    began_s = time.process_time()
    daq.load(folder)
    return (time.process_time() - began_s) * 1000


def _load_many_ms(folders: list[Path]) -> float:
    import daq  # noqa: PLC0415

    began_s = time.process_time()
    found = daq.load_many(folders)
    took_ms = (time.process_time() - began_s) * 1000
    assert len(found.readings) == len(folders) * READINGS
    return took_ms


def _workbook_ms(folder: Path) -> float:
    from daq.export.xlsx import workbook  # noqa: PLC0415

    state, found = whole(folder)
    made = tables(state, found.entries, found.chain)
    began_s = time.process_time()
    workbook([], made[3], made, datetime.now(UTC))
    return (time.process_time() - began_s) * 1000


def _openpyxl_ms(folder: Path) -> float:
    """The same cells as texts, without a style."""
    import openpyxl  # noqa: PLC0415

    state, found = whole(folder)
    made = tables(state, found.entries, found.chain)
    began_s = time.process_time()
    book = openpyxl.Workbook(write_only=True)
    for table in made:
        sheet = book.create_sheet(table.name)
        sheet.append(list(table.names))
        for row in table.rows:
            sheet.append(list(row))
    book.save(io.BytesIO())
    return (time.process_time() - began_s) * 1000


def measure(folder: Path, rounds: int) -> list[Row]:
    """Processor time of each, round by round."""
    folder.mkdir(parents=True, exist_ok=True)
    one = session(folder / "one")
    many = [Path(shutil.copytree(one, folder / "many" / str(n))) for n in range(SESSIONS)]
    for warm in (_load_ms, _workbook_ms, _openpyxl_ms):
        warm(one)
    times = interleaved(
        {
            "load": lambda: _load_ms(one),
            "read_csv": lambda: _read_csv_ms(one),
            "workbook": lambda: _workbook_ms(one),
            "openpyxl": lambda: _openpyxl_ms(one),
        },
        rounds,
    )
    of_many = interleaved({"load_many": lambda: _load_many_ms(many)}, rounds)
    two_s = [2000.0] * rounds
    return [
        timed_row(
            f"`daq.load` of a session of {READINGS} readings, against `pandas.read_csv` of its "
            "tables",
            2,
            times["load"],
            times["read_csv"],
            "ms",
        ),
        timed_row(
            f"`daq.load_many` of {SESSIONS} such sessions: processor time, against 2 s",
            1,
            of_many["load_many"],
            two_s,
            "ms",
        ),
        timed_row(
            "the workbook of that session, against openpyxl alone with every cell a bare text",
            3,
            times["workbook"],
            times["openpyxl"],
            "ms",
        ),
    ]
