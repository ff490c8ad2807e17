"""A table with keys that its record does not know: they are left out and named, the rest stays."""

from typing import Annotated, Any, Literal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.toml_file import WrongKey, converted, known_only


class Leaf(msgspec.Struct, forbid_unknown_fields=True):
    size: str = ""


class Root(msgspec.Struct, forbid_unknown_fields=True, rename={"file_schema": "schema"}):
    file_schema: int = 1
    one: Leaf | None = None
    many: Annotated[list[Leaf], msgspec.Meta(description="leaves")] = []
    words: dict[str, str] = {}
    numbers: list[int] = []


WHOLE: dict[str, Any] = {
    "schema": 1,
    "one": {"size": "a"},
    "many": [{"size": "b"}, {"size": "c"}],
    "words": {"any": "key"},
    "numbers": [1, 2],
}


def test_a_table_of_known_keys_stays_as_it_is() -> None:
    assert known_only(WHOLE, Root) == (WHOLE, ())


def test_unknown_keys_are_left_out_at_every_depth_and_named_as_people_count() -> None:
    table = (
        {"colour": 1}
        | WHOLE
        | {
            "one": {"size": "a", "shape": {"size": 1}},
            "many": [{"size": "b"}, {"size": "c", "form": 2}],
        }
    )
    assert known_only(table, Root) == (WHOLE, ("colour", "one.shape", "many[2].form"))


def test_a_key_is_known_by_its_name_in_the_file() -> None:
    assert known_only({"schema": 1, "file_schema": 1}, Root) == ({"schema": 1}, ("file_schema",))


@pytest.mark.parametrize("table", [{"one": [1]}, {"many": {"size": 1}}, {"numbers": {"a": 1}}, 7])
def test_what_does_not_fit_is_left_to_be_refused(table: object) -> None:
    found, unknown = known_only(table, Root)
    assert (found, unknown) == (table, ())
    with pytest.raises(WrongKey):
        converted(found, Root)


JSON = st.recursive(
    st.integers() | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["schema", "one", "many", "size", "words", "numbers", "x"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


def refusal(table: object) -> str:
    """Why a table is no record, empty if it is one."""
    try:
        converted(table, Root)
    except WrongKey as wrong:
        return wrong.reason
    return ""


@given(JSON)
def test_no_key_is_unknown_once_the_unknown_ones_are_left_out(table: object) -> None:
    found, unknown = known_only(table, Root)
    assert known_only(found, Root) == (found, ())
    if not unknown:
        assert found == table
    assert refusal(found) != "unknown key"


# Words that a key does not take -------------------------------------------------------------------


class Round(msgspec.Struct, tag="round", tag_field="kind"):
    turns: Literal[3, 4] = 3
    by_name: dict[str, Literal["+", "-"]] = {}


class Flat(msgspec.Struct, tag="flat", tag_field="kind"):
    face: Annotated[Literal["up"] | None, msgspec.Meta(description="which")] = None


class Parts(msgspec.Struct):
    parts: tuple[Round | Flat, ...] = ()
    paper: Literal["letter", "a4"] = "a4"


@pytest.mark.parametrize(
    ("table", "key", "reason"),
    [
        ({"paper": "a5"}, "paper", """'a5' is not known here: write "a4" or "letter\""""),
        (
            {"paper": "\x1b`\n"},
            "paper",
            """\\x1b`\\n' is not known here: write "a4" or "letter\"""",
        ),
        ({"parts": [{"kind": "flat"}, {"kind": "x"}]}, "parts[2].kind", '"flat" or "round"'),
        ({"parts": [{"kind": "round", "turns": 5}]}, "parts[1].turns", "here: write 3 or 4"),
        ({"parts": [{"kind": "flat", "face": "in"}]}, "parts[1].face", 'here: write "up"'),
        ({"parts": [{"kind": "round", "by_name": {"a": "*"}}]}, "parts[1].by_name", '"+" or "-"'),
        ({"paper": 4}, "paper", 'write text in quotes, like "text", not a number'),
    ],
)
def test_a_word_that_a_key_does_not_take_is_refused_with_those_that_it_does(
    table: object, key: str, reason: str
) -> None:
    with pytest.raises(WrongKey) as refused:
        converted(table, Parts)
    assert refused.value.key.startswith(key)
    assert refused.value.reason.endswith(reason)


def test_a_long_word_is_cut() -> None:
    with pytest.raises(WrongKey) as refused:
        converted({"paper": "x" * 100_000}, Parts)
    assert len(refused.value.reason) < 300
