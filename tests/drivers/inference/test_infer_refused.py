"""Presses that make no profile: said why, quickly, and never by a traceback."""

import random
import time
from collections.abc import Sequence
from decimal import Decimal

import pytest

from drivers.inference.infer import PressedBursts, infer
from drivers.inference.said import CannotInfer, parse_shown


def taught(bursts: Sequence[bytes], shows: str = "12.345 mm", **more: object) -> None:
    presses = PressedBursts(
        bursts=tuple(bursts),
        shown={0: parse_shown(shows)},
        name="taught",
        title="taught",
        **more,  # type: ignore[arg-type] # fields of the record, by the tests below
    )
    infer(presses)


@pytest.mark.parametrize(
    ("bursts", "why"),
    [
        ([], "Nothing came"),
        ([b"12.345\r\n"], "at least 3 are needed"),
        ([b"12.345\r\n"] * 3, "same.*different sizes"),
        ([b"12.345 A\r\n", b"12.345 B\r\n", b"12.345 C\r\n"], "size was the same each time"),
        ([b"\xaa\x01\x23\x45\x00\x17\x9c"] * 3, "no text.*bcd"),
        ([b"\x00\x00", b"\x80\xff", b"\x00"], "no text.*--line"),
        (
            [b"1.000\r\n", b"12.345\r\n", b"3.000\r\n"],
            "press 1.*does fit press 2.*'2: 12.345 mm",
        ),
        (
            [b"1.000\r\n", b"2.000\r\n", b"3.000\r\n"],
            r"press 1: 1.000 \(hex 312e303030\)",
        ),
        ([b"12.345\r\n", b"ERR1\r\n", b"3.000\r\n", b"4.0\r\n"], "Press 2, ERR1.*--skip 2"),
    ],
)
def test_the_reason_is_said(bursts: list[bytes], why: str) -> None:
    with pytest.raises(CannotInfer, match=why):
        taught(bursts)


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"answers": {"colour": "red"}}, "no such question"),
        ({"answers": {"field-1": "sausage"}}, "none of text, channel"),
        ({"answers": {"field-1": "unit:M"}}, "TEXT=MEANING"),
        ({"answers": {"field-1": "unit:M=kg"}}, "units are"),
        ({"answers": {"other-unit": "kg"}}, "answer with none or in or um"),
        ({"skip": (9,)}, "no press 10"),
        ({"skip": (0,)}, "display was typed for press 1"),
    ],
)
def test_a_wrong_answer_is_refused(more: dict[str, object], why: str) -> None:
    frames = [b"M 12.345 mm\r", b"M 1.000 mm\r", b"M 2.000 mm\r", b"M 3.000 mm\r"]
    with pytest.raises(CannotInfer, match=why):
        taught(frames, "12.345 mm", **more)


def test_a_display_of_zero_tells_nothing() -> None:
    with pytest.raises(CannotInfer, match="zero tells nothing"):
        taught([b"0.000\r", b"1.000\r", b"2.000\r"], "0.000 mm")


def test_a_frame_that_was_no_size_can_be_left_out() -> None:
    taught([b"12.345\r\n", b"ERR1\r\n", b"3.000\r\n", b"4.0\r\n"], skip=(1,))


@pytest.mark.parametrize("is_text", [True, False])
def test_a_megabyte_is_refused_quickly(is_text: bool) -> None:
    rng = random.Random(1)
    data = b"12.345 mm\r\n" * 95_000 if is_text else rng.randbytes(1_000_000)
    start = time.monotonic()
    with pytest.raises(CannotInfer):
        taught([data], is_timed=False)
    assert time.monotonic() - start < 10


def test_noise_gives_a_reason_or_a_profile_that_reads_what_was_typed() -> None:
    """Frames with characters changed at random; anything but a reason would be a bug."""
    rng = random.Random(7)
    alphabet = '0123456789.,+- mMiInN/:;#=eE"*AF\x02\x03\r\n'
    made = 0
    for _ in range(3000):
        base = "".join(rng.choice(alphabet) for _ in range(rng.randint(1, 12))) + "1.50\r\n"
        bursts = [
            "".join(
                rng.choice("0123456789") if char.isdigit() and rng.random() < 0.6 else char
                for char in base
            ).encode()
            for _ in range(4)
        ]
        bursts[0] = base.encode()
        presses = PressedBursts(
            bursts=tuple(bursts), shown={0: parse_shown("1.50 mm")}, name="noise", title="noise"
        )
        try:
            found = infer(presses)
        except CannotInfer:
            continue
        if found.profile is not None:
            made += 1
            reading = found.frames[0].reading
            assert reading is not None
            assert (reading.value, reading.unit) == (Decimal("1.50"), "mm")
    assert made > 20
