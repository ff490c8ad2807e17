"""What a scan makes of a ledger as it lies on the disk: torn, whole or damaged."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import LedgerAbsent, LedgerDamaged, LedgerError, LedgerTooNew
from daq.record.events import Noted, Opened
from daq.services.verify import verify
from daq.storage.ledger import Ledger, Scan, scan, scan_bytes
from tests.builders import Bench, accepted, bodies_of, opened, resealed, setup, still_open

FOLDER = Path("session")
AT = b'"at":"2026-11-25T08:00:00.000000Z"'


def small() -> bytes:
    """Three short lines with a right chain, the first one an opening line."""
    first = (
        b'{"seq":1,' + AT + b',"kind":"opened","format":1,"program":"0","rules":1,"session":"s",'
        b'"job":"","part":"","operator":"","plan_name":"","plan":"","setup":{"source":'
        b'{"gauge":"g","device":"d","serial":null,"port":"p"},"profile":"","gauge_file":null,'
        b'"only":[],"stack":null,"saved_stacks":{},"temperatures":{},"local_offset":""}'
    )
    return resealed([first, note(2), note(3)])


def note(seq: int, text: bytes = b"warm") -> bytes:
    return b'{"seq":%d,' % seq + AT + b',"kind":"note","about":"note","text":"%s"' % text


SMALL = small()
LAST_STARTS = SMALL[:-1].rindex(b"\n") + 1


def placed(tmp_path: Path, data: bytes) -> Path:
    """A session folder that holds `data` as its ledger."""
    folder = tmp_path / "s"
    folder.mkdir()
    (folder / "ledger.jsonl").write_bytes(data)
    return folder


def damaged_line(data: bytes) -> int:
    with pytest.raises(LedgerDamaged) as caught:
        scan_bytes(data, FOLDER)
    return caught.value.line


def test_a_whole_ledger_is_read_with_its_last_digest() -> None:
    found = scan_bytes(SMALL, FOLDER)
    assert [entry.seq for entry in found.entries] == [1, 2, 3]
    assert isinstance(found.entries[0].event, Opened)
    assert found.entries[2].event == Noted(about="note", text="warm")
    assert found.chain.encode() == SMALL[-67:-3]  # 64 digits, then "} and LF
    assert (found.whole_bytes, found.torn, found.lacks_lf) == (len(SMALL), b"", False)


@pytest.mark.parametrize("kept", range(1, len(SMALL) - LAST_STARTS - 1))
def test_any_cut_of_the_last_line_is_torn(kept: int) -> None:
    found = scan_bytes(SMALL[: LAST_STARTS + kept], FOLDER)
    assert [entry.seq for entry in found.entries] == [1, 2]
    assert found.torn == SMALL[LAST_STARTS : LAST_STARTS + kept]
    assert found.whole_bytes == LAST_STARTS


def test_a_cut_between_lines_is_a_shorter_ledger() -> None:
    assert scan_bytes(SMALL[:LAST_STARTS], FOLDER).torn == b""


@pytest.mark.parametrize("kept", [1, 40, 150])
def test_opening_moves_a_torn_line_to_a_file_beside(tmp_path: Path, kept: int) -> None:
    folder = placed(tmp_path, SMALL[: LAST_STARTS + kept])
    ledger, found, name = Ledger.open(folder)
    ledger.close()
    assert found.torn == SMALL[LAST_STARTS : LAST_STARTS + kept]
    assert (folder / name).read_bytes() == found.torn
    assert (folder / "ledger.jsonl").read_bytes() == SMALL[:LAST_STARTS]
    assert scan(folder) == Scan(LAST_STARTS, b"", False, found.entries, found.chain)


def test_a_second_torn_line_never_overwrites_the_first(tmp_path: Path) -> None:
    folder = placed(tmp_path, SMALL[: LAST_STARTS + 5])
    names = []
    for _ in range(3):
        ledger, _, name = Ledger.open(folder)
        ledger.close()
        names.append(name)
        (folder / "ledger.jsonl").write_bytes(SMALL[: LAST_STARTS + 5 + len(names)])
    assert len(set(names)) == 3
    assert [len((folder / name).read_bytes()) for name in names] == [5, 6, 7]


def test_resuming_tells_what_was_torn(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    with (folder / "ledger.jsonl").open("ab") as file:
        file.write(b'{"seq":9,"at"')
    bench = Bench.again(folder, 1_795_600_000_000_000, setup())
    bench.close()
    told = bench.steps[0].entries[0].event
    assert getattr(told, "torn_bytes", None) == 13
    assert (folder / getattr(told, "torn_file", "")).read_bytes() == b'{"seq":9,"at"'
    assert verify(folder).faults == ()


def test_a_whole_last_line_without_its_line_feed_stands(tmp_path: Path) -> None:
    found = scan_bytes(SMALL[:-1], FOLDER)
    assert [entry.seq for entry in found.entries] == [1, 2, 3]
    assert (found.torn, found.lacks_lf) == (b"", True)
    folder = placed(tmp_path, SMALL[:-1])
    ledger, _, torn_file = Ledger.open(folder)
    ledger.close()
    assert torn_file == ""
    assert (folder / "ledger.jsonl").read_bytes() == SMALL


@pytest.mark.parametrize("size", [2, 100, 4096])
def test_a_tail_of_nuls_is_torn(tmp_path: Path, size: int) -> None:
    found = scan_bytes(SMALL + b"\0" * size, FOLDER)
    assert (len(found.entries), found.torn) == (3, b"\0" * size)
    half = SMALL[: LAST_STARTS + 30] + b"\0" * size
    assert scan_bytes(half, FOLDER).torn == half[LAST_STARTS:]
    folder = placed(tmp_path, half)
    ledger, _, name = Ledger.open(folder)
    ledger.close()
    assert (folder / name).read_bytes() == half[LAST_STARTS:]


@pytest.mark.parametrize("byte", [b"\r", b" ", b"\0", b"\x0b", b"J", b"\x8a"])
def test_a_changed_final_line_feed_is_damage_not_a_torn_line(byte: bytes) -> None:
    assert damaged_line(SMALL[:-1] + byte) == 3


@pytest.mark.parametrize("change", [0x01, 0x20, 0x80])
def test_any_changed_bit_anywhere_is_found(change: int) -> None:
    for place in range(len(SMALL)):
        data = bytearray(SMALL)
        data[place] ^= change
        line = damaged_line(bytes(data))
        # The line that the byte is in, or the one its line feed ran together with.
        assert line == SMALL[:place].count(b"\n") + 1, place


@pytest.mark.parametrize("byte", [b"\n", b"\r", b"\0", b'"', b" "])
def test_any_byte_changed_to_an_awkward_one_is_found(byte: bytes) -> None:
    for place in range(len(SMALL)):
        if SMALL[place : place + 1] != byte:
            damaged_line(SMALL[:place] + byte + SMALL[place + 1 :])


@given(st.integers(0, len(SMALL) - 1), st.integers(1, 255))
def test_any_other_value_at_any_place_is_found(place: int, change: int) -> None:
    data = bytearray(SMALL)
    data[place] ^= change
    damaged_line(bytes(data))


@pytest.mark.parametrize("place", range(0, LAST_STARTS, 7))
def test_a_byte_put_in_or_taken_out_before_the_last_line_is_found(place: int) -> None:
    damaged_line(SMALL[:place] + b"x" + SMALL[place:])
    damaged_line(SMALL[:place] + b"\n" + SMALL[place:])
    damaged_line(SMALL[:place] + SMALL[place + 1 :])


def lines() -> list[bytes]:
    return SMALL.splitlines(keepends=True)


def test_a_missing_middle_line_is_found() -> None:
    first, _, last = lines()
    assert damaged_line(first + last) == 2


def test_a_missing_first_line_is_found() -> None:
    assert damaged_line(b"".join(lines()[1:])) == 1


def test_swapped_lines_are_found() -> None:
    first, middle, last = lines()
    assert damaged_line(first + last + middle) == 2


def test_a_doubled_line_is_found() -> None:
    first, middle, last = lines()
    assert damaged_line(first + middle + middle + last) == 3
    assert damaged_line(SMALL + last) == 4


@pytest.mark.parametrize("extra", [b"\n", b"\r\n", b"{}\n", b"junk\n", b"\0\0\n"])
def test_a_wrong_line_with_its_line_feed_is_damaged_never_torn(extra: bytes) -> None:
    assert damaged_line(SMALL + extra) == 4


def test_lines_that_end_in_crlf_are_damaged() -> None:
    assert damaged_line(SMALL.replace(b"\n", b"\r\n")) == 1


@pytest.mark.parametrize("data", [b"", SMALL[:1], SMALL[:100], b"\0" * 4096])
def test_a_ledger_without_a_whole_line_is_no_damage_but_nothing_stored(data: bytes) -> None:
    with pytest.raises(LedgerAbsent, match="nothing of a session is stored here"):
        scan_bytes(data, Path("s"))


Rewrite = Callable[[list[bytes]], list[bytes]]


@pytest.mark.parametrize(
    ("rewrite", "line"),
    [
        (lambda bodies: [*bodies, b"not json"], 4),
        (lambda bodies: [*bodies, b'{"seq":4'], 4),
        (lambda bodies: [*bodies, note(5)], 4),
        (lambda bodies: [*bodies, note(3)], 4),
        (lambda bodies: [*bodies, note(4).replace(b'"note"', b'"whatever"', 1)], 4),
        (lambda bodies: [*bodies, bodies[0].replace(b'"seq":1', b'"seq":4')], 4),
        (lambda bodies: [note(1), *bodies[1:]], 1),
    ],
    ids=["not-json", "half-json", "gap", "same-seq", "unknown-kind", "opened-twice", "not-opened"],
)
def test_a_line_with_a_right_digest_that_is_no_record_is_damaged(
    rewrite: Rewrite, line: int
) -> None:
    assert damaged_line(resealed(rewrite(bodies_of(SMALL)))) == line


def test_a_line_behind_the_closing_line_is_damage(tmp_path: Path) -> None:
    data = (accepted(tmp_path / "s").folder / "ledger.jsonl").read_bytes()
    bodies = bodies_of(data)
    assert damaged_line(resealed([*bodies, note(len(bodies) + 1)])) == len(bodies) + 1


@pytest.mark.parametrize("format_", [2, 3, 1000])
def test_a_newer_format_is_too_new_and_never_damaged(format_: int) -> None:
    bodies = bodies_of(SMALL)
    bodies[0] = bodies[0].replace(b'"format":1', b'"format":%d' % format_)
    with pytest.raises(LedgerTooNew, match=str(format_)):
        scan_bytes(resealed(bodies), FOLDER)


def test_a_newer_format_with_lines_unknown_here_is_too_new() -> None:
    first = b'{"seq":1,"when":0,"kind":"begun","format":2'
    with pytest.raises(LedgerTooNew):
        scan_bytes(resealed([first, b'{"other":1']), FOLDER)


def test_what_is_no_session_is_a_ledger_error_that_names_it(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="nowhere"):
        scan(tmp_path / "nowhere")
    (tmp_path / "empty").mkdir()
    with pytest.raises(LedgerError, match="empty"):
        Ledger.open(tmp_path / "empty")


def test_a_damaged_ledger_cannot_be_opened_and_is_left_as_it_is(tmp_path: Path) -> None:
    data = SMALL.replace(b"warm", b"cold", 1)
    folder = placed(tmp_path, data)
    with pytest.raises(LedgerDamaged) as caught:
        Ledger.open(folder)
    assert caught.value.line == 2
    assert "line 2" in str(caught.value)
    assert (folder / "ledger.jsonl").read_bytes() == data
    # The lock was given back: mended from a copy, it opens at once.
    (folder / "ledger.jsonl").write_bytes(SMALL)
    ledger, _, _ = Ledger.open(folder)
    ledger.close()


def test_scanning_changes_nothing(tmp_path: Path) -> None:
    folder = placed(tmp_path, SMALL[: LAST_STARTS + 9])
    scan(folder)
    assert os.listdir(folder) == ["ledger.jsonl"]
    assert (folder / "ledger.jsonl").read_bytes() == SMALL[: LAST_STARTS + 9]


def test_the_program_writes_the_lines_that_it_reads(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened()).close()
    data = (bench.folder / "ledger.jsonl").read_bytes()
    assert resealed(bodies_of(data)) == data
