"""A saved stack's file: its certified size, how well it is known, and what is refused."""

import math
from datetime import date
from decimal import Decimal

import pytest

from daq.equipment.stacks.stack import assumed_blocks
from daq.equipment.stacks.stack_file import Stack, assumed_stack, parse_stack, read_stack
from daq.errors import SettingsError
from daq.lengths import parse_length

CERTIFIED = """schema = 1
size = "57.980 mm"
grade = "1"
certificate = "C-1"
certificate_due = 2027-03-01

[[block]]
nominal = "1.48 mm"
deviation = "+0.05 um"
uncertainty = "0.06 um"

[[block]]
nominal = "6.5 mm"
deviation = "-0.02 um"
uncertainty = "0.06 um"

[[block]]
nominal = "50 mm"
deviation = "-0.12 um"
uncertainty = "0.06 um"
"""
BARE = 'schema = 1\nsize = "57.980 mm"\n'
BLOCKS = "".join(f'[[block]]\nnominal = "{mm} mm"\n' for mm in ("1.48", "6.5", "50"))
DAY, AFTER = date(2026, 11, 25), date(2027, 3, 2)


def stack(text: str) -> Stack:
    return parse_stack(text, "mains", "file")


def test_the_certified_size_counts_not_the_nominal_one() -> None:
    found = stack(CERTIFIED)
    # 57.980 mm + (0.05 - 0.02 - 0.12) um = 57.980 mm - 0.09 um
    assert (str(found.nominal), str(found.size)) == ("57.980 mm", "57.97991 mm")
    assert found.deviation_um == Decimal("-0.09")
    assert found.joints == 2


def test_an_inch_stack_stays_in_inches_where_that_is_exact() -> None:
    text = 'schema = 1\nsize = "2.1 in"\ncertificate = "C"\ncertificate_due = 2027-03-01\n'
    blocks = "".join(
        f'[[block]]\nnominal = "{inches} in"\ndeviation = "{off}"\nuncertainty = "2 uin"\n'
        for inches, off in (("0.1", "+3 uin"), ("2", "-5 uin"))
    )
    assert str(stack(text + blocks).size) == "2.099998 in"  # 2.1 in - 2 uin
    # 0.05 um is 0.000001968503... in, which has no end: mm then. 2.1 in = 53.34 mm
    assert str(stack(text + blocks.replace("-5 uin", "+0.05 um")).size) == "53.3401262 mm"


def test_certificates_add_linearly_and_grade_limits_in_quadrature() -> None:
    # Certificate: 3 x 0.06 / 2 = 0.09 um together. A year's change of grade 1, 0.05 um + 0.5e-6 l:
    # 0.05074 + 0.05325 + 0.075 = 0.17899 um, rectangular 0.17899 / sqrt(3).
    # Sources: JCGM 100:2008 5.2.2 note 1 (correlated), 4.3.7 (rectangular); ISO 3650 6.2.4.
    known = stack(CERTIFIED).standard_uncertainty_mm(DAY)
    assert known.basis == "certificate"
    assert known.u_mm * 1000 == pytest.approx(math.hypot(0.09, 0.17899 / math.sqrt(3)), rel=1e-12)
    # Grade 1: 0.20, 0.20 and 0.40 um, each / sqrt(3)
    graded = stack(BARE + 'grade = "1"\n' + BLOCKS).standard_uncertainty_mm(DAY)
    assert graded.basis == "grade"
    assert graded.u_mm * 1000 == pytest.approx(math.sqrt(0.24 / 3), rel=1e-12)


def test_the_permitted_change_grows_with_the_time_since_the_certificate() -> None:
    dated = CERTIFIED.replace("certificate_due", "certificate_date = 2024-11-25\ncertificate_due")
    known = stack(dated).standard_uncertainty_mm(DAY)  # 730 days
    changed = 730 / 365.25 * 0.17899 / math.sqrt(3)
    assert known.u_mm * 1000 == pytest.approx(math.hypot(0.09, changed), rel=1e-12)


