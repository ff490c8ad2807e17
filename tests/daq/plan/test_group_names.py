"""A group's name that looks like another's is refused in a file, and read in a record."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.plan.group_names import alike
from daq.plan.plan import parse_plan, read_plan

LIMITS = 'low = "59.97 mm"\nhigh = "59.99 mm"\n'


def journal(name: str, group: str) -> str:
    return f'[[journal]]\nname = "{name}"\ngroup = "{group}"\n{LIMITS}'


def plan(*tables: str) -> str:
    return 'schema = 1\npart = "p"\n' + "".join(tables)


def declared(*names: str) -> str:
    return "".join(f'[[group]]\nname = "{name}"\n' for name in names)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # case
        ("mains", "Mains"),
        ("A", "a"),
        ("M 1", "m 1"),
        # plural
        ("main", "mains"),
        ("rod", "rods"),
        ("bush", "bushes"),
        ("body", "bodies"),
        ("rod 1", "rods 1"),
        # one letter more, less or another
        ("mains", "maains"),
        ("mains", "mans"),
        ("mains", "nains"),
        ("pleuel", "pleuels"),
        ("mains1", "mins1"),
        # two exchanged
        ("mains", "mians"),
        ("mains", "mainss"),
        ("rods", "rosd"),
        ("front", "frotn"),
        ("crank", "kranc"),  # c and k: far apart is exchanged too
        # blanks and strokes
        ("big ends", "big-ends"),
        ("big ends", "bigends"),
        ("mains", "mains "),
        ("rods 1", "rods1"),
        ("rods_1", "rods 1"),
        # one sign in two codings: u with two dots, and u followed by two dots
        ("bügel", "bu\u0308gel"),
    ],
)
def test_names_that_look_like_one(one: str, other: str) -> None:
    assert alike(one, other)
    assert alike(other, one)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("mains", "mains"),  # the same is no other
        ("mains", "pins"),
        ("mains", "rods"),
        ("rods", "pins"),
        ("left", "right"),
        ("inner", "outer"),
        ("upper", "lower"),
        ("front", "rear"),
        # digits never count
        ("rods1", "rods2"),
        ("bank 1", "bank 2"),
        ("mains", "mains2"),
        ("mains1", "mains11"),
        ("rod1", "rods2"),
        ("2019", "2018"),
        ("12", "1"),
        ("1", "12345"),
        # nor do words that count: one letter, a Roman number
        ("bank A", "bank B"),
        ("rods L", "rods R"),
        ("mains-l", "mains-r"),
        ("bank I", "bank II"),
        ("bank IV", "bank VI"),
        # under four letters a letter makes another word
        ("pin", "pan"),
        ("cam", "cap"),
        ("A", "B"),
        ("ab", "ba"),
        ("big", "bigg"),
        # signs are no letters
        ("+", "-"),
        ("A", "+"),
        # two letters
        ("mains", "maps"),
        ("rods", "pads"),
        ("rods", "rod ends"),
    ],
)
def test_names_of_different_things(one: str, other: str) -> None:
    assert not alike(one, other)
    assert not alike(other, one)


WORDS = st.text("abcdefghij", min_size=4, max_size=9)


@given(WORDS, st.data())
def test_one_slip_of_the_hand_is_seen_in_every_word(word: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(word) - 1))
    other = data.draw(st.integers(0, len(word) - 1))
    letter = data.draw(st.sampled_from("abcdefghij"))
    exchanged = list(word)
    exchanged[at], exchanged[other] = exchanged[other], exchanged[at]
    for slip in (
        word[:at] + letter + word[at + 1 :],
        word[:at] + letter + word[at:],
        "".join(exchanged),
        word[:at] + word[at].upper() + word[at + 1 :],
        f"{word}s",
    ):
        assert alike(word, slip) is (word != slip)
        assert alike(slip, word) is (word != slip)


@given(WORDS, st.integers(0, 8), st.sampled_from(["", "s", "es", "ies", "y", "a"]))
def test_what_looks_alike_is_found_in_a_plan_too(word: str, at: int, end: str) -> None:
    other = f"{word[:at]}{word[at + 1 :]}{end}"
    text = plan(declared("unlike it", word, "something else"), journal("M1", other))
    if alike(word, other):
        with pytest.raises(PlanError, match=f'looks like group "{word}"'):
            parse_plan(text, "x")
    else:
        assert parse_plan(text, "x").journals[0].group == other


@given(st.text(max_size=12), st.text(max_size=12))
def test_any_two_names_are_compared_the_same_both_ways(one: str, other: str) -> None:
    assert alike(one, other) is alike(other, one)
    assert not alike(one, one)


@given(WORDS, st.integers(0, 99), st.integers(0, 99))
def test_names_that_differ_by_a_number_are_different(word: str, one: int, other: int) -> None:
    assert not alike(f"{word} {one}", f"{word} {other}")
    assert not alike(f"{word}{one}", f"{word}{other}")


def test_a_journal_whose_group_looks_like_a_declared_one_is_refused_naming_both() -> None:
    text = plan(declared("mains"), journal("M1", "mains"), journal("M3", "main"))
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "x")
    assert caught.value.key == "journal[2].group"
    assert caught.value.reason == (
        'group "main" looks like group "mains": write group = "mains", or give it a name of its '
        "own that differs by more than a letter"
    )
    assert str(caught.value).startswith(
        'The plan cannot be used. x, journal 2 (M3): group "main" looks like group "mains": write'
    )


def test_the_group_of_most_journals_is_the_one_that_is_trusted() -> None:
    text = plan(journal("M1", "main"), journal("M2", "mains"), journal("M3", "mains"))
    with pytest.raises(PlanError, match='group "main" looks like') as caught:
        parse_plan(text, "x")
    assert caught.value.key == "journal[1].group"
    # of as many the first
    with pytest.raises(PlanError, match='group "mains" looks like'):
        parse_plan(plan(journal("M1", "main"), journal("M2", "mains")), "x")
    # and a declared one whoever has it
    with pytest.raises(PlanError, match='group "mains" looks like'):
        parse_plan(text + declared("main"), "x")


def test_two_declared_groups_that_look_alike_are_refused() -> None:
    text = plan(declared("rods", "mains", "main"), journal("M1", "mains"))
    with pytest.raises(PlanError, match='group "main" looks like group "mains"') as caught:
        parse_plan(text, "x")
    assert caught.value.key == "group[3].name"


def test_the_group_of_the_defaults_is_told_where_it_stands() -> None:
    text = plan(
        declared("mains"), f'[defaults]\ngroup = "main"\n[[journal]]\nname = "M1"\n{LIMITS}'
    )
    with pytest.raises(PlanError, match="looks like group") as caught:
        parse_plan(text, "x")
    assert caught.value.key == "defaults.group"


def test_groups_that_are_different_things_are_no_fault() -> None:
    names = ["mains", "pins", "rods 1", "rods 2", "bank A", "bank B"]
    found = parse_plan(
        plan(declared("mains"), *(journal(f"J{n}", name) for n, name in enumerate(names))), "x"
    )
    assert [one.group for one in found.journals] == names


def test_a_recorded_plan_with_such_groups_is_read_as_it_was_measured() -> None:
    text = plan(declared("mains"), journal("M1", "mains"), journal("M3", "main"))
    assert [one.group for one in read_plan(text, "x").journals] == ["mains", "main"]
