"""What depends on the frames before: echo, repeats, the first frame after opening, silence."""

from collections.abc import Callable

import pytest

from drivers.dialects.codec import codec_for
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Outcome, Reading, plain

Decode = Callable[..., list[Outcome]]

HEAD = 'schema = 1\nid = "t"\nkind = "text"\n'
NUMBER = '[[layout]]\nname = "number"\nform = "fixed"\n'
CRLF = HEAD + '[frame]\nend = "\\r\\n"\n' + NUMBER
ECHO = HEAD + '[trigger]\nsend = "Q\\r"\necho = true\n[frame]\nend = "\\r"\n' + NUMBER
REPEAT = CRLF + "[repeat]\nwindow_ms = 300\n"


def told(outcomes: list[Outcome]) -> list[str]:
    """Each outcome as value or code, followed by its flags."""
    return [
        " ".join((plain(o.value) if isinstance(o, Reading) else o.code, *o.flags)) for o in outcomes
    ]


# --- echo ---


def test_an_echo_of_the_request_is_consumed(decode: Decode) -> None:
    (only,) = decode(ECHO, b"Q\r1.5\r")
    assert isinstance(only, Reading)
    assert (only.raw, only.flags) == (b"1.5", ())


def test_an_answer_without_the_echo_is_flagged(decode: Decode) -> None:
    assert told(decode(ECHO, b"1.5\r")) == ["1.5 no-echo"]


def test_an_echo_is_due_again_after_each_event(decode: Decode) -> None:
    assert told(decode(ECHO, b"Q\r1.5\r", (100, b"Q\r2.5\r"), (200, b"3.5\r"))) == [
        "1.5",
        "2.5",
        "3.5 no-echo",
    ]


def test_a_second_echo_is_data(decode: Decode) -> None:
    assert told(decode(ECHO, b"Q\rQ\r1.5\r")) == ["syntax first-after-open", "1.5 no-echo"]


def test_an_echo_is_due_again_after_an_error(decode: Decode) -> None:
    assert told(decode(ECHO, b"Q\rx\rQ\r1.5\r"))[1:] == ["1.5"]


def test_an_echo_alone_gives_no_outcome(decode: Decode) -> None:
    assert decode(ECHO, b"Q\r") == []


def test_more_than_the_request_is_no_echo(decode: Decode) -> None:
    assert told(decode(ECHO, b"QQ\r")) == ["syntax first-after-open"]


def test_an_undeclared_echo_is_data(decode: Decode) -> None:
    text = ECHO.replace("echo = true", "echo = false")
    assert told(decode(text, b"Q\r1.5\r")) == ["syntax first-after-open", "1.5"]


# --- repeats ---


def test_a_repeat_is_flagged_up_to_the_end_of_its_window(decode: Decode) -> None:
    assert told(decode(REPEAT, b"1.0\r\n", (300, b"1.0\r\n"), (601, b"1.0\r\n"))) == [
        "1.0",
        "1.0 repeat",
        "1.0",
    ]


def test_the_window_counts_from_the_previous_reading_flagged_or_not(decode: Decode) -> None:
    chunks = [(ms, b"1.0\r\n") for ms in (0, 200, 400, 600)]
    assert told(decode(REPEAT, *chunks)) == ["1.0", "1.0 repeat", "1.0 repeat", "1.0 repeat"]


def test_errors_between_do_not_break_a_repeat(decode: Decode) -> None:
    assert told(decode(REPEAT, b"1.0\r\n", (100, b"\r\n"), (200, b"1.0\r\n"))) == [
        "1.0",
        "empty",
        "1.0 repeat",
    ]


def test_another_reading_between_breaks_a_repeat(decode: Decode) -> None:
    assert told(decode(REPEAT, b"1.0\r\n1.1\r\n1.0\r\n")) == ["1.0", "1.1", "1.0"]


def test_a_repeat_is_of_bytes_not_of_value(decode: Decode) -> None:
    assert told(decode(REPEAT, b"1.0\r\n01.0\r\n")) == ["1.0", "1.0"]


def test_a_parity_bit_makes_no_difference_to_a_repeat(decode: Decode) -> None:
    text = REPEAT.replace("[frame]\n", "[frame]\nmask7 = true\n")
    assert told(decode(text, b"1.0\r\n", b"\xb1.0\r\n")) == ["1.0", "1.0 repeat"]


def test_nothing_is_flagged_without_the_table(decode: Decode) -> None:
    assert told(decode(CRLF, b"1.0\r\n1.0\r\n")) == ["1.0", "1.0"]


def test_nothing_is_flagged_where_arrival_times_are_lost() -> None:
    codec = codec_for(parse_profile(REPEAT, "test.toml"), with_repeats=False)
    assert told(codec.feed(b"1.0\r\n1.0\r\n", Instant(0, 0))) == ["1.0", "1.0"]


# --- the first frame after opening ---


def test_only_the_first_frame_may_be_a_tail(decode: Decode) -> None:
    assert told(decode(CRLF, b"5\r\n5\r\n")) == ["syntax first-after-open", "syntax"]


@pytest.mark.parametrize("first", [b"1.5\r\n", b"\r\n", b"\x00\r\n"])
def test_nothing_but_the_first_event_is_marked(decode: Decode, first: bytes) -> None:
    (marked, plain_error) = decode(CRLF, first, b"x\r\n")
    assert "first-after-open" not in marked.flags
    assert told([plain_error]) == ["syntax"]


def test_a_consumed_echo_is_not_the_first_event(decode: Decode) -> None:
    assert told(decode(ECHO, b"Q\rx\r")) == ["syntax first-after-open"]


# --- silence ---


def test_a_gap_inside_a_frame_makes_two_errors(decode: Decode) -> None:
    assert told(decode(CRLF, b"12", (500, b".5\r\n"))) == ["truncated", "syntax"]


def test_a_gap_inside_a_silence_ended_frame_makes_no_reading(decode: Decode) -> None:
    text = HEAD + "[frame]\nidle_ms = 40\n" + NUMBER.replace("fixed", "int") + "width = 4\n"
    assert told(decode(text, b"12", (40, b"34"))) == ["syntax first-after-open", "syntax"]
    assert told(decode(text, b"12", (39, b"34"))) == ["1234"]


def test_a_codec_asks_for_silence_only_while_bytes_wait() -> None:
    codec = codec_for(parse_profile(CRLF, "test.toml"))
    wanted = [codec.silence_s]
    for chunk in (b"1.5", b"\r\n"):
        codec.feed(chunk, Instant(0, 0))
        wanted.append(codec.silence_s)
    assert wanted == [None, 0.5, None]


def test_noise_and_frame_are_two_events(decode: Decode) -> None:
    text = HEAD + '[frame]\nstart = "<"\nend = ">"\n' + NUMBER
    noise, good = decode(text, b"ab<1.5>")
    assert told([noise, good]) == ["noise", "1.5"]
    assert (noise.raw, good.raw) == (b"ab", b"<1.5")


def test_an_overlong_frame_does_not_cost_the_next(decode: Decode) -> None:
    text = CRLF.replace("[frame]\n", "[frame]\nmax_bytes = 8\n")
    assert told(decode(text, b"9" * 100, b"9\r\n1.5\r\n")) == ["overlong", "1.5"]
