"""What stands beside the size: columns of text over all frames, and what the operator calls them.
Pure.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from drivers.inference.rows import FrameRow, Part
from drivers.inference.said import UNIT_WORDS, CannotInfer

KINDS = ("text", "channel", "unit", "flag", "bits", "sign", "exponent", "size")
"""What a field may be called. `text`: fixed; `size`: digits that belong to the size before them."""


class Field(msgspec.Struct, frozen=True):
    """One column. `number` counts the nameable ones from 1 and is 0 for fixed punctuation.

    `gaps` are the spaces before it, one for each frame; `place` counts parts from the left of its
    side.
    """

    number: int
    is_left: bool
    place: int
    values: tuple[str, ...]
    gaps: tuple[int, ...]

    @property
    def key(self) -> str:
        """Its name in a question."""
        return f"field-{self.number}"

    @property
    def is_constant(self) -> bool:
        """The same in every frame."""
        return len(set(self.values)) == 1

    @property
    def seen(self) -> tuple[str, ...]:
        """The different values, in order of appearance."""
        return tuple(dict.fromkeys(self.values))


class Called(msgspec.Struct, frozen=True):
    """What the operator said that a field is, and what its values mean."""

    kind: str
    meaning: dict[str, str]


def fields_of(rows: Sequence[FrameRow]) -> tuple[Field, ...]:
    """The columns left and right of the size, in order; the unit words are not among them."""
    fields: list[Field] = []
    number = 0
    for is_left in (True, False):
        sides: list[tuple[Part, ...]] = [row.left if is_left else row.right for row in rows]
        for place in range(len(sides[0])):
            parts = [side[place] for side in sides]
            gaps = tuple(part.gap for part in parts)
            values = tuple(part.text for part in parts)
            before = _letters_before_digits(values)
            if before:
                fields.append(Field(0, is_left, place, (before,) * len(rows), gaps))
                values = tuple(value.removeprefix(before) for value in values)
                gaps = (0,) * len(rows)
            nameable = len(set(values)) > 1 or (parts[0].is_word and not _is_label(sides[0], place))
            number += nameable
            fields.append(Field(number if nameable else 0, is_left, place, values, gaps))
    return tuple(fields)


def _letters_before_digits(values: Sequence[str]) -> str:
    """The fixed letters of texts like C1, C2, C12."""
    found = [re.fullmatch(r"([A-Za-z]+)[0-9]+", value) for value in values]
    letters = {match[1] for match in found if match is not None}
    return letters.pop() if None not in found and len(letters) == 1 else ""


def _is_label(side: Sequence[Part], place: int) -> bool:
    """A word that only says what follows it, as in "U=mm"."""
    behind = side[place + 1 : place + 2]
    return bool(behind) and behind[0].text in ("=", ":") and side[place].text.isalpha()


def called(field: Field, answers: Mapping[str, str]) -> Called | None:
    """The operator's answer for a field, None if there is none; raises CannotInfer."""
    answer = answers.get(field.key) if field.number else None
    if answer is None:
        return None
    kind, _, rest = answer.partition(":")
    kind = kind.strip()
    if kind not in KINDS:
        raise CannotInfer(f"{field.key}={answer}: {kind!r} is none of {', '.join(KINDS)}.")
    meaning: dict[str, str] = {}
    for entry in filter(None, rest.split(",")):
        value, mark, word = entry.partition("=")
        if not mark:
            raise CannotInfer(
                f"{field.key}={answer}: write {kind}:TEXT=MEANING,TEXT=MEANING, not {entry!r}."
            )
        meaning[value.strip()] = word.strip()
    _check(field, Called(kind, meaning), answer)
    return Called(kind, meaning)


def _check(field: Field, said: Called, answer: str) -> None:
    """Raises CannotInfer where the answer does not fit what was seen."""

    def refuse(why: str) -> None:
        raise CannotInfer(f"{field.key}={answer}: {why}.")

    missing = [value for value in field.seen if value not in said.meaning]
    if said.kind == "text" and not field.is_constant:
        refuse(f"it is not fixed, {', '.join(map(repr, field.seen))} came")
    if said.kind in ("unit", "sign") and missing and (said.meaning or not field.is_constant):
        refuse(f"say what {', '.join(map(repr, missing))} means")
    if said.kind == "unit" and not set(said.meaning.values()) <= set(UNIT_WORDS.values()):
        refuse(f"units are {', '.join(sorted(set(UNIT_WORDS.values())))}")
    if said.kind == "sign" and not set(said.meaning.values()) <= {"+", "-"}:
        refuse("the meanings are + and -")
    if said.kind == "sign" and not said.meaning:
        refuse("say what each text means, like sign:N=-,P=+")
    if said.kind == "bits":
        if not all(re.fullmatch(r"[0-9A-Fa-f]{1,8}", value) for value in field.seen):
            refuse("bits come as hex digits")
        if len({len(value) for value in field.seen}) > 1:
            refuse("bits come always equally long")
    if said.kind in ("exponent", "size") and not all(
        re.fullmatch(r"[+-]?[0-9]+", value) for value in field.seen
    ):
        refuse("digits are expected there")


def token(field: Field, said: Called, shown_unit: str, is_glued: bool) -> dict[str, Any]:
    """The layout entry of a field that was called something other than text. `is_glued`: digits of
    the size stand right behind it.
    """
    match said.kind:
        case "channel":
            return _channel(field, is_glued)
        case "unit":
            return {"name": "unit", "map": said.meaning or {field.values[0]: shown_unit}}
        case "sign":
            return {"name": "sign", "map": said.meaning}
        case "exponent":
            is_signed = any(value[0] in "+-" for value in field.seen)
            return {"name": "exponent", "sign": "optional" if is_signed else "none"}
        case "bits":
            return _bits(field, said)
        case _:
            flags = {value: said.meaning.get(value, _flag_name(value)) for value in field.seen}
            return {"name": "flag", "map": {**flags, **said.meaning}}


def _channel(field: Field, is_glued: bool) -> dict[str, Any]:
    values = field.seen
    if all(value.isdigit() for value in values):
        chars = "digit"
    elif all(value.isalpha() for value in values):
        chars = "alpha"
    elif all(value.isalnum() for value in values):
        chars = "alnum"
    else:
        raise CannotInfer(
            f"{field.key}=channel: a channel is letters and digits, not {values[0]!r}."
        )
    sizes = {len(value) for value in values}
    if chars == "digit" and min(sizes) == 1 and not is_glued:
        sizes.add(2)  # where 1 to 9 are sent without a zero, 10 may follow
    width = min(sizes) if len(sizes) == 1 else [min(sizes), max(sizes)]
    return {"name": "channel", "chars": chars, "width": width}


def _bits(field: Field, said: Called) -> dict[str, Any]:
    """A bit that nobody named refuses its reading: nobody knows what it says of it."""
    width = len(field.values[0])
    names = {str(bit): said.meaning.get(str(bit), f"!bit-{bit}") for bit in range(4 * width)}
    return {"name": "bits", "width": width, "bits": names}


def _flag_name(value: str) -> str:
    return (
        value if re.fullmatch(r"[A-Za-z0-9._-]{1,40}", value) else "status-" + value.encode().hex()
    )
