"""What a press may send."""

from contextlib import suppress
from urllib.parse import urlencode

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.page.server.press_form import FORM_TYPE, MOST_BYTES, BadForm, Pressed, pressed


def form(word: str = "note", text: str = "", step: str = "3") -> bytes:
    return urlencode({"word": word, "text": text, "step": step}).encode()


def test_a_press_has_a_word_a_text_and_a_step() -> None:
    assert pressed(FORM_TYPE, b"word=keep&step=3") == Pressed("keep", "", 3)
    found = pressed(f"{FORM_TYPE};charset=UTF-8", form(text="Öl, 45° & more"))
    assert found == Pressed("note", "Öl, 45° & more", 3)


def test_a_text_is_one_line() -> None:
    assert pressed(FORM_TYPE, form(text=" a\r\n b\u2028c\x00 ")).text == "a b c\x00"


@pytest.mark.parametrize(
    "body",
    [
        *(b"", b"word=keep", b"step=3", b"word=&step=3", b"word=dance&step=3", b"word=Keep&step=3"),
        *(b"word=keep&step=", b"word=keep&step=-1", b"word=keep&step=1.0", b"word=keep&step=x"),
        b"word=keep&step=" + b"9" * 30,
        b"word=keep&step=%D9%A3",  # a digit of another script
        b"word=keep&step=3&step=4",
        b"word=keep&step=3&more=1",
        b"word=keep;step=3",
        b"word=note&text=%ff&step=3",
        b"word=note&text=\xff&step=3",
        b"&".join([b"word=keep"] * 9),
    ],
)
def test_what_is_no_press_is_bad(body: bytes) -> None:
    with pytest.raises(BadForm) as bad:
        pressed(FORM_TYPE, body)
    assert bad.value.status == 400


@pytest.mark.parametrize("kind", ["", "text/plain", "application/json", "multipart/form-data; b=x"])
def test_no_other_kind_of_form_is_read(kind: str) -> None:
    with pytest.raises(BadForm, match="no form"):
        pressed(kind, form())


def test_what_is_too_long_is_told_as_that() -> None:
    assert len(pressed(FORM_TYPE, form(text="x" * 1000)).text) == 1000
    assert pressed(FORM_TYPE, form(text="😀" * 1000)).text == "😀" * 1000
    for body in (form(text="x" * 1001), b"x" * (MOST_BYTES + 1)):
        with pytest.raises(BadForm) as bad:
            pressed(FORM_TYPE, body)
        assert bad.value.status == 413


@given(st.binary(max_size=200))
def test_no_bytes_do_anything_but_make_a_press_or_a_refusal(body: bytes) -> None:
    with suppress(BadForm):
        assert pressed(FORM_TYPE, body).step >= 0
