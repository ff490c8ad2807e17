"""A button device as the send key: opened before a run, given back whatever becomes of it."""

import queue
import threading

import pytest

from daq.acquisition.bound_keys import BoundKeys
from daq.acquisition.inputs import Item, KeyRefused, KeyWord, SendKeyGone, SendPressed
from daq.acquisition.send_key import SendKey
from drivers.errors import PortLost


class Button:
    """A device whose reports the test puts in; an error is raised by the read."""

    report_id = None

    def __init__(self) -> None:
        self.reports: queue.Queue[bytes | PortLost | None] = queue.Queue()
        self.is_open = True

    def read_report(self, timeout_s: float | None) -> bytes | None:
        report = self.reports.get(timeout=10.0)
        if isinstance(report, PortLost):
            raise report
        return report

    def wake(self) -> None:
        self.reports.put(None)

    def close(self) -> None:
        self.is_open = False


DOWN, UP = bytes([0, 0, 4, 0, 0, 0, 0, 0]), bytes(8)


@pytest.fixture
def button(monkeypatch: pytest.MonkeyPatch) -> Button:
    made = Button()
    monkeypatch.setattr("drivers.ports.usb_interface.open_keyboard", lambda name: made)
    return made


def test_a_run_that_never_began_gives_the_device_back(button: Button) -> None:
    SendKey(BoundKeys("usb:1234:5678")).stop()
    assert not button.is_open


def test_each_key_that_goes_down_is_a_press_until_it_is_stopped(button: Button) -> None:
    key, put = SendKey(BoundKeys("usb:1234:5678")), queue.Queue[Item]()
    thread = threading.Thread(target=key, args=(put.put,))
    thread.start()
    for report in (DOWN, UP, DOWN, DOWN):
        button.reports.put(report)
    assert [type(put.get(timeout=10.0)) for _ in range(2)] == [SendPressed, SendPressed]
    key.stop()
    thread.join(10.0)
    assert not button.is_open
    assert put.empty()


def test_each_key_says_its_word_as_it_goes_down_and_repeats_nothing(button: Button) -> None:
    keys = BoundKeys("usb:1234:5678", {0x04: "keep", 0x05: "drop", 0x06: "send"})
    key, put = SendKey(keys), queue.Queue[Item]()
    thread = threading.Thread(target=key, args=(put.put,))
    thread.start()
    for down in ([4], [4], [4, 5], [5], [], [6], [], [7]):
        button.reports.put(bytes([0, 0, *down]).ljust(8, b"\0"))
    said = [put.get(timeout=10.0) for _ in range(4)]
    assert said[:3] == [KeyWord("keep"), KeyWord("drop"), SendPressed()]
    assert isinstance(said[3], KeyRefused)
    assert said[3].words.startswith("D (07) means nothing here: A (04) keeps, ")
    key.stop()
    thread.join(10.0)
    assert put.empty()


def test_a_device_that_goes_is_told_and_given_back(button: Button) -> None:
    key, put = SendKey(BoundKeys("usb:1234:5678")), queue.Queue[Item]()
    thread = threading.Thread(target=key, args=(put.put,))
    thread.start()
    button.reports.put(PortLost("usb:1234:5678", "unplugged"))
    assert put.get(timeout=10.0) == SendKeyGone("unplugged")
    key.stop()
    thread.join(10.0)
    assert not button.is_open
