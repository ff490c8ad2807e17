"""A session in other formats: what goes together, what is made, and where."""

import csv
import json
import re
from pathlib import Path

import pytest

from daq.errors import UsageError
from daq.services.export_to import ExportWanted, check_wanted, export_to
from daq.storage.whole import whole
from tests.builders import SESSION, accepted
from tests.places import ROOT

GOLDEN = ROOT / "tests" / "golden"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return accepted(tmp_path_factory.mktemp("export_to") / "s").folder


@pytest.mark.parametrize(
    ("wanted", "option"),
    [
        (ExportWanted(format="xlsx"), "--to"),
        (ExportWanted(format="jsonl"), "--to"),
        (ExportWanted(dialect="comma"), "--to"),
        (ExportWanted(columns=("value",)), "--to"),
        (ExportWanted(template=Path("t")), "--to"),
        (ExportWanted(as_now=True), "--to"),
        (ExportWanted(format="xlsx", dialect="comma", to=Path("x")), "--dialect"),
        (ExportWanted(format="jsonl", template=Path("t"), to=Path("x")), "--template"),
        (ExportWanted(template=Path("t"), dialect="comma", to=Path("x")), "--template"),
        (ExportWanted(template=Path("t"), columns=("value",), to=Path("x")), "--template"),
    ],
)
def test_what_does_not_go_together_is_refused(wanted: ExportWanted, option: str) -> None:
    with pytest.raises(UsageError) as caught:
        check_wanted(wanted)
    assert caught.value.option == option


def test_plain_csv_needs_no_folder_and_may_have_one(tmp_path: Path) -> None:
    check_wanted(ExportWanted())
    check_wanted(ExportWanted(to=tmp_path))


def made(folder: Path, to: Path, **wanted: object) -> tuple[Path, tuple[str, ...]]:
    state, found = whole(folder)
    return export_to(state, found, ExportWanted(to=to, **wanted))  # type: ignore[arg-type]


def test_plain_csv_elsewhere_is_what_lies_beside_the_record(tmp_path: Path) -> None:
    for version in ("v0.1.0", "v0.3.0", "v0.4.0"):
        where, names = made(GOLDEN / version, tmp_path / version)
        assert where == tmp_path / version / SESSION
        for name in names:
            assert (where / name).read_bytes() == (GOLDEN / version / name).read_bytes()


def test_a_decimal_comma_is_in_every_number_and_in_no_text(folder: Path, tmp_path: Path) -> None:
    comma, _ = made(folder, tmp_path / "comma", dialect="comma")
    data = (comma / "readings.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbfsession_id;job;part;")
    first = data.split(b"\r\n")[1].decode()
    assert ";59,980;mm;0,001;59,980;59,97975;;hex 35 39" in first
    assert "2026-11-25T08:00:03.000000Z;" in first
    plain, _ = made(folder, tmp_path / "plain")
    for path in plain.glob("*.csv"):
        rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
        text = (comma / path.name).read_text(encoding="utf-8-sig")
        for row, other in zip(rows, csv.reader(text.splitlines(), delimiter=";"), strict=True):
            numbers = [re.fullmatch(r"-?\d+\.\d+", cell) is not None for cell in row]
            swapped = [c.replace(".", ",") if n else c for c, n in zip(row, numbers, strict=True)]
            assert other == swapped


def test_json_lines_of_chosen_columns(folder: Path, tmp_path: Path) -> None:
    where, names = made(folder, tmp_path, format="jsonl", columns=("journal", "verdict"))
    assert names == ("journals.jsonl",)
    lines = (where / "journals.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line) for line in lines] == [
        {"journal": "M1", "verdict": "within"},
        {"journal": "R1", "verdict": "within"},
    ]


@pytest.mark.parametrize("version", ["v0.1.0", "v0.2.0", "v0.3.0"])
def test_an_earlier_session_has_todays_tables_if_asked(version: str, tmp_path: Path) -> None:
    _, names = made(GOLDEN / version, tmp_path / "then")
    assert "sessions.csv" not in names
    where, names = made(GOLDEN / version, tmp_path / "now", as_now=True)
    assert {"sessions.csv", "notes.csv", "steps.csv", "datapackage.json"} <= set(names)
    today = made(GOLDEN / "v0.4.0", tmp_path / "today")[0]
    for name in names:
        if name.endswith(".csv"):
            heads = [(each / name).read_bytes().split(b"\r\n")[0] for each in (where, today)]
            assert heads[0] == heads[1], "tables of several versions go together"


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("form.xml.j2", ".xml"),
        ("form.j2", ".txt"),
        ("form", ".txt"),
        ("form.csv", ".csv"),
        ("form.a;b.jinja", ".txt"),
    ],
)
def test_what_a_template_makes_is_called_by_the_session_and_ends_as_the_template(
    folder: Path, tmp_path: Path, template: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("daq.services.export_to.filled", lambda text, tables: text.encode())
    (tmp_path / template).write_text("x", encoding="utf-8")
    where, names = made(folder, tmp_path / "to", template=tmp_path / template)
    assert (where, names) == (tmp_path / "to", (SESSION + name,))
    assert (where / names[0]).read_bytes() == b"x"


def test_a_template_gets_todays_tables_of_an_earlier_session(tmp_path: Path) -> None:
    (tmp_path / "t").write_text("{{ session.rule_set }} {{ groups|length }}", encoding="utf-8")
    where, names = made(GOLDEN / "v0.1.0", tmp_path / "to", template=tmp_path / "t")
    assert (where / names[0]).read_text(encoding="utf-8") == "1 0"


def test_a_template_that_cannot_be_filled_leaves_nothing(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "t").write_text("{{ nothing }}", encoding="utf-8")
    with pytest.raises(UsageError, match="'nothing' is undefined"):
        made(folder, tmp_path / "to", template=tmp_path / "t")
    assert list((tmp_path / "to").iterdir()) == []
    with pytest.raises(UsageError, match="cannot be read"):
        made(folder, tmp_path / "other", template=tmp_path / "none")
    assert not (tmp_path / "other").exists()
