"""A history file's lines: what was written is read again, what was harmed is named and left out."""

import json
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.gauges.history import CheckRecord, NoteRecord, StudyRecord, in_order
from daq.storage.chain import TAIL_BYTES
from daq.storage.history_lines import found_in
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, check, file_of

RECORDS = (
    check("59.971", "59.970"),
    NoteRecord(about="note", text="new spindle oil"),
    StudyRecord(
        source="20261125T080000Z-test",
        gauge="mic-50-75",
        device="usb-1",
        repeatability_mm="0.00034",
        repeatability_dof="60",
        reproducibility_mm="0.0002",
    ),
    check("59.972", "59.972"),
    check("59.969", "59.970"),
)
WHOLE = file_of(RECORDS)
LINES = WHOLE.splitlines(keepends=True)


def test_what_was_written_is_read_again_in_order() -> None:
    found = found_in(WHOLE)
    assert [line.record for line in found.lines] == list(RECORDS)
    assert [line.n for line in found.lines] == [1, 2, 3, 4, 5]
    assert [line.at_us for line in found.lines] == [FIRST_US + n * DAY_US for n in range(5)]
    assert found.faults == ()
    assert (found.n, found.whole_bytes, found.torn) == (6, len(WHOLE), b"")


def test_a_line_is_json_with_the_chain_of_a_ledger_at_its_end() -> None:
    first, second = (json.loads(line) for line in LINES[:2])
    assert list(first)[:4] == ["n", "at", "after", "kind"]
    assert first["after"] == "0" * 64
    assert second["after"] == first["chain"]
    assert LINES[0][-TAIL_BYTES - 1 :] == b',"chain":"' + first["chain"].encode() + b'"}\n'


def test_an_empty_file_is_an_empty_history() -> None:
    assert found_in(b"").lines == ()
    assert found_in(b"").faults == ()


def test_a_damaged_line_is_named_and_the_others_are_still_used() -> None:
    harmed = WHOLE.replace(b"new spindle oil", b"old spindle oil")
    found = found_in(harmed)
    assert found.faults == ("line 2 is damaged: it is not used",)
    assert [line.n for line in found.lines] == [1, 3, 4, 5]


def test_a_line_with_a_damaged_tail_takes_no_other_with_it() -> None:
    """Each line says whose digest it follows, so the one behind can be proven by itself."""
    second = LINES[1]
    digit = second[-4:-3]
    harmed = b"".join(
        [LINES[0], second[:-4] + (b"0" if digit != b"0" else b"1") + second[-3:], *LINES[2:]]
    )
    found = found_in(harmed)
    assert found.faults == ("line 2 is damaged: it is not used",)
    assert [line.n for line in found.lines] == [1, 3, 4, 5]


def test_a_line_that_somebody_took_out_is_missed() -> None:
    found = found_in(b"".join(LINES[:3] + LINES[4:]))
    assert found.faults == ("before line 4 something is missing or out of order",)
    assert [line.n for line in found.lines] == [1, 2, 3, 5]


def test_lines_that_changed_places_are_noticed() -> None:
    found = found_in(b"".join([LINES[0], LINES[2], LINES[1], *LINES[3:]]))
    assert len(found.lines) == 5
    assert len(found.faults) == 3


def test_a_half_last_line_is_no_damage_and_is_set_apart() -> None:
    found = found_in(WHOLE + LINES[4][:40])
    assert found.torn == LINES[4][:40]
    assert found.whole_bytes == len(WHOLE)
    assert len(found.lines) == 5
    assert found.faults == ("behind line 5 lies a half line of 40 bytes: it is not used",)


def test_a_last_line_that_only_lacks_its_line_feed_stands() -> None:
    found = found_in(WHOLE[:-1])
    assert (len(found.lines), found.faults, found.lacks_lf) == (5, (), True)


def test_a_record_of_a_newer_program_is_left_out_and_said_not_called_damaged() -> None:
    class Novel(NoteRecord, frozen=True, tag="novel"):
        pass

    found = found_in(file_of([RECORDS[0], Novel(about="x", text="y"), RECORDS[3]]))
    assert found.faults == (
        "line 2 is of kind 'novel', which this program does not know: left out",
    )
    assert [line.n for line in found.lines] == [1, 3]


