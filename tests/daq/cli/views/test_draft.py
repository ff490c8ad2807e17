"""The table of what was understood, in the width that there is."""

import pytest

from daq.cli.views.draft import understood
from tests.daq.plan.drafting.talk import FOUR, said


@pytest.mark.parametrize("width", [59, 79, 99])
def test_no_line_is_wider_than_the_terminal_and_no_number_is_cut(width: int) -> None:
    lines = understood(said(FOUR), width)
    assert max(map(len, lines)) <= width
    text = "\n".join(lines)
    # 59.720 / 25.4 = 2.351 181..., 59.740 / 25.4 = 2.351 968...
    for words in ("59.970 to 59.990 mm", "0.25: 59.720 to 59.740 mm", "≈ 2.35118 to 2.35197 in"):
        assert words in text


def test_both_units_stand_in_one_line_of_80_columns_and_the_whole_in_24_lines() -> None:
    lines = understood(said(FOUR), 79)
    limits = next(line for line in lines if line.startswith("mains limits"))
    assert limits.split(maxsplit=2)[2] == (
        "59.970 to 59.990 mm             ≈ 2.36102 to 2.36181 in"
    )
    assert len(lines) <= 24


def test_each_line_begins_with_the_words_that_ask_for_it_again() -> None:
    first = [line[:18].strip() for line in understood(said(FOUR), 79)]
    assert [words for words in first if words] == [
        "part",
        *("mains", "mains limits", "mains undersizes", "mains form", "mains stack"),
        *("rods", "rods limits", "rods undersizes", "rods form", "rods stack"),
        *("stations", "angles", "strip"),
    ]


def test_of_many_journals_the_first_and_the_last_are_named() -> None:
    draft = said(("big", "", "250", *FOUR[3:13], "none", "none"))
    assert "MAINS 250: M1 to M250" in "\n".join(understood(draft, 79))
