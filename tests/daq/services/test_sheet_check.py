"""Does a sheet belong to a record: whole, edited, forged, of another session, overtaken."""

import shutil
import zlib
from pathlib import Path

import pytest

from daq.cli.sheet_run import page_of, sheet_finding
from daq.errors import UsageError
from daq.rules.commands import Note
from daq.services.sheet_check import read_sheet
from daq.sheet.letterhead import Letterhead
from daq.sheet.seal import sealed, sealed_pdf, without_digest
from daq.storage.replay import load_state
from daq.version import __version__
from tests.builders import Bench, opened
from tests.places import ROOT

GOLDEN = ROOT / "tests" / "golden"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A session of an earlier version."""
    return Path(shutil.copytree(GOLDEN / "v0.3.0", tmp_path / "session"))


def made(folder: Path, units: str = "", shop: Letterhead | None = None) -> str:
    state, found = load_state(folder)
    return page_of(state, len(found.entries), found.chain, units, shop)


def found_of(
    folder: Path, page: str | bytes, name: str = "sheet.html"
) -> tuple[list[str], list[str]]:
    """Faults and notes."""
    path = folder / name
    path.write_bytes(page if isinstance(page, bytes) else page.encode("utf-8"))
    finding = sheet_finding(read_sheet(path), folder)
    return list(finding.faults), list(finding.notes)


@pytest.mark.parametrize("units", ["", "mm", "inch", "both"])
def test_a_sheet_as_it_was_made_belongs_whatever_shop_made_it(folder: Path, units: str) -> None:
    faults, notes = found_of(folder, made(folder, units, Letterhead("Shop", ("Street",))))
    assert faults == []
    assert notes == ["its head is the shop's, of which the record has nothing: Shop, Street"]
    assert found_of(folder, made(folder, units)) == ([], [])


def test_an_edited_number_is_found_and_told(folder: Path) -> None:
    page = made(folder)
    edited = page.replace("<td><bdi>59.9783", "<td><bdi>59.9883", 1)
    assert edited != page
    assert found_of(folder, edited) == (
        [
            "it was changed since it was made: its digest does not fit",
            'it says "59.9883", the record gives "59.9783"',
        ],
        [],
    )


def test_a_forger_who_made_the_digest_fit_is_found_by_the_record(folder: Path) -> None:
    edited = without_digest(made(folder)).replace("BELOW", "within")
    faults, _ = found_of(folder, sealed(edited))
    assert faults
    assert all("the record gives" in fault for fault in faults)
    assert '"BELOW"' in faults[-1]


def test_a_changed_drawing_is_found(folder: Path) -> None:
    page = made(folder)
    at = page.index('<circle cx="') + len('<circle cx="')
    moved = sealed(without_digest(page[:at] + "1" + page[at:]))
    assert found_of(folder, moved)[0] == [
        "its drawings or its layout are not those that the record gives"
    ]


def test_a_sheet_of_another_session_does_not_belong(folder: Path, tmp_path: Path) -> None:
    other = made(folder).replace("20261125T080000Z-test", "20261125T080000Z-abcd")
    faults, _ = found_of(folder, sealed(without_digest(other)))
    assert faults == ["it is of session 20261125T080000Z-abcd, this is 20261125T080000Z-test"]
    faults, _ = found_of(folder, made(GOLDEN / "v0.1.0"))  # the same id, another record
    assert faults == [
        "its chain value is not that of line 45 of this record, so it was made from another one"
    ]


def test_what_a_sheet_of_another_version_says_otherwise_is_told(
    folder: Path,
) -> None:
    older = made(folder).replace(
        f'"jbridge-program" content="{__version__}"', '"jbridge-program" content="9.9.9"'
    )
    faults, notes = found_of(folder, sealed(without_digest(older)))
    assert faults == []
    assert notes == [
        f"made by version 9.9.9, this is {__version__}, whose words may differ. Compare what it "
        "says with the record yourself, or verify it with that version",
        "its drawings or its layout are not those that the record gives",
    ]


def test_a_sheet_of_a_session_that_went_on_belongs_to_its_line(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    bench = Bench.new(folder, opened()).press("59.970", "59.970").press("59.982")
    page = made(folder)
    bench.say(Note("wiped"))
    bench.close()
    faults, notes = found_of(folder, page)
    assert faults == []
    assert notes == [
        "it was made when the record had 6 lines; now there are 7. Make a new one with jbridge "
        "sheet"
    ]
    assert found_of(folder, page.replace("59.9820", "59.9920"))[0] != []


def test_a_damaged_record_proves_no_sheet(folder: Path) -> None:
    path = folder / "sheet.html"
    path.write_text(made(folder), encoding="utf-8")
    ledger = folder / "ledger.jsonl"
    ledger.write_bytes(ledger.read_bytes().replace(b"59.979", b"59.999", 1))
    assert sheet_finding(read_sheet(path), folder).faults == (
        "the record is damaged, so there is nothing to hold the sheet against",
    )


def pdf(page: str) -> bytes:
    body = zlib.compress(page.encode("utf-8"))
    return sealed_pdf(b"%PDF-1.7\nstream\n" + body + b"\nendstream\n%%EOF\n")


def test_a_pdf_is_held_to_its_bytes_and_its_attached_page_to_the_record(folder: Path) -> None:
    whole = pdf(made(folder))
    faults, (note,) = found_of(folder, whole, "a.pdf")
    assert faults == []
    assert "their digest says alone" in note
    faults, _ = found_of(folder, whole.replace(b"%%EOF", b"%%EOG"), "a.pdf")
    assert faults == ["its bytes are not those that were written"]
    faults, _ = found_of(folder, whole + b"more", "a.pdf")
    assert faults == [
        "it was saved by another program since it was made, so its pages prove nothing"
    ]
    edited = sealed(without_digest(made(folder)).replace("BELOW", "within"))
    assert '"BELOW"' in found_of(folder, pdf(edited), "a.pdf")[0][-1]


@pytest.mark.parametrize(
    "data", [b"", b"<html></html>", b"\xff\xfe", b"%PDF-1.7\n", b"session_id,job\r\n"]
)
def test_what_is_no_sheet_is_wrong_usage(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "x"
    path.write_bytes(data)
    with pytest.raises(UsageError, match="is no sheet of this program") as caught:
        read_sheet(path)
    assert caught.value.option == "--sheet"
    with pytest.raises(UsageError, match="cannot be read"):
        read_sheet(tmp_path)
