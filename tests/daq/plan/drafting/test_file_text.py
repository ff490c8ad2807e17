"""The file that a draft makes: a short plan, or an existing one with what was answered."""

from collections.abc import Sequence

import pytest
from msgspec.structs import replace

from daq.errors import PlanError
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.existing import draft_of
from daq.plan.drafting.file_text import text_of
from daq.plan.drafting.questions import Answered, answer, next_question, question, questions
from daq.plan.plan import Plan, parse_plan
from daq.services.examples import example
from tests.daq.plan.drafting.talk import FOUR, said

BY_HAND = """\
# The crank of the old pump.
schema = 1
part = "pump"   # see the card

[check]
max_age_min = 90
stack = "59.97 mm"

[defaults]
angles_deg = [0, 90]  # the cheeks are in the way
taper = "0.005 mm"

# Bearings are hard to get.
[[group]]
name = "mains"
housing_bore = ["64.000 mm", "64.019 mm"]
shell_wall = ["1.990 mm", "1.995 mm"]

[[group.undersize]]
name = "first"
by = "0.25 mm"
low = "59.72 mm"
high = "59.74 mm"
worn_low = "59.715 mm"

[[journal]]
name = "M1"
group = "mains"
low = ["59.97 mm", "2.3610 in"]
high = ["59.99 mm", "2.3618 in"]
repeats = 2

[[journal]]
# the thrust journal
name = "M2"
group = "mains"
low = ["59.97 mm", "2.3610 in"]
high = ["59.99 mm", "2.3618 in"]

[[journal]]
name = "tail"
low = "59.5 mm"
high = "59.6 mm"
access = "after-strip"
# the end of the card
"""


def changed(key: str, text: str, before: str = BY_HAND) -> str:
    """The file after one answer."""
    found = answer(draft_of(before, "plan.toml"), key, text)
    assert isinstance(found, Answered), found
    return text_of(found.draft)


def plan_of(text: str) -> Plan:
    return parse_plan(text, "plan.toml")


def lines_in(text: str, words: Sequence[str]) -> bool:
    """All of these lines stand in the text, blanks within them not counted."""
    lines = [" ".join(line.split()) for line in text.splitlines()]
    return all(word in lines for word in words)


# A new plan ---------------------------------------------------------------------------------------


def test_a_new_plan_is_short_and_says_each_thing_once() -> None:
    text = text_of(said(FOUR))
    values = [line for line in text.splitlines() if line and not line.startswith("#")]
    # Head 2, defaults 5, mains 4, rods 4 (no blocks), four undersizes of 5, journals 3 + 4 + 3.
    assert len(values) == 2 + 5 + 4 + 4 + 4 * 5 + 3 + 4 + 3
    assert text.count("0.005 mm") == 2  # out-of-round and taper, for all
    assert text.startswith("# Made by jbridge plan new")
    assert lines_in(text, ['low = "59.970 mm" # ≈ 2.36102 in', 'high = "50.800 mm" # 2.00000 in'])


def test_a_new_plan_measures_what_was_answered() -> None:
    plan = plan_of(text_of(said(FOUR)))
    assert [journal.name for journal in plan.journals] == [
        *("M1", "M2", "M4", "M5", "M3"),
        *("R1", "R2", "R3", "R4"),
    ]
    third = plan.journals[4]
    assert third.is_after_strip
    assert str(third.limits.out_of_round) == "0.005 mm"
    assert [step.name for step in plan.group("rods").undersizes] == ["0.25", "0.50"]


def test_the_cross_check_goes_into_the_file() -> None:
    lines = ("pump", "mm in", "1", "0", "", "59.970 59.990", "2.3610 2.3618", "", "", "", "", "")
    plan = text_of(said(lines))
    assert 'low = ["59.970 mm", "2.3610 in"]' in plan


def test_text_of_people_is_escaped_and_comes_back_as_it_was() -> None:
    part = 'a "b" \\ [bold]x[/bold] <i> שלום'
    text = text_of(said((part, "", "[b]M, M3", *FOUR[3:])))
    plan = plan_of(text)
    assert plan.part == part
    assert plan.journals[0].name == "[b]M"


def test_250_journals_make_a_plan() -> None:
    text = text_of(said(("big", "", "250", *FOUR[3:13], "none", "none")))
    assert len(plan_of(text).journals) == 254
    assert max(map(len, text.splitlines())) <= 100


