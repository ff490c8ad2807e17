"""Making stacks: protectors first, blocks in use left out, and the file that keeps one."""

from datetime import date
from decimal import Decimal

import pytest

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.making import Maker, in_unit, stack_text
from daq.equipment.stacks.set_file import BlockSet, parse_block_set
from daq.equipment.stacks.stack import Stack
from daq.equipment.stacks.stack_file import parse_stack
from daq.lengths import Length, parse_length, plain
from daq.services.home import SHIPPED_SETS

SHIPPED = {path.stem: path.read_text(encoding="utf-8") for path in SHIPPED_SETS.glob("*.toml")}


def shipped(name: str) -> BlockSet:
    return parse_block_set(SHIPPED[name], name, name)


def words(stack: Stack) -> str:
    return " ".join(plain(one.nominal.value) for one in stack.blocks)


def test_protectors_are_taken_off_first_and_wrung_to_both_ends() -> None:
    one = Block(parse_length("2.5 mm"), is_protector=True)
    maker = Maker(shipped("M88"), protectors=(one, one))
    found = maker.stacks(parse_length("57.985 mm"), 1)[0]
    # 57.985 - 2 x 2.5 = 52.985 = 1.005 + 1.48 + 0.5 + 50
    assert words(found) == "2.5 0.5 1.005 1.48 50 2.5"
    assert found.joints == 5
    assert sum(block.nominal.mm for block in found.blocks) == Decimal("57.985")


def test_protectors_longer_than_the_size_leave_nothing() -> None:
    one = Block(parse_length("2.5 mm"), is_protector=True)
    maker = Maker(shipped("M88"), protectors=(one, one))
    assert maker.stacks(parse_length("5 mm"), 1) == []
    assert "the protectors alone are 5 mm" in maker.none(parse_length("5 mm")).why


def test_a_block_in_use_is_not_used_again() -> None:
    size = parse_length("57.982 mm")
    first = Maker(shipped("M88")).stacks(size, 1)[0]
    assert words(first) == "1.002 1.48 5.5 50"
    without = Maker(shipped("M88"), in_use=[(parse_length("50 mm"), "")])
    second = without.stacks(size, 1)[0]
    assert "50" not in words(second).split()
    assert second.nominal == size


def test_one_of_two_marked_blocks_may_be_in_use() -> None:
    text = 'schema = 1\nunit = "mm"\n' + "".join(
        f'[[block]]\nnominal = "1 mm"\nmark = "{mark}"\n' for mark in "AB"
    )
    found = parse_block_set(text, "own", "file")
    size = parse_length("1 mm")
    left = Maker(found, in_use=[(size, "A")]).stacks(size, 5)
    assert [one.blocks[0].mark for one in left] == ["B"]
    assert Maker(found, in_use=[(size, ""), (size, "")]).stacks(size, 5) == []


def test_a_block_that_the_set_has_not_got_cannot_be_in_use() -> None:
    with pytest.raises(ValueError, match="no block of 51 mm in M88"):
        Maker(shipped("M88"), in_use=[(parse_length("51 mm"), "")])


def test_one_pair_of_protectors_is_not_put_on_two_stacks() -> None:
    one = Block(parse_length("2 mm"), is_protector=True)
    maker = Maker(shipped("M88"), protectors=(one, one))
    with pytest.raises(ValueError, match="one pair of protectors"):
        maker.together([parse_length("50 mm"), parse_length("51 mm")])


def test_the_nearest_with_protectors_are_sizes_of_the_whole_stack() -> None:
    one = Block(parse_length("2 mm"), is_protector=True)
    maker = Maker(shipped("M88"), protectors=(one, one))
    found = maker.none(parse_length("63.4746 mm"))
    assert [str(near.nominal) for near in found.nearest] == ["63.4745 mm", "63.475 mm"]


def test_an_inch_size_from_a_metric_set_is_made_in_exact_mm() -> None:
    # 2.998 in = 76.1492 mm: no step of 0.0005 mm; 3.0 in = 76.2 mm
    maker = Maker(shipped("M88"))
    assert maker.stacks(parse_length("2.998 in"), 1) == []
    near = maker.none(parse_length("2.998 in")).nearest
    assert [str(one.nominal) for one in near] == ["76.149 mm", "76.1495 mm"]
    assert str(maker.stacks(parse_length("3.0 in"), 1)[0].nominal) == "3.0 in"


def test_a_stack_is_kept_as_a_file_that_gives_it_back() -> None:
    text = (
        'schema = 1\nlike = "M88"\ngrade = "0"\ncertificate = "C \\"7\\" \\\\ x"\n'
        "certificate_date = 2026-01-02\ncertificate_due = 2028-01-02\n"
        'uncertainty = "0.0605 um"\nk = 2.04\nexpansion = "11.5e-6 /K"\n'
        '[deviations]\n"1.48 mm" = "-0.110 um"\n"50 mm" = "+7 nm"\n'
    )
    own = parse_block_set(text, "bench", "file", SHIPPED)
    pair = (Block(parse_length("2 mm"), mark="P1", is_protector=True),) * 2
    made = Maker(own, protectors=pair).stacks(parse_length("57.982 mm"), 1)[0]
    again = parse_stack(stack_text(made), "", "file")
    for field in Stack.__struct_fields__:
        if field not in {"text", "coefficient"}:
            assert getattr(again, field) == getattr(made, field), field
    assert again.coefficient is not None
    assert made.coefficient is not None
    assert again.coefficient.value == made.coefficient.value
    assert again.coefficient.half_width == made.coefficient.half_width
    assert again.certificate_due == date(2028, 1, 2)


def test_a_size_goes_back_into_inches_only_where_that_is_exact() -> None:
    assert in_unit(Decimal("76.1492"), "in") == Length(Decimal("2.998"), "in")
    assert in_unit(Decimal("76.149"), "in") == Length(Decimal("76.149"), "mm")
