"""The tables of the session itself by hand: one row of it, what was said and done, sizes."""

import csv
import hashlib
import io
from pathlib import Path

import msgspec

from daq.export.basis import Basis
from daq.export.csv_files import csv_bytes
from daq.export.session_rows import note_rows
from daq.export.tables import tables
from daq.record.events import Entry, Temperatures, Zeroed
from daq.rules.commands import (
    Abandon,
    Back,
    Drop,
    GaugeZeroed,
    Keep,
    LinkNote,
    LoseLink,
    Note,
    Skip,
    StopHere,
)
from daq.storage.ledger import scan
from daq.storage.replay import load_state
from tests.builders import (
    MINUTE_US,
    ONE,
    PLAN,
    SESSION,
    Bench,
    accepted,
    opened,
    rejected,
    setup,
    still_open,
    tables_of,
)
from tests.places import ROOT

Rows = list[dict[str, str]]

UNDERSIZE = """
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "50.530 mm"
high = "50.550 mm"
"""
GROUND_RODS = PLAN.replace('stack = "50.780 mm"\n', f'stack = "50.780 mm"\n{UNDERSIZE}')


def rows_of(bench: Bench, name: str) -> Rows:
    """A table as a reader of CSV sees it."""
    (data,) = [csv_bytes(table) for table in tables_of(bench) if table.name == name]
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


# Sessions -----------------------------------------------------------------------------------------


def test_a_session_row_by_hand(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    (row,) = rows_of(bench, "sessions")
    last = (bench.folder / "ledger.jsonl").read_bytes().splitlines()[-1]
    reasons = row.pop("reasons").split(";")
    assert (
        row
        == {
            "session_id": SESSION,
            "job": "4711",
            "part": "No. 2",
            "part_type": "crankshaft of the pump engine",
            "operator": "Ada",
            "gauge": "mic-50-75",
            "rule_set": "3",
            "plan_sha256": hashlib.sha256(PLAN.encode()).hexdigest(),
            "begun_at": "2026-11-25T08:00:00.000000Z",
            "closed_at": "2026-11-25T08:00:14.000000Z",  # fourteen presses, a second each
            "closed_on": "2026-11-25",
            "local_offset": "+01:00",
            "part_temp_c": "",
            "gauge_temp_c": "",
            "stack_temp_c": "",
            "session_verdict": "accepted",
            "readings": "6",
            "held": "0",
            "taken_back": "0",
            "skipped": "0",
            "stints": "2",
            "checks": "4",
            "checks_failed": "0",
            "program": "0.4.0",  # of the closing line; the first one says 0.1.0 here
            "last_chain": last[-66:-2].decode(),
        }
    )
    assert reasons[0].startswith("after check 2 of stint 1 passed")


def test_what_happened_to_readings_is_counted(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970")
    bench.say(Back())  # a reading of the stack
    bench.press("59.970", "59.970", "65.000")  # far out: held
    bench.say(Drop())
    bench.press("65.000")
    bench.say(Keep())
    bench.say(Back())  # what was kept
    bench.say(Skip("oil hole"))
    bench.say(Back())  # the skip: no reading
    bench.say(Skip("oil hole"))
    bench.press("59.981", "59.970", "59.975").close()  # the closing check fails: 5 um of spread
    (row,) = rows_of(bench, "sessions")
    counts = [row[name] for name in ("readings", "held", "taken_back", "skipped")]
    assert counts == ["1", "2", "2", "1"]
    assert (row["checks"], row["checks_failed"], row["stints"]) == ("2", "1", "1")


def test_temperatures_are_those_of_the_last_run_that_was_told_them(tmp_path: Path) -> None:
    warm = setup(temperatures=Temperatures(part="22", gauge="20.50"))
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=warm)).press("59.970").close()
    again = Bench.again(
        bench.folder, bench.now_us + MINUTE_US, setup(temperatures=Temperatures(part="23.0"))
    )
    (row,) = rows_of(again.close(), "sessions")
    temperatures = [row[name] for name in ("part_temp_c", "gauge_temp_c", "stack_temp_c")]
    assert temperatures == ["23.0", "20.50", ""]


def test_an_open_session_has_a_row_without_an_end(tmp_path: Path) -> None:
    (row,) = rows_of(still_open(tmp_path / "s"), "sessions")
    assert (row["session_verdict"], row["closed_at"], row["closed_on"]) == ("open", "", "")
    assert (row["program"], row["readings"], row["rule_set"]) == ("0.1.0", "3", "3")