# An existing plan ---------------------------------------------------------------------------------


SHIPPED = [example(name).text for name in ("v6-shared-pins", "single-inch", "three-throw-pump")]


@pytest.mark.parametrize("text", [BY_HAND, text_of(said(FOUR)), *SHIPPED])
def test_enter_at_every_question_leaves_a_plan_word_for_word(text: str) -> None:
    draft = draft_of(text, "plan.toml")
    count = 0
    while (asked := next_question(draft)) is not None:
        found = answer(draft, asked.key, "")
        assert isinstance(found, Answered), (asked, found)
        draft = found.draft
        count += 1
    assert count >= len(draft.groups) * 3 + 9
    assert text_of(draft) == text


CHANGES = {
    "part": "another",
    "mains": "3",
    "rods": "2",
    "others": "cams: 2",
    "mains limits": "70.01 70.03 mm",
    "mains undersizes": "0.25 mm 0.75 mm",
    "mains form": "none",
    "stations": "middle",
    "angles": "0 60 120",
    "strip": "all",
    "mains stack": "none",
}


@pytest.mark.parametrize("text", SHIPPED)
@pytest.mark.parametrize("key", CHANGES)
def test_one_changed_answer_leaves_a_plan_that_reads_back_as_answered(key: str, text: str) -> None:
    draft = draft_of(text, "plan.toml")
    if question(draft, key) is None:
        draft = replace(draft, blocks="M112", asked=("blocks",))
    found = answer(draft, key, CHANGES[key])
    assert isinstance(found, Answered), found
    if key in ("rods", "others"):  # a group that comes wants its limits
        new = found.draft.groups[-1].name
        if new not in [group.name for group in draft.groups]:
            found = answer(found.draft, f"{new} limits", "30.00 30.02 mm")
            assert isinstance(found, Answered), found
    again = draft_of(text_of(found.draft), "plan.toml")
    assert again.part == found.draft.part
    assert set(again.strip) == set(found.draft.strip)
    assert (again.stations, again.angles_deg) == (found.draft.stations, found.draft.angles_deg)
    assert [group.name for group in again.groups] == [group.name for group in found.draft.groups]
    for group in again.groups:
        meant = found.draft.group(group.name)
        assert meant is not None
        assert set(group.journals) == set(meant.journals)
        assert (group.low, group.high, group.steps) == (meant.low, meant.high, meant.steps)
        assert (group.out_of_round, group.taper) == (meant.out_of_round, meant.taper)
        assert group.stack == meant.stack


def test_what_an_existing_plan_says_stands_in_brackets() -> None:
    found = {one.key: one.default for one in questions(draft_of(BY_HAND, "plan.toml"))}
    assert found["part"] == "pump"
    assert found["unit"] == "mm in"
    assert found["mains"] == "2"
    assert found["rods"] == "0"
    assert found["others"] == "journals: tail"
    assert found["mains limits"] == "59.97 59.99 mm"
    assert found["mains cross-check"] == "2.3610 2.3618 in"
    assert found["mains undersizes"] == "0.25 mm"
    assert found["mains form"] == "none 0.005 mm"
    assert found["angles"] == "0 90"
    assert found["strip"] == "tail"
    assert found["mains stack"] == "59.97 mm"


def test_one_answer_changes_one_thing_and_remarks_of_people_stay() -> None:
    text = changed("part", "the other pump")
    for words in (
        "# The crank of the old pump.",
        "# see the card",
        "# the cheeks are in the way",
        "# Bearings are hard to get.",
        "# the thrust journal",
        "# the end of the card",
    ):
        assert text.count(words) == 1, words
    assert lines_in(text, ['part = "the other pump" # see the card'])
    before, after = plan_of(BY_HAND), plan_of(text)
    assert before.journals == after.journals
    assert before.groups == after.groups
    assert before.check == after.check


def test_limits_of_a_group_go_to_the_group_and_its_journals_keep_the_rest() -> None:
    plan = plan_of(changed("mains limits", "59.98 59.995"))
    first, second, tail = plan.journals
    assert str(first.limits.low) == str(second.limits.low) == "59.98 mm"
    assert (first.repeats, second.repeats) == (2, 1)
    assert str(tail.limits.low) == "59.5 mm"


