"""Which place holds the size: the one that fits every frame and every display typed. Pure."""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

import msgspec

from drivers.inference.fields import Called, Field, called, fields_of
from drivers.inference.misfits import misfit_words, not_there
from drivers.inference.places import NumberPlace, Shape, places, spans
from drivers.inference.rows import FrameRow, SignPlace, align, sign_places, signs_fit
from drivers.inference.said import UNIT_WORDS, CannotInfer, Question, Shown
from drivers.reading import escaped

LEAST_FRAMES = 3


class SizeFound(msgspec.Struct, frozen=True):
    """One understanding of all frames. `power` holds the power of ten of each frame's number,
    `sizes` its signed size; `exponent` is the field that gives the power, if one does.
    """

    place: NumberPlace
    rows: tuple[FrameRow, ...]
    sign: SignPlace
    fields: tuple[Field, ...]
    names: dict[int, Called]
    power: tuple[int, ...]
    sizes: tuple[Decimal, ...]
    exponent: Field | None = None


class Undecided(msgspec.Struct, frozen=True):
    """More than one place fits: the display of one more press decides."""

    question: Question


def sized(
    texts: Sequence[str],
    labels: Sequence[int],
    shown: Mapping[int, Shown],
    answers: Mapping[str, str],
) -> SizeFound | Undecided:
    """Where the size stands; `shown` by place in `texts`, `labels` what people call each text.

    Raises CannotInfer.
    """
    if len(texts) < LEAST_FRAMES:
        raise CannotInfer(
            f"{len(texts)} reading(s) came, at least {LEAST_FRAMES} are needed: press send "
            "at different sizes."
        )
    if len(set(texts)) == 1:
        raise CannotInfer("The gauge sent the same each time. Press send at different sizes.")
    anchor = max(shown, key=lambda press: len(shown[press].text.strip("+-0., ")))
    size = shown[anchor]
    if not size.value:
        raise CannotInfer("A display of zero tells nothing: type one that is not zero.")
    is_even = len({len(text) for text in texts}) == 1
    has_fractions = any(re.search("[0-9]/[0-9]", text) for text in texts)
    tried = places(texts[anchor], size, is_even, has_fractions)
    if not tried:
        raise CannotInfer(not_there(texts, labels, anchor, size))
    found: list[SizeFound] = []
    misfit: int | None = None
    undecided: Undecided | None = None
    for place in tried:
        result = _fit(texts, place, anchor, shown, answers)
        if isinstance(result, Undecided):
            undecided = result
        elif isinstance(result, SizeFound):
            found.append(result)
        elif result is not None:
            misfit = max(misfit or 0, result)
    found = [one for one in found if len(set(one.sizes)) > 1] or found
    found = _without_shadows(found)
    if len(found) == 1:
        longer = _longer(found[0], texts, anchor, shown, answers)
        found = [longer] if longer is not None else found
    if not found and undecided is not None:
        return undecided
    if not found:
        raise CannotInfer(misfit_words(texts, labels, anchor, misfit, shown))
    if len(found) > 1:
        return _two_places(texts, labels, found)
    if len(set(found[0].sizes)) == 1:
        raise CannotInfer(
            "The size was the same each time. Press send at different sizes, so that its "
            "digits can be told from the rest."
        )
    return found[0]


def _fit(
    texts: Sequence[str],
    place: NumberPlace,
    anchor: int,
    shown: Mapping[int, Shown],
    answers: Mapping[str, str],
) -> SizeFound | Undecided | int | None:
    """The understanding that a place leads to; the frame that does not fit, or None if the typed
    displays do not.
    """
    first = align(texts, place.shape, anchor, place.span, "left")
    misfits: list[int] = []
    for sign in sign_places(first):
        rows = align(texts, place.shape, anchor, place.span, sign)
        if isinstance(rows, int):
            misfits.append(rows)
            continue
        fields = fields_of(rows)
        names = {f.number: said for f in fields if (said := called(f, answers)) is not None}
        by_code = next(
            (f for f in fields if f.number in names and names[f.number].kind == "sign"), None
        )
        is_fit = sign == "none" if by_code is not None else signs_fit(rows, shown, sign)
        if not is_fit:
            continue
        result = _with_power(place, rows, sign, fields, names, by_code, shown)
        if result is not None:
            return result
    return max(misfits) if len(misfits) == 3 else None


