"""The dialogue with a gauge that answers: no answer is taken for that of a later place."""

from decimal import Decimal

import pytest

from drivers.dialects.outcomes import FIRST_AFTER_OPEN
from drivers.gauge.asking import QUIET_REPLIES, Asking, Dialogue
from drivers.reading import LATE, Instant, Reading, Reject

MS = 1_000_000
REPLY_MS = 200


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * MS)


def reading(ms: int) -> Reading:
    return Reading(Decimal("1.000"), "mm", Decimal("0.001"), b"1.000", at(ms))


def reject(ms: int, code: str, *flags: str) -> Reject:
    return Reject(code, "", b"x", at(ms), 0, flags)


def dialogue(every_s: float | None = None) -> Dialogue:
    return Dialogue(Asking(REPLY_MS / 1000, every_s))


def flags(talk: Dialogue, ms: int) -> tuple[str, ...]:
    heard = talk.heard(reading(ms), ms * MS)
    assert isinstance(heard, Reading)
    return heard.flags


def is_waiting(talk: Dialogue) -> bool:
    return talk.is_waiting


def test_an_answer_in_time_is_plain_and_the_next_request_may_go_out() -> None:
    talk = dialogue()
    talk.asked(0)
    assert is_waiting(talk)
    assert talk.wakes_ns == REPLY_MS * MS
    assert flags(talk, 100) == ()
    assert not is_waiting(talk)
    assert talk.overdue(at(500)) is None


def test_a_slow_gauge_never_has_its_answers_taken_for_a_later_place() -> None:
    """It answers in 300 ms where 200 are allowed, and the operator presses again at once."""
    talk = dialogue()
    talk.asked(0)
    overdue = talk.overdue(at(200))
    assert overdue is not None
    assert overdue.code == "no-reply"
    talk.asked(210 * MS)
    assert flags(talk, 300) == (), "it answers the first request, and that was for the same place"
    assert flags(talk, 510) == (LATE,), "it answers the second; a reading has been taken meanwhile"
    talk.asked(520 * MS)
    assert flags(talk, 530) == ()
    assert flags(talk, 820) == (LATE,)


def test_an_answer_to_the_second_press_after_none_to_the_first_is_plain() -> None:
    talk = dialogue()
    talk.asked(0)
    assert talk.overdue(at(200))
    talk.asked(300 * MS)
    assert flags(talk, 350) == ()


def test_after_a_quiet_time_a_request_starts_afresh() -> None:
    talk = dialogue()
    talk.asked(0)
    assert talk.overdue(at(200))
    quiet = 200 + QUIET_REPLIES * REPLY_MS
    talk.asked((quiet + 1) * MS)
    assert flags(talk, quiet + 100) == ()


def test_a_late_answer_makes_the_quiet_time_begin_again() -> None:
    talk = dialogue()
    talk.asked(0)
    assert talk.overdue(at(200))
    assert flags(talk, 700) == (LATE,)
    assert flags(talk, 700 + QUIET_REPLIES * REPLY_MS - 1) == (LATE,)
    assert flags(talk, 5000) == ()


@pytest.mark.parametrize("code", ["noise", "empty", "encoding", "truncated", "overlong"])
def test_trouble_on_the_line_is_no_answer(code: str) -> None:
    talk = dialogue()
    talk.asked(0)
    talk.heard(reject(50, code), 50 * MS)
    assert talk.is_waiting
    assert flags(talk, 100) == ()


def test_the_tail_of_an_older_frame_is_no_answer() -> None:
    talk = dialogue()
    talk.asked(0)
    talk.heard(reject(50, "syntax", FIRST_AFTER_OPEN), 50 * MS)
    assert talk.is_waiting


@pytest.mark.parametrize("code", ["gauge.overrange", "modbus.exception-02", "checksum", "unit"])
def test_an_error_is_an_answer(code: str) -> None:
    talk = dialogue()
    talk.asked(0)
    talk.heard(reject(50, code), 50 * MS)
    assert not talk.is_waiting
    assert talk.overdue(at(500)) is None


def test_what_comes_unasked_from_a_gauge_with_a_button_of_its_own_is_plain() -> None:
    assert flags(dialogue(), 100) == ()


def test_a_watched_gauge_is_asked_so_long_after_each_answer() -> None:
    talk = dialogue(0.5)
    assert talk.is_time(0)
    talk.asked(0)
    assert not talk.is_time(400 * MS)
    talk.heard(reading(100), 100 * MS)
    assert not talk.is_time(599 * MS)
    assert talk.is_time(600 * MS)
    assert talk.wakes_ns == 600 * MS
