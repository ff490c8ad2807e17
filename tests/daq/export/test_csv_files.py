"""Tables on disk: RFC 4180, no formulas, numbers as they are, each file whole or not at all."""

import csv
import errno
import io
import os
from pathlib import Path

import msgspec
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest_mock import MockerFixture

from daq.errors import ExportError
from daq.export.column import Column, ColumnKind
from daq.export.csv_files import csv_bytes, guarded, write_files
from daq.export.dialect import PLAIN
from daq.export.tables import Table

A, B = Column("a", ColumnKind.TEXT, "text"), Column("b", ColumnKind.LENGTH, "number")


def table(*rows: tuple[str, str]) -> Table:
    return Table("t", (A, B), rows)


def test_lines_end_in_crlf_and_the_first_is_the_header() -> None:
    assert csv_bytes(table(("x", "1.0"), ("y", ""))) == b"a,b\r\nx,1.0\r\ny,\r\n"


def test_a_table_without_rows_is_its_header() -> None:
    assert csv_bytes(table()) == b"a,b\r\n"


def test_commas_and_quotes_are_quoted_as_rfc_4180_says() -> None:
    # RFC 4180, 2.6 and 2.7: such a field is enclosed in double quotes, a quote is doubled.
    assert csv_bytes(table(('1,2 "x"', "1"))) == b'a,b\r\n"1,2 ""x""",1\r\n'


ANY = st.text(st.sampled_from("a1 ,;\"'\r\n\t\x00\u2028é") | st.characters(codec="utf-8"))


@given(
    rows=st.integers(1, 4).flatmap(lambda many: st.lists(st.tuples(*[ANY] * many), min_size=1)),
    delimiter=st.sampled_from(",;"),
)
def test_rows_are_those_that_the_csv_library_writes(
    rows: list[tuple[str, ...]], delimiter: str
) -> None:
    """Of cells that stand as they are, whatever is in them."""
    columns = tuple(Column(f"c{at}", ColumnKind.LENGTH, "") for at in range(len(rows[0])))
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=delimiter).writerows([[each.name for each in columns], *rows])
    dialect = msgspec.structs.replace(PLAIN, delimiter=delimiter)
    assert csv_bytes(Table("t", columns, rows), dialect).decode() == file.getvalue()


def test_utf_8_without_a_byte_order_mark() -> None:
    data = csv_bytes(table(("Ø 東京", "1")))
    assert data == b"a,b\r\n" + "Ø 東京".encode() + b",1\r\n"


# OWASP, CSV injection: = + - @ tab and carriage return; the contract adds LF and full-width forms.
STARTS = ["=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"]


@pytest.mark.parametrize("start", STARTS)
def test_a_text_that_would_start_a_formula_gets_an_apostrophe(start: str) -> None:
    assert guarded(start + "1") == "'" + start + "1"
    assert guarded(start) == "'" + start
    assert guarded("a" + start) == "a" + start


@pytest.mark.parametrize(
    ("text", "cell"), [("\t=1", "'\\x09=1"), ("\r=1", "'\\x0d=1"), ("\n=1", "'\\x0a=1")]
)
def test_a_text_that_starts_with_white_control_is_guarded_and_written_out(
    text: str, cell: str
) -> None:
    assert guarded(text) == cell


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("a\nb", "a\\x0ab"),
        ("a\r\nb", "a\\x0d\\x0ab"),
        ("\x00", "\\x00"),
        ("\x1b[31m", "\\x1b[31m"),
        ("\x7f", "\\x7f"),
        ("\x9b", "\\x9b"),
        ("\x1f\x20", "\\x1f "),
        ("", ""),
        ("4711", "4711"),
        (" =1", " =1"),
        ("'=1", "'=1"),
    ],
)
def test_control_characters_are_written_out_and_the_rest_is_left(text: str, cell: str) -> None:
    assert guarded(text) == cell


def test_numbers_never_change() -> None:
    data = csv_bytes(table(("-0.0001", "-0.0001"), ("+1", "+1")))
    assert data == b"a,b\r\n'-0.0001,-0.0001\r\n'+1,+1\r\n"


GUARDED = {ColumnKind.TEXT, ColumnKind.LIST, ColumnKind.FLAGS, ColumnKind.HEX_TEXT}
AS_IT_IS = set(ColumnKind) - GUARDED


@pytest.mark.parametrize("kind", sorted(AS_IT_IS, key=str))
def test_only_text_is_guarded(kind: ColumnKind) -> None:
    made = csv_bytes(Table("t", (Column("a", kind, ""),), (("-1",),)))
    assert made == b"a\r\n-1\r\n"


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        ("", ""),
        ("0;45;90", "0;45;90"),
        ("=1+2", "'=1+2"),
        ("a;=1+2", "a;'=1+2"),  # a reader that parts the list has a formula in the second element
        ("@a;-b;c", "'@a;'-b;c"),
        ("\uff1da;\tb", "'\uff1da;'\\x09b"),
        (";+", ";'+"),
    ],
)
def test_each_element_of_a_list_is_guarded_by_itself(cell: str, shown: str) -> None:
    made = csv_bytes(Table("t", (Column("a", ColumnKind.LIST, ""), B), ((cell, "-1"),)))
    assert made.decode() == f"a,b\r\n{shown},-1\r\n"


