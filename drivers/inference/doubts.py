"""What the presses leave open, and which press or answer would close it. Pure."""

from collections.abc import Mapping, Sequence

from drivers.inference.fields import KINDS
from drivers.inference.said import CannotInfer, Question, Shown
from drivers.inference.sizes import SizeFound, unit_word
from drivers.inference.tokens import may_have_sign


def leading_zeros(found: SizeFound, shown: Mapping[int, Shown]) -> int:
    """How many zeros before the size may be a code glued to it instead; 0 where that is settled."""
    if found.place.shape.kind in ("fraction", "dms"):
        return 0
    row = found.rows[0]
    is_apart = row.pad or any(row.sign for row in found.rows)
    if is_apart or (row.left and not row.left[-1].is_word):
        return 0
    typed = [found.rows[press].digits for press in shown]
    return min(_zeros(digits) for digits in typed)


def _zeros(digits: str) -> int:
    whole = digits.split(".", maxsplit=1)[0].split(",", maxsplit=1)[0]
    return min(len(whole) - len(whole.lstrip("0")), len(whole) - 1)


def questions(
    found: SizeFound, shown: Mapping[int, Shown], frames: Sequence[str], labels: Sequence[int]
) -> list[Question]:
    """All questions, answered or not; raises CannotInfer where no answer would help."""
    asked = [*_fields(found), *_leading(found, shown), *_trailing(found, shown)]
    asked += [*_writings(found, shown, frames, labels), *_units(found, shown, frames, labels)]
    return asked


def _fields(found: SizeFound) -> list[Question]:
    out: list[Question] = []
    fixed = []
    for field in found.fields:
        if not field.number or (found.exponent is not None and field == found.exponent):
            continue
        if field.is_constant:
            if field.number not in found.names:
                fixed.append(field)
            continue
        seen = ", ".join(map(repr, field.seen[:8]))
        hint = ""
        if all(len(value) == 2 for value in field.values) and len(field.seen) > 2:
            hint = " It may be a check character that this program does not know."
        out.append(
            Question(
                key=field.key,
                text=f"What is {field.key}, which was {seen}?{hint}",
                choices=KINDS[1:],
                default=None,
                settles="the gauge's manual, or a press after changing one thing on the gauge",
                values=field.seen,
            )
        )
    if fixed:
        texts = ", ".join(f"{field.key} {field.values[0]!r}" for field in fixed)
        out.append(
            Question(
                key="fixed",
                text=(
                    f"{texts} never changed. Fixed text? Then a press that sends anything else "
                    "there is refused. If one is a channel, a unit or a status, say so: "
                    f"{fixed[0].key}=channel."
                ),
                choices=("yes",),
                default="yes",
                settles="a press with another channel, unit or status",
                values=tuple(field.key for field in fixed),
                texts=tuple(field.values[0] for field in fixed),
            )
        )
    return out


def _leading(found: SizeFound, shown: Mapping[int, Shown]) -> list[Question]:
    zeros = leading_zeros(found, shown)
    if not zeros:
        return []
    varies = any(row.digits[:zeros].strip("0") for row in found.rows)
    return [
        Question(
            key="leading",
            text=(
                f"The first {zeros} digit(s) of the size were 0 where the display was typed. "
                "Part of the size, or something else right before it (a channel, say)?"
            ),
            choices=("size",) if varies else ("size", "fixed"),
            default=None if varies else "fixed",
            settles="a press at a much larger size, with its display typed",
        )
    ]


def _trailing(found: SizeFound, shown: Mapping[int, Shown]) -> list[Question]:
    """More digits are sent than were shown: does the last belong to the size?"""
    if found.exponent is not None or found.place.shape.kind in ("fraction", "dms"):
        return []
    sent = {press: found.place.implied or found.rows[press].span.decimals for press in shown}
    if any(sent[press] <= size.decimals for press, size in shown.items()):
        return []
    press, size = next(iter(shown.items()))
    more = sent[press] - size.decimals
    return [
        Question(
            key="trailing",
            text=(
                f"The gauge sent {more} more digit(s) than the display {size.text!r}. Part of "
                "the size, or something else right beside it?"
            ),
            choices=("size", "code"),
            default=None,
            settles="a press where the display shows all the digits that are sent",
        )
    ]


def _writings(
    found: SizeFound, shown: Mapping[int, Shown], frames: Sequence[str], labels: Sequence[int]
) -> list[Question]:
    """A number now with a point, now without, or with a power of ten: each needs proof."""
    if found.place.shape.kind not in ("decimal", "fraction"):
        return []
    ways = [_way(found, press) for press in range(len(found.rows))]
    proven = {ways[press] for press in shown}
    for press, way in enumerate(ways):
        if way not in proven:
            return [_show(press, frames, labels, "its number is written in another way")]
    return []