def test_several_gauges_stand_in_their_order(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980").close()
    other = setup("usb-2", gauge="a;b")
    again = Bench.again(bench.folder, bench.now_us, other).press("59.970", "59.970").close()
    (row,) = rows_of(again, "sessions")
    assert row["gauge"] == r"mic-50-75;a\x3bb"


# Notes --------------------------------------------------------------------------------------------


def test_what_was_said_and_done_by_hand(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(Back())
    bench.press("65.000")
    bench.say(Drop())
    bench.press("59.981")
    bench.say(Skip("oil hole"))
    bench.say(Back())
    bench.say(Note("=1+2"))
    bench.say(LinkNote("rollover"))
    bench.say(LoseLink("unplugged"))
    bench.close()
    again = Bench.again(
        bench.folder,
        bench.now_us + MINUTE_US,
        setup(temperatures=Temperatures(part="22")),
        same_gauge="new cable",
    )
    again.say(GaugeZeroed())
    again.say(Abandon("it fell"))
    again.close()
    rows = rows_of(again, "notes")
    told = [(row["kind"], f"{row['journal']}/{row['angle_deg']}", row["text"]) for row in rows]
    far = "65.000 mm, as it lies more than 0.5 mm outside the limits of M1"
    assert told == [
        ("void", "M1/0", "59.980 mm of line 6: back"),
        ("dropped", "/", far),
        ("skip", "M1/90", "oil hole"),
        ("void", "M1/90", "the skip of line 11: back"),
        ("note", "/", "'=1+2"),
        ("link", "/", "rollover"),
        ("link_lost", "/", "unplugged"),
        (
            "resumed",
            "/",
            "by program 0.4.0, mic-50-75 on /dev/ttyUSB0, part 22 °C, the same gauge: new cable",
        ),
        ("link_back", "/", "mic-50-75 on /dev/ttyUSB0"),
        ("check", "/", "a resume begins with a check"),
        ("zeroed", "/", ""),
    ]
    assert {row["closed_on"] for row in rows} == {"2026-11-25"}
    assert [row["seq"] for row in rows] == sorted((row["seq"] for row in rows), key=int)


def test_who_said_it_stands_in_the_row_and_is_empty_where_nobody_knows(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.say(Note("a"))
    bench.say(LoseLink("unplugged"))
    bench.close()
    state, found = load_state(bench.folder)
    assert list(note_rows(Basis(state, "open", found.entries)).column("by")) == ["", "program"]
    told = [
        Entry(1, 0, Zeroed(stint=1, why="operator", by="board")),
        Entry(2, 0, Zeroed(stint=1, why="operator")),
        Entry(3, 0, Zeroed(stint=1, why="the gauge says that its zero is lost")),
    ]
    assert list(note_rows(Basis(state, "open", told)).column("by")) == ["board", "", "gauge"]


def test_what_the_program_did_by_itself_is_its_own(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(GaugeZeroed())
    bench.press("59.970", "59.970", "59.981").close()
    rows = rows_of(bench, "notes")
    assert [(row["kind"], row["by"], row["angle_deg"]) for row in rows] == [
        ("zeroed", "", ""),
        ("void", "program", "0"),
    ]


# Steps --------------------------------------------------------------------------------------------


def test_steps_by_hand(tmp_path: Path) -> None:
    rows = rows_of(accepted(tmp_path / "s", opened(GROUND_RODS)), "steps")
    # M1: smallest 59.97875 (see test_tables.py) less 59.970. R1: errors 0 and 1 um before, 0 after:
    # 50.790 - 0.00025 = 50.78975; less 50.780 and less 50.550.
    assert [
        (
            row["group"],
            row["undersize"],
            row["by_mm"],
            row["low_limit_mm"],
            row["high_limit_mm"],
            row["cleans_up"],
            row["metal_left_mm"],
            row["decided_by_journal"],
            row["chosen"],
        )
        for row in rows
    ] == [
        ("mains", "", "0", "59.970", "59.990", "yes", "0.00875", "M1", "true"),
        ("rods", "", "0", "50.780", "50.800", "yes", "0.00975", "R1", "true"),
        ("rods", "0.25", "0.25", "50.530", "50.550", "yes", "0.23975", "R1", "false"),
    ]
    assert {row["gauge"] for row in rows} == {"mic-50-75"}


def test_readings_that_a_failed_check_tainted_assess_no_size(tmp_path: Path) -> None:
    bench = rejected(tmp_path / "s", opened(GROUND_RODS))
    assert {row["cleans_up"] for row in rows_of(bench, "steps")} == {"not-assessed"}


def test_part_of_a_group_measured_gives_no_yes(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(StopHere("the shift ends"))
    bench.press("59.970", "59.970").close()
    (row,) = rows_of(bench, "steps")
    assert (row["cleans_up"], row["metal_left_mm"]) == ("not-assessed", "0.01000")


def test_an_earlier_session_told_by_todays_tables_assesses_what_it_can_decide() -> None:
    found = {}
    for version in ("v0.1.0", "v0.3.0"):
        state, scanned = load_state(ROOT / "tests" / "golden" / version)
        made = tables(state, scanned.entries, scanned.chain, rules=3)
        (steps,) = [table for table in made if table.name == "steps"]
        place = steps.names.index("cleans_up")
        found[version] = [row[place] for row in steps.rows]
    assert set(found["v0.1.0"]) == {"not-assessed"}  # it kept no uncertainty
    assert "yes" in found["v0.3.0"]


def test_the_row_of_an_earlier_session_has_its_own_rule_set() -> None:
    state, scanned = load_state(ROOT / "tests" / "golden" / "v0.3.0")
    made = {t.name: t for t in tables(state, scanned.entries, scanned.chain, rules=3)}
    row = dict(zip(made["sessions"].names, made["sessions"].rows[0], strict=True))
    assert (row["rule_set"], row["program"], row["last_chain"]) == ("2", "0.3.0", scanned.chain)
    assert msgspec.structs.asdict(state.opened)["session"] == row["session_id"]
    assert len(made["notes"].rows) > 5
    assert scan(ROOT / "tests" / "golden" / "v0.3.0").chain == scanned.chain
