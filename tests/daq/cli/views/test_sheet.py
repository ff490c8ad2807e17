"""A sheet of sessions of every kind: the words of the answer, stored numbers, warnings."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from daq.board.shown_lengths import ShownIn
from daq.cli.views.answer_groups import answer_of_groups
from daq.cli.views.answer_measurement import cautions, measurement, not_examined
from daq.cli.views.ended import SessionEnd, ended
from daq.cli.views.sheet import content_of
from daq.record.state import State
from daq.rules.commands import Abandon
from daq.sheet.content import SheetContent
from daq.sheet.page import page
from daq.storage.replay import load_state
from tests.daq.cli.views.closing_sessions import CASES, HEAD, LIMITS, begun, crank, drive, sized
from tests.daq.sheet.reading import HOSTILE, Page
from tests.places import ROOT

GOLDEN = sorted(path.parent for path in (ROOT / "tests" / "golden").glob("v*/ledger.jsonl"))
CHAIN = "ab" * 32


@cache
def state_of(name: str) -> State:
    with TemporaryDirectory() as folder:
        return CASES[name][0](Path(folder) / "s")


def sheet_of(state: State, show: ShownIn | None = None) -> SheetContent:
    return content_of(ended(state, show), 99, CHAIN, show or "")


def shown(state: State, show: ShownIn | None = None) -> str:
    """All that a reader sees, in one line."""
    return " ".join(Page(page(sheet_of(state, show), None)).shown.split())


@pytest.mark.parametrize(
    ("name", "across"),
    [
        ("worn", ""),
        ("stopped-short", ""),
        ("rejected", "REJECTED"),
        ("never-checked", "REJECTED"),
        ("abandoned", "ABANDONED"),
        ("not-measured", "ABANDONED"),
        ("open", "NOT FINISHED"),
    ],
)
def test_a_sheet_that_cannot_be_relied_on_says_so_across_the_page(name: str, across: str) -> None:
    found = sheet_of(state_of(name))
    assert found.across == across
    assert bool(found.across_why) == bool(across)
    if across:
        assert found.across_why.endswith("not to be relied on.")
        assert shown(state_of(name)).count(across) == 2


def words_of(end: SessionEnd) -> list[str]:
    return [
        *(one.text for one in answer_of_groups(end)),
        measurement(end).text,
        *(one.text for one in (*not_examined(end), *cautions(end))),
    ]


@pytest.mark.parametrize("name", ["worn", "open", "rejected", "undecided", "ground-to"])
def test_its_sentences_are_those_of_the_terminals_answer(name: str) -> None:
    seen = shown(state_of(name))
    for words in words_of(ended(state_of(name))):
        assert words in seen


def test_what_would_decide_it_belongs_to_the_sentence_before() -> None:
    found = sheet_of(state_of("undecided")).answer
    assert [one.is_led for one in found][:2] == [False, True]


@pytest.mark.parametrize("folder", GOLDEN, ids=[path.name for path in GOLDEN])
def test_a_session_of_any_version_has_a_sheet_of_what_was_stored(folder: Path) -> None:
    state, _ = load_state(folder)
    found = sheet_of(state)
    assert state.closed is not None
    assert found.journals is not None
    assert [row[0] for row in found.journals.rows] == [("M1",), ("R1",)]
    column = found.journals.headings.index("smallest, mm")
    # M1 59.97831 (59.979 as read before 0.3.0), R1 50.7686 to 50.76952: under 50.780 by 0.0105 and
    # more. Shown are four decimals, half to even.
    stored = [float(result.smallest_mm) for result in state.closed.journals]
    assert [float(row[column][0]) for row in found.journals.rows] == [
        pytest.approx(mm, abs=0.00005001) for mm in stored
    ]
    assert found.journals.rows[1][-1] == ("BELOW",)
    has_uncertainty = "could be off by" in found.journals.headings
    assert has_uncertainty == bool(state.closed.journals[0].uncertainty_mm)
    html = page(found, None)
    assert set(Page(html).handlers) == set()
    assert html == page(sheet_of(state), None)


def test_the_rule_of_decision_is_told_as_the_record_has_it() -> None:
    first, second, third, *_ = (" ".join(sheet_of(load_state(f)[0]).journals_notes) for f in GOLDEN)
    assert "guard=max_error" in first
    assert "guard" in second
    assert "expanded uncertainty" in third
    assert "95 % confidence (ISO 14253-1)" in " ".join(sheet_of(state_of("worn")).journals_notes)


def test_the_gauge_and_how_it_was_proven() -> None:
    found = sheet_of(state_of("worn"))
    assert found.gauges == (
        "Measured with mic-50-75, number A1, step 0.001 mm.",
        "Held against gauge blocks of 59.970 mm: 2 checks, passed.",
    )
    assert sheet_of(state_of("rejected")).gauges[-1] == (
        "Held against gauge blocks of 59.970 mm: 2 checks, 1 of them failed."
    )
    assert found.checks is not None
    assert [row[0] for row in found.checks.rows] == [("1 before",), ("2 after",)]
    # Opened at 08:00 UTC, and the clocks of the shop an hour later.
    assert found.checks.rows[0][1] == ("2026-11-25 09:00",)


def test_the_undersizes_of_each_group_with_the_next_step_among_them() -> None:
    mains, rods = sheet_of(state_of("worn")).groups
    assert [(step.name, step.limits, step.is_chosen) for step in mains.steps] == [
        ("0.25", "59.720-59.740 mm", True),
        ("0.50", "59.470-59.490 mm", False),
    ]
    assert [step.is_chosen for step in rods.steps] == [False]


def test_the_undersize_that_a_part_was_ground_to_is_marked() -> None:
    mains, _ = sheet_of(state_of("ground-to")).groups
    assert [(step.is_present, step.is_chosen) for step in mains.steps] == [
        (True, False),
        (False, False),
    ]
    assert "0.25 at 59.720-59.740 mm (as it is now)" in shown(state_of("ground-to"))


def test_part_job_and_who_measured_stand_at_the_top() -> None:
    found = sheet_of(state_of("worn"))
    assert found.title == "No. 7 (crankshaft of the Ashdown four)"
    assert [(fact.name, fact.value) for fact in found.facts] == [
        ("Job", "4711"),
        ("Measured", "2026-11-25"),
        ("by", "Ada"),
        ("with", "mic-50-75"),
        ("Measurement", "accepted"),
    ]


def test_of_a_part_that_was_not_measured_no_table_stands_there() -> None:
    found = sheet_of(state_of("not-measured"))
    assert found.journals is None
    assert found.around == ()
    assert "so there is no answer" in found.answer[0].text


def test_units_are_those_asked_for_and_marked_where_they_are_not_the_plans() -> None:
    both = shown(state_of("worn"), ShownIn.BOTH)
    inch = shown(state_of("worn"), ShownIn.INCH)
    # 59.961 mm is 2.360669 in
    assert "59.9610" in both
    assert "~2.36067" in both
    assert "59.9610" not in inch
    assert "~2.36067" in inch
    for text in (both, inch):
        assert "~ converted for reading, limits rounded inward" in text


def test_many_journals_are_drawn_as_far_as_there_is_room_and_all_are_in_the_table() -> None:
    head = HEAD.replace("[0, 45, 90, 135]", "[0]").replace('["front", "rear"]', '["front"]')
    with TemporaryDirectory() as folder:
        bench = begun(Path(folder) / "s", crank(40, 0, LIMITS, head))
        state = drive(bench, sized({"M39": "59.960"})).close().state
    found = sheet_of(state)
    assert len(found.around) == 24
    assert found.around_left_out == 16
    assert found.journals is not None
    assert len(found.journals.rows) == 40
    assert [name for name in ("M23", "M24", "M39") if f">{name}<" in "".join(found.around)] == [
        "M23",
        "M39",  # the one that needs work comes before the first ones
    ]


def test_hostile_words_of_the_record_are_text() -> None:
    plan = crank(2, 0).replace("crankshaft of the Ashdown four", "<script>alert(1)</script>")
    plan = plan.replace('"M2"', '"<img src=x onerror=alert(1)>"')
    with TemporaryDirectory() as folder:
        bench = drive(begun(Path(folder) / "s", plan), sized(), 12)
        bench.say(Abandon(HOSTILE))
        state = bench.close().state
    found = Page(page(sheet_of(state), None))
    assert {"script", "img"} & set(found.tags) == set()
    assert found.handlers == []
    assert "<img src=x onerror=alert(1)>" in found.shown