def test_a_certificate_out_of_date_is_not_used_and_said() -> None:
    found = stack(CERTIFIED)
    assert not found.is_out_of_date(date(2027, 3, 1))  # the day itself still counts
    assert found.is_out_of_date(AFTER)
    known = found.standard_uncertainty_mm(AFTER)
    assert known.basis == "grade"
    assert "C-1 was due on 2027-03-01 and is out of date on 2027-03-02" in known.words
    # the limits, and the deviations that nobody vouches for any more in full
    squares = 0.24 / 3 + 0.05**2 + 0.02**2 + 0.12**2
    assert known.u_mm * 1000 == pytest.approx(math.sqrt(squares), rel=1e-12)
    assert known.u_mm > found.standard_uncertainty_mm(DAY).u_mm


def test_a_stack_of_certified_and_other_blocks_takes_each_as_it_is() -> None:
    mixed = CERTIFIED.replace('deviation = "-0.02 um"\nuncertainty = "0.06 um"\n', "")
    known = stack(mixed).standard_uncertainty_mm(DAY)
    assert known.basis == "certificate and grade"
    changed = (0.05074 + 0.075) / math.sqrt(3)
    assert known.u_mm * 1000 == pytest.approx(math.sqrt(0.06**2 + changed**2 + 0.04 / 3), rel=1e-12)


def test_wringing_is_12_nm_a_joint_in_quadrature() -> None:
    # s = 3 to 12 nm in eleven laboratories (review quoted with Siddall and Willey, J. Phys. D 3
    # (1970)); a popular calculator's 0.25 um a joint is twenty times too much
    assert stack(CERTIFIED).wringing_u_mm == pytest.approx(0.012e-3 * math.sqrt(2))
    single = stack('schema = 1\nsize = "50 mm"\n[[block]]\nnominal = "50 mm"\n')
    assert (single.joints, single.wringing_u_mm) == (0, 0)


def test_a_joint_adds_nothing_to_the_size() -> None:
    # ISO 3650 3.2, from memory: the length of a block includes one wringing film
    found = stack(BARE + BLOCKS)
    assert found.size.mm == sum(one.nominal.mm for one in found.blocks)


def test_a_bare_size_is_assumed_of_grade_2_with_three_joints() -> None:
    found = assumed_stack(parse_length("60 mm"))
    known = found.standard_uncertainty_mm(DAY)
    # ISO 3650 grade 2: 1.00 um over 50 to 75 mm, 0.45 um up to 10 mm, three times
    assert known.u_mm * 1000 == pytest.approx(math.sqrt((1 + 3 * 0.45**2) / 3), rel=1e-12)
    assert (known.basis, found.joints, known.dof) == ("assumed", 3, math.inf)
    assert "assumed" in known.words


