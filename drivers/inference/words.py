"""What was understood, in words for people. Pure."""

from drivers.inference.marks import Cut
from drivers.inference.sizes import SizeFound
from drivers.profile.profile import CheckCharacter
from drivers.reading import escaped


def parts_of(result: SizeFound, number: int) -> tuple[tuple[str, str], ...]:
    """A frame's parts in order, each with what it was taken for."""
    row = result.rows[number]
    parts: list[tuple[str, str]] = []

    def add(what: str, text: str, gap: int = 0) -> None:
        if gap:
            parts.append(("", " " * gap))
        parts.append((what, text))

    def add_field(field_number: int, text: str, gap: int, is_exponent: bool) -> None:
        said = result.names.get(field_number)
        name = f"field-{field_number}" if field_number else ""
        if is_exponent:
            name = "exponent"
        elif said is not None:
            name = said.kind
        add(name, text, gap)

    for field in (field for field in result.fields if field.is_left):
        add_field(field.number, field.values[number], field.gaps[number], field == result.exponent)
    if row.pad:
        parts.append(("", " " * row.pad))
    add("size", row.sign + " " * row.gap + row.digits + row.after)
    right = [field for field in result.fields if not field.is_left]
    for place in range(len(right) + 1):
        if row.unit is not None and place == row.unit_at:
            add("unit", row.unit.text, row.unit.gap)
        if place < len(right):
            field = right[place]
            add_field(
                field.number, field.values[number], field.gaps[number], field == result.exponent
            )
    return tuple(parts)


def marks_words(found: Cut, check: CheckCharacter | None) -> str:
    """How frames begin and end, as the rest of a sentence about each frame."""
    marks = found.marks
    names = {b"\r\n": "CR LF", b"\r": "CR", b"\n": "LF", b"\x03": "ETX", b"\n\r": "LF CR"}
    words = []
    if marks.start:
        words.append("starts with " + ("STX" if marks.start == b"\x02" else escaped(marks.start)))
    ends = " or ".join(names.get(end, escaped(end)) for end in marks.ends)
    words.append(f"ends with {ends}" if ends else "ends with silence")
    if check is not None:
        kind = {"xor8": "exclusive or", "sum8": "8-bit sum"}[check.kind]
        form = "one byte" if check.form == "raw" else "two hex digits"
        words.append(f"check: {kind} as {form}" + (f" behind {check.sep}" if check.sep else ""))
    if marks.seventh is not None:
        kind = {"even": "even parity", "odd": "odd parity", "set": "always set"}[marks.seventh]
        words.append(f"7 data bits, bit 7 {kind}")
    return "; ".join(words)
