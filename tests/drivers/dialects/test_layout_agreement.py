"""The pattern of a layout and its tokens one by one agree, whatever the layout and the text."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise, product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.dialects.fields import Fields
from drivers.dialects.layout import Layout
from drivers.dialects.layout_faults import first_miss
from drivers.profile.layout_checks import check_layout
from drivers.profile.layout_spec import (
    Bits,
    Channel,
    Exponent,
    Flag,
    Lit,
    Number,
    Sign,
    Spaces,
    Token,
    Unit,
)

# --- layouts and texts, drawn so that tokens begin alike and take what the next one needs ---

SIGNS = st.sampled_from(["none", "optional", "required"])
WORDS = st.lists(
    st.sampled_from(["", "m", "mm", " m", "1", "-", "H", "E"]), min_size=1, unique=True
)
WIDTHS = st.integers(1, 6) | st.tuples(st.integers(1, 3), st.integers(3, 8))
LITS = st.builds(Lit, lit=st.sampled_from(["#", " ", "1", ".", "m", "(*"]), optional=st.booleans())
SPACES = st.builds(Spaces, sp=st.integers(1, 2) | st.tuples(st.integers(0, 1), st.integers(1, 3)))
CHANNELS = st.builds(
    Channel,
    name=st.just("channel"),
    chars=st.sampled_from(["digit", "alpha", "alnum"]),
    width=st.integers(1, 2) | st.just((1, 2)),
    allowed=st.sampled_from([None, ("1", "12", "m", "Em")]),
)
EXPONENTS = st.builds(Exponent, name=st.just("exponent"), sign=SIGNS)
ALL_BITS = st.builds(
    Bits,
    name=st.just("bits"),
    width=st.integers(1, 2),
    bits=st.just({"0": "low", "1": "!off", "2": ""}),
)


@st.composite
def worded(draw: st.DrawFn, kind: type[Any], said: list[str]) -> Any:
    """A sign, a unit or a status of a few words."""
    words = {word: draw(st.sampled_from(said)) for word in draw(WORDS)}
    return kind(name=kind.__name__.lower(), map=words, optional=draw(st.booleans()))


@st.composite
def numbers(draw: st.DrawFn) -> Number:
    """A number of any form, with all that goes with it."""
    form: Any = draw(st.sampled_from(["int", "fixed", "exp", "nrf", "dms", "fraction"]))
    sign: Any = draw(SIGNS)
    seps: dict[str, list[str | None]] = {"dms": [*" :.-"], "int": [None], "fraction": [None]}
    return Number(
        name="number",
        form=form,
        sign=sign,
        gap=sign != "none" and draw(st.booleans()),
        sep=draw(st.sampled_from(seps.get(form, [None, ",", "."]))),
        width=draw(st.none() | WIDTHS),
        decimals=draw(st.none() | st.integers(0, 3)) if form in ("int", "fixed", "exp") else None,
    )


@st.composite
def layouts(draw: st.DrawFn) -> tuple[Token, ...]:
    """Tokens in any order that a profile may declare together."""
    number = draw(numbers())
    once: list[st.SearchStrategy[Any]] = [CHANNELS, worded(Unit, ["mm", "in"])]
    once += [worded(Sign, ["+", "-"])] if number.sign == "none" else []
    once += [EXPONENTS] if number.form in ("int", "fixed") else []
    often = [LITS, SPACES, worded(Flag, ["", "hold", "!off", "!bad"]), ALL_BITS]
    kinds = draw(st.lists(st.sampled_from(once), max_size=3, unique_by=id))
    kinds += draw(st.lists(st.sampled_from(often), max_size=3))
    tokens = tuple(draw(st.permutations([number, *(draw(kind) for kind in kinds)])))
    check_layout(tokens)
    return tokens


def _like(token: Token) -> st.SearchStrategy[str]:
    """Texts that may well be this token."""
    match token:
        case Lit():
            return st.just(token.lit)
        case Sign() | Unit() | Flag():
            return st.sampled_from([*token.map])
        case Number():
            sep = token.sep or "."
            bodies = {
                "dms": [f"1{sep}2{sep}3", f"01{sep}60{sep}59"],
                "fraction": ["1 3/4", "3/4", "12", "1 3/5", "1/"],
                "int": ["1", "12", "0123"],
            }
            plain = [f"1{sep}5", f"12{sep}050", f"{sep}5", f"5{sep}", "12", "1,5", "1.5"]
            scaled = [text + power for text in plain[:4] for power in ("", "E+3", "e-41", "E2")]
            body = st.sampled_from(bodies.get(token.form, plain + scaled))
            signs = ["", "+", "-", "- "] if token.sign != "none" else [""]
            return st.builds("{}{}".format, st.sampled_from(signs), body)
        case _:
            return st.sampled_from([" ", "  ", "", "1", "12", "m", "Em", "+4", "-41", "0F"])


@st.composite
def layouts_and_texts(draw: st.DrawFn) -> tuple[tuple[Token, ...], str]:
    tokens = draw(layouts())
    text = "".join(draw(_like(token)) for token in tokens)
    if draw(st.integers(0, 3)) == 0:
        place = draw(st.integers(0, len(text)))
        text = text[:place] + draw(st.text("015+-., mEH/#", max_size=3)) + text[place:]
    return tokens, text


# --- the fields as the pieces of the text say them, token by token ---


def pieces_of(tokens: tuple[Token, ...], text: str) -> list[str] | None:
    """Each token's piece of a text; None: one does not fit, or the text goes on behind them."""
    places = [0]
    for count in range(1, len(tokens) + 1):
        miss = first_miss(tokens[:count], text)
        if miss.expected != "the end":
            return None
        places.append(miss.pos)
    if places[-1] != len(text):
        return None
    return [text[begin:end] for begin, end in pairwise(places)]


