"""A check outside any session, by its owner: words, losses, and when it ends."""

from decimal import Decimal

import pytest

from daq.acquisition.check_run import CheckRun
from daq.board.board import LinkShown
from daq.equipment.stacks.stack_file import assumed_stack
from daq.errors import CheckStopped
from daq.gauges.check_rules import MOST_DOUBTED, CheckWanted
from daq.lengths import parse_length
from drivers.attached.device_id import DeviceId
from drivers.errors import PortLost
from drivers.gauge.reader import GaugeBack
from drivers.reading import Instant
from tests.builders import SECOND_US, START_US, reading, reject
from tests.daq.acquisition.played import HandClock

NOW = Instant(0, 0)
LIMIT = parse_length("0.002 mm")
LOST = PortLost("/dev/ttyUSB0", "unplugged")


class Proved:
    """A check of three readings, and what it said."""

    def __init__(self) -> None:
        self.said: list[str] = []
        stack = assumed_stack(parse_length("59.970 mm"))
        wanted = CheckWanted(stack, "59.970 mm", 3, LIMIT, LIMIT)
        link = LinkShown("mic", "usb-1", "/dev/ttyUSB0")
        self.at_us = START_US
        self.clock = HandClock()
        self.owner = CheckRun(wanted, link, self.clock, self.said.append)

    def press(self, *values: str) -> "Proved":
        for value in values:
            self.at_us += SECOND_US
            taken = reading(value, self.at_us)
            self.owner.take_reading(taken, "sent", taken.at)
        return self

    @property
    def values(self) -> list[Decimal]:
        return [each.value for each in self.owner.readings]


def test_each_reading_is_told_with_its_count_and_error() -> None:
    check = Proved().press("59.970", "59.971", "59.969")
    assert check.said == [
        "1/3  59.970 mm  error 0.000 mm",
        "2/3  59.971 mm  error +0.001 mm",
        "3/3  59.969 mm  error -0.001 mm",
    ]
    assert check.owner.is_done
    assert check.owner.board.status == "closed"


def test_back_takes_the_last_reading_back_and_needs_one() -> None:
    check = Proved()
    check.owner.typed("back", NOW)
    assert check.said == ["Not done: the words here are back and stop."]
    check.press("59.970", "59.971").owner.typed("back", NOW)
    assert check.values == [Decimal("59.970")]
    assert check.said[-1] == "The last reading is taken back."
    assert check.owner.board.check is not None
    assert check.owner.board.check.readings == 1
    check.owner.typed("back to the stack", NOW)
    assert check.said[-1] == "Not done: back stands alone: take back the last reading."
    assert check.values == [Decimal("59.970")]


@pytest.mark.parametrize(
    ("line", "why"),
    [("stop the stack is dirty", "the stack is dirty"), ("stop", "stopped by the operator")],
)
def test_stop_ends_it_with_the_reason_and_keeps_nothing(line: str, why: str) -> None:
    with pytest.raises(CheckStopped, match=rf"The gauge is not proven: {why}\. Nothing was kept\."):
        Proved().press("59.970").owner.typed(line, NOW)


def test_a_row_of_doubted_readings_ends_it() -> None:
    check = Proved().press("59.970", *["65.000"] * (MOST_DOUBTED - 1))
    with pytest.raises(CheckStopped, match="10 readings in a row did not count"):
        check.press("65.000")


def test_of_a_stream_counts_what_was_pressed_for_rested_near_the_stack_or_lost_its_zero() -> None:
    owner = Proved().press("59.970").owner
    assert owner.counts(reading("65.000"), "pressed")
    assert owner.counts(reading("59.971"), "rested")
    assert not owner.counts(reading("65.000"), "rested")
    assert not owner.counts(reading("59.971"), None)
    assert owner.counts(reading("59.971", flags=("zeroed",)), None)


def test_a_loss_begins_it_again_only_where_the_gauge_is_waited_for() -> None:
    check = Proved().press("59.970")
    check.owner.lose(LOST, NOW, is_waited_for=False)
    assert check.values == [Decimal("59.970")]
    check.owner.lose(LOST, NOW, is_waited_for=True)
    assert check.values == []
    assert check.owner.board.link.is_lost
    assert "the check then begins again" in check.said[-1]


def test_only_the_same_gauge_may_come_back() -> None:
    check = Proved()
    check.owner.lose(LOST, NOW, is_waited_for=True)
    check.owner.find(GaugeBack("/dev/ttyUSB1", DeviceId("usb-1"), NOW))
    assert not check.owner.board.link.is_lost
    with pytest.raises(CheckStopped, match="another gauge is in its place: usb-2"):
        check.owner.find(GaugeBack("/dev/ttyUSB1", DeviceId("usb-2"), NOW))


def test_what_came_before_the_prompt_is_no_reading_of_the_stack() -> None:
    clock = HandClock()
    clock.us = 5_000_000
    said: list[str] = []
    wanted = CheckWanted(assumed_stack(parse_length("59.970 mm")), "59.970 mm", 3, LIMIT, LIMIT)
    link = LinkShown("mic", "usb-1", "/dev/ttyUSB0")
    owner = CheckRun(wanted, link, clock, said.append, "> put the stack in")
    owner.begin()
    assert said == ["> put the stack in"]
    early = reading("59.970", START_US + 4_000_000)
    owner.take_reading(early, "sent", Instant(early.at.utc_us, 4_000_000_000))
    assert owner.readings == ()
    assert "it came before the stack was asked for" in said[-1]
    owner.take_reading(early, "typed", Instant(early.at.utc_us, 4_000_000_000))
    assert len(owner.readings) == 1  # typed lines come in their order


def test_what_came_before_its_return_was_met_is_no_reading_of_the_stack() -> None:
    check = Proved()
    check.owner.lose(LOST, NOW, is_waited_for=True)
    check.clock.us = 9_000_000
    check.owner.find(GaugeBack("/dev/ttyUSB0", DeviceId("usb-1"), NOW))
    early = reading("59.970", START_US + 8_900_000)
    check.owner.take_reading(early, "sent", Instant(early.at.utc_us, 8_900_000_000))
    assert check.values == []


def test_the_tenth_of_a_stream_ends_it_and_the_words_say_what_to_do() -> None:
    proved = Proved()
    proved.press("59.970")
    stream = [reading("59.970", proved.at_us + number * 100_000) for number in range(1, 11)]
    for each in stream[:9]:
        proved.owner.take_reading(each, "sent", each.at)
    with pytest.raises(CheckStopped, match=r"10 readings in a row did not count; .*--continuous"):
        proved.owner.take_reading(stream[9], "sent", stream[9].at)
    assert len(proved.values) == 1


def test_a_flood_of_rejects_is_told_in_few_lines() -> None:
    """Three seconds of 1000 a second: twenty lines, then one a second, and what is left before the
    next reading.
    """
    check = Proved()
    for number in range(3000):
        check.owner.take_reject(reject(b"x", number / 1000))
    assert len(check.said) == 20 + 2
    assert check.said[-1].startswith("syntax (1000 in a row): ")
    assert check.owner.patience_s() == 1.0
    check.press("59.970")
    # 3000 - 20 - 2 * 1000 were not told yet
    assert check.said[-2].startswith("syntax (980 in a row): ")
    assert check.owner.patience_s() is None
    check.owner.take_reject(reject(b"x", 3.0))
    assert check.said[-1].startswith("syntax: ")
