"""What the keys of a button device are for: as it is written, and as they are pressed."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.acquisition.bound_keys import DOES, ONE_AT_A_TIME, BoundKeys, bound_keys
from daq.errors import UsageError

PAD = "usb:1209:0003"
FOUR = BoundKeys(PAD, {0x68: "send", 0x69: "back", 0x6A: "keep", 0x6B: "drop"})

bindings = st.dictionaries(st.integers(0x04, 0xE7), st.sampled_from(list(DOES)), min_size=1)


@pytest.mark.parametrize("device", [PAD, "usb:1209:0003:A:B,C", "usb:1209:0003@1-2.3"])
def test_without_keys_all_of_them_send(device: str) -> None:
    keys = bound_keys(device)
    assert keys == BoundKeys(device)
    assert (keys.can_send, keys.can_more, keys.can_answer) == (True, False, False)
    assert keys.meant({0x04, 0xE0}) == ("send", "")


@given(bindings, st.sampled_from([PAD, f"{PAD}:S=1", f"{PAD}:A:B"]), st.data())
def test_what_is_written_is_bound(words: dict[int, str], device: str, data: st.DataObject) -> None:
    written = []
    for usage, word in words.items():
        digits = data.draw(st.sampled_from([f"{usage:x}", f"{usage:02X}", f"{usage:02x}"]))
        blank = data.draw(st.sampled_from(["", " "]))
        written.append(f"{blank}{digits}:{data.draw(st.sampled_from([word, word.upper()]))}")
    keys = bound_keys(f"{device}={','.join(written)}")
    assert keys == BoundKeys(device, words)
    assert keys.can_send == ("send" in words.values())
    assert keys.can_more == any(word != "send" for word in words.values())
    assert keys.can_answer == ("keep" in words.values() and "drop" in words.values())


@given(st.text(max_size=40))
def test_any_text_is_keys_or_refused_in_words(text: str) -> None:
    with suppress(UsageError):
        keys = bound_keys(f"{PAD}={text}")
        assert keys.words
        assert all(0x04 <= usage <= 0xE7 and word in DOES for usage, word in keys.words.items())


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("", "no key follows the ="),
        (" ", "no key follows the ="),
        ("68", "'68' is no key with its word"),
        ("68:", "'68:' is no key with its word"),
        (":send", "':send' is no key with its word"),
        ("68:send,", "'' is no key with its word"),
        ("68:send;69:back", "'68:send;69:back' is no key with its word"),
        ("0x68:send", "'0x68:send' is no key with its word"),
        ("068:send", "'068:send' is no key with its word"),
        ("G1:send", "'G1:send' is no key with its word"),
        ("F13:send", "'F13:send' is no key with its word"),
        ("68:stop now", "'68:stop now' is no key with its word"),
        ("68:stop", "'stop' is no word for a key. There are: send, back, keep, drop"),
        ("03:send", "03 is no key. Give its USB usage in hex, 04 to E7"),
        ("e8:send", "e8 is no key. Give its USB usage in hex, 04 to E7"),
        ("68:send,68:back", "F13 (68) is there twice"),
        ("a:send,0A:send", "G (0A) is there twice"),
    ],
)
def test_what_is_no_key_with_its_word_is_refused_with_an_example(keys: str, words: str) -> None:
    with pytest.raises(UsageError) as caught:
        bound_keys(f"{PAD}={keys}")
    said = str(caught.value)
    assert said.startswith(f"--send-key: {words}")
    assert said.endswith("like usb:1209:0003=68:send,69:back,6A:keep,6B:drop")
    assert caught.value.exit_code == 2


def test_each_key_is_told_with_what_it_does() -> None:
    assert FOUR.told == "F13 (68) sends, F14 (69) takes back, F15 (6A) keeps, F16 (6B) drops"
    assert BoundKeys(PAD).told == ""


@pytest.mark.parametrize(
    ("pressed", "word", "refusal"),
    [
        ({0x6A}, "keep", ""),
        ({0x6A, 0xE0}, "keep", ""),  # some pads press Ctrl with it
        ({0x6A, 0x6B}, "", ONE_AT_A_TIME),
        ({0x04}, "", f"A (04) means nothing here: {FOUR.told}"),
        ({0xE0}, "", f"key E0 means nothing here: {FOUR.told}"),
    ],
)
def test_keys_that_go_down_together_mean_one_thing_or_nothing(
    pressed: set[int], word: str, refusal: str
) -> None:
    assert FOUR.meant(pressed) == (word, refusal)


def test_two_keys_of_one_word_are_one_press() -> None:
    keys = BoundKeys(PAD, {0x68: "send", 0x69: "send"})
    assert keys.meant({0x68, 0x69}) == ("send", "")
