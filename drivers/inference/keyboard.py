"""Reports of a keyboard-type gauge: which layout is it set to? Pure."""

from collections.abc import Sequence

import msgspec

from drivers.hid.decoder import KeyDecoder
from drivers.hid.layouts import LAYOUTS, LayoutName
from drivers.inference.infer import Inferred, PressedBursts, frames_in, infer
from drivers.inference.marks import PressedFrame
from drivers.inference.said import CannotInfer, Question
from drivers.profile.profile import Link
from drivers.reading import escaped


class TypedText(msgspec.Struct, frozen=True):
    """What the reports of each press say in one layout; `notes` tell of keys that give no text."""

    layout: LayoutName
    alt_numpad: bool
    bursts: tuple[bytes, ...]
    notes: tuple[str, ...]


def typed(reports: Sequence[Sequence[bytes]], layout: LayoutName, *, alt_numpad: bool) -> TypedText:
    """Decode the reports of each press, one decoder over all of them.

    A character outside ASCII stays a byte above 0x7F, which no frame may hold.
    """
    decoder = KeyDecoder(layout, alt_numpad=alt_numpad)
    bursts: list[bytes] = []
    notes: dict[str, None] = {}
    for press in reports:
        text = ""
        for report in press:
            keys = decoder.take(report)
            text += keys.text
            notes.update(dict.fromkeys(keys.notes))
        bursts.append(text.encode("latin-1", "replace"))
    return TypedText(layout, alt_numpad, tuple(bursts), tuple(notes))


def frames_typed(
    reports: Sequence[Sequence[bytes]], presses: PressedBursts
) -> tuple[PressedFrame, ...]:
    """The frames in the first layout that gives any; raises CannotInfer."""
    failure: CannotInfer | None = None
    for layout in LAYOUTS:
        for alt_numpad in (False, True):
            words = typed(reports, layout, alt_numpad=alt_numpad)
            try:
                return frames_in(msgspec.structs.replace(presses, bursts=words.bursts))[1]
            except CannotInfer as error:
                failure = failure or error
    assert failure is not None
    raise failure


def infer_keyboard(reports: Sequence[Sequence[bytes]], presses: PressedBursts) -> Inferred:
    """As `infer`, for the layout in which the reports make sense; raises CannotInfer.

    Layouts that give the same text, where a minus sign was never typed, are a question.
    """
    alt = any(
        note.startswith("modifier-04") for note in typed(reports, "us", alt_numpad=False).notes
    )
    asked = presses.answers.get("keyboard")
    if asked is not None and asked not in LAYOUTS:
        raise CannotInfer(f"keyboard={asked}: answer with {', '.join(LAYOUTS)}.")
    names = [asked] if asked else list(LAYOUTS)
    found: list[tuple[TypedText, Inferred]] = []
    failures: list[str] = []
    for name in names:
        words = typed(reports, name, alt_numpad=alt)
        link = Link(transport="usb-hid-keyboard", keyboard=name, alt_numpad=alt)
        try:
            result = infer(msgspec.structs.replace(presses, bursts=words.bursts, link=link))
        except CannotInfer as error:
            failures.append(f"As {name}, {escaped(b''.join(words.bursts))}: {error}")
            continue
        found.append((words, result))
    if not found:
        raise CannotInfer(" ".join(failures) if asked else failures[0])
    if not presses.shown:
        found = found[:1]
    first = found[0][1]
    if len(found) == 1:
        return first
    layouts = tuple(words.layout for words, _ in found)
    question = Question(
        key="keyboard",
        text=(
            f"The keyboard layouts {' and '.join(layouts)} give the same text. Which is the "
            "gauge set to? If it is another one than is written down, a minus sign is "
            "refused, not misread."
        ),
        choices=layouts,
        default=layouts[0] if len({words.bursts for words, _ in found}) == 1 else None,
        settles="a press below zero, or at another unit",
    )
    return msgspec.structs.replace(
        first,
        open=(*first.open, question),
        profile=None if question.default is None else first.profile,
    )
