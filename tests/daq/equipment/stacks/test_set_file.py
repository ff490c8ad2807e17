"""Block sets: the shipped compositions, a shop's own, and what is refused."""

from decimal import Decimal

import pytest

from daq.equipment.stacks.set_file import BlockSet, parse_block_set
from daq.errors import SettingsError
from daq.lengths import plain
from daq.services.home import SHIPPED_SETS

SHIPPED = {path.stem: path.read_text(encoding="utf-8") for path in SHIPPED_SETS.glob("*.toml")}


def shipped(name: str) -> BlockSet:
    return parse_block_set(SHIPPED[name], name, name)


def steps(start: str, step: str, count: int) -> list[Decimal]:
    return [Decimal(start) + number * Decimal(step) for number in range(count)]


# M112: composition of a published exercise. M87: of a published page, which miscounts it as 47.
# M88, M47, M46 and the inch set: from memory; the counts come out.
COMPOSITIONS = {
    "M112": [
        Decimal("1.0005"),
        *steps("1.001", "0.001", 9),
        *steps("1.01", "0.01", 49),
        *steps("0.5", "0.5", 49),
        *steps("25", "25", 4),
    ],
    "M88": [
        Decimal("1.0005"),
        *steps("1.001", "0.001", 9),
        *steps("1.01", "0.01", 49),
        *steps("0.5", "0.5", 19),
        *steps("10", "10", 10),
    ],
    "M87": [
        *steps("1.001", "0.001", 9),
        *steps("1.01", "0.01", 49),
        *steps("0.5", "0.5", 19),
        *steps("10", "10", 10),
    ],
    "M47": [
        Decimal("1.005"),
        *steps("1.01", "0.01", 9),
        *steps("1.1", "0.1", 9),
        *steps("1", "1", 24),
        *steps("25", "25", 4),
    ],
    "M46": [
        *steps("1.001", "0.001", 9),
        *steps("1.01", "0.01", 9),
        *steps("1.1", "0.1", 9),
        *steps("1", "1", 9),
        *steps("10", "10", 10),
    ],
    "inch-81": [
        *steps("0.1001", "0.0001", 9),
        *steps("0.101", "0.001", 49),
        *steps("0.05", "0.05", 19),
        *steps("1", "1", 4),
    ],
}


@pytest.mark.parametrize("name", COMPOSITIONS)
def test_a_shipped_set_has_its_composition_and_the_count_in_its_name(name: str) -> None:
    found = shipped(name)
    assert [one.nominal.value for one in found.blocks] == sorted(COMPOSITIONS[name])
    assert len(found.blocks) == int("".join(filter(str.isdecimal, name)))
    assert found.unit == ("in" if name == "inch-81" else "mm")
    assert len({one.nominal.mm for one in found.blocks}) == len(found.blocks)


def test_no_set_is_shipped_that_is_not_tested() -> None:
    assert sorted(SHIPPED) == sorted(COMPOSITIONS)


OWN = """schema = 1
like = "M88"
missing = ["60 mm"]
grade = "1"
certificate = "C-1"
certificate_due = 2027-03-01
uncertainty = "0.06 um"
expansion = "11.5e-6 /K"
expansion_limit = "1e-6 /K"

[deviations]
"1.002 mm" = "+0.04 um"
"50 mm" = "-150 nm"

[[block]]
nominal = "1.48 mm"
deviation = "-0.11 um"
uncertainty = "0.08 um"
k = 2.5
mark = "7"

[[block]]
nominal = "2 mm"
protector = true
"""


def test_a_shops_set_states_what_its_certificate_says() -> None:
    found = parse_block_set(OWN, "bench", "file", SHIPPED)
    blocks = {plain(one.nominal.value): one for one in found.blocks}
    assert (len(blocks), "60" in blocks) == (87, False)
    assert (blocks["1.002"].deviation_um, blocks["1.002"].uncertainty_um) == (
        Decimal("0.04"),
        Decimal("0.06"),
    )
    assert blocks["50"].deviation_um == Decimal("-0.15")
    assert (blocks["1.48"].k, blocks["1.48"].mark) == (2.5, "7")
    assert not blocks["1.5"].is_certified
    assert [plain(one.nominal.value) for one in found.protectors] == ["2"]
    assert found.coefficient is not None
    assert found.coefficient.half_width == Decimal("1e-6")


