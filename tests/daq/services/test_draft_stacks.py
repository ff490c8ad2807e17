"""Stacks offered for a draft from a set or from blocks typed one by one."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.errors import SettingsError
from daq.services.draft_stacks import is_offer_due, with_offers
from tests.daq.plan.drafting.talk import FOUR, said


def offers(blocks: str, home: Path) -> list[tuple[str, str]]:
    draft = said((*FOUR[:14], blocks))
    assert is_offer_due(draft)
    draft = with_offers(draft, home)
    assert not is_offer_due(draft)
    return [(one.size, one.words) for one in draft.offers]


def test_a_shipped_set_makes_the_low_limits(tmp_path: Path) -> None:
    assert offers("M112", tmp_path) == [
        ("59.970 mm", "M112: 59.970 mm = 1.47 + 8.5 + 50"),
        ("50.780 mm", "M112: 50.780 mm = 1.28 + 24.5 + 25"),
    ]


def test_blocks_typed_one_by_one_make_the_nearest(tmp_path: Path) -> None:
    # 50 + 10 = 60, 0.030 mm over 59.970; 50 alone is 0.780 mm under 50.780.
    assert offers("50 10 mm", tmp_path) == [
        ("60 mm", "these blocks: 60 mm = 10 + 50, 0.03 mm from the low limit"),
        ("50 mm", "these blocks: 50 mm = 50, 0.78 mm from the low limit"),
    ]


def test_blocks_that_make_nothing_near_are_said(tmp_path: Path) -> None:
    assert offers("5 mm", tmp_path) == [("", "these blocks: no stack within 1 mm")] * 2


def test_an_unknown_set_is_an_error_in_words(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="no block set 'M99'"):
        with_offers(said((*FOUR[:14], "M99")), tmp_path)


def test_offers_are_due_again_when_a_limit_changes(tmp_path: Path) -> None:
    draft = with_offers(said((*FOUR[:14], "M112")), tmp_path)
    mains = draft.groups[0]
    assert is_offer_due(draft.with_group(replace(mains, low=mains.high)))
