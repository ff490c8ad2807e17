"""Why no place of the size fits, in words for people. Pure."""

from collections.abc import Mapping, Sequence

from drivers.inference.places import places
from drivers.inference.said import Shown
from drivers.reading import escaped


def not_there(texts: Sequence[str], labels: Sequence[int], anchor: int, size: Shown) -> str:
    """The display is in no form in the frame it was typed for."""
    raw = escaped(texts[anchor].encode())
    other = next(
        (
            number
            for number, text in enumerate(texts)
            if number != anchor and places(text, size, False, False)
        ),
        None,
    )
    hint = (
        f" It does fit press {labels[other]}: --shows '{labels[other]}: {size.text}'."
        if other is not None
        else " Type all the digits that the display shows, or --skip the press."
    )
    return (
        f"The display {size.text!r} is nowhere in press {labels[anchor]}: {raw} "
        f"(hex {texts[anchor].encode()[:32].hex()}).{hint}"
    )


def misfit_words(
    texts: Sequence[str],
    labels: Sequence[int],
    anchor: int,
    misfit: int | None,
    shown: Mapping[int, Shown],
) -> str:
    """No place fits; `misfit` is a text that is not built like the typed one, if that is why."""
    typed, size = escaped(texts[anchor].encode()), shown[anchor]
    if misfit is not None:
        return (
            f"Press {labels[misfit]}, {escaped(texts[misfit].encode())}, is not built like press "
            f"{labels[anchor]}, {typed}. If it was no size (an error, another mode), leave it out: "
            f"--skip {labels[misfit]}."
        )
    if size.value < 0 and "-" not in texts[anchor]:
        return (
            f"The display {size.text!r} has a minus, and press {labels[anchor]} has none: "
            f"{typed}. If a letter or digit tells the sign, type a display above zero and "
            "name the field: --answer field-N=sign:TEXT=-,TEXT=+."
        )
    said = ", ".join(f"{one.text!r} for press {labels[press]}" for press, one in shown.items())
    if len({one.unit for one in shown.values() if one.unit}) > 1 and "." not in texts[anchor]:
        return (
            f"Nothing that was sent fits all displays typed: {said}. A number without a "
            "point whose decimals change with the unit fits no profile: set the gauge to "
            "one unit."
        )
    return f"Nothing that was sent fits the display(s) typed: {said}. Check what was typed."
