"""The tables of a session: their columns, and what stands in them."""

import csv
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pandas as pd
import pytest

from daq.cli.app import run
from daq.export.columns import columns_of
from daq.export.csv_files import csv_bytes
from daq.export.tables import tables
from daq.record.events import Temperatures
from daq.record.evolve import judged_by
from daq.rules.commands import Abandon, Back, CheckNow, Drop, Keep, Skip
from tests.builders import (
    ONE,
    SESSION,
    Bench,
    accepted,
    opened,
    rejected,
    setup,
    still_open,
    tables_of,
)

NAMES = ["readings", "checks", "judgements", "journals", "groups", "steps", "sessions", "notes"]

Rows = list[dict[str, str]]


def rows_of(bench: Bench, name: str) -> Rows:
    """A table as a reader of CSV sees it."""
    (data,) = [csv_bytes(table) for table in tables_of(bench) if table.name == name]
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


def test_the_tables_are_these_eight_in_this_order(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").close()
    assert [table.name for table in tables_of(bench)] == NAMES


def test_the_header_of_each_file_is_its_columns(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    for table in tables_of(bench):
        header = csv_bytes(table).split(b"\r\n")[0].decode()
        assert header == ",".join(column.name for column in columns_of(3)[table.name])


def test_csv_and_pandas_read_the_same_cells(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s", opened(job="a,b", operator='"Ada"', part="=1\n2"))
    for table in tables_of(bench):
        data = csv_bytes(table)
        frame = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)
        read = list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
        assert [list(frame.columns), *frame.to_numpy().tolist()] == read
        assert len(read) == 1 + len(table.rows)


def test_a_reading_row_by_hand(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    first = rows_of(bench, "readings")[0]
    # The gauge's error on the stack: +0.0005 mm by the check before (0.000 and 0.001), 0 by the one
    # after, so 0.00025 is taken off.
    assert first == {
        "session_id": SESSION,
        "job": "4711",
        "part": "No. 2",
        "operator": "Ada",
        "gauge": "mic-50-75",
        "journal": "M1",
        "group": "mains",
        "station": "front",
        "angle_deg": "0",
        "repeat": "1",
        "seq": "6",  # opened, stint, two of the stack, their judgement, then this
        "taken_at": "2026-11-25T08:00:03.000000Z",  # the third press, a second each
        "value": "59.980",
        "unit": "mm",
        "resolution": "0.001",
        "diameter_mm": "59.980",
        "diameter_20c_mm": "59.97975",
        "flags": "",
        "raw_hex": "hex 35 39 2e 39 38 30 20 6d 6d",  # "59.980 mm" in ASCII
        "session_verdict": "accepted",
        "stint": "1",
        "typed": "false",
        "local_offset": "+01:00",
        "part_type": "crankshaft of the pump engine",
        "correction_mm": "0.00025",
        "closed_on": "2026-11-25",
    }


def test_a_reading_has_one_row_at_its_position_and_rows_follow_the_ledger(tmp_path: Path) -> None:
    rows = rows_of(accepted(tmp_path / "s"), "readings")
    assert [(r["journal"], r["station"], r["angle_deg"], r["value"]) for r in rows] == [
        ("M1", "front", "0", "59.980"),
        ("M1", "front", "90", "59.981"),
        ("M1", "rear", "0", "59.979"),
        ("M1", "rear", "90", "59.982"),
        ("R1", "middle", "0", "50.790"),
        ("R1", "middle", "90", "50.791"),
    ]
    assert [row["stint"] for row in rows] == ["1"] * 4 + ["2"] * 2


def test_what_was_taken_back_or_dropped_has_no_row_and_what_was_kept_has_its_own(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.985")
    bench.say(Back())
    bench.press("65.000")
    bench.say(Drop())
    bench.press("59.98", resolution="0.01")
    bench.say(Keep())
    bench.close()
    (row,) = rows_of(bench, "readings")
    # opened 1, stint 2, two of the stack 3 4, judged 5, 59.985 6, void 7, held 8, dropped 9: the
    # number that counts stands in line 10, kept by line 11.
    assert (row["value"], row["resolution"], row["seq"]) == ("59.98", "0.01", "10")
    assert row["angle_deg"] == "0"
    assert row["session_verdict"] == "open"


def test_flags_are_joined_by_semicolons(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.press("59.980", flags=("peak", "low-battery")).close()
    assert rows_of(bench, "readings")[0]["flags"] == "peak;low-battery"


def test_an_inch_reading_gives_exact_millimetres_and_keeps_its_digits(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press("2.36100", "2.36105", "2.36150", unit="in", resolution="0.00005").close()
    (row,) = rows_of(bench, "readings")
    # 2.36150 in * 25.4 = 59.982100 mm exactly: 2.36150 has five decimals, 25.4 one
    assert (row["value"], row["unit"], row["resolution"]) == ("2.36150", "in", "0.00005")
    assert row["diameter_mm"] == "59.982100"
    # Errors 2.36100 in = 59.969400, -0.000600, and +0.000670: mean 0.000035, a half each time:
    # 59.982065 goes down to the even 6, 0.000035 up to the even 4.
    assert (row["diameter_20c_mm"], row["correction_mm"]) == ("59.98206", "0.00004")
    check = rows_of(bench, "checks")[1]
    # 2.36105 in = 59.970670 mm, 0.000670 over the stack of 59.970
    assert (check["value"], check["error_mm"]) == ("2.36105", "0.000670")


def test_a_negative_error_keeps_its_minus_and_no_apostrophe(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.969", "59.970").close()
    assert [row["error_mm"] for row in rows_of(bench, "checks")] == ["-0.001", "0.000"]
    (judged,) = rows_of(bench, "judgements")
    # (-0.001 + 0.000) / 2
    assert judged["mean_error_mm"] == "-0.00050"


def test_a_check_row_and_its_judgement_by_hand(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    checks, judgements = rows_of(bench, "checks"), rows_of(bench, "judgements")
    assert checks[1] == {
        "session_id": SESSION,
        "gauge": "mic-50-75",
        "phase": "before",
        "stack": "59.970 mm",
        "stack_size_mm": "59.970",
        "seq": "4",
        "taken_at": "2026-11-25T08:00:02.000000Z",
        "value": "59.971",
        "unit": "mm",
        "error_mm": "0.001",
        "session_verdict": "accepted",
        "stint": "1",
        "check_no": "1",
        "counted": "true",
        "job": "4711",
        "closed_on": "2026-11-25",
    }
    assert [row["phase"] for row in checks] == ["before"] * 2 + ["after"] * 2 + ["before"] * 2 + [
        "after"
    ] * 2
    # After: 59.970 twice, error 0; before: mean of 0.000 and 0.001 = 0.0005; drift -0.0005.
    # Limits: a tenth of the smallest tolerance, 0.020 mm / 10 = 0.0020 mm; three steps of 0.001.
    assert judgements[1] == {
        "session_id": SESSION,
        "check_no": "2",
        "stint": "1",
        "gauge": "mic-50-75",
        "phase": "after",
        "stack_size_mm": "59.970",
        "readings": "2",
        "mean_error_mm": "0.00000",
        "spread_mm": "0.000",
        "drift_mm": "-0.00050",
        "max_error_mm": "0.0020",
        "max_spread_mm": "0.003",
        "max_drift_mm": "0.0020",
        "passed": "true",
        "reason": "mean error 0.0000 mm, spread 0.0000 mm, drift -0.0005 mm",
        "job": "4711",
        "closed_on": "2026-11-25",
    }
    assert judgements[0]["drift_mm"] == ""
    assert [row["check_no"] for row in judgements] == ["1", "2", "3", "4"]


def test_a_check_cut_short_is_told_and_does_not_count(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(CheckNow())
    bench.press("59.971").close()
    again = Bench.again(bench.folder, bench.now_us)
    again.press("59.969", "59.970").close()
    rows = rows_of(again, "checks")
    assert [(row["value"], row["check_no"], row["counted"]) for row in rows] == [
        ("59.970", "1", "true"),
        ("59.970", "1", "true"),
        ("59.971", "2", "false"),
        ("59.969", "3", "true"),
        ("59.970", "3", "true"),
    ]


def test_a_check_reading_taken_back_does_not_count(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.999")
    bench.say(Back())
    bench.press("59.970", "59.971").close()
    assert [(row["value"], row["counted"]) for row in rows_of(bench, "checks")] == [
        ("59.999", "false"),
        ("59.970", "true"),
        ("59.971", "true"),
    ]
    (judged,) = rows_of(bench, "judgements")
    # (0.000 + 0.001) / 2 of the two that count
    assert (judged["readings"], judged["mean_error_mm"]) == ("2", "0.00050")


def test_a_journal_row_by_hand(tmp_path: Path) -> None:
    first, second = rows_of(accepted(tmp_path / "s"), "journals")
    # front 59.980 59.981, rear 59.979 59.982, each less 0.00025, the mean of +0.0005 before and 0
    # after: smallest 59.97875, largest 59.98175, margin 59.97875 - 59.970. Out-of-round rear
    # 59.982 - 59.979; taper at 0 and at 90 is 0.001 each, the first counts.
    #
    # Uncertainty in um, all of it assumed or from the checks (errors 0, 1 before, 0, 0 after):
    # stack of unknown blocks, grade 2: sqrt((1.00^2 + 3*0.45^2)/3) = 0.7320
    # wringing of three joints: 0.012*sqrt(3) = 0.0208
    # one reading and the mean of two: s = sqrt((0.5 + 0)/2) = 0.5, * sqrt(1 + 1/2) = 0.6124
    # drift: half of the 0.5 between the checks = 0.25
    # 1 K between part and stack: 59.97e3 * 11.5e-6 / sqrt(3) = 0.3982
    # second order: 59.97e3 * sqrt(2)*1.15e-6/sqrt(3) * 5/sqrt(3) = 0.1626
    # u_c = sqrt(1.1588) = 1.0765; dof = 1.1588^2 / (0.375^2/2) = 19.10, so 19.0; one-sided at
    # 95 % by 19 degrees k = 1.7291; U = 1.8613, up to 1.87.
    # Form: s*sqrt(2) = 0.7071 with 2 dof; k = 2.9200; U = 2.0647, up to 2.07.
    wanted = {
        "session_id": SESSION,
        "part": "No. 2",
        "journal": "M1",
        "group": "mains",
        "positions_planned": "4",
        "positions_measured": "4",
        "smallest_mm": "59.97875",
        "smallest_at": "rear/0",
        "largest_mm": "59.98175",
        "largest_at": "rear/90",
        "out_of_round_mm": "0.00300",
        "out_of_round_at": "rear",
        "taper_mm": "0.00100",
        "taper_at": "0",
        "low_limit_mm": "59.970",
        "high_limit_mm": "59.990",
        "margin_to_low_mm": "0.00875",
        "uncertainty_mm": "0.00187",
        "form_uncertainty_mm": "0.00207",
        "standard_uncertainty_mm": "0.001076",
        "uncorrected_error_mm": "",
        "coverage_factor": "1.729",
        "effective_dof": "19.0",
        "conformance_probability": "1.00000",
        "ovality_seen": "0.0000",
        "verdict": "within",
        "session_verdict": "accepted",
        "out_of_round_limit_mm": "0.005",
        "taper_limit_mm": "0.005",
        "size_verdict": "within",
        "form_verdict": "not-seen",  # two angles a right angle apart
        "decision_rule": "guarded acceptance: a limit counts as kept or passed at 0.95 confidence "
        "(ISO 14253-1)",
        "angles_used": "0;90",
        "smallest_read_mm": "59.979",
        "largest_read_mm": "59.982",
        "form_by": "range",
        "provisional": "",
        "out_of_round_uncertainty_mm": "0.00207",
        "taper_uncertainty_mm": "0.00207",
        "job": "4711",
        "gauge": "mic-50-75",
        "closed_on": "2026-11-25",
    }
    assert {key: first[key] for key in wanted} == wanted
    # One station: no taper, and no limit on form.
    assert (second["taper_mm"], second["taper_at"], second["form_verdict"]) == ("", "", "no-limit")
    assert second["out_of_round_mm"] == "0.00100"


def test_a_journal_without_readings_has_its_row(tmp_path: Path) -> None:
    first, second = rows_of(still_open(tmp_path / "s"), "journals")
    assert (first["positions_measured"], second["positions_measured"]) == ("3", "0")
    assert (second["verdict"], second["smallest_mm"]) == ("incomplete", "")


def test_a_skipped_place_has_no_row(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.say(Skip("behind the key"))
    bench.press("59.980", "59.970", "59.970").close()
    (row,) = rows_of(bench, "readings")
    assert row["angle_deg"] == "90"
    (journal,) = rows_of(bench, "journals")
    assert (journal["positions_planned"], journal["positions_measured"]) == ("2", "1")
    assert journal["verdict"] == "incomplete"


TEMPERATURES = [
    # part, gauge, stack; at 20 degrees as read; the estimate of 59.980 - 0.00025; the correction
    ("", "", "", "59.980", "59.97975", "0.00025"),
    ("20", "", "", "59.980", "59.97975", "0.00025"),
    ("20.0", "20", "20.00", "59.980", "59.97975", "0.00025"),
    # one material, one temperature: nothing to correct
    ("28", "22", "28", "59.980", "59.97975", "0.00025"),
    ("", "19.9", "", "59.980", "59.97975", "0.00025"),  # the part's is not known
    # 59.980 / (1 + 11.5e-6 * 0.1) = 59.98 - 0.0000689770; 59.97975 - 0.0000689766 = 59.9796810
    ("20.1", "", "", "59.9799310", "59.97968", "0.00032"),
    # 59.980 * (1 + 11.5e-6 * 1) = 59.98 + 0.00068977; 59.97975 + 0.0006897671 = 59.9804398
    ("20", "20", "21", "59.9806898", "59.98044", "-0.00044"),
    # the stack proved the gauge, so the gauge's own temperature does not count:
    # 59.980 / (1 + 11.5e-6 * 5) = 59.98 * (1 - 57.4966940e-6); 59.97975 - 0.0034486 = 59.9763014
    ("25", "31", "20", "59.9765513", "59.97630", "0.00370"),
]


@pytest.mark.parametrize(("part", "gauge", "stack", "as_read", "at_20c", "off"), TEMPERATURES)
def test_the_diameter_at_20_degrees(
    tmp_path: Path, part: str, gauge: str, stack: str, as_read: str, at_20c: str, off: str
) -> None:
    warm = setup(temperatures=Temperatures(part, gauge, stack))
    bench = accepted(tmp_path / "s", opened(with_setup=warm))
    rows = rows_of(bench, "readings")
    assert (rows[0]["diameter_20c_mm"], rows[0]["correction_mm"]) == (at_20c, off)
    for row in rows:
        assert row["diameter_mm"] == row["value"]
    (smallest, _) = [row["smallest_mm"] for row in rows_of(bench, "journals")]
    mains = [row["diameter_20c_mm"] for row in rows if row["journal"] == "M1"]
    assert smallest == min(mains, key=Decimal)
    # Rule set 2 took no error off, and rounded nothing but the correction for temperature.
    earlier = tables(judged_by(bench.state, 2), (), "")[0]
    place = [column.name for column in earlier.columns].index("diameter_20c_mm")
    assert earlier.rows[0][place] == as_read


def test_a_temperature_given_at_a_resume_counts_for_the_readings_from_then_on(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980").close()
    warm = setup(temperatures=Temperatures(part="23"))
    again = Bench.again(bench.folder, bench.now_us, warm)
    again.press("59.970", "59.970", "59.981").close()
    found = [row["diameter_20c_mm"] for row in rows_of(again, "readings")]
    assert found == ["59.98000", "59.97893"]
    # no error on the stack; 59.981 / (1 + 11.5e-6 * 3) = 59.981 - 0.0020692731


def test_awkward_texts_are_guarded_in_every_table(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s", opened(job="=1+2", part="@x", operator="\u001b[2J\nEve"))
    row = rows_of(bench, "readings")[0]
    assert (row["job"], row["part"], row["operator"]) == ("'=1+2", "'@x", "\\x1b[2J\\x0aEve")
    assert {row["part"] for row in rows_of(bench, "journals")} == {"'@x"}


def abandoned(folder: Path) -> Bench:
    bench = Bench.new(folder).press("59.970", "59.971", "59.980")
    bench.say(Abandon("it fell"))
    return bench.close()


@pytest.mark.parametrize(("make", "verdict"), [(rejected, "rejected"), (abandoned, "abandoned")])
def test_even_rejected_tables_carry_the_true_verdict_in_every_row(
    tmp_path: Path, make: Callable[[Path], Bench], verdict: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make(tmp_path / "s").folder
    assert run(["export", str(folder)]) == 1
    assert list(folder.glob("*.csv")) == []
    assert run(["export", "--even-rejected", str(folder)]) == 0
    capsys.readouterr()
    for name in ("readings", "checks", "journals"):
        frame = pd.read_csv(folder / f"{name}.csv", dtype=str, keep_default_na=False)
        assert len(frame) > 0
        assert set(frame["session_verdict"]) == {verdict}
    assert f'"session_verdict": "{verdict}"' in (folder / "csv-metadata.json").read_text()


def test_exporting_again_gives_the_same_bytes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = accepted(tmp_path / "s").folder
    assert run(["export", str(folder)]) == 0
    files = {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".lock"}
    assert run(["export", str(folder)]) == 0
    assert {name: (folder / name).read_bytes() for name in files} == files
    assert set(files) >= {
        "readings.csv",
        "checks.csv",
        "judgements.csv",
        "journals.csv",
        "csv-metadata.json",
    }
    assert run(["verify", str(folder)]) == 0
    capsys.readouterr()
