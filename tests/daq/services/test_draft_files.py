"""Files of a plan in the making: answers kept, plans written with the former one beside."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.errors import PlanError, UsageError
from daq.plan.drafting.file_text import text_of
from daq.plan.drafting.questions import next_question
from daq.services.draft_files import begin, forget, keep, part_file, replaceable, target, write_plan
from tests.daq.plan.drafting.talk import FOUR, said


def test_answers_that_were_kept_are_carried_on(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    draft = said(FOUR[:8])
    assert keep(path, draft) == tmp_path / "plan.toml.part"
    found = begin(path, is_asking=True)
    assert (found.draft, found.is_carried_on) == (draft, True)
    assert found.words == "Carrying on: 8 answers are kept from last time."
    assert begin(path, is_asking=False).draft.asked == ()
    forget(path)
    assert not part_file(path).exists()
    assert not begin(path, is_asking=True).is_carried_on


def test_of_a_plan_that_is_there_only_what_is_to_be_changed_is_asked(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(text_of(said(FOUR)), encoding="utf-8")
    found = begin(path, is_asking=True)
    assert found.words == "plan.toml is there. This is what it says; change what you like."
    assert next_question(found.draft) is None
    assert text_of(found.draft) == text_of(said(FOUR))
    assert begin(path, is_asking=False).draft.asked == ()


def test_kept_answers_that_cannot_be_read_begin_anew(tmp_path: Path) -> None:
    part_file(tmp_path / "plan.toml").write_text("{half", encoding="utf-8")
    assert begin(tmp_path / "plan.toml", is_asking=True).draft.asked == ()


def test_kept_answers_for_another_state_of_the_file_are_left_out(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    keep(path, said(FOUR[:8]))
    path.write_text(text_of(said(FOUR)), encoding="utf-8")
    found = begin(path, is_asking=True)
    assert not found.is_carried_on
    assert "has changed since" in found.words
    assert found.draft.before == found.draft.on_disk == text_of(said(FOUR))


def test_a_plan_is_written_with_the_former_one_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    assert write_plan(path, "one\n", None) is None
    assert write_plan(path, "two\n", "one\n") == tmp_path / "plan.toml.before-1"
    assert write_plan(path, "three\n", "two\n") == tmp_path / "plan.toml.before-2"
    assert write_plan(path, "three\n", "three\n") is None
    assert (tmp_path / "plan.toml.before-1").read_text(encoding="utf-8") == "one\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        "plan.toml",
        "plan.toml.before-1",
        "plan.toml.before-2",
    ]


def test_a_plan_that_somebody_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text("theirs\n", encoding="utf-8")
    with pytest.raises(UsageError, match="changed by somebody else meanwhile"):
        write_plan(path, "mine\n", None)
    assert path.read_text(encoding="utf-8") == "theirs\n"


def test_an_example_takes_the_place_only_of_what_this_command_made(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    assert replaceable(path, replace=False) is None
    path.write_text("# by hand\n", encoding="utf-8")
    with pytest.raises(UsageError, match="was not made by this command"):
        replaceable(path, replace=False)
    assert replaceable(path, replace=True) == "# by hand\n"
    path.write_text(text_of(said(FOUR)), encoding="utf-8")
    assert replaceable(path, replace=False) == text_of(said(FOUR))


def test_a_folder_is_no_plan(tmp_path: Path) -> None:
    with pytest.raises(PlanError):
        begin(tmp_path, is_asking=True)


def test_every_draft_survives_being_kept(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    draft = replace(said(FOUR), part="שלום [b]")
    keep(path, draft)
    assert begin(path, is_asking=True).draft == draft


def test_a_folder_that_is_not_there_is_said_before_anything_is_asked(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no folder"):
        target(tmp_path / "none" / "plan.toml")


def test_a_link_to_a_plan_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.toml").write_text("one\n", encoding="utf-8")
    link = tmp_path / "plan.toml"
    link.symlink_to(tmp_path / "real.toml")
    write_plan(target(link), "two\n", "one\n")
    assert link.is_symlink()
    assert (tmp_path / "real.toml").read_text(encoding="utf-8") == "two\n"
