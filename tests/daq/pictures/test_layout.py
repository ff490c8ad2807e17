"""What of a part is drawn: the journals of the plan's file, each with what it is."""

import msgspec
import pytest

from daq.board.board import Board
from daq.pictures.layout import CrankLayout, kind_of, layout_of
from daq.plan.plan import parse_plan
from daq.plan.schema import JournalKind
from daq.services.examples import example
from tests.daq.pictures.drawn_sessions import between, layout

STATED = """\
schema = 1
part = "p"
[defaults]
low = "2.3610 in"
high = "60 mm"
[[group]]
name = "mains"
kind = "other"
[[journal]]
name = "R9"
group = "mains"
[[journal]]
name = "M1"
kind = "rod"
low = "59 um"
access = "after-strip"
repeats = 3
"""


@pytest.mark.parametrize(
    ("group", "name", "kind"),
    [
        ("mains", "x", "main"),
        ("Main journals", "R1", "main"),
        ("rods", "M1", "rod"),
        ("throws", "T1", "rod"),
        ("crankpins", "1", "rod"),
        ("crank pins", "1", "rod"),
        ("", "M1", "main"),
        ("", "m-12", "main"),
        ("", "R3", "rod"),
        ("", "P2a", "rod"),
        ("", "main 4", "main"),
        ("", "rod 4", "rod"),
        ("front half", "M1", "main"),
        ("cams", "C1", "other"),
        ("", "Middle", "other"),
        ("mains and rods", "R1", "rod"),
        ("domain", "x1", "other"),
        ("", "", "other"),
    ],
)
def test_what_a_journal_is_follows_from_its_group_then_from_its_name(
    group: str, name: str, kind: JournalKind
) -> None:
    assert kind_of(group, name) == kind


def test_the_plan_may_say_what_a_journal_is_drawn_as() -> None:
    one, other = layout_of(parse_plan(STATED, "x").journals).journals
    assert (one.name, one.kind, one.unit) == ("R9", "other", "in")
    assert (other.name, other.kind, other.unit) == ("M1", "rod", "mm")
    assert other.is_after_strip
    assert other.places == 24  # 2 stations, 4 angles, 3 times


def test_journals_stand_in_the_order_of_the_file_not_of_the_route() -> None:
    # M2 and M3 are reached after stripping, and so measured last: the file has them last too, R1
    # on a stack of its own before them.
    drawn = layout_of(parse_plan(example("v6-shared-pins").text, "x").journals)
    assert [one.name for one in drawn.journals] == ["M1", "M4", "R1", "R2", "R3", "M2", "M3"]
    assert drawn.journal("R2") is drawn.journals[3]
    assert drawn.journal("R4") is None


def test_layout_and_board_come_through_json_as_they_were() -> None:
    for drawn in (layout(between()), layout_of(parse_plan(STATED, "x").journals)):
        assert msgspec.json.decode(msgspec.json.encode(drawn), type=CrankLayout) == drawn
    board = between().board
    assert msgspec.json.decode(msgspec.json.encode(board), type=Board) == board