MM = 'schema = 1\nunit = "mm"\n'
ONE = '[[block]]\nnominal = "1 mm"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (MM, "an empty block set"),
        (MM + ONE + ONE, r"key block\[2\].nominal: 1 mm is in this set twice"),
        (MM + ONE + '[[row]]\nstart = "1.000 mm"\n', "1 mm is in this set twice"),
        (
            MM + '[[row]]\nstart = "1 mm"\nstep = "1 mm"\ncount = 9\n[[row]]\nstart = "3 mm"\n',
            r"key row\[2\]: 3 mm is in this set twice",
        ),
        ('schema = 1\nunit = "cm"\n' + ONE, "key unit: 'cm' is not one of mm, in"),
        ("schema = 1\n" + ONE, "key unit"),
        (MM + '[[block]]\nnominal = "1 in"\n', "1 in is not in mm, the unit of the set"),
        (MM + '[[block]]\nnominal = "1"\n', "'1' is not a length with its unit"),
        (MM + '[[block]]\nnominal = "0 mm"\n', "0 mm is not above zero"),
        (MM + '[[block]]\nnominal = "1.00001 mm"\n', "finer than 0.0001 mm"),
        (MM + 'grade = "3"\n' + ONE, "key grade: '3' is no grade known here"),
        (MM + 'certificate = "C-1"\n' + ONE, "key certificate_due: this key is required"),
        (MM + "certificate_due = 2027-01-01\n" + ONE, "a date without its certificate"),
        (
            MM
            + 'certificate = "C"\ncertificate_date = 2027-01-01\ncertificate_due = 2027-01-01\n'
            + ONE,
            "2027-01-01 is not after certificate_date",
        ),
        (MM + ONE + 'deviation = "+0.05 um"\n', "has a deviation but no uncertainty"),
        (
            MM + ONE + 'deviation = "+0.05 um"\nuncertainty = "0.06 um"\n',
            "key certificate: this key is required",
        ),
        (MM + ONE + 'deviation = "+0.05"\nuncertainty = "0.06 um"\n', "not a small length"),
        (MM + ONE + 'deviation = "0 um"\nuncertainty = "0 um"\n', "is not above zero"),
        (MM + ONE + 'deviation = "0 um"\nuncertainty = "1 um"\nk = 0.5\n', "between 1 and 10"),
        (MM + ONE + '[deviations]\n"2 mm" = "0 um"\n', "no block of 2 mm"),
        (MM + ONE + '[deviations]\n"1 mm" = "0 um"\n', "key uncertainty: this key is required"),
        (MM + '[[row]]\nstart = "1 mm"\ncount = 3\n', "write both step and count"),
        (MM + '[[row]]\nstart = "1 mm"\nstep = "1 mm"\ncount = 9999\n', "not between 1 and 400"),
        (MM + 'like = "M99"\n', "key like: 'M99' is no set known here"),
        (MM + 'missing = ["1 mm"]\n' + ONE, "key missing: only with like"),
        ('schema = 1\nlike = "M88"\nmissing = ["25 mm"]\n', "25 mm is not in M88. Leave it out"),
        (MM + 'expansion = "11.5"\n' + ONE, "key expansion: '11.5' has no unit"),
        (MM + 'expansion = "-11.5e-6 /K"\n' + ONE, "not over zero"),
        (MM + 'expansion_limit = "1e-6 /K"\n' + ONE, "a limit without its expansion"),
        (MM + "blocks = 3\n" + ONE, "key blocks: unknown key"),
        ("schema = 2\n", "key schema"),
    ],
)
def test_a_set_that_cannot_be_used_is_refused_naming_file_and_key(text: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said) as caught:
        parse_block_set(text, "own", "blocks/own.toml", SHIPPED)
    assert str(caught.value).startswith("blocks/own.toml")


def test_two_blocks_of_one_size_are_told_apart_by_their_marks() -> None:
    marked = "".join(f'{ONE}mark = "{mark}"\n' for mark in "AB")
    found = parse_block_set(MM + marked, "own", "file")
    assert [one.mark for one in found.blocks] == ["A", "B"]
    with pytest.raises(SettingsError, match="twice"):
        parse_block_set(MM + ONE + ONE + 'mark = "B"\n', "own", "file")