def _with_power(
    place: NumberPlace,
    rows: Sequence[FrameRow],
    sign: SignPlace,
    fields: tuple[Field, ...],
    names: dict[int, Called],
    by_code: Field | None,
    shown: Mapping[int, Shown],
) -> SizeFound | Undecided | None:
    """Find where the power of ten comes from, if the displays typed agree with it."""
    exponents: list[Field | None] = [None]
    if place.shape.kind == "int":
        asked = [f for f in fields if f.number in names and names[f.number].kind == "exponent"]
        exponents = list(asked) or [None, *filter(_may_be_exponent, fields)]
    for field in exponents:
        if field is None:
            if place.implied < 0:
                continue
            power = [-place.implied] * len(rows)
        else:
            power = [int(value) for value in field.values]
            proven = {power[press] for press in shown}
            if len(proven) < 2 and field.number not in names:
                if place.implied < 0 and proven == {-place.implied}:
                    return Undecided(_is_power(field))
                continue
        sizes = [row.span.value.scaleb(ten) for row, ten in zip(rows, power, strict=True)]
        for number, row in enumerate(rows):
            minus = row.is_negative()
            if by_code is not None:
                minus = names[by_code.number].meaning[by_code.values[number]] == "-"
            if minus and sizes[number]:
                sizes[number] = sizes[number].copy_negate()
        if all(sizes[press] == size.value for press, size in shown.items()):
            return SizeFound(
                place, tuple(rows), sign, fields, names, tuple(power), tuple(sizes), field
            )
    return None


def _longer(
    found: SizeFound,
    texts: Sequence[str],
    anchor: int,
    shown: Mapping[int, Shown],
    answers: Mapping[str, str],
) -> SizeFound | None:
    """The same with the digits behind the number made part of it, if they were called so."""
    field = next((f for f in found.fields if _is_called(found, f, "size")), None)
    if field is None:
        return None
    shape = found.place.shape
    widths = {len(value) for value in field.values}
    if (
        shape.kind != "columns"
        or field.is_left
        or field.place
        or any(field.gaps)
        or len(widths) > 1
    ):
        raise CannotInfer(f"{field.key}=size: only digits right behind the size can belong to it.")
    more = widths.pop()
    shape = Shape("columns", shape.sep, shape.begin, shape.end + more)
    span = next(iter(spans(texts[anchor], shape)), None)
    if span is None:
        raise CannotInfer(f"{field.key}=size: that makes no number.")
    others = {
        _renumbered(key, field.number): answer
        for key, answer in answers.items()
        if key != field.key
    }
    result = _fit(
        texts, NumberPlace(shape, span, found.place.implied + more), anchor, shown, others
    )
    if not isinstance(result, SizeFound):
        raise CannotInfer(f"{field.key}=size: then not all presses fit.")
    return result


def _is_called(found: SizeFound, field: Field, kind: str) -> bool:
    return field.number in found.names and found.names[field.number].kind == kind


def _renumbered(key: str, gone: int) -> str:
    """Field numbers behind the one that became part of the size count one less."""
    digits = key.removeprefix("field-")
    if digits == key or not digits.isdigit() or int(digits) < gone:
        return key
    return f"field-{int(digits) - 1}"


def _is_power(field: Field) -> Question:
    return Question(
        key=field.key,
        text=(f"Is {field.key}, which was {', '.join(map(repr, field.seen[:8]))}, a power of ten?"),
        choices=("exponent",),
        default=None,
        settles="a display typed for another value of it",
        values=field.seen,
    )


def _may_be_exponent(field: Field) -> bool:
    return not field.is_constant and all(
        re.fullmatch(r"[+-]?[0-9]{1,2}", value) for value in field.values
    )


def _without_shadows(found: list[SizeFound]) -> list[SizeFound]:
    """Drop what only says the same in another way: a decimal that never had a point is an int."""
    kept: list[SizeFound] = []
    for one in found:
        if one.place.shape.kind == "decimal" and all(row.span.style == "int" for row in one.rows):
            continue
        if any(one.sizes == other.sizes and _spans(one) == _spans(other) for other in kept):
            continue
        kept.append(one)
    return kept


def _spans(one: SizeFound) -> tuple[tuple[int, int], ...]:
    return tuple((row.span.begin, row.span.end) for row in one.rows)


def _two_places(
    texts: Sequence[str], labels: Sequence[int], found: Sequence[SizeFound]
) -> Undecided:
    number = next(
        (i for i in range(len(texts)) if len({one.sizes[i] for one in found}) > 1),
        None,
    )
    if number is None:
        raise CannotInfer(
            "The size stands twice in what was sent, in every press. Press send at more "
            "different sizes."
        )
    return Undecided(
        Question(
            key="shows",
            text=(
                "What was typed fits at two places. What did the display show for press "
                f"{labels[number]}, {escaped(texts[number].encode())}?"
            ),
            choices=(f"{labels[number]}: SIZE UNIT",),
            default=None,
            settles="a press at another size with its display typed",
            values=(str(labels[number] - 1),),
        )
    )


def unit_word(row: FrameRow) -> str | None:
    """The unit that a frame names in words; None if it does not."""
    return None if row.unit is None else UNIT_WORDS[row.unit.text.lower()]
