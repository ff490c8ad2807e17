"""What `jbridge ports` tells of gauges that are really there."""

import json
from typing import Any

from simulator.gadgets import SOCKETS
from tests.system.kernel.conftest import SERIAL, Plugging, Programs, as_user

EVIL = SERIAL._replace(serial='a"b%$*[', title='x"; RUN+="/bin/sh', maker="\x1b[2J")


def rows(programs: Programs, **options: Any) -> dict[str, dict[str, Any]]:
    """The devices by how they are known again."""
    done = programs.jbridge("ports", "--json", **options)
    assert done.code == 0, done.stderr
    return {row["identity"]: row for row in json.loads(done.stdout)}


def test_every_gauge_is_listed_under_the_name_that_port_takes(
    programs: Programs, plugging: Plugging, adapter: int, users_keyboard: str
) -> None:
    plugging.serial()
    plugging.keyboard()
    plugging.serial(EVIL, SOCKETS[2])
    found = rows(programs)
    serial = found["usb:1209:0001:ACM123"]
    assert (serial["port"], serial["kind"], serial["may_open"]) == ("/dev/ttyACM0", "serial", True)
    assert "Virtual Caliper" in serial["looks_like"]
    keyboard = found["usb:1209:0002:HID456"]
    assert (keyboard["port"], keyboard["kind"]) == ("usb:1209:0002:HID456", "keyboard")
    line = found["usb:0403:6001:FT0001"]
    assert line["port"] == "/dev/ttyUSB0"
    assert line["latency_ms"] is not None
    assert found[users_keyboard]["kind"] == "keyboard"
    (evil,) = (row for row in found.values() if row["port"] == "/dev/ttyACM1")
    assert evil["looks_like"].isprintable()
    assert evil["identity"].isprintable()


def test_an_ordinary_user_is_told_which_group_owns_the_port(
    programs: Programs, plugging: Plugging
) -> None:
    plugging.serial()
    plugging.keyboard()
    found = rows(programs, **as_user())
    for identity in ("usb:1209:0001:ACM123", "usb:1209:0002:HID456"):
        assert not found[identity]["may_open"]
        assert "udev" in found[identity]["trouble"]
    assert "dialout" in found["usb:1209:0001:ACM123"]["trouble"]