@pytest.mark.parametrize(
    ("size", "blocks"), [("500 mm", 4), ("1200 mm", 6), ("0.1 mm", 4), ("2.361 in", 4)]
)
def test_any_size_has_an_assumed_composition(size: str, blocks: int) -> None:
    length = parse_length(size)
    found = assumed_blocks(length)
    assert len(found) == blocks
    assert sum(one.nominal.mm for one in found[:-3]) == length.mm
    assert assumed_stack(length).standard_uncertainty_mm(DAY).u_mm > 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            'schema = 1\nsize = "57.981 mm"\n' + BLOCKS,
            r"key size: 57.981 mm is not the sum of the blocks: 1.48 mm \+ 6.5 mm \+ 50 mm = "
            "57.98 mm",
        ),
        (BARE + BLOCKS + BLOCKS, r"key block\[4\].nominal: 1.48 mm stands here twice"),
        (BARE + 'certificate = "C"\ncertificate_due = 2027-01-01\n', "a certificate is for blocks"),
        (BARE + 'certificate = "C"\n' + BLOCKS, "key certificate_due: this key is required"),
        (BARE + 'grade = "4"\n' + BLOCKS, "key grade: '4'"),
        (BARE + "certificate_due = 2027-01-01\n" + BLOCKS, "a date without its certificate"),
        (CERTIFIED.replace('certificate = "C-1"\ncertificate_due = 2027-03-01\n', ""), "required"),
        (CERTIFIED.replace('"0.06 um"', '"0.06"', 1), r"key block\[1\]: '0.06' is not a small"),
        (BARE + '[[block]]\nnominal = "x"\n', r"key block\[1\].nominal: 'x' is not a length"),
        (BARE + '[[block]]\nnominal = "-1 mm"\n', r"block\[1\].nominal: -1 mm is not above zero"),
        (BARE + "[[block]]\nnominal = 1.0\n", r"block\[1\].nominal"),
        (CERTIFIED + "k = nan\n", "k = nan of 50 mm is not between 1 and 10"),
        (BARE + '[[block]]\nnominal = "1 mm"\n' * 21, "21 blocks; at most 20"),
        (
            'schema = 1\nsize = "20 in"\n[[block]]\nnominal = "20 in"\n',  # 508 mm
            "key grade: 20 in is longer than the longest block",
        ),
    ],
)
def test_a_stack_file_that_cannot_be_used_is_refused(text: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said) as caught:
        stack(text)
    assert str(caught.value).startswith("file, key ")


WITH_ALL = CERTIFIED.replace(
    "[[block]]",
    'set = "m88"\ncertificate_date = 2026-03-01\nexpansion = "steel"\n'
    'expansion_limit = "1e-6 /K"\n[[block]]\nmark = "7"\nk = 2.5',
    1,
)


@pytest.mark.parametrize("text", [CERTIFIED, WITH_ALL, BARE, BARE + BLOCKS])
def test_a_recorded_stack_file_reads_as_the_checked_one(text: str) -> None:
    assert read_stack(text, "mains", "x") == stack(text)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('size = "57.980 mm"', 'size = "57.981 mm"'),
        ('grade = "1"', 'grade = "4"'),
        ('certificate = "C-1"\n', ""),
        ("certificate_due = 2027-03-01\n", ""),
        ("k = 2.5", "k = nan"),
        ('mark = "7"', f'mark = "{"7" * 41}"'),
        ('"+0.05 um"', '"+10.01 um"'),
        ('nominal = "1.48 mm"', 'nominal = "6.5 mm"'),
        ('"1e-6 /K"', '"12e-6 /K"'),
        ('expansion = "steel"', 'expansion = "11.5 /K"'),
        ('expansion = "steel"\n', ""),
        ('set = "m88"', "colour = 1"),
    ],
)
def test_what_a_rule_refuses_is_read_of_a_record_nevertheless(old: str, new: str) -> None:
    assert WITH_ALL.count(old) == 1
    text = WITH_ALL.replace(old, new)
    assert len(read_stack(text, "mains", "x").blocks) == 3
    with pytest.raises(SettingsError):
        stack(text)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('size = "57.980 mm"', 'size = "57.980"', "key size: '57.980' is not a length"),
        ('nominal = "50 mm"', "nominal = 50", r"key block\[3\].nominal: write text in quotes"),
        ('"-0.12 um"', '"-0.12"', r"key block\[3\]: '-0.12' is not a small length"),
        ('expansion = "steel"', 'expansion = "11.5"', "key expansion: '11.5' has no unit"),
        ("schema = 1", "schema = 2", "key schema: write schema = 1: this program reads schema 1"),
    ],
)
def test_what_is_no_stack_file_is_not_read(old: str, new: str, said: str) -> None:
    assert WITH_ALL.count(old) == 1
    with pytest.raises(SettingsError, match=f"^the stack mains in the ledger, {said}"):
        read_stack(WITH_ALL.replace(old, new), "mains", "the stack mains in the ledger")
