"""Forged records with a right chain: refused in words that name the line, by every reader."""

import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

import daq
from daq.cli.views.budget import budgets, document, lines
from daq.errors import DaqError, LedgerDamaged
from daq.export.csv_files import files_of
from daq.gauges.study import evaluate
from daq.gauges.study_data import gathered
from daq.services.verify import verify
from daq.storage.whole import whole
from tests.builders import (
    SECOND_US,
    START_US,
    Bench,
    accepted,
    bodies_of,
    forge,
    rejected,
    resealed,
    still_open,
)
from tests.places import ROOT


def export(folder: Path) -> None:
    state, found = whole(folder)
    if state.closed is not None:
        files_of(state, found)


def budget(folder: Path) -> None:
    state, _ = whole(folder)
    for found in budgets(state, [journal.name for journal in state.plan.journals], is_form=False):
        document(found)
        lines(found)


def study(folder: Path) -> None:
    evaluate(gathered(whole(folder)[0]))


def resume(folder: Path) -> None:
    again = shutil.copytree(folder, folder.with_name("again"), dirs_exist_ok=True)
    Bench.again(again, START_US + 10_000 * SECOND_US).close()


DRIFT = b'"drift":{"sd_mm":"0.0004","dof":"5","source":"its history"}'

READERS: dict[str, Callable[[Path], object]] = {
    "verify": verify,
    "load": daq.load,
    "export": export,
    "budget": budget,
    "study": study,
    "resume": resume,
}


@pytest.mark.parametrize(
    ("line", "old", "new", "fragment"),
    [
        (3, b'"value":"59.970"', b'"value":"NaN"', "value 'NaN' is not a decimal"),
        (3, b'"value":"59.970"', b'"value":"Infinity"', "'Infinity' is not a decimal"),
        (3, b'"value":"59.970"', b'"value":"5_9.9"', "is not a decimal"),
        (6, b'"value":"59.980"', b'"value":"1E+9"', "is not a decimal"),
        (6, b'"value":"59.980"', b'"value":"' + b"9" * 5000 + b'"', "is not a decimal"),
        (6, b'"resolution":"0.001"', b'"resolution":"0"', "resolution '0'"),
        (6, b'"unit":"mm"', b'"unit":"ell"', "unit 'ell' is no length"),
        (6, b'"stint":1', b'"stint":7', "stint 7 is none of the 1"),
        (3, b'"stint":1', b'"stint":0', "stint 0 is none of the 1"),
        (5, b'"stint":1', b'"stint":-1', "stint -1 is none of the 1"),
        (2, b'"stint":1', b'"stint":3', "stint 3 begins after 0"),
        (6, b'"journal":"M1"', b'"journal":"M9"', "'M9' is none of the plan"),
        (6, b'"angle_deg":0', b'"angle_deg":' + b"9" * 30, ""),
        (5, b'"mean_error_mm":"', b'"mean_error_mm":"NaN', "is not a decimal"),
        (5, b'"readings":2', b'"readings":0', "readings is out of range"),
        (1, b'"local_offset":"+01:00"', b'"local_offset":"=1+1"', "local_offset"),
        (1, b'"step":null', b'"step":"0.001"', "step '0.001' is not a length above zero"),
        (1, b'"step":null', b'"step":"0 mm"', "step '0 mm' is not a length above zero"),
        (1, b'"drift":null', DRIFT.replace(b"0.0004", b"x"), "sd_mm 'x' is not a decimal"),
        (1, b'"drift":null', DRIFT.replace(b'"5"', b'"inf"'), "dof 'inf' is not a decimal"),
        (3, b'"kind"', b'"x":' + b"[" * 100_000 + b"]" * 100_000 + b',"kind"', "nested deeper"),
        (1, b'"kind"', b'"x":' + b"[" * 100_000 + b"]" * 100_000 + b',"kind"', "nested deeper"),
    ],
)
@pytest.mark.parametrize("reader", READERS.values(), ids=list(READERS))
def test_what_no_run_could_have_stored_is_damage_in_its_line(
    tmp_path: Path,
    reader: Callable[[Path], object],
    line: int,
    old: bytes,
    new: bytes,
    fragment: str,
) -> None:
    folder = still_open(tmp_path / "s").folder
    forge(folder, old, new, line)
    with pytest.raises(LedgerDamaged) as caught:
        reader(folder)
    assert caught.value.line == line
    assert fragment in str(caught.value)
    assert len(str(caught.value)) < 500


@pytest.mark.parametrize("reader", READERS.values(), ids=list(READERS))
@pytest.mark.parametrize("raw", [b"=1+1", b"zz", b"3", b"AB", b"\\u00e9\\u00e9"])
def test_raw_bytes_that_are_no_hex_are_damage(
    tmp_path: Path, reader: Callable[[Path], object], raw: bytes
) -> None:
    folder = still_open(tmp_path / "s").folder
    body = bodies_of((folder / "ledger.jsonl").read_bytes())[5]
    start = body.index(b'"raw_hex":"') + len(b'"raw_hex":"')
    old = body[start : body.index(b'"', start)]
    forge(folder, b'"raw_hex":"' + old, b'"raw_hex":"' + raw, 6)
    with pytest.raises(LedgerDamaged, match="is not bytes in lower-case hex") as caught:
        reader(folder)
    assert caught.value.line == 6


def test_numbers_of_the_closing_line_are_numbers(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    forge(folder, b'"smallest_mm":"', b'"smallest_mm":"=', 22)
    with pytest.raises(LedgerDamaged, match="smallest_mm '=") as caught:
        export(folder)
    assert caught.value.line == 22


@pytest.mark.parametrize("version", ["v0.1.0", "v0.2.0", "v0.3.0"])
def test_every_line_of_a_released_version_has_its_shape(version: str) -> None:
    whole(ROOT / "tests" / "golden" / version)


NASTY: tuple[Any, ...] = (
    *("NaN", "Infinity", "", "x", "=1+1", "-1", "0", "1e400", "9" * 3000, "1_0", " 59.9", "\u0663"),
    *(7, -1, 0, 10**30, 2**62, None, True, [], {}),
)


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    for key, each in inner:
        if isinstance(each, dict | list):
            yield from leaves(each, (*path, key))
        yield (*path, key)


def test_no_field_forged_to_anything_brings_a_reader_down(tmp_path: Path) -> None:
    """150 drawn forgeries, each read by every reader; a longer run draws with other seeds."""
    dice = random.Random(7)
    folders = [make(tmp_path / make.__name__).folder for make in (accepted, rejected, still_open)]
    work = tmp_path / "work"
    work.mkdir()
    refused = 0
    for _ in range(80):
        bodies = bodies_of((dice.choice(folders) / "ledger.jsonl").read_bytes())
        line = dice.randrange(len(bodies))
        record = msgspec.json.decode(bodies[line] + b"}")
        paths = [path for path in leaves(record) if path not in (("seq",), ("kind",))]
        *above, last = dice.choice(paths)
        inner = record
        for key in above:
            inner = inner[key]
        inner[last] = dice.choice(NASTY)
        bodies[line] = msgspec.json.encode(record)[:-1]
        (work / "ledger.jsonl").write_bytes(resealed(bodies))
        for reader in READERS.values():
            try:
                reader(work)
            except DaqError as error:
                refused += isinstance(error, LedgerDamaged)
    assert refused > 300
