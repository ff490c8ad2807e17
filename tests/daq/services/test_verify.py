"""What `verify` finds in a session's folder, and that it changes nothing there."""

import hashlib
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from daq.errors import LedgerDamaged
from daq.export.csv_files import table_files, write_files
from daq.record.events import RULES
from daq.rules.commands import Note, TakeReading
from daq.services.verify import verify
from tests.builders import (
    PLAN,
    SECOND_US,
    Bench,
    accepted,
    bodies_of,
    forge,
    opened,
    reading,
    rejected,
    resealed,
    still_open,
    tables_of,
)
from tests.places import ROOT


def with_tables(bench: Bench) -> Path:
    """The folder of a closed session, its tables and plan beside the ledger."""
    assert bench.state.closed is not None
    files = table_files(
        tables_of(bench),
        bench.state.opened.session,
        bench.state.closed.verdict,
        bench.manager.chain,
    )
    write_files(bench.folder, files)
    (bench.folder / "plan.toml").write_bytes(PLAN.encode())
    return bench.folder


def contents(folder: Path) -> dict[str, tuple[str, int]]:
    """Every file's digest and time of last change."""
    return {
        path.name: (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
        for path in folder.iterdir()
    }


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """An accepted session with its tables."""
    return with_tables(accepted(tmp_path / "s"))


def cut_lines(folder: Path, count: int) -> None:
    path = folder / "ledger.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-count]))


@pytest.mark.parametrize(
    ("make", "verdict", "lines"),
    [
        # opened; stint, 2 + 1, 4 readings, 2 + 1; stint, 2 + 1, 2 readings, 2 + 1; closed:
        # 1 + 11 + 9 + 1
        (accepted, "accepted", 22),
        # opened, stint, 2 + 1, 2 readings, the note of the stop, 2 + 1, closed
        (rejected, "rejected", 12),
        # opened, stint, 2 + 1, 3 readings
        (still_open, "open", 8),
    ],
)
def test_a_good_session_has_no_faults(
    tmp_path: Path, make: Callable[[Path], Bench], verdict: str, lines: int
) -> None:
    found = verify(make(tmp_path / "s").folder)
    assert (found.verdict, found.lines) == (verdict, lines)
    assert (found.faults, found.is_whole) == ((), True)
    without_tables = [note for note in found.notes if "without its tables" in note]
    assert len(without_tables) == len(found.notes) == (verdict == "accepted")
    assert found.session == "20261125T080000Z-test"


def test_a_good_session_with_its_tables_has_no_faults(good: Path) -> None:
    assert (verify(good).faults, verify(good).notes) == ((), ())


FORGED_JUDGEMENTS = [
    # line 5 is the first judgement: readings 59.970 and 59.971 on a stack of 59.970
    (b'"mean_error_mm":"0.00050"', b'"mean_error_mm":"0.00000"', "mean_error_mm"),
    (b'"spread_mm":"0.001"', b'"spread_mm":"0.000"', "spread_mm"),
    (b'"max_error_mm":"0.0020"', b'"max_error_mm":"0.0050"', "max_error_mm"),
    (b'"passed":true', b'"passed":false', "passed"),
]


@pytest.mark.parametrize(("old", "new", "field"), FORGED_JUDGEMENTS)
def test_a_changed_judgement_sealed_again_is_told_with_both_answers(
    tmp_path: Path, old: bytes, new: bytes, field: str
) -> None:
    folder = accepted(tmp_path / "s").folder
    forge(folder, old, new, line=5)
    found = verify(folder)
    assert not found.is_whole
    (fault,) = [text for text in found.faults if f"line 5, {field}:" in text]
    for answer in (old, new):
        said = answer.partition(b":")[2].decode().strip('"').capitalize()
        assert said in fault


def test_a_changed_reading_shows_in_what_rests_on_it(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    # Line 8 is rear/0 of M1: 59.979, the smallest.
    forge(folder, b'"value":"59.979"', b'"value":"59.989"', line=8)
    faults = verify(folder).faults
    assert any("M1, smallest_mm" in text and "59.979" in text for text in faults)


def test_a_changed_verdict_of_a_journal_is_told_with_both_answers(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    # M1 and R1 are within: two angles leave M1's form to its size.
    forge(folder, b'"verdict":"within","out_of_round', b'"verdict":"below","out_of_round', line=22)
    found = verify(folder)
    assert any(
        "R1, verdict" in text and "'below'" in text and "'within'" in text for text in found.faults
    )


def test_a_changed_step_of_a_group_is_told_with_both_answers(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    forge(folder, b'"step":"serve-as-is"', b'"step":"undecided"', line=22)
    found = verify(folder)
    assert any(
        "group mains, step" in text and "stored 'undecided'" in text and "'serve-as-is'" in text
        for text in found.faults
    )


def test_a_rejected_session_made_accepted_is_told_with_both_answers(tmp_path: Path) -> None:
    folder = rejected(tmp_path / "s").folder
    forge(folder, b'"verdict":"rejected"', b'"verdict":"accepted"', line=12)
    (fault,) = verify(folder).faults
    assert "'accepted'" in fault
    assert "'rejected'" in fault


def test_a_reading_moved_to_another_place_is_told(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    forge(folder, b'"station":"front","angle_deg":0', b'"station":"rear","angle_deg":0', line=6)
    assert any("M1/rear/0" in text and "M1/front/0" in text for text in verify(folder).faults)


def test_a_missing_journal_in_the_closing_line_is_told(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    start, end = bodies[-1].index(b',{"journal":"R1"'), bodies[-1].rindex(b"}]")
    bodies[-1] = bodies[-1][:start] + bodies[-1][end + 1 :]
    path.write_bytes(resealed(bodies))
    assert any("1 journals" in text for text in verify(folder).faults)


def test_a_judgement_without_any_reading_is_told(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    judged = bodies[4].replace(b'"seq":5', b'"seq":9')
    path.write_bytes(resealed([*bodies, judged]))
    assert any("line 9 judges a check that has no reading" in t for t in verify(folder).faults)


def test_a_closed_record_whose_checks_have_no_reading_is_told_and_judged_without_them(
    tmp_path: Path,
) -> None:
    folder = accepted(tmp_path / "s", opened()).folder
    path = folder / "ledger.jsonl"
    kept = [b for b in bodies_of(path.read_bytes()) if b'"kind":"check_reading"' not in b]
    bodies = [
        re.sub(rb'^{"seq":[0-9]+', b'{"seq":%d' % seq, body) for seq, body in enumerate(kept, 1)
    ]
    path.write_bytes(resealed(bodies))
    assert any("judges a check that has no reading" in fault for fault in verify(folder).faults)


def test_a_judgement_of_readings_all_taken_back_is_told(tmp_path: Path) -> None:
    folder = Bench.new(tmp_path / "s").press("59.970").close().folder
    path = folder / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    at = b'"at":"2026-11-25T08:00:02.000000Z"'
    judged = bodies_of((still_open(tmp_path / "t").folder / "ledger.jsonl").read_bytes())[4]
    path.write_bytes(
        resealed([*bodies, b'{"seq":4,' + at + b',"kind":"void","target":3,"why":"back"', judged])
    )
    assert any("line 5 judges a check that has no reading" in t for t in verify(folder).faults)


def test_under_another_rule_set_a_difference_is_a_note_with_both_answers(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s", opened(rules=7))
    forge(bench.folder, b'"rules":%d,"verdict"' % RULES, b'"rules":7,"verdict"')
    forge(bench.folder, b'"mean_error_mm":"0.00050"', b'"mean_error_mm":"0.00040"', line=5)
    forge(bench.folder, b'"verdict":"within","out_of', b'"verdict":"below","out_of', line=22)
    found = verify(bench.folder)
    assert found.faults == ()
    assert "without its tables" in found.notes[-1]
    assert len(found.notes[:-1]) == 2 + 1  # M1, R1, the judgement; numbers are not compared
    assert all(f"rule set {RULES} instead of 7" in note for note in found.notes[:-1])
    assert "0.00040" in found.notes[0]
    assert "0.00050" in found.notes[0]


def test_each_run_is_held_to_its_own_rule_set(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(rules=7)).press("59.970", "59.971").close()
    again = Bench.again(bench.folder, bench.now_us + SECOND_US)
    again.press("59.970", "59.970").close()  # the during check of the second run, this rule set
    assert (verify(again.folder).faults, verify(again.folder).notes) == ((), ())
    old = b'"mean_error_mm":"0.000'
    forge(again.folder, old, b'"mean_error_mm":"9.000', line=5)
    found = verify(again.folder)
    assert (found.faults, len(found.notes)) == ((), 1)
    forge(again.folder, old, b'"mean_error_mm":"9.000', line=10)
    found = verify(again.folder)
    assert (len(found.faults), len(found.notes)) == (1, 1)


@pytest.mark.parametrize("rules", [1, 2])
def test_a_check_of_an_earlier_run_is_judged_again_by_its_own_rule_set(
    tmp_path: Path, rules: int
) -> None:
    # Errors 0 and +0.002. Rule sets 1 and 2 allow a spread of a tenth of 0.020 mm, as it is.
    bench = Bench.new(tmp_path / "s", opened(rules=rules)).press("59.970", "59.972").close()
    assert bench.state.judged[0].event.max_spread_mm == "0.0020"
    assert (verify(bench.folder).faults, verify(bench.folder).notes) == ((), ())
    forge(bench.folder, b'"max_spread_mm":"0.0020"', b'"max_spread_mm":"0.003"', line=5)
    found = verify(bench.folder)
    assert found.faults == ()
    assert found.notes == (
        f"under rule set {rules}, of an earlier program: line 5, max_spread_mm: stored '0.003', "
        "computed again '0.0020'",
    )


@pytest.mark.parametrize("version", ["v0.1.0", "v0.2.0", "v0.3.0"])
def test_in_a_right_ledger_of_an_earlier_version_no_check_comes_out_otherwise(
    tmp_path: Path, version: str
) -> None:
    folder = shutil.copytree(ROOT / "tests" / "golden" / version, tmp_path / "s")
    found = verify(folder)
    assert found.faults == ()
    assert not [note for note in found.notes if "of an earlier program" in note]


def test_an_edited_plan_beside_the_ledger_is_a_note(good: Path) -> None:
    (good / "plan.toml").write_text(PLAN.replace("59.990", "59.980"))
    found = verify(good)
    assert found.is_whole
    (note,) = found.notes
    assert "plan.toml" in note


@pytest.mark.parametrize("name", ["readings.csv", "checks.csv", "judgements.csv", "journals.csv"])
def test_an_edited_or_missing_table_is_a_fault(good: Path, name: str) -> None:
    path = good / name
    path.write_bytes(
        path.read_bytes()
        .replace(b"within", b"below")
        .replace(b"59.9", b"58.9")
        .replace(b"before", b"after")
    )
    (fault,) = verify(good).faults
    assert fault.startswith(name)
    path.unlink()
    (fault,) = verify(good).faults
    assert fault.startswith(name)


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"notes": []}', '{"notes": ["x"]}', "\0"])
def test_broken_metadata_is_a_fault(good: Path, text: str) -> None:
    (good / "csv-metadata.json").write_text(text)
    (fault,) = verify(good).faults
    assert fault.startswith("csv-metadata.json")


def test_the_tables_of_another_ledger_are_a_fault(good: Path) -> None:
    path = good / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    bodies[0] = bodies[0].replace(b'"operator":"Ada"', b'"operator":"Eve"')
    path.write_bytes(resealed(bodies))
    (fault,) = verify(good).faults
    assert "another record" in fault


@pytest.mark.parametrize("count", [1, 2, 9])
def test_lines_missing_at_the_end_of_a_session_with_tables_are_damage(
    good: Path, count: int
) -> None:
    cut_lines(good, count)
    with pytest.raises(LedgerDamaged, match="closing line") as caught:
        verify(good)
    assert caught.value.line == 22 - count + 1


def test_a_closing_line_cut_in_half_is_damage_where_there_are_tables(good: Path) -> None:
    path = good / "ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-30])
    with pytest.raises(LedgerDamaged, match="closing line"):
        verify(good)


def test_a_torn_tail_of_an_open_session_is_a_note(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-40])
    found = verify(folder)
    assert (found.faults, found.lines) == ((), 7)
    (note,) = found.notes
    assert "half line" in note


def test_a_missing_last_line_feed_is_a_note(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-1])
    found = verify(folder)
    assert (found.faults, found.lines, len(found.notes)) == ((), 8, 1)


def test_a_clock_that_went_back_between_runs_is_told(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970", "59.970", "59.980").close()
    again = Bench.again(bench.folder, bench.now_us - 10 * SECOND_US).close()
    found = verify(again.folder)
    assert found.faults == ()
    assert any("line 7" in text and "clock" in text for text in found.notes)


def test_a_reading_that_waited_while_something_was_typed_is_no_clock_going_back(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970", "59.970")
    bench.say(Note("typed after the next press arrived, stored before it"))
    bench.now_us -= SECOND_US // 2
    bench.manager.submit(TakeReading(reading("59.980", bench.now_us)), bench.now_us)
    found = verify(bench.close().folder)
    assert (found.faults, found.notes) == ((), ())


@pytest.mark.parametrize("harm", ["nothing", "torn", "no-lf", "forged", "damaged"])
def test_verifying_changes_nothing_on_disk(good: Path, harm: str) -> None:
    path = good / "ledger.jsonl"
    data = path.read_bytes()
    if harm == "torn":
        for beside in good.glob("*.*"):
            if beside != path:
                beside.unlink()
        path.write_bytes(data[:-30])
    elif harm == "no-lf":
        path.write_bytes(data[:-1])
    elif harm == "forged":
        forge(good, b'"passed":true', b'"passed":false')
    elif harm == "damaged":
        path.write_bytes(data.replace(b"59.980", b"59.981"))
    before = contents(good)
    if harm == "damaged":
        with pytest.raises(LedgerDamaged):
            verify(good)
    else:
        verify(good)
    assert contents(good) == before


def test_changed_reasons_are_found(good: Path) -> None:
    forge(good, b"after check 2 of stint 1 passed", b"after check 2 of stint 1 praised", line=22)
    assert any("reasons: stored" in fault for fault in verify(good).faults)


def test_a_closing_line_that_is_gone_is_missed_as_long_as_any_table_lies_here(good: Path) -> None:
    (good / "csv-metadata.json").unlink()
    cut_lines(good, 1)
    with pytest.raises(LedgerDamaged, match="line 22 is missing"):
        verify(good)
