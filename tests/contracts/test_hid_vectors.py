"""The hand-made report sequences and key tables, character for character."""

import json
from typing import Any

import pytest

from drivers.hid.decoder import KeyDecoder
from drivers.hid.layouts import KEYPAD, LAYOUTS, MODIFIERS
from tests.places import VECTORS

REPORTS: list[dict[str, Any]] = [
    json.loads(line) for line in (VECTORS / "hid.jsonl").read_text(encoding="utf-8").splitlines()
]
TABLES: dict[str, Any] = json.loads((VECTORS / "hid_layouts.json").read_text(encoding="utf-8"))


def test_no_vector_is_dropped() -> None:
    # counted by hand in the file
    assert len(REPORTS) == 42
    assert len({vector["id"] for vector in REPORTS}) == 42


@pytest.mark.parametrize("vector", REPORTS, ids=[vector["id"] for vector in REPORTS])
def test_reports_give_their_lines_and_notes_in_order(vector: dict[str, Any]) -> None:
    decoder = KeyDecoder(
        vector["layout"],
        alt_numpad=vector.get("alt_numpad", False),
        report_id=vector.get("report_id"),
    )
    taken = [decoder.take(bytes.fromhex(report)) for report in vector["reports"]]
    *lines, partial = "".join(keys.text for keys in taken).split("\n")
    notes = [note for keys in taken for note in keys.notes]
    assert (lines, partial, notes) == (vector["lines"], vector["partial"], vector["notes"])


@pytest.mark.parametrize("name", ["us", "de", "fr"])
def test_every_key_of_a_layout_gives_its_two_characters(name: str) -> None:
    expected = {int(usage, 16): "".join(pair) for usage, pair in TABLES["layouts"][name].items()}
    assert {layout: keys for layout, keys in LAYOUTS.items() if layout == name} == {name: expected}


def test_there_is_no_other_layout() -> None:
    assert set(LAYOUTS) == set(TABLES["layouts"])


def test_keypad_and_modifiers_are_those_of_the_table() -> None:
    assert {int(usage, 16): char for usage, char in TABLES["keypad"].items()} == KEYPAD
    assert {int(bit, 16): name for bit, name in TABLES["modifiers"].items()} == MODIFIERS
