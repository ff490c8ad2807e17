"""Which layout a keyboard-type gauge is set to. Usage ids as in tests/vectors/hid_layouts.json."""

import json

import pytest

from drivers.inference.infer import Inferred, PressedBursts
from drivers.inference.keyboard import infer_keyboard
from drivers.inference.said import CannotInfer, parse_shown
from tests.places import VECTORS

LAYOUTS = json.loads((VECTORS / "hid_layouts.json").read_text(encoding="utf-8"))["layouts"]


def typed(text: str, layout: str) -> list[bytes]:
    """The reports of a gauge that types `text`, a release after each key."""
    reports = []
    for char in text:
        usage, shift = next(
            (int(usage, 16), 2 * pair.index(char))
            for usage, pair in LAYOUTS[layout].items()
            if char in pair
        )
        reports += [bytes([shift, 0, usage, 0, 0, 0, 0, 0]), bytes(8)]
    return reports


def taught(layout: str, texts: list[str], shows: str, **answers: str) -> Inferred:
    presses = PressedBursts(
        bursts=(), shown={0: parse_shown(shows)}, answers=answers, name="taught", title="taught"
    )
    return infer_keyboard([typed(text + "\n", layout) for text in texts], presses)


@pytest.mark.parametrize("layout", ["us", "de", "fr"])
def test_a_minus_tells_the_layout(layout: str) -> None:
    found = taught(layout, ["-12.345mm", "0.500mm", "7.250mm"], "-12.345 mm")
    assert [question.key for question in found.open] == ["other-unit"]
    assert found.profile is not None
    assert f'keyboard = "{layout}"' in found.profile
    assert 'transport = "usb-hid-keyboard"' in found.profile


def test_us_and_german_digits_are_the_same_and_so_a_question() -> None:
    found = taught("de", ["12.345mm", "0.500mm", "7.250mm"], "12.345 mm")
    assert [question.key for question in found.open] == ["other-unit", "keyboard"]
    assert found.open[1].choices == ("us", "de")
    found = taught("de", ["12.345mm", "0.500mm", "7.250mm"], "12.345 mm", keyboard="de")
    assert found.profile is not None
    assert 'keyboard = "de"' in found.profile


def test_a_layout_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(CannotInfer, match="As us"):
        taught("fr", ["12.345mm", "0.500mm", "7.250mm"], "12.345 mm", keyboard="us")
    with pytest.raises(CannotInfer, match="answer with us, de, fr"):
        taught("fr", ["1.5", "2.5", "3.5"], "1.5 mm", keyboard="it")
