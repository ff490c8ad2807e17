"""The talk of `plan new` with lines from a list: what is said, asked again, given at the end."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.cli.plan_dialogue import LeftOff, PlanDialogue
from daq.plan.decidable import GaugeKnown
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.existing import draft_of
from daq.plan.drafting.file_text import text_of
from daq.plan.drafting.questions import questions
from daq.plan.plan import parse_plan
from daq.services.draft_files import begin
from daq.services.examples import example
from tests.daq.plan.drafting.talk import FOUR, said


def talk(
    lines: Sequence[str], home: Path, draft: Draft | None = None, known: GaugeKnown | None = None
) -> PlanDialogue:
    left = list(lines)

    def line(prompt: str) -> str:
        if not left:
            raise EOFError
        return left.pop(0)

    return PlanDialogue(draft or Draft(), Path("plan.toml"), home, known, line)


def test_all_answers_and_a_yes_are_a_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = talk((*FOUR[:14], "M88", "", "", "yes"), tmp_path).run()
    plan = parse_plan(text, "plan.toml")
    assert {group.stack for group in plan.groups} == {"59.970 mm", "50.780 mm"}
    out, err = capsys.readouterr()
    assert out == ""
    assert "mains limits       59.970 to 59.990 mm             ≈ 2.36102 to 2.36181 in" in err
    assert "8 readings a journal, 72 in all" in err
    assert "Nothing looks out of place" in err
    assert max(map(len, err.splitlines())) <= 100


def test_a_line_of_the_table_is_changed_by_its_name(tmp_path: Path) -> None:
    text = talk((*FOUR, "rods limits", "50.70 50.72", "nonsense", ""), tmp_path).run()
    low = parse_plan(text, "plan.toml").journals[-1].limits.low
    assert str(low) == "50.70 mm"


def test_a_stack_may_be_typed_though_no_blocks_are_at_hand(tmp_path: Path) -> None:
    text = talk((*FOUR, "rods stack", "back", "mains stack", "59.98", ""), tmp_path).run()
    plan = parse_plan(text, "plan.toml")
    assert (plan.group("mains").stack, plan.group("rods").stack) == ("59.98 mm", None)


def test_all_asks_everything_again_with_the_answers_in_brackets(tmp_path: Path) -> None:
    text = talk((*FOUR, "all", *[""] * 13, "none", "none", ""), tmp_path).run()
    assert parse_plan(text, "plan.toml").journals == (
        parse_plan(text_of(said((*FOUR[:13], "none", "none"))), "plan.toml").journals
    )


def test_no_and_later_leave_with_what_was_answered(tmp_path: Path) -> None:
    for word in ("no", "later"):
        dialogue = talk((*FOUR, word), tmp_path)
        with pytest.raises(LeftOff) as left:
            dialogue.run()
        assert left.value.draft == said(FOUR)


def test_the_end_of_the_file_loses_nothing(tmp_path: Path) -> None:
    dialogue = talk(FOUR[:7], tmp_path)
    with pytest.raises(EOFError):
        dialogue.run()
    assert dialogue.draft == said(FOUR[:7])


def test_doubts_are_told_before_anything_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 0.05 mm of form in a tolerance of 0.02 mm can never be reached.
    lines = (*FOUR[:7], "0.05", *FOUR[8:], "")
    talk(lines, tmp_path, known=GaugeKnown(Decimal("0.01"))).run()
    err = " ".join(capsys.readouterr().err.split())
    assert "! out_of_round = 0.05 mm of M1," in err
    assert "is 2.5 times high - low = 0.02" in err
    assert "measure refuses the gauge" in err


def test_a_plan_that_cannot_be_used_is_not_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The journals differ in their limits, so nobody can tell those of one that comes.
    draft = draft_of(
        'schema = 1\npart = "x"\n[[journal]]\nname = "M1"\ngroup = "mains"\nlow = "59.97 mm"\n'
        'high = "59.99 mm"\n[[journal]]\nname = "M2"\ngroup = "mains"\nlow = "59.96 mm"\n'
        'high = "59.98 mm"\n',
        "plan.toml",
    )
    enter = [""] * 8
    lines = ("", "", "3", *enter, "none", "yes", "mains limits", "59.97 59.99", "yes")
    text = talk(lines, tmp_path, draft).run()
    assert [str(j.limits.low) for j in parse_plan(text, "plan.toml").journals] == ["59.97 mm"] * 3
    err = " ".join(capsys.readouterr().err.split())
    assert "This cannot be used: " in err
    assert "There is no line yes" in err


def test_blocks_that_are_none_are_asked_for_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = talk((*FOUR[:14], "M99", "none", ""), tmp_path).run()
    assert "stack" not in text
    assert "There is no block set 'M99'" in capsys.readouterr().err


def test_a_change_of_an_existing_plan_says_what_becomes_of_remarks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = text_of(said(FOUR))
    draft = replace(draft_of(before, "plan.toml"), on_disk=before)
    talk(("another part", *[""] * 13, "none", ""), tmp_path, draft).run()
    err = " ".join(capsys.readouterr().err.split())
    assert "written anew: remarks stay with their lines" in err


def test_one_line_of_an_existing_plan_is_changed_by_its_name(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(text_of(said(FOUR)), encoding="utf-8")
    draft = begin(path, is_asking=True).draft
    text = talk(("rods limits", "50.770 50.800", "yes"), tmp_path, draft).run()
    assert 'low = "50.770 mm"' in text
    assert "stack" not in text, "as before"
    assert 'low = "59.970 mm"' in text


def test_limits_that_change_in_an_existing_plan_ask_for_another_stack(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(talk((*FOUR[:14], "M88", "", "", "yes"), tmp_path).run(), encoding="utf-8")
    draft = begin(path, is_asking=True).draft
    text = talk(("rods limits", "50.770 50.800", "M88", "", "yes"), tmp_path, draft).run()
    assert 'stack = "50.770 mm"' in text
    assert 'stack = "59.970 mm"' in text


def test_an_example_is_said_to_be_invented_until_its_line_is_taken_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    draft = draft_of(example("inline-four").text, "plan.toml")
    draft = replace(draft, blocks="none", asked=tuple(one.key for one in questions(draft)))
    talk(("yes",), tmp_path, draft).run()
    assert "! This engine is invented" in capsys.readouterr().err


def test_text_with_marks_that_turn_writing_is_shown_harmless(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(EOFError):
        talk(("a\u202eb\x1b[31m", "[red]x[/red] שלום"), tmp_path).run()
    err = capsys.readouterr().err
    assert "\\u202e" in err
    assert "\u202e" not in err
    assert "\x1b" not in err
