"""Sessions as rows, lines, blocks and a table: ids whole, texts harmless, faults in words."""

from pathlib import Path

import pytest
from rich.console import Console

from daq.cli.views.sessions import blocks, document, lines, newest_open, table, table_width, talk
from daq.services.session_list import Listed
from tests.builders import START_US

ID = "20261125T080000Z-kqwe"


def one(name: str = ID, **changes: object) -> Listed:
    fields: dict[str, object] = {
        "folder": Path("/home/ada/sessions") / name,
        "is_demo": False,
        "session_id": name,
        "job": "4711",
        "part": "inline four, No. 2",
        "gauge": "mic-50-75",
        "begun_us": START_US,
        "verdict": "open",
    }
    return Listed(**(fields | changes))  # type: ignore[arg-type] # fields by name


BROKEN = one(
    "20261126T080000Z-abcd",
    session_id="",
    job="",
    part="",
    gauge="",
    begun_us=None,
    verdict="damaged",
    fault="the record is damaged: line 1 does not carry the digest that its bytes give",
)
HOSTILE = one("x\x1b[2J\u202e", job="[bold]\x1b]0;x\x07", part="\u202eabc\ntwo", gauge="\x9b31m")


def drawn(found: list[Listed], width: int) -> list[str]:
    console = Console(width=width, force_terminal=False, color_system=None)
    with console.capture() as captured:
        console.print(table(found))
    return captured.get().splitlines()


def test_json_has_the_fields_of_the_contract_and_null_for_what_cannot_be_read() -> None:
    assert document(one()) == {
        "session_id": ID,
        "job": "4711",
        "part": "inline four, No. 2",
        "gauge": "mic-50-75",
        "verdict": "open",
        "begun_at": "2026-11-25T08:00:00.000000Z",
        "folder": f"/home/ada/sessions/{ID}",
        "fault": None,
        "demo": False,
    }
    broken = document(BROKEN)
    assert [broken[key] for key in ("session_id", "job", "part", "gauge", "begun_at")] == [None] * 5
    assert (broken["verdict"], broken["fault"]) == ("damaged", BROKEN.fault)


def test_plain_text_is_one_whole_line_a_session_below_its_headings() -> None:
    said = lines([one(), one("20261124T080000Z-abcd", job="", part="x" * 150, verdict="accepted")])
    assert said[0].split() == ["job", "part", "gauge", "verdict", "begun", "session"]
    assert said[1].startswith("4711  inline four, No. 2")
    assert said[1].endswith(f"  {ID}")
    assert said[2].startswith("-     " + "x" * 150)  # no job was given
    assert said[1].index("mic-50-75") == said[2].index("mic-50-75") == said[0].index("gauge")


def test_a_fault_stands_in_words_below() -> None:
    assert lines([BROKEN])[-1] == f"20261126T080000Z-abcd: {BROKEN.fault}"
    assert "line 1 does not carry the digest" in " ".join(
        line.strip() for line in blocks([BROKEN], 60)
    )
    assert any(BROKEN.fault in line for line in drawn([BROKEN], 120))


@pytest.mark.parametrize("width", [40, 50, 60, 79])
def test_on_a_narrow_terminal_no_line_is_wider_and_the_id_is_whole(width: int) -> None:
    found = [one(part="a part with a name that is longer than any line " * 3), BROKEN]
    said = blocks(found, width)
    assert all(len(line) <= width for line in said)
    for session in found:
        assert sum(session.folder.name in line for line in said) == 1


def test_the_table_never_breaks_an_id_where_it_is_used() -> None:
    found = [one(part="crankshaft of the pump engine " * 6, job="J" * 60), BROKEN]
    for width in range(table_width(found), 200, 13):
        said = drawn(found, width)
        assert all(len(line) <= width for line in said)
        assert sum(ID in line for line in said) == 1
        assert "".join(said).count("J") >= 60  # a long text goes on below, none is cut


def test_a_long_folder_name_keeps_the_table_from_being_used() -> None:
    assert table_width([one("n" * 200)]) > 200


@pytest.mark.parametrize("show", [lines, lambda found: blocks(found, 60)])
def test_hostile_names_are_escaped(show: object) -> None:
    assert callable(show)
    for line in show([HOSTILE]):
        assert line.isprintable()
    assert "[bold]" in "\n".join(show([HOSTILE]))


def test_hostile_names_are_no_markup_of_the_table() -> None:
    said = "\n".join(drawn([HOSTILE], 160))
    assert "[bold]\\x1b]0;x\\x07" in said
    assert all(char.isprintable() or char == "\n" for char in said)


def test_the_talk_counts_and_says_what_the_list_is_worth() -> None:
    found = [one(), BROKEN, one(verdict="accepted", is_demo=True)]
    assert talk(found) == (
        "3 sessions, 1 open, 1 of the demo. Only first and last lines were read; "
        "jbridge verify proves the rest."
    )
    assert talk([one(verdict="accepted")]).startswith("1 session, 0 open. ")


def test_the_session_to_carry_on_is_the_first_open_one_of_the_shop() -> None:
    demo, shop = one("d", is_demo=True), one("s")
    assert newest_open([BROKEN, shop, demo]) == shop
    assert newest_open([demo, one(verdict="accepted")]) is None