def magnitude(token: Number, written: str) -> Fraction:
    """The number without its sign, by a way of its own: fractions."""
    if token.form == "dms":
        assert token.sep is not None
        degrees, minutes, seconds = map(int, written.split(token.sep))
        return Fraction(3600 * degrees + 60 * minutes + seconds)
    if token.form == "fraction":
        return sum((Fraction(part) for part in written.split()), Fraction(0))
    decimals = token.decimals or 0 if token.form == "int" else 0
    plain = Fraction(written.replace(token.sep or ".", "."))
    return plain / Fraction(10) ** decimals


def said(tokens: tuple[Token, ...], pieces: list[str]) -> dict[str, object]:
    """What the fields must hold."""
    fields: dict[str, Any] = {"unit": None, "channel": None, "flags": (), "no_reading": None}
    value, factor = Fraction(0), Fraction(1)
    names: list[str] = []
    for token, piece in zip(tokens, pieces, strict=True):
        match token:
            case Number():
                factor *= -1 if piece[:1] == "-" else 1
                value = magnitude(token, piece.lstrip("+-").strip())
            case Sign():
                factor *= -1 if token.map.get(piece) == "-" else 1
            case Exponent():
                factor *= Fraction(10) ** int(piece)
            case Unit():
                fields["unit"] = token.map.get(piece)
            case Channel():
                fields["channel"] = piece
            case Flag():
                names.append(token.map.get(piece, ""))
            case Bits():
                word = f"{int(piece, 16):b}"[::-1]
                names += [
                    token.bits.get(str(n), f"bit-{n}") for n, b in enumerate(word) if b == "1"
                ]
    reasons = [name[1:] for name in names if name[:1] == "!"]
    fields["no_reading"] = reasons[0] if reasons else None
    fields["flags"] = tuple(name for name in names if name and name[:1] != "!")
    return fields | {"value": value * factor}


def told(fields: Fields) -> dict[str, object]:
    """The fields read, for comparison; the number is in range."""
    (number, exponent10, _, _, _), unit, others = fields
    return {
        "unit": unit,
        "channel": others.channel,
        "flags": others.flags,
        "no_reading": others.no_reading,
        "value": Fraction(Decimal(number)) * Fraction(10) ** exponent10,
    }


@given(layouts_and_texts())
def test_a_text_fits_the_pattern_just_if_it_fits_the_tokens_and_says_the_same(
    drawn: tuple[tuple[Token, ...], str],
) -> None:
    tokens, text = drawn
    pieces, fields = pieces_of(tokens, text), Layout(tokens).read(text)
    assert (fields is None) == (pieces is None)
    if fields is not None and pieces is not None and fields[0][0]:
        assert told(fields) == said(tokens, pieces)


# --- tokens that take what the next one needs ---

TEXTS = [
    "".join(parts)
    for parts in product(
        ["", "#", " ", "   ", "# ", "     "],
        ["1.5", "-1.50", "+2,0", "01.500", "1.", ".5", "12", "\u0661.5", ""],
        ["", " ", "  ", "   ", "0", " x"],
        ["mm", "m", "in", "mmx", "kg", ""],
    )
]


def number(**spec: Any) -> Number:
    return Number(name="number", form="fixed", **spec)


def unit(**units: str) -> Unit:
    return Unit(name="unit", map=units or {"mm": "mm", "in": "in"})


@pytest.mark.parametrize(
    "tokens",
    [
        (number(), unit()),
        (number(sign="optional"), Spaces(sp=(0, 2)), unit(m="m", mm="mm")),
        (number(sign="required", sep=","), Spaces(sp=1), unit()),
        (Lit(lit="#"), Spaces(sp=(0, 3)), number(), Lit(lit=" "), unit(mm="mm"), Lit(lit="x")),
        (Spaces(sp=(0, 4)), Lit(lit=" "), number(), unit()),
        (number(), Lit(lit="0"), unit()),
        (number(), unit(m="m", mm="mm"), Lit(lit="m")),
    ],
    ids=["plain", "spaced", "comma", "literals", "greedy spaces", "greedy number", "greedy unit"],
)
def test_no_part_of_the_pattern_gives_anything_back(tokens: tuple[Token, ...]) -> None:
    for text in TEXTS:
        fields, pieces = Layout(tokens).read(text), pieces_of(tokens, text)
        assert (fields is None) == (pieces is None), text
        if fields is not None and pieces is not None:
            assert told(fields) == said(tokens, pieces), text
