"""What stands in the tables, worked by hand: estimates, corrections, days, gauges, lists."""

import csv
import io
from pathlib import Path

import msgspec
import pandas as pd
import pytest

import daq
from daq.export.csv_files import csv_bytes
from daq.export.rows import apart
from daq.export.tables import tables
from daq.record.state import State
from daq.rules.commands import Later, TakeReading
from daq.storage.replay import load_state
from drivers.reading import utc_micros
from tests.builders import (
    ONE,
    SECOND_US,
    Bench,
    accepted,
    forge,
    opened,
    reading,
    setup,
    still_open,
)

Rows = list[dict[str, str]]


def file_of(state: State, name: str) -> bytes:
    (found,) = [csv_bytes(table) for table in tables(state, (), "") if table.name == name]
    return found


def rows_of(state: State, name: str) -> Rows:
    """A table as a reader of CSV sees it."""
    text = io.StringIO(file_of(state, name).decode("utf-8"), newline="")
    return list(csv.DictReader(text, strict=True))


# Estimates ----------------------------------------------------------------------------------------

FIVE = ONE.replace("readings = 2", "readings = 5")
MORE_BY_06 = ("59.971", "59.970", "59.971", "59.970", "59.971")
"""On a stack of 59.970 mm: errors 1, 0, 1, 0, 1 um, mean 0.6."""
RIGHT = ("59.970",) * 5


def test_what_the_gauge_reads_too_much_on_the_stack_is_taken_off(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(FIVE))
    bench.press(*MORE_BY_06, "59.973", "59.979", *MORE_BY_06).close()
    first, second = rows_of(bench.state, "readings")
    assert (first["value"], first["diameter_mm"]) == ("59.973", "59.973")
    assert (first["diameter_20c_mm"], first["correction_mm"]) == ("59.97240", "0.00060")
    assert (second["diameter_20c_mm"], second["correction_mm"]) == ("59.97840", "0.00060")
    (journal,) = rows_of(bench.state, "journals")
    assert (journal["smallest_mm"], journal["smallest_read_mm"]) == ("59.97240", "59.973")
    assert (journal["largest_mm"], journal["largest_read_mm"]) == ("59.97840", "59.979")
    assert (journal["uncorrected_error_mm"], journal["provisional"]) == ("", "")


def test_until_the_closing_check_the_error_is_that_of_the_check_before(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(FIVE)).press(*MORE_BY_06, "59.973", "59.979")
    assert rows_of(bench.state, "readings")[0]["correction_mm"] == "0.00060"
    assert rows_of(bench.state, "journals")[0]["provisional"] == "yes"
    bench.press(*RIGHT).close()
    # the mean of 0.6 before and 0 after
    assert rows_of(bench.state, "readings")[0]["correction_mm"] == "0.00030"
    assert rows_of(bench.state, "journals")[0]["provisional"] == ""


def test_the_estimate_of_one_reading_is_not_that_of_its_place(tmp_path: Path) -> None:
    plan = ONE.replace("angles_deg = [0, 90]", "angles_deg = [0]\nrepeats = 2")
    bench = Bench.new(tmp_path / "s", opened(plan))
    bench.press("59.971", "59.971", "59.980", "59.981", "59.971", "59.971").close()
    # error 1 um; the journal's place is the mean of 59.979 and 59.980
    found = [row["diameter_20c_mm"] for row in rows_of(bench.state, "readings")]
    assert found == ["59.97900", "59.98000"]
    (journal,) = rows_of(bench.state, "journals")
    assert (journal["smallest_mm"], journal["smallest_read_mm"]) == ("59.97950", "59.98050")


# Two readings of the stack, one of the part, and what is printed: a half goes to the even one,
# of the estimate and of the correction each by itself.
HALVES = [
    # mean 0.000005: 59.979995 up to 59.98000, 0.000005 down to 0
    ("59.97000", "59.97001", "59.98000", "59.98000", "0.00000"),
    # 59.980005 down to 59.98000
    ("59.97000", "59.97001", "59.98001", "59.98000", "0.00000"),
    # mean 0.000015: 59.979985 down to 59.97998, 0.000015 up to 0.00002
    ("59.97001", "59.97002", "59.98000", "59.97998", "0.00002"),
    # mean -0.000005: 59.980005 down; no minus before nothing
    ("59.97000", "59.96999", "59.98000", "59.98000", "0.00000"),
    # mean -0.000015: 59.980015 up to 59.98002
    ("59.96998", "59.96999", "59.98000", "59.98002", "-0.00002"),
]