def _way(found: SizeFound, press: int) -> str:
    span = found.rows[press].span
    if "e" in found.rows[press].digits.lower():
        return "power"
    if span.style == "fraction":
        return "fraction"
    return "whole" if span.style == "int" else "point"


def _show(press: int, frames: Sequence[str], labels: Sequence[int], why: str) -> Question:
    return Question(
        key="shows",
        text=f"What did the display show for press {labels[press]}, {frames[press]!r}? ({why})",
        choices=(f"{labels[press]}: SIZE UNIT",),
        default=None,
        settles="its display, typed",
        values=(str(labels[press] - 1),),
    )


def _units(
    found: SizeFound, shown: Mapping[int, Shown], frames: Sequence[str], labels: Sequence[int]
) -> list[Question]:
    """Displays against units sent; implied decimals must be proven for every unit."""
    units = units_of_frames(found, shown)
    for press, size in shown.items():
        if size.unit and units[press] and size.unit != units[press]:
            raise CannotInfer(
                f"You typed {size.unit} for press {labels[press]}, and the gauge sent "
                f"{units[press]}: {frames[press]!r}. Check which press was typed."
            )
    default = _default_units(found, shown)
    if len(default) > 1:
        raise CannotInfer(
            f"The gauge sends the same in {' and '.join(sorted(default))}: its unit cannot "
            "be read. Set it to one unit and teach it in that one."
        )
    if None in units and not default:
        without = units.index(None)
        return [
            Question(
                key="unit",
                text=(
                    f"Press {labels[without]}, {frames[without]!r}, names no unit that is known. "
                    "Which unit is it in?"
                ),
                choices=("mm", "um", "in", "deg", "arcsec"),
                default=None,
                settles="the display typed with its unit",
            )
        ]
    if _form_is_implied(found):
        proven = {units[press] for press in shown}
        for press, unit in enumerate(units):
            if unit not in proven:
                return [_show(press, frames, labels, "decimals may differ from unit to unit")]
    return _other_unit(found, units)


def _other_unit(found: SizeFound, units: Sequence[str | None]) -> list[Question]:
    """Another unit named in words: with a point in the number its word is enough."""
    words = [row.unit.text for row in found.rows if row.unit is not None]
    if not words or len(set(units)) > 1 or _form_is_implied(found):
        return []
    return [
        Question(
            key="other-unit",
            text=(
                f"Only {words[0]!r} was seen. Can the gauge send another unit, named in the "
                "same way?"
            ),
            choices=("none", *(unit for unit in ("mm", "in", "um") if unit != units[0])),
            default="none",
            settles="a press in the other unit",
        )
    ]


def units_of_frames(found: SizeFound, shown: Mapping[int, Shown]) -> list[str | None]:
    """The unit that each frame itself tells, in a word or in a field that was called so."""
    by_code = next((f for f in found.fields if _is(found, f.number, "unit")), None)
    units: list[str | None] = [unit_word(row) for row in found.rows]
    if by_code is not None:
        meaning = found.names[by_code.number].meaning
        typed = next((size.unit for size in shown.values() if size.unit), None)
        units = [meaning.get(value, typed) for value in by_code.values]
    return units


def _default_units(found: SizeFound, shown: Mapping[int, Shown]) -> set[str]:
    units = units_of_frames(found, shown)
    return {size.unit for press, size in shown.items() if units[press] is None and size.unit}


def _is(found: SizeFound, number: int, kind: str) -> bool:
    return number in found.names and found.names[number].kind == kind


def _form_is_implied(found: SizeFound) -> bool:
    if found.exponent is not None:
        return False
    return any(row.span.style == "int" for row in found.rows) and bool(found.place.implied)


def not_seen(found: SizeFound, units: Sequence[str], is_unit_sent: bool) -> list[str]:
    """What no press showed; a frame that brings it later is refused or read as said here."""
    out = []
    if all(size >= 0 for size in found.sizes):
        if may_have_sign(found):
            out.append(
                "No size below zero was seen. A minus right before the digits will be read; "
                "any other sign is refused. If the gauge can show that, press send below zero."
            )
        else:
            out.append("No size below zero was seen. If the gauge can show one, press send there.")
    if not is_unit_sent:
        out.append(
            f"The gauge does not send its unit. Every size is taken as {units[0]}: never "
            "switch the gauge to another unit."
        )
    return out
