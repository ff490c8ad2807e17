"""Readings in a row that cannot count: twenty lines one by one, then one line a second."""

from pathlib import Path

from daq.acquisition.aside_fold import AsideFold
from daq.record.events import Dropped
from daq.rules.commands import SetAside
from daq.storage.ledger import scan
from tests.builders import Bench, reading

WHY = "the reading before waits for keep or drop"


def feed(fold: AsideFold, first: int, count: int, every_us: int) -> list[SetAside]:
    """Readings `first`, `first + 1`, … whose bytes are their number, one each `every_us`."""
    told = [
        fold.take(reading("59.980", n * every_us, raw=b"%d" % n), WHY)
        for n in range(first, first + count)
    ]
    return [command for command in told if command is not None]


def words(command: SetAside) -> tuple[bytes, int, bytes]:
    last = command.last or command.reading
    return command.reading.raw, command.count, last.raw


def test_twenty_get_a_line_each_then_one_a_second_tells_count_first_and_last() -> None:
    told = feed(AsideFold(), 1, 3500, 1000)  # a thousand a second
    singly = [(b"%d" % n, 1, b"%d" % n) for n in range(1, 21)]
    assert [words(command) for command in told[:20]] == singly
    assert [words(command) for command in told[20:]] == [
        (b"21", 1000, b"1020"),
        (b"1021", 1000, b"2020"),
        (b"2021", 1000, b"3020"),
    ]


def test_none_is_lost_in_counting_and_a_reading_that_counts_ends_the_row() -> None:
    fold = AsideFold()
    told = feed(fold, 1, 500, 700)
    assert fold.has_pending
    last = fold.flush()
    assert len(last) == 1
    assert sum(command.count for command in [*told, *last]) == 500
    assert fold.flush() == []
    fold.one_counted()
    assert len(feed(fold, 501, 20, 700)) == 20


def test_each_channel_is_counted_by_itself_and_a_line_tells_why_its_last_cannot_count() -> None:
    fold = AsideFold()
    for n in range(30):
        for channel in ("1", "2"):
            fold.take(reading("59.980", n * 1000, channel=channel), WHY if n < 29 else "at last")
    told = [(each.reading.channel, each.count, each.why) for each in fold.flush()]
    assert told == [("1", 10, "at last"), ("2", 10, "at last")]


def test_a_row_stands_in_the_ledger_with_its_first_and_last_bytes(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press("61.000")  # held: the question waits
    for command in feed(AsideFold(), 1, 1020, 1000):
        bench.say(command, 1)
    assert bench.state.held is not None
    bench.close()
    told = [e.event for e in scan(bench.folder).entries if isinstance(e.event, Dropped)]
    assert len(told) == 21
    assert told[0].held
    assert (told[0].count, told[0].raw_hex) == (1, "")  # its own line holds what it sent
    # "21" and "1020" in hex of ASCII
    assert (told[20].held, told[20].count) == (0, 1000)
    assert (told[20].raw_hex, told[20].last_raw_hex) == ("3231", "31303230")
    assert told[20].why.startswith(WHY)