# "59.982" in ASCII is 35392e393832: a number with an exponent to whoever guesses. 3039 is a whole
# one, 3130 loses nothing but its text.
@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"", ""),
        (b"59.982", "hex 35 39 2e 39 38 32"),
        (b"09", "hex 30 39"),
        (b"\x00", "hex 00"),
        (b"\xfe\x0a", "hex fe 0a"),
    ],
)
def test_bytes_are_a_text_that_no_reader_takes_for_a_number(raw: bytes, shown: str) -> None:
    columns = Column("n", ColumnKind.WHOLE, ""), Column("a", ColumnKind.HEX_TEXT, "")
    made = csv_bytes(Table("t", columns, (("1", raw.hex()),)))
    assert made == f"n,a\r\n1,{shown}\r\n".encode()
    (read,) = pd.read_csv(io.BytesIO(made), keep_default_na=False)["a"]
    assert isinstance(read, str)
    assert read == shown


def test_digits_alone_would_be_read_as_a_number() -> None:
    made = csv_bytes(Table("t", (Column("a", ColumnKind.HEX, ""),), ((b"59.982".hex(),),)))
    assert pd.read_csv(io.BytesIO(made))["a"].dtype == "float64"


TEXTS = st.text(st.characters(codec="utf-8"), max_size=30)


@given(st.lists(st.tuples(TEXTS, st.decimals(allow_nan=False, allow_infinity=False, places=3))))
def test_what_is_written_is_read_back_by_csv_and_pandas(rows: list[tuple[str, object]]) -> None:
    written = table(*((text, str(number)) for text, number in rows))
    data = csv_bytes(written)
    wanted = [["a", "b"]] + [[guarded(text), number] for text, number in written.rows]
    # RFC 4180 has a line break nowhere but at the end of a record: control characters are gone.
    assert data.count(b"\n") == data.count(b"\r\n") == len(wanted)
    assert list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True)) == wanted
    frame = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False, encoding="utf-8")
    assert [list(frame.columns), *frame.to_numpy().tolist()] == wanted


@given(TEXTS)
def test_no_cell_of_text_starts_a_formula_or_holds_a_control_character(text: str) -> None:
    cell = guarded(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", *STARTS))
    assert not any(ord(char) < 32 or 127 <= ord(char) < 160 for char in cell)


def test_files_are_written_whole_with_nothing_left_beside_them(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.csv": b"one", "b.csv": b""})
    write_files(tmp_path, {"a.csv": b"two"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a.csv": b"two", "b.csv": b""}


def test_each_file_is_on_disk_before_its_name_is(tmp_path: Path, mocker: MockerFixture) -> None:
    calls: list[str] = []
    fsync, replace = os.fsync, Path.replace

    def synced(fd: int) -> None:
        calls.append("sync")
        fsync(fd)

    def renamed(self: Path, target: Path) -> Path:
        calls.append(f"name {target.name}")
        return replace(self, target)

    mocker.patch("os.fsync", synced)
    mocker.patch.object(Path, "replace", renamed)
    write_files(tmp_path, {"a.csv": b"one", "b.csv": b"two"})
    # The last sync is that of the folder, for the names.
    assert calls == ["sync", "name a.csv", "sync", "name b.csv", "sync"]


@pytest.mark.parametrize("fails", ["os.fsync", "pathlib.Path.replace"])
def test_a_failing_write_leaves_the_old_file_and_no_temporary_one(
    tmp_path: Path, mocker: MockerFixture, fails: str
) -> None:
    (tmp_path / "a.csv").write_bytes(b"old")
    mocker.patch(fails, side_effect=OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    with pytest.raises(ExportError, match=r"a\.csv.*No space left"):
        write_files(tmp_path, {"a.csv": b"new"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a.csv": b"old"}


def test_a_failing_sync_of_the_folder_is_an_export_error(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    real = os.fsync

    def folder_fails(fd: int) -> None:
        if os.path.isdir(f"/proc/self/fd/{fd}"):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(fd)

    mocker.patch("os.fsync", folder_fails)
    with pytest.raises(ExportError):
        write_files(tmp_path, {"a.csv": b"new"})


def test_a_folder_that_is_gone_is_an_export_error(tmp_path: Path) -> None:
    with pytest.raises(ExportError):
        write_files(tmp_path / "gone", {"a.csv": b"x"})
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(ExportError):
        write_files(tmp_path / "file", {"a.csv": b"x"})
