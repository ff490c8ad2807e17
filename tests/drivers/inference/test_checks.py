"""Check characters found in frames. The sums are worked with a calculator of their own here."""

from functools import reduce
from operator import xor

import pytest

from drivers.inference.checks import hex_check, raw_check, without_check
from drivers.inference.marks import PressedFrame

TEXTS = (b"+12.345 mm", b"-0.500 mm", b"+7.250 mm")


def piece(text: bytes, check: int) -> PressedFrame:
    return PressedFrame(0, b"", text, b"\x03", bytes([check]))


@pytest.mark.parametrize("over", ["payload", "payload+end"])
@pytest.mark.parametrize("kind", ["xor8", "sum8"])
def test_a_raw_check_is_found(kind: str, over: str) -> None:
    end = b"\x03" if over == "payload+end" else b""
    pieces = []
    for text in TEXTS:
        data = text + end
        pieces.append(piece(text, reduce(xor, data) if kind == "xor8" else sum(data) % 256))
    found = raw_check(pieces, is_masked=False)
    assert found is not None
    assert (found.kind, found.over) == (kind, over)


def test_a_byte_that_fits_nothing_is_no_check() -> None:
    assert raw_check([piece(t, n) for n, t in enumerate(TEXTS)], is_masked=False) is None


def test_a_byte_that_never_changes_proves_nothing() -> None:
    assert raw_check([piece(b"+1.0", 0x2A)] * 3, is_masked=False) is None


@pytest.mark.parametrize("sep", ["*", ""])
def test_a_hex_check_is_found_and_taken_off(sep: str) -> None:
    texts = [f"{text.decode()}{sep}{sum(text) % 256:02X}" for text in TEXTS]
    found = hex_check(texts)
    assert found is not None
    assert (found.kind, found.sep) == ("sum8", sep)
    assert [without_check(text, found).encode() for text in texts] == list(TEXTS)


def test_a_status_that_looks_like_hex_is_no_check() -> None:
    assert hex_check(["1.250,00", "1.300,00", "1.350,01"]) is None
