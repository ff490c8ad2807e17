"""Rejects in a row: twenty lines one by one, then one line a second with count, first and last."""

from pathlib import Path

import pytest

from daq.acquisition.reject_fold import RejectFold
from daq.record.events import Rejected
from daq.rules.commands import TakeReject
from daq.storage.ledger import scan
from tests.builders import Bench, reject


def feed(fold: RejectFold, first: int, count: int, every_s: float) -> list[TakeReject]:
    """Rejects `first`, `first + 1`, … of the bytes of their number, one each `every_s`."""
    told = [fold.take(reject(b"%d" % n, n * every_s)) for n in range(first, first + count)]
    return [command for command in told if command is not None]


def words(command: TakeReject) -> tuple[bytes, int, bytes]:
    return command.reject.raw, command.count, command.last_raw


def test_the_first_twenty_get_a_line_each() -> None:
    told = feed(RejectFold(), 1, 20, 0.001)
    assert [words(command) for command in told] == [(b"%d" % n, 1, b"") for n in range(1, 21)]


def test_what_follows_within_a_second_is_only_counted() -> None:
    fold = RejectFold()
    # Number 20 came at 0.02 s; up to number 1019 at 1.019 s less than a second has passed.
    assert len(feed(fold, 1, 1019, 0.001)) == 20
    assert fold.has_pending


def test_then_one_line_a_second_tells_count_first_and_last() -> None:
    fold = RejectFold()
    told = feed(fold, 1, 3500, 0.001)[20:]
    # From 21 on, a line each time a second has passed since the last line: at 1.020, 2.020 and
    # 3.020 s, a thousand rejects each.
    assert [words(command) for command in told] == [
        (b"21", 1000, b"1020"),
        (b"1021", 1000, b"2020"),
        (b"2021", 1000, b"3020"),
    ]
    rest = fold.flush()
    assert rest is not None
    assert words(rest) == (b"3021", 480, b"3500")
    assert not fold.has_pending


@pytest.mark.parametrize("every_s", [0.001, 0.01, 0.3, 0.999])
def test_no_reject_is_lost_in_counting(every_s: float) -> None:
    fold = RejectFold()
    told = feed(fold, 1, 500, every_s)
    last = fold.flush()
    told += [last] if last else []
    assert sum(command.count for command in told) == 500


@pytest.mark.parametrize("every_s", [0.001, 0.25, 0.9])
def test_lines_beyond_twenty_are_at_least_a_second_apart(every_s: float) -> None:
    fold = RejectFold()
    last_s = None
    for number in range(1, 2000):
        at_s = number * every_s
        if fold.take(reject(b"x", at_s)) is not None:
            assert number <= 20 or last_s is None or at_s - last_s >= 1 - 1e-9
            last_s = at_s


def test_a_line_told_in_silence_counts_for_the_second_too() -> None:
    fold = RejectFold()
    feed(fold, 1, 20, 0.001)
    assert fold.take(reject(b"21", 0.1)) is None
    # A second of silence, and at 1.1 s whoever waits asks for what is pending.
    assert fold.flush() is not None
    assert fold.take(reject(b"22", 1.11)) is None
    assert fold.take(reject(b"23", 2.09)) is None
    told = fold.take(reject(b"24", 2.11))
    assert told is not None
    assert words(told) == (b"22", 3, b"24")


def test_slow_rejects_beyond_twenty_still_get_a_line_each() -> None:
    told = feed(RejectFold(), 1, 25, 2.0)
    assert [words(command) for command in told[20:]] == [(b"%d" % n, 1, b"") for n in range(21, 26)]


def test_nothing_is_told_twice() -> None:
    fold = RejectFold()
    feed(fold, 1, 30, 0.001)
    assert fold.flush() is not None
    assert fold.flush() is None
    assert RejectFold().flush() is None


def test_a_reading_ends_the_row() -> None:
    fold = RejectFold()
    feed(fold, 1, 25, 0.001)
    fold.flush()
    fold.reading_came()
    assert len(feed(fold, 26, 20, 0.001)) == 20
    assert not fold.has_pending


def test_a_row_stands_in_the_ledger_with_its_first_and_last_bytes(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s")
    fold = RejectFold()
    for command in feed(fold, 1, 1020, 0.001):
        bench.say(command, 1)
    bench.close()
    told = [
        entry.event for entry in scan(bench.folder).entries if isinstance(entry.event, Rejected)
    ]
    assert len(told) == 21
    assert (told[0].raw_hex, told[0].count, told[0].last_raw_hex) == ("31", 1, "")
    # "21" and "1020" in hex of ASCII
    assert (told[20].raw_hex, told[20].count, told[20].last_raw_hex) == ("3231", 1000, "31303230")
    assert told[20].code == "syntax"
