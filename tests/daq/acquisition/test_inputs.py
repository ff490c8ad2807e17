"""How a reading is given, in words that fit the gauge."""

import pytest

from daq.acquisition.inputs import TakingMode
from daq.acquisition.send_key import SendKey
from drivers.gauge.asking import Asking

ASKED = Asking(1.0, None)


@pytest.mark.parametrize(
    ("mode", "words"),
    [
        (TakingMode(), "press send"),
        (TakingMode(has_keyboard=False), "press send"),
        (TakingMode(asking=ASKED), "press Enter"),
        (TakingMode(is_stream=True), "press Enter"),
        (TakingMode(is_stream=True, rest_s=1.0), "hold it still, or press Enter"),
        (TakingMode(is_stream=True, rest_s=1.0, has_keyboard=False), "hold it still"),
        (TakingMode(is_typed=True), "press send"),
    ],
)
def test_what_gives_a_reading_is_named_as_it_is(mode: TakingMode, words: str) -> None:
    assert mode.press == words


def test_without_a_keyboard_the_send_key_is_named() -> None:
    key = SendKey.__new__(SendKey)  # no device is opened
    assert TakingMode(asking=ASKED, send_key=key, has_keyboard=False).press == "press the send key"