def test_unknown_fields_of_a_newer_program_do_no_harm() -> None:
    class More(CheckRecord, frozen=True, tag="check"):
        humidity: str = "45"

    more = More(**{name: getattr(RECORDS[0], name) for name in CheckRecord.__struct_fields__})
    (line,) = found_in(file_of([more])).lines
    assert line.record == RECORDS[0]


@given(place=st.integers(0, len(WHOLE) - 1), byte=st.integers(0, 255))
def test_any_changed_byte_is_noticed_and_costs_at_most_two_lines(place: int, byte: int) -> None:
    """A changed line feed joins two lines; every other byte belongs to one."""
    harmed = WHOLE[:place] + bytes([byte]) + WHOLE[place + 1 :]
    found = found_in(harmed)
    if harmed == WHOLE:
        assert found.faults == ()
        return
    assert found.faults
    assert len(found.lines) >= 3
    assert all(line.record in RECORDS for line in found.lines)


@given(st.binary(max_size=300))
def test_whatever_stands_in_the_file_reading_it_never_fails(data: bytes) -> None:
    found = found_in(data)
    assert found.lines == ()
    assert bool(found.faults) is bool(data)


@given(cut=st.integers(0, len(WHOLE)))
def test_any_cut_leaves_all_lines_before_it(cut: int) -> None:
    found = found_in(WHOLE[:cut])
    whole = WHOLE[:cut].count(b"\n")
    assert len(found.lines) in (whole, whole + 1)  # a line may lack just its line feed
    assert [line.record for line in found.lines] == list(RECORDS[: len(found.lines)])


def test_endless_nesting_is_a_damaged_line_like_any_other() -> None:
    found = found_in(LINES[0] + b"[" * 5000 + b"\n" + LINES[1])
    assert found.faults == ("line 2 is damaged: it is not used",)
    assert len(found.lines) == 2


@pytest.mark.parametrize(
    "changes",
    [
        {"readings": ()},
        {"stack_size_mm": "abc"},
        {"stack_size_mm": "1E+999999"},
        {"stack_size_mm": "9" * 5000},
        {"stack_size_mm": "0"},
        {"resolution_mm": ""},
        {"mean_error_mm": "NaN"},
        {"stack_temp_c": "1/0"},
        {"stack_u_mm": "x"},
    ],
)
def test_a_check_whose_texts_are_no_numbers_is_left_out_and_told(changes: dict[str, Any]) -> None:
    strange = msgspec.structs.replace(check("59.971"), **changes)
    found = found_in(file_of((RECORDS[0], strange, RECORDS[3])))
    assert len(found.lines) == 2
    (fault,) = found.faults
    assert "line 2" in fault


@pytest.mark.parametrize(
    "changes",
    [
        {"repeatability_mm": "abc"},
        {"repeatability_mm": "-0.1"},
        {"repeatability_dof": "-3"},
        {"repeatability_dof": "0"},
    ],
)
def test_a_study_whose_texts_are_no_numbers_is_left_out_and_told(changes: dict[str, Any]) -> None:
    found = found_in(file_of((msgspec.structs.replace(RECORDS[2], **changes),)))
    assert found.lines == ()
    assert len(found.faults) == 1


def test_a_line_of_the_future_counts_at_its_place_in_the_file() -> None:
    # A clock that was ten years ahead wrote the second; the third came a day after the first.
    first, second, third = found_in(file_of((RECORDS[0], RECORDS[3], RECORDS[4]))).lines
    ahead = msgspec.structs.replace(second, at_us=second.at_us + 3650 * DAY_US)
    ordered, faults = in_order((first, ahead, third), third.at_us)
    assert [line.n for line in ordered] == [1, 2, 3]
    assert ordered[1].at_us == third.at_us
    assert "still to come" in faults[0]


def test_lines_that_came_late_are_put_in_order_of_time() -> None:
    first, second = found_in(file_of((RECORDS[0], RECORDS[3]))).lines
    late = msgspec.structs.replace(second, at_us=first.at_us - DAY_US)
    ordered, faults = in_order((first, late), first.at_us)
    assert [line.n for line in ordered] == [2, 1]
    assert faults == ()
