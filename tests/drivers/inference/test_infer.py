"""What is understood of a few presses, what is asked, and what is refused later."""

from collections.abc import Sequence

import pytest

from drivers.dialects.codec import codec_for
from drivers.inference.infer import Inferred, PressedBursts, infer
from drivers.inference.said import CannotInfer, parse_shown
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Reading


def taught(
    bursts: Sequence[bytes], shows: dict[int, str], answers: dict[str, str] | None = None
) -> Inferred:
    """Infer from bursts; displays by press from 1."""
    return infer(
        PressedBursts(
            bursts=tuple(bursts),
            shown={press - 1: parse_shown(text) for press, text in shows.items()},
            answers=answers or {},
            name="taught",
            title="taught",
        )
    )


def read(found: Inferred, frame: bytes) -> str:
    """What the profile makes of a later frame: value and unit, or the error's code."""
    assert found.profile is not None
    codec = codec_for(parse_profile(found.profile, "taught"))
    out = codec.feed(frame, Instant(0, 0)) + codec.idle(Instant(0, 10**10))
    first = out[0]
    if not isinstance(first, Reading):
        return first.code
    beside = [first.channel] if first.channel else []
    return " ".join((f"{first.value:f}", first.unit, *beside, *first.flags))


def keys(found: Inferred) -> list[str]:
    return [question.key for question in found.open]


SIGNED = [b"+059.982 mm\r\n", b"-000.345 mm\r\n", b"+012.300 mm\r\n"]


def test_a_signed_number_with_its_unit() -> None:
    found = taught(SIGNED, {1: "59.982 mm"})
    assert keys(found) == ["other-unit"]
    assert found.marks == "ends with CR LF"
    assert [read(found, frame) for frame in SIGNED] == ["59.982 mm", "-0.345 mm", "12.300 mm"]
    assert read(found, b"-101.5 mm\r\n") == "-101.5 mm"


def test_a_unit_that_was_not_seen_is_refused_unless_it_was_answered() -> None:
    assert read(taught(SIGNED, {1: "59.982 mm"}), b"+2.36150 in\r\n") == "unit"
    found = taught(SIGNED, {1: "59.982 mm"}, {"other-unit": "in"})
    assert found.open == ()
    assert read(found, b"+2.36150 in\r\n") == "2.36150 in"


def test_a_sign_that_was_never_seen_is_told_of() -> None:
    found = taught([b"59.982\r", b"0.345\r", b"12.3\r"], {3: "12.3 mm"})
    assert any("No size below zero" in text for text in found.unseen)
    assert any("does not send its unit" in text for text in found.unseen)
    assert read(found, b"-1.5\r") == "-1.5 mm"
    assert read(found, b"1.5-\r") == "syntax"


def test_a_point_where_a_comma_was_seen_is_refused() -> None:
    found = taught([b"  59,982 mm\n", b"   0,345 mm\n", b"- 12,300 mm\n"], {1: "59,982 mm"})
    assert read(found, b"- 12,300 mm\n") == "-12.300 mm"
    assert read(found, b"  12.300 mm\n") == "separator"


def test_digits_without_a_point_take_their_decimals_from_the_display() -> None:
    frames = [b"00123450-", b"00500000+", b"01000005+"]
    assert taught(frames, {1: "-1.23450 in"}).must[0].key == "leading"
    found = taught(frames, {1: "-1.23450 in", 3: "10.00005 in"}, {"leading": "size"})
    assert [read(found, frame) for frame in frames] == ["-1.23450 in", "5.00000 in", "10.00005 in"]
    assert read(found, b"0123450-") == "syntax"  # a lost byte


def test_leading_zeros_that_may_be_a_code_stay_fixed_text() -> None:
    frames = [b"00123\r", b"00456\r", b"00789\r"]
    found = taught(frames, {1: "1.23 mm"})
    assert keys(found) == ["leading"]
    assert read(found, b"10123\r") == "syntax"
    assert read(taught(frames, {1: "1.23 mm"}, {"leading": "size"}), b"10123\r") == "101.23 mm"


BOX = [b"#3;-0001.234;M;G\r", b"#3;+0012.500;M;G\r", b"#12;+0001.000;I;H\r"]


def test_what_changes_must_be_named() -> None:
    found = taught(BOX, {1: "-1.234 mm"})
    assert found.profile is None
    assert [question.key for question in found.must] == ["field-1", "field-2", "field-3"]
    answers = {"field-1": "channel", "field-2": "unit:M=mm,I=in", "field-3": "flag:G=ok,H=over"}
    found = taught(BOX, {1: "-1.234 mm"}, answers)
    assert read(found, BOX[2]) == "1.000 in 12 over"
    assert read(found, b"#4;+0001.000;I;N\r") == "syntax"
    assert read(found, b"#4;+0001.000;X;H\r") == "unit"


def test_a_wrong_unit_code_does_not_get_past_the_display() -> None:
    answers = {"field-1": "channel", "field-2": "unit:M=in,I=mm", "field-3": "flag"}
    with pytest.raises(CannotInfer, match="typed mm for press 1, and the gauge sent in"):
        taught(BOX, {1: "-1.234 mm"}, answers)


