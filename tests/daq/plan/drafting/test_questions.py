"""The questions in their order, and what an answer makes of a draft."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from daq.plan.drafting.asking import again
from daq.plan.drafting.draft import Draft, Offer
from daq.plan.drafting.questions import (
    Answered,
    Explained,
    Left,
    Wrong,
    answer,
    next_question,
    question,
    questions,
    take,
)
from tests.daq.plan.drafting.talk import FOUR, last, said

UP_TO_LIMITS = FOUR[:5]


def asked_next(draft: Draft) -> str:
    found = next_question(draft)
    assert found is not None
    return found.key


def in_brackets(draft: Draft) -> str | None:
    found = next_question(draft)
    assert found is not None
    return found.default


def test_the_questions_come_in_the_order_of_the_trade() -> None:
    assert [one.key for one in questions(said(FOUR))] == [
        *("part", "unit", "mains", "rods", "others"),
        *("mains limits", "mains undersizes", "mains form"),
        *("rods limits", "rods undersizes", "rods form"),
        *("stations", "angles", "strip", "blocks"),
        *("mains stack", "rods stack"),  # not asked by themselves without blocks
    ]
    assert next_question(said(FOUR)) is None


def test_fifteen_lines_are_an_inline_four_and_eight_of_them_are_enter_or_one_word() -> None:
    draft = said(FOUR)
    mains, rods = draft.groups
    assert mains.journals == ("M1", "M2", "M3", "M4", "M5")
    assert [step.name for step in rods.steps] == ["0.25", "0.50"]
    assert str(rods.steps[0].low) == "50.530 mm"  # 50.780 - 0.25
    assert str(rods.taper) == "0.005 mm"
    assert draft.strip == ("M3",)


def test_an_answer_is_told_as_it_was_understood_with_the_other_unit_beside() -> None:
    found = last((*UP_TO_LIMITS, "59,990 59,970"))
    assert isinstance(found, Answered)
    # 59.970 / 25.4 = 2.361 023..., 59.990 / 25.4 = 2.361 811...
    assert found.words == (
        "The larger stood first; taken as low to high. 59.970 to 59.990 mm ≈ 2.36102 to 2.36181 in"
    )


def test_enter_takes_the_brackets_and_is_wrong_where_there_are_none() -> None:
    assert isinstance(take(Draft(), ""), Wrong)
    assert said(("engine", "")).units == "mm"


def test_back_goes_back_one_and_what_was_said_stands_in_brackets() -> None:
    draft = said(("engine", "in", "back"))
    assert (asked_next(draft), in_brackets(draft)) == ("unit", "in")
    draft = said(("back",), draft)
    assert (asked_next(draft), in_brackets(draft)) == ("part", "engine")
    assert isinstance(take(draft, "back"), Wrong)


def test_a_question_mark_explains_and_later_leaves() -> None:
    explained = take(Draft(), "?")
    assert isinstance(explained, Explained)
    assert explained.words.endswith(".")
    assert isinstance(take(Draft(), " Later "), Left)


def test_every_question_explains_itself_and_names_its_option() -> None:
    draft = said(("engine", "mm in", "5", "4", "", "59.97 59.99", "none"))
    for one in questions(draft):
        assert one.help.endswith("."), one.key
        assert one.option.startswith("--"), one.key


def test_bare_numbers_about_a_group_have_the_unit_of_its_limits() -> None:
    draft = said((*UP_TO_LIMITS, "2.3610 2.3618 in", ".010", ".0005"))
    mains = draft.groups[0]
    assert (str(mains.steps[0].by), str(mains.taper)) == ("0.010 in", "0.0005 in")


def test_limits_that_change_take_undersizes_that_were_worked_out_along() -> None:
    draft = again(said(FOUR), "mains limits")
    draft = said(("60.970 60.990",), draft)
    group = draft.group("mains")
    assert group is not None
    assert str(group.steps[0].low) == "60.720 mm"  # 60.970 - 0.25


def test_limits_that_change_leave_printed_undersizes_alone() -> None:
    draft = said((*UP_TO_LIMITS, "59.970 59.990", "0.25: 59.725 59.740"))
    draft = said(("59.960 59.980",), again(draft, "mains limits"))
    group = draft.group("mains")
    assert group is not None
    assert str(group.steps[0].low) == "59.725 mm"


def test_a_cross_check_is_asked_for_where_the_manual_prints_both() -> None:
    draft = said(("engine", "both", "5", "0", "", "59.970 59.990"))
    assert asked_next(draft) == "mains cross-check"
    wrong = take(draft, "2.3510 2.3618")
    assert isinstance(wrong, Wrong)
    assert "59.970 mm and its cross-check 2.3510 in differ by" in wrong.words
    found = take(draft, "2.3610 2.3618")
    assert isinstance(found, Answered)
    assert found.words == "the cross-check agrees"


def test_four_numbers_answer_limits_and_cross_check_at_once() -> None:
    draft = said(("engine", "mm in", "5", "0", "", "59.970 59.990 mm 2.3610 2.3618 in"))
    assert asked_next(draft) == "mains undersizes"


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (("engine", "cm"), "Type mm, or in"),
        (("engine", "mm", "2", "M1 R1"), "M1 stands among the mains already"),
        (("engine", "mm", "0", "0", "none"), "no journal yet"),
        (("engine", "mm", "2", "0", "main: 4"), "main looks like mains"),
        (("engine", "mm", "2", "0", "rods: 4; x 0"), "rods looks like rods"),
        ((*UP_TO_LIMITS, "59.97 59.99", "0.01"), "59.98 mm is not under the standard low limit"),
        ((*UP_TO_LIMITS, "59.97 59.99", "0.25 0.26"), "not under the low limit of 0.25, 59.72 mm"),
        (("a\u202eb",), "cannot be printed"),
        (("x" * 201,), "At most 200"),
        ((*FOUR[:14], "M112", "60.98"), "60.98 mm lies 1.01 mm from the low limit 59.970 mm"),
    ],
)
def test_a_wrong_answer_is_said_in_words_and_changes_nothing(
    lines: tuple[str, ...], words: str
) -> None:
    found = last(lines)
    assert isinstance(found, Wrong)
    assert words in found.words


def test_others_have_names_and_numbers_of_their_own() -> None:
    draft = said(("engine", "mm", "2", "1", "cams: 3; idler: I1 I2"))
    assert [(group.name, group.journals) for group in draft.groups[2:]] == [
        ("cams", ("C1", "C2", "C3")),
        ("idler", ("I1", "I2")),
    ]
    assert in_brackets(again(draft, "others")) == "cams: 3; idler: 2"


def test_journals_that_go_are_no_longer_stripped() -> None:
    draft = said(("2",), again(said(FOUR), "mains"))
    assert draft.strip == ()


def test_the_stack_that_is_offered_stands_in_brackets() -> None:
    draft = said((*FOUR[:14], "M112"))
    mains = draft.groups[0]
    assert mains.low is not None
    offer = Offer("mains", mains.low, "59.970 mm", "M112: 59.970 mm = 1.47 + 8.5 + 50")
    draft = replace(draft, offers=(offer,))
    found = next_question(draft)
    assert found is not None
    assert (found.key, found.default) == ("mains stack", "59.970 mm")
    assert offer.words in found.words
    stack = said(("",), draft).groups[0].stack
    assert stack == "59.970 mm"


def test_a_question_is_found_by_its_key_in_either_writing() -> None:
    draft = said(FOUR)
    for word in ("mains limits", "Mains-Limits"):
        found = question(draft, word)
        assert found is not None
        assert found.key == "mains limits"
    assert question(draft, "pistons") is None
    assert isinstance(answer(draft, "pistons", "5"), Wrong)


LINES = st.one_of(
    st.sampled_from([*FOUR, "back", "?", "M112", "59.97 mm", "none", "0", "1-3", "mm in", "a: 2"]),
    st.text(max_size=30),
    st.text(alphabet='0123456789.,;:- mMinR±/"', max_size=20),
)


@given(st.lists(LINES, max_size=25))
def test_whatever_is_typed_leads_to_words_or_to_an_answer(lines: list[str]) -> None:
    draft = Draft()
    for line in lines:
        outcome = take(draft, line)
        if isinstance(outcome, Answered):
            draft = outcome.draft
            assert len(set(draft.asked)) == len(draft.asked)
            assert len(set(draft.journals)) == len(draft.journals)
            for group in draft.groups:
                assert group.low is None or group.high is None or group.low.mm < group.high.mm
        elif not isinstance(outcome, Left):
            assert outcome.words
            assert outcome.words.isprintable()