@pytest.mark.parametrize(("one", "other", "read", "estimate", "correction"), HALVES)
def test_halves_go_to_the_even_neighbour(
    tmp_path: Path, one: str, other: str, read: str, estimate: str, correction: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press(one, other, read, read, one, other, resolution="0.00001").close()
    first = rows_of(bench.state, "readings")[0]
    assert (first["diameter_20c_mm"], first["correction_mm"]) == (estimate, correction)


def test_a_reading_at_a_place_that_the_plan_does_not_have_stands_as_it_was_read(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.971", "59.971", "59.980", "59.981")
    forge(bench.close().folder, b'"angle_deg":90', b'"angle_deg":45')
    state, _ = load_state(bench.folder)
    first, second = rows_of(state, "readings")
    assert (first["diameter_20c_mm"], first["correction_mm"]) == ("59.97900", "0.00100")
    assert (second["angle_deg"], second["diameter_20c_mm"]) == ("45", "59.981")
    assert second["correction_mm"] == ""


def test_each_reading_is_corrected_by_the_checks_of_its_own_stint(tmp_path: Path) -> None:
    first, second = rows_of(two_gauges(tmp_path / "s").state, "readings")
    assert (first["gauge"], first["correction_mm"]) == ("mic-1", "0.00100")
    assert (second["gauge"], second["correction_mm"]) == ("mic-2", "-0.00100")


# Gauges -------------------------------------------------------------------------------------------


def two_gauges(folder: Path, *names: str) -> Bench:
    """M1 of ONE measured by two gauges, one a place; the first 0.001 mm over, the second under."""
    one, other = names or ("mic-1", "mic-2")
    bench = Bench.new(folder, opened(ONE, with_setup=setup("usb-1", gauge=one)))
    bench.press("59.971", "59.971", "59.980")
    bench.say(Later())
    bench.press("59.971", "59.971").close()
    again = Bench.again(folder, bench.now_us, setup("usb-2", gauge=other))
    again.press("59.969", "59.969", "59.981", "59.969", "59.969")
    return again.close()


def test_the_gauges_of_a_journal_are_joined_in_the_order_of_their_stints(tmp_path: Path) -> None:
    state = two_gauges(tmp_path / "s").state
    assert [row["gauge"] for row in rows_of(state, "journals")] == ["mic-1;mic-2"]
    assert [row["gauge"] for row in rows_of(state, "groups")] == ["mic-1;mic-2"]


def test_a_gauge_of_several_stints_is_named_once_and_what_was_not_read_has_none(
    tmp_path: Path,
) -> None:
    bench = accepted(tmp_path / "s")  # a stint for each stack
    assert [row["gauge"] for row in rows_of(bench.state, "journals")] == ["mic-50-75"] * 2
    half = still_open(tmp_path / "o")
    assert [row["gauge"] for row in rows_of(half.state, "journals")] == ["mic-50-75", ""]


def test_hostile_names_of_gauges_are_guarded_one_by_one(tmp_path: Path) -> None:
    state = two_gauges(tmp_path / "s", "a;=1", "=2+3").state
    (journal,) = rows_of(state, "journals")
    assert journal["gauge"] == r"a\x3b=1;'=2+3"
    assert daq.load(tmp_path / "s").journals["gauge"].tolist() == [r"a\x3b=1;=2+3"]


# Lists --------------------------------------------------------------------------------------------


def test_hostile_flags_are_guarded_one_by_one(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.press("59.980", flags=("peak", "=1+2", "a;b", "\x1b[2J", "-5")).close()
    (row,) = rows_of(bench.state, "readings")
    assert row["flags"] == r"peak;'=1+2;a\x3bb;\x1b[2J;'-5"
    assert daq.load(bench.folder).readings["flags"][0] == "peak;=1+2;a\\x3bb;\x1b[2J;-5"


def test_hostile_names_of_journals_are_guarded_one_by_one(tmp_path: Path) -> None:
    head, journal = ONE.split("[[journal]]")
    names = ("A;=B", "=C", "D")
    plan = head + "".join(f"[[journal]]{journal.replace('M1', name)}" for name in names)
    bench = Bench.new(tmp_path / "s", opened(plan)).press("59.970", "59.970")
    bench.press(*["59.900"] * 4, *["59.980"] * 2, "59.970", "59.970").close()
    (group,) = rows_of(bench.state, "groups")
    assert group["forced_by"] == r"A\x3b=B;'=C"


@pytest.mark.parametrize(
    ("cell", "names", "elements"),
    [
        ("", ("a",), ()),
        ("a;b", ("a", "b"), ("a", "b")),
        ("a;b", ("a", "b", "a;b"), ("a;b",)),
        ("b;a;b;a", ("a", "b", "a;b"), ("b", "a;b", "a")),
        ("0;45", (), ("0", "45")),
        ("a;", ("a;",), ("a;",)),
        ("a;;", (), ("a", "", "")),
    ],
)
def test_a_stored_list_is_parted_by_the_names_it_may_hold(
    cell: str, names: tuple[str, ...], elements: tuple[str, ...]
) -> None:
    assert apart(cell, names) == elements
    assert ";".join(elements) == cell


def test_a_taper_between_two_stations_names_both(tmp_path: Path) -> None:
    plan = ONE.replace('["front"]', '["=f", "r;r"]').replace("[0, 90]", "[0, 45, 90, 135]")
    bench = Bench.new(tmp_path / "s", opened(plan)).press("59.970", "59.971")
    oval = ("59.981", "59.980", "59.979", "59.980")  # an oval of 2 um, alike at both ends
    bench.press(*oval, *oval, "59.970", "59.971").close()
    (journal,) = rows_of(bench.state, "journals")
    assert (journal["form_by"], journal["out_of_round_at"]) == ("fit", "")
    assert journal["taper_at"] == r"'=f;r\x3br"


# Days ---------------------------------------------------------------------------------------------


def closed_at(folder: Path, at: str, offset: str) -> State:
    """A session whose closing line is stored at `at`."""
    with_setup = msgspec.structs.replace(setup(), local_offset=offset)
    # two of the stack, two places, two of the stack: a second each
    bench = Bench.new(folder, opened(ONE, with_setup=with_setup), utc_micros(at) - 6 * SECOND_US)
    bench.press("59.970", "59.970", "59.980", "59.981", "59.970", "59.970").close()
    assert bench.state.closed is not None
    assert bench.state.last_us == utc_micros(at)
    return bench.state


@pytest.mark.parametrize(
    ("at", "offset", "day"),
    [
        ("2026-11-25T12:00:00.000000Z", "+01:00", "2026-11-25"),
        ("2026-11-25T23:00:00.000000Z", "+01:00", "2026-11-26"),
        ("2026-11-25T22:59:59.999999Z", "+01:00", "2026-11-25"),
        ("2026-11-25T04:59:59.000000Z", "-05:00", "2026-11-24"),
        ("2026-12-31T18:30:00.000000Z", "+05:30", "2027-01-01"),
        ("2026-11-25T23:59:59.000000Z", "", "2026-11-25"),
        ("9999-12-31T23:59:59.000000Z", "+01:00", "9999-12-31"),  # beyond the calendar: by UTC
    ],
)
def test_the_day_of_closing_is_the_local_one(
    tmp_path: Path, at: str, offset: str, day: str
) -> None:
    state = closed_at(tmp_path / "s", at, offset)
    for table in tables(state, (), ""):
        found = {row["closed_on"] for row in rows_of(state, table.name)}
        assert found == ({day} if table.rows else set())


def test_the_day_is_that_where_the_last_run_ran(tmp_path: Path) -> None:
    first = msgspec.structs.replace(setup(), local_offset="-05:00")
    begun = utc_micros("2026-11-25T23:30:00.000000Z")
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=first), begun)
    bench.press("59.970", "59.970", "59.980").close()
    again = Bench.again(bench.folder, bench.now_us, setup())  # +01:00
    again.press("59.970", "59.970", "59.981", "59.970", "59.970").close()
    rows = rows_of(again.state, "readings")
    assert [(row["local_offset"], row["closed_on"]) for row in rows] == [
        ("-05:00", "2026-11-26"),
        ("+01:00", "2026-11-26"),
    ]


def test_while_a_session_is_open_there_is_no_day(tmp_path: Path) -> None:
    state = still_open(tmp_path / "s").state
    for table in tables(state, (), ""):
        found = {row["closed_on"] for row in rows_of(state, table.name)}
        assert found == ({""} if table.rows else set())


# Bytes --------------------------------------------------------------------------------------------


def test_a_reader_that_guesses_leaves_the_bytes_a_text(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.say(TakeReading(reading("59.982", bench.now_us + SECOND_US, raw=b"59.982")))
    frame = pd.read_csv(io.BytesIO(file_of(bench.close().state, "readings")))
    assert frame["raw_hex"].tolist() == ["hex 35 39 2e 39 38 32"]
    # what is joined would be 35392 times ten to the 393832nd
    assert daq.load(bench.folder).readings["raw_hex"].tolist() == ["35392e393832"]