def test_fixed_text_is_a_question_with_a_cautious_default() -> None:
    frames = [b"C1 1.500 mm\r", b"C1 2.500 mm\r", b"C1 30.000 mm\r"]
    found = taught(frames, {1: "1.500 mm"})
    assert keys(found) == ["fixed", "other-unit"]
    assert read(found, b"C2 1.500 mm\r") == "syntax"
    found = taught(frames, {1: "1.500 mm"}, {"field-1": "channel"})
    assert read(found, b"C2 1.500 mm\r") == "1.500 mm 2"


def test_bits_without_a_name_refuse_their_reading() -> None:
    frames = [b"1.500 mm,00\r", b"2.500 mm,01\r", b"3.500 mm,00\r"]
    found = taught(frames, {1: "1.500 mm"}, {"field-1": "bits:0=low-battery"})
    assert read(found, b"1.500 mm,01\r") == "1.500 mm low-battery"
    assert read(found, b"1.500 mm,80\r") == "gauge.bit-7"


def test_a_power_of_ten_needs_two_displays_or_a_word() -> None:
    frames = [b"N=123456;X=-4;U=mm\n", b"N=-200;X=-4;U=mm\n", b"N=1234;X=-3;U=mm\n"]
    assert [question.key for question in taught(frames, {1: "12.3456 mm"}).must] == ["field-1"]
    found = taught(frames, {1: "12.3456 mm", 3: "1.234 mm"})
    assert read(found, b"N=5;X=-2;U=mm\n") == "0.05 mm"
    found = taught([*frames[:2], b"N=77;X=-4;U=mm\n"], {1: "12.3456 mm"})
    assert read(found, b"N=5;X=-2;U=mm\n") == "syntax"


def test_implied_decimals_are_proven_for_each_unit() -> None:
    frames = [b"+00012345 mm\r", b"+00054321 in\r", b"-00012345 mm\r"]
    found = taught(frames, {1: "12.345 mm"})
    assert (found.must[0].key, found.must[0].values) == ("shows", ("1",))
    with pytest.raises(CannotInfer, match="decimals change with the unit"):
        taught(frames, {1: "12.345 mm", 2: "0.54321 in"})


def test_more_digits_than_the_display_are_asked_about() -> None:
    frames = [b"+12.3450\r", b"+1.2340\r", b"+3.0000\r"]
    assert [question.key for question in taught(frames, {1: "12.345 mm"}).must] == ["trailing"]
    with pytest.raises(CannotInfer, match="right beside digits"):
        taught(frames, {1: "12.345 mm"}, {"trailing": "code"})
    assert taught(frames, {1: "12.345 mm"}, {"trailing": "size"}).profile is not None


def test_two_sizes_that_agree_in_the_typed_press_need_another_display() -> None:
    frames = [b"1.500;1.500\r", b"2.500;1.500\r", b"2.500;7.500\r"]
    found = taught(frames, {1: "1.500 mm"})
    assert found.must[0].key == "shows"
    found = taught(frames, {1: "1.500 mm", 2: "2.500 mm"})
    assert [question.key for question in found.must] == ["field-1"]


def test_a_dash_that_parts_fields_is_no_minus() -> None:
    frames = [b"C1-59.982 mm\r", b"C1-0.345 mm\r", b"C1-12.300 mm\r"]
    found = taught(frames, {1: "59.982 mm"})
    assert read(found, frames[2]) == "12.300 mm"


def test_numbers_that_mean_no_reading_are_refused_where_powers_come() -> None:
    frames = [b"+1.234500E+01\n", b"-4.500000E-03\n", b"+2.000000E+00\n"]
    found = taught(frames, {1: "12.34500 mm"})
    assert read(found, b"+9.910000E+37\n") == "gauge.not-a-number"
    assert read(found, b"+1.000000E+12\n") == "range"


def test_seven_bits_and_parity_become_mask7() -> None:
    def even(data: bytes) -> bytes:
        return bytes(byte | (byte.bit_count() & 1) << 7 for byte in data)

    frames = [even(b"12.50\r\n"), even(b"-0.75\r\n"), even(b"3.25\r\n")]
    found = taught(frames, {1: "12.50 mm"})
    assert found.profile is not None
    assert "mask7 = true" in found.profile
    assert read(found, frames[1]) == "-0.75 mm"


def test_a_check_character_is_proven_on_later_frames() -> None:
    def sent(text: bytes) -> bytes:
        return text + b"*%02X\r\n" % (sum(text) % 256)

    found = taught([sent(b"-0.123 mm"), sent(b"1.005 mm"), sent(b"59.98 mm")], {2: "1.005 mm"})
    assert found.marks == "ends with CR LF; check: 8-bit sum as two hex digits behind *"
    assert read(found, sent(b"7.777 mm")) == "7.777 mm"
    assert read(found, b"7.777 mm*00\r\n") == "checksum"


def test_an_echo_of_the_request_is_no_frame() -> None:
    found = infer(
        PressedBursts(
            bursts=(b"Q\r 1.500mm\r", b"Q\r12.500mm\r", b"Q\r-2.500mm\r"),
            shown={0: parse_shown("1.500 mm")},
            send=b"Q\r",
            name="taught",
            title="taught",
        )
    )
    assert found.profile is not None
    assert 'send = "Q\\r"\necho = true' in found.profile
    assert len(found.frames) == 3
