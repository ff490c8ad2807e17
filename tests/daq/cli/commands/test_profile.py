"""`jbridge profile schema|check`: what it prints of a good profile, and its word on a bad one."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from daq.cli.app import BAD_INPUT, run
from tests.drivers.profile.texts import BCD, GOOD, MODBUS


def test_the_schema_is_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["profile", "schema"]) == 0
    Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


def test_a_good_one_is_told_back(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["profile", "check", "number-unit-status-crlf"]) == 0
    told = capsys.readouterr().out
    assert "with CR LF" in told
    assert "in, mm" in told
    assert "wrong digit" in told  # it has no check character


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (GOOD, "the gauge sends no unit"),
        (BCD, "after 8 bytes"),
        (MODBUS, "asking for it"),
    ],
)
def test_each_kind_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, told: str
) -> None:
    path = tmp_path / "t.toml"
    path.write_text(text)
    assert run(["profile", "check", str(path)]) == 0
    assert told in capsys.readouterr().out


def test_a_check_of_all_nibbles_or_a_crc_is_no_lack(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("modbus-int32", "bcd-nibbles-xor", "stx-number-unit-etx-xor"):
        assert run(["profile", "check", name]) == 0
    assert "wrong digit" not in capsys.readouterr().out


def test_a_wrong_one_names_file_key_and_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.toml"
    path.write_text(GOOD + "[link]\nbaud = 7\n")
    assert run(["profile", "check", str(path)]) == BAD_INPUT
    told = capsys.readouterr().err
    assert "t.toml" in told
    assert "link.baud" in told
    assert "between 50 and 4000000" in told


def test_it_is_a_document_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["profile", "check", "ask-number-unit-cr", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["asked"] is True
    assert told["id"] == "ask-number-unit-cr"
