"""The Frictionless description: its own library accepts real output, and what it says is so."""

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from daq.export.csv_files import table_files
from daq.export.tables import tables
from daq.storage.replay import load_state
from tests.places import ROOT


def described(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    return found


def faults_of(folder: Path) -> list[str]:
    """What the library says against a folder."""
    from frictionless import system, validate

    with system.use_context(trusted=True):
        report = validate(str(folder / "datapackage.json"))
    return [str(fault) for (fault,) in report.flatten(["message"])]


def test_frictionless_accepts_real_output(folder: Path) -> None:
    assert faults_of(folder) == []


def test_each_file_is_told_with_its_size_and_its_sha_256(folder: Path) -> None:
    found = described(folder)
    for resource in found["resources"]:
        data = (folder / resource["path"]).read_bytes()
        assert resource["bytes"] == len(data)
        assert resource["hash"] == f"sha256:{hashlib.sha256(data).hexdigest()}"
    assert [resource["path"] for resource in found["resources"]] == [
        table["url"]
        for table in json.loads((folder / "csv-metadata.json").read_text(encoding="utf-8"))[
            "tables"
        ]
    ]
    last = (folder / "ledger.jsonl").read_bytes().splitlines()[-1]
    assert found["ledger_chain"] == last[-66:-2].decode()  # 64 digits before "}


@pytest.mark.parametrize(
    ("table", "column", "wanted"),
    [
        ("readings", "value", {"type": "number", "constraints": {"required": True}}),
        ("journals", "smallest_mm", {"type": "number", "unit": "mm"}),
        ("journals", "angles_used", {"type": "list", "delimiter": ";"}),
        (
            "judgements",
            "passed",
            {
                "type": "boolean",
                "trueValues": ["true"],
                "falseValues": ["false"],
                "constraints": {"required": True},
            },
        ),
        ("sessions", "part_temp_c", {"type": "number", "unit": "Cel"}),
        ("notes", "text", {"type": "string"}),
        ("notes", "angle_deg", {"type": "integer", "unit": "deg"}),
    ],
)
def test_types_are_what_the_columns_hold(
    folder: Path, table: str, column: str, wanted: dict[str, Any]
) -> None:
    (resource,) = [one for one in described(folder)["resources"] if one["name"] == table]
    (field,) = [one for one in resource["schema"]["fields"] if one["name"] == column]
    assert {key: field[key] for key in field if key not in ("name", "description", "unitUri")} == (
        wanted
    )


def test_keys_are_those_of_the_w3c_metadata_as_far_as_they_are_filled(folder: Path) -> None:
    by_name = {one["name"]: one["schema"] for one in described(folder)["resources"]}
    assert by_name["readings"]["primaryKey"] == ["session_id", "seq"]
    assert "primaryKey" not in by_name["steps"], "the present size has no name"
    assert {"session_id", "group"} <= {
        name for key in by_name["steps"]["foreignKeys"] for name in key["fields"]
    }


@pytest.mark.parametrize("version", ["v0.1.0", "v0.3.0"])
def test_an_earlier_session_has_none(version: str) -> None:
    state, found = load_state(ROOT / "tests" / "golden" / version)
    files = table_files(tables(state, found.entries, found.chain), "x", "accepted", found.chain)
    assert "datapackage.json" not in files
