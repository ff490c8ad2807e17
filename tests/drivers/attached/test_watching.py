"""What came and what went between two looks."""

import msgspec

from drivers.attached.discovery import Attached
from drivers.attached.watching import Watch


def device(node: str = "/dev/ttyUSB0", number: str = "5") -> Attached:
    return Attached(
        port=node, kind="serial", looks_like="Gauge", identity="x", node=node, number=number
    )


def told(watch: Watch, now_s: float, *found: Attached) -> list[tuple[str, str, bool]]:
    return [
        (change.what, change.device.node, change.was_short) for change in watch.look(found, now_s)
    ]


ONE, TWO = device(), device("/dev/ttyUSB1", "6")


def test_what_is_there_at_first_is_present() -> None:
    assert told(Watch(), 0, ONE) == [("present", "/dev/ttyUSB0", False)]


def test_without_a_change_nothing_is_told() -> None:
    watch = Watch()
    told(watch, 0, ONE)
    assert told(watch, 1, ONE) == []


def test_a_device_arrives_and_leaves() -> None:
    watch = Watch()
    told(watch, 0)
    assert told(watch, 1, ONE) == [("arrived", "/dev/ttyUSB0", False)]
    assert told(watch, 10) == [("left", "/dev/ttyUSB0", False)]
    assert told(watch, 11, ONE) == [("arrived", "/dev/ttyUSB0", False)]


def test_a_device_that_goes_within_two_seconds_was_short() -> None:
    watch = Watch()
    told(watch, 0)
    told(watch, 1, ONE, TWO)
    assert told(watch, 2.9, TWO) == [("left", "/dev/ttyUSB0", True)]
    assert told(watch, 3.0) == [("left", "/dev/ttyUSB1", False)]


def test_a_device_that_was_there_at_first_never_was_short() -> None:
    watch = Watch()
    told(watch, 0, ONE)
    assert told(watch, 0.5) == [("left", "/dev/ttyUSB0", False)]


def test_plugged_out_and_in_between_two_looks_is_both() -> None:
    watch = Watch()
    told(watch, 0, ONE)
    again = device(number="7")
    assert [what for what, _, _ in told(watch, 1, again)] == ["left", "arrived"]


def test_rights_that_come_later_are_no_change() -> None:
    watch = Watch()
    told(watch, 0, msgspec.structs.replace(ONE, trouble="no"))
    assert told(watch, 1, ONE) == []
