"""What several errors in a row of one kind mean: said once, and not too early."""

from decimal import Decimal

import pytest

from drivers.gauge.advice import Adviser
from drivers.reading import Instant, Outcome, Reading, Reject

AT = Instant(0, 0)
GOOD = Reading(Decimal("1.5"), "mm", Decimal("0.1"), b"1.5", AT)


def bad(code: str, raw: bytes = b"") -> Reject:
    return Reject(code, "words", raw, AT)


def advised(*outcomes: Outcome) -> list[str | None]:
    adviser = Adviser()
    return [adviser.after(outcome) for outcome in outcomes]


@pytest.mark.parametrize(
    ("reject", "word"),
    [
        (bad("encoding", b"\xb1.5"), "parity"),
        (bad("separator", b"1,5"), "number.sep"),
        (bad("truncated", b"+1.5\r"), "CR alone"),
        (bad("truncated", b"+1.5\n"), "LF alone"),
        (bad("overlong", b"xxxx"), "frame.end"),
    ],
)
def test_the_third_error_of_a_kind_gives_advice(reject: Reject, word: str) -> None:
    first, second, third = advised(reject, reject, reject)
    assert (first, second) == (None, None)
    assert third is not None
    assert word in third


def test_advice_is_given_once() -> None:
    assert [text is not None for text in advised(*[bad("overlong")] * 9)].count(True) == 1


def test_advice_is_not_given_again_after_readings() -> None:
    three = [bad("overlong")] * 3
    outcomes: list[Outcome] = [*three, GOOD, *three]
    assert [text is not None for text in advised(*outcomes)].count(True) == 1


def test_a_reading_between_begins_the_count_anew() -> None:
    two = [bad("overlong")] * 2
    assert advised(*two, GOOD, *two) == [None] * 5


def test_an_error_of_another_kind_between_begins_the_count_anew() -> None:
    two = [bad("overlong")] * 2
    assert advised(*two, bad("syntax"), *two) == [None] * 5


def test_each_kind_has_its_own_advice() -> None:
    texts = advised(*[bad("overlong")] * 3, *[bad("separator")] * 3)
    assert len({text for text in texts if text}) == 2


@pytest.mark.parametrize(
    "reject",
    [
        bad("encoding", b"1\x00.5"),  # no bit 7: nothing to say about parity
        bad("truncated", b"+1.5"),  # no line end either
        bad("syntax", b"x"),
        bad("gauge.overrange", b"ERR1"),
        bad("empty"),
    ],
)
def test_errors_that_prove_nothing_give_no_advice(reject: Reject) -> None:
    assert advised(*[reject] * 6) == [None] * 6


@pytest.mark.parametrize("start", [b"\xff\xfb\x03", b"\xff\xfd\x03", b"\xff\xfe\x01"])
def test_a_telnet_greeting_is_known_at_once(start: bytes) -> None:
    (text,) = advised(bad("encoding", start))
    assert text is not None
    assert "rfc2217://" in text


@pytest.mark.parametrize(
    ("kind", "code", "word"),
    [
        ("modbus-rtu", "modbus.exception-02", "40001"),
        ("modbus-rtu", "modbus.exception-01", "modbus.function 4 instead of 3"),
        ("modbus-rtu", "address", "modbus.unit_id"),
        ("modbus-rtu", "checksum", "parity"),
        ("bcd", "checksum", "parity"),
        ("text", "checksum", "parity"),
    ],
)
def test_frames_of_bytes_have_advice_of_their_own(kind: str, code: str, word: str) -> None:
    adviser = Adviser(kind)
    said = [adviser.after(bad(code, b"\x01\x83\x02")) for _ in range(3)]
    assert said[:2] == [None, None]
    assert word in (said[2] or "")


@pytest.mark.parametrize("code", ["truncated", "overlong", "encoding"])
def test_frames_of_bytes_get_no_advice_about_end_marks(code: str) -> None:
    adviser = Adviser("modbus-rtu")
    assert [adviser.after(bad(code, b"\xfe\x03\r")) for _ in range(4)] == [None] * 4
