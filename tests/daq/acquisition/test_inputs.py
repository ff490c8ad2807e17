"""How a reading is given, in words that fit the gauge."""

import pytest

from daq.acquisition.bound_keys import BoundKeys
from daq.acquisition.inputs import TakingMode, is_attended
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


def test_a_key_that_is_for_other_things_is_no_send_key() -> None:
    key = SendKey.__new__(SendKey)  # no device is opened
    words = BoundKeys("usb:1209:0003", {0x6A: "keep", 0x6B: "drop"})
    mode = TakingMode(is_stream=True, rest_s=1.0, send_key=key, keys=words, has_keyboard=False)
    assert not mode.has_send_key
    assert mode.press == "hold it still"
    sends = BoundKeys("usb:1209:0003", {0x68: "send", 0x6B: "drop"})
    assert TakingMode(send_key=key, keys=sends).has_send_key
    assert TakingMode(send_key=key).has_send_key
    assert not TakingMode().has_send_key


@pytest.mark.parametrize(
    ("answers", "has_keyboard", "attended"),
    [(False, False, False), (False, True, True), (True, False, True), (True, True, True)],
)
def test_whoever_can_answer_attends(answers: bool, has_keyboard: bool, attended: bool) -> None:
    assert is_attended(TakingMode(answers=answers), has_keyboard=has_keyboard) is attended