def test_an_undersize_that_is_there_keeps_what_else_is_said_of_it() -> None:
    plan = plan_of(changed("mains undersizes", "0.25 0.50"))
    first, second = plan.group("mains").undersizes
    assert (first.name, str(first.worn_low)) == ("first", "59.715 mm")
    assert (second.name, str(second.low)) == ("0.50", "59.47 mm")  # 59.97 - 0.50


def test_a_limit_of_form_taken_from_one_group_stays_with_the_others() -> None:
    plan = plan_of(changed("mains form", "none"))
    assert [journal.limits.taper is None for journal in plan.journals] == [True, True, False]


def test_journals_come_and_go() -> None:
    more = plan_of(changed("mains", "M1 M2 M3"))
    assert [journal.name for journal in more.journals] == ["M1", "M2", "tail", "M3"]
    assert str(more.journals[3].limits.low) == "59.97 mm"
    less = plan_of(changed("mains", "M2"))
    assert [journal.name for journal in less.journals] == ["M2", "tail"]


def test_a_group_that_comes_gets_its_own_table_and_one_that_goes_takes_its_along() -> None:
    found = answer(draft_of(BY_HAND, "plan.toml"), "rods", "2")
    assert isinstance(found, Answered)
    found = answer(found.draft, "rods limits", "50.78 50.80")
    assert isinstance(found, Answered)
    plan = plan_of(text_of(found.draft))
    assert [journal.group for journal in plan.journals] == ["mains", "mains", "", "rods", "rods"]
    gone = plan_of(changed("mains", "0"))
    assert [group.name for group in gone.groups] == []
    assert [journal.name for journal in gone.journals] == ["tail"]


def test_stripping_parts_a_table_of_several_journals() -> None:
    text = text_of(said(FOUR))
    plan = plan_of(changed("strip", "M1 M2", text))
    late = [journal.name for journal in plan.journals if journal.is_after_strip]
    assert late == ["M1", "M2"]
    assert len(plan.journals) == 9


def test_places_for_all_take_the_place_of_those_of_single_journals() -> None:
    text = BY_HAND.replace("repeats = 2", 'stations = ["middle"]')
    assert draft_of(text, "plan.toml").mixed == ("stations",)
    plan = plan_of(changed("stations", "front, rear", text))
    assert {journal.stations for journal in plan.journals} == {("front", "rear")}


def test_limits_that_differ_within_a_group_are_kept_by_enter_and_set_by_an_answer() -> None:
    text = BY_HAND.replace("[[group.undersize]]", "[unused]").partition("[unused]")
    rest = text[2].partition("[[journal]]")
    differing = text[0] + "".join(rest[1:]).replace(
        'low = ["59.97 mm", "2.3610 in"]\nhigh = ["59.99 mm", "2.3618 in"]\nrepeats',
        'low = "59.96 mm"\nhigh = "59.98 mm"\nrepeats',
    )
    draft = draft_of(differing, "plan.toml")
    assert draft.groups[0].mixed == ("limits",)
    kept = answer(draft, "mains limits", "")
    assert isinstance(kept, Answered)
    assert text_of(kept.draft) == differing
    plan = plan_of(changed("mains limits", "59.97 59.99", differing))
    assert {str(journal.limits.low) for journal in plan.journals[:2]} == {"59.97 mm"}


def test_the_group_of_the_defaults_is_understood() -> None:
    text = (
        'schema = 1\npart = "x"\n[defaults]\ngroup = "mains"\nlow = "59.97 mm"\n'
        'high = "59.99 mm"\n[[journal]]\nnames = ["A", "B"]\n'
    )
    assert [group.name for group in draft_of(text, "x").groups] == ["mains"]
    plan = plan_of(changed("mains limits", "59.98 60.00", text))
    assert {str(journal.limits.low) for journal in plan.journals} == {"59.98 mm"}


def test_remarks_of_this_program_follow_the_numbers() -> None:
    text = changed("rods limits", "50.70 50.72", text_of(said(FOUR)))
    # 50.70 / 25.4 = 1.996 063
    assert lines_in(text, ['low = "50.70 mm" # ≈ 1.99606 in'])
    assert "1.99921" not in text


def test_what_is_no_plan_is_refused() -> None:
    with pytest.raises(PlanError):
        draft_of("hello", "plan.toml")


def test_a_draft_without_groups_makes_no_plan() -> None:
    with pytest.raises(PlanError):
        plan_of(text_of(Draft(part="x")))
