"""The rules that `jbridge udev` prints, before a real udev."""

import os
import subprocess
from pathlib import Path

import pytest

from simulator.gadgets import SOCKETS
from tests.places import ROOT
from tests.system.kernel.conftest import (
    KEYBOARD_PORT,
    SERIAL,
    Plugging,
    Programs,
    Rule,
    as_user,
    nodes,
)
from tests.system.kernel.test_discovery import EVIL

OPENS = """
import sys
from drivers.errors import PortError
from drivers.ports import open_port
from drivers.profile.profile import Link
for name in sys.argv[1:]:
    try:
        open_port(name, Link()).close()
        print("opened")
    except PortError as error:
        print(type(error).__name__, error)
"""


def opened_as_user(programs: Programs, *ports: str, groups: tuple[str, ...] = ()) -> list[str]:
    """What an ordinary user's process meets at each port."""
    with programs.python(OPENS, *ports, **as_user(*groups)) as process:
        return process.finish().stdout.splitlines()


def printed(programs: Programs, *arguments: str) -> str:
    """The rule file that the program prints."""
    done = programs.jbridge("udev", *arguments)
    assert done.code == 0, done.stderr
    return done.stdout


def verified(*files: Path, more: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    """`udevadm verify`, of a systemd that has it (254 and on)."""
    return subprocess.run(
        ["verify-rules", *more, *map(str, files)],
        capture_output=True,
        text=True,
        check=False,
        cwd="/",
    )


def properties(node: str) -> dict[str, str]:
    """What udev's database holds of a device."""
    words = ["udevadm", "info", "--query=property", f"--name={node}"]
    out = subprocess.run(words, check=True, capture_output=True, text=True).stdout
    return dict(line.split("=", 1) for line in out.splitlines())


def bus_node(serial: str) -> str:
    """The node of the USB device itself."""
    (node,) = (
        path
        for path in Path("/dev/bus/usb").glob("*/*")
        if properties(str(path)).get("ID_SERIAL_SHORT") == serial
    )
    return str(node)


def test_an_ordinary_user_needs_the_rule(
    programs: Programs, plugging: Plugging, rules: Rule
) -> None:
    gauge = plugging.serial()
    typing = plugging.keyboard()
    for told in opened_as_user(programs, "/dev/ttyACM0", KEYBOARD_PORT):
        assert told.startswith("PortUnavailable")
        assert "udev" in told
    files = []
    for name, port in (("serial", "/dev/ttyACM0"), ("keyboard", KEYBOARD_PORT)):
        text = printed(programs, "--for", port, "--group", "plugdev")
        files.append(rules.install(f"70-journalbridge-{name}.rules", text))
    assert verified(*files).returncode == 0
    gauge.remove()
    typing.remove()
    plugging.serial(socket=SOCKETS[2])
    plugging.keyboard(socket=SOCKETS[3])
    ports = ("/dev/ttyACM0", "/dev/gauges/1209-0001-ACM123", KEYBOARD_PORT)
    assert opened_as_user(programs, *ports, groups=("plugdev",)) == ["opened"] * 3
    assert [told.split()[0] for told in opened_as_user(programs, *ports)] == ["PortUnavailable"] * 3


def test_the_rule_names_marks_and_tags_the_port_on_the_first_event(
    programs: Programs, plugging: Plugging, rules: Rule
) -> None:
    plugging.serial().remove()
    rules.install(
        "70-g.rules", printed(programs, "--for", "usb:1209:0001:ACM123", "--name", "bench1")
    )
    # The condition of systemd's 73-seat-late.rules, under which it gives the rights.
    seat = 'TAG=="uaccess", ENV{MAJOR}!="", ENV{SEEN_BY_73}="1"\n'
    rules.install("73-seen.rules", seat)
    plugging.serial(socket=SOCKETS[1])
    found = properties("/dev/ttyACM0")
    assert "uaccess" in found["TAGS"].split(":")
    assert found["SEEN_BY_73"] == "1"
    assert found["ID_MM_DEVICE_IGNORE"] == found["ID_MM_PORT_IGNORE"] == "1"
    assert os.path.realpath("/dev/gauges/bench1") == "/dev/ttyACM0"
    assert properties(bus_node("ACM123"))["ID_MM_DEVICE_IGNORE"] == "1"
    power = Path("/sys/class/tty/ttyACM0/device/../power/control")
    assert power.read_text().strip() == "on"
    told = subprocess.run(
        ["udevadm", "test", "/sys/class/tty/ttyACM0"], capture_output=True, text=True, check=True
    )
    assert "70-g.rules" in told.stdout + told.stderr


def test_the_rule_lowers_the_latency_of_an_adapter(
    programs: Programs, adapter: int, rules: Rule
) -> None:
    timer = Path("/sys/bus/usb-serial/devices/ttyUSB0/latency_timer")
    timer.write_text("16")  # a real one begins so; the emulator's with 0
    rules.install("70-a.rules", printed(programs, "--for", "/dev/ttyUSB0"))
    subprocess.run(
        ["udevadm", "trigger", "--settle", "--action=bind", "--subsystem-match=usb-serial"],
        check=True,
    )
    assert timer.read_text().strip() == "1"


def test_signs_in_a_descriptor_stay_out_of_the_rule(
    programs: Programs, plugging: Plugging, rules: Rule
) -> None:
    plugging.serial()
    plugging.serial(EVIL, SOCKETS[2])
    text = printed(programs, "--group", "dialout")
    assert "RUN" not in text
    assert text.isascii()
    file = rules.install("70-journalbridge.rules", text)
    assert verified(file).returncode == 0, verified(file).stdout
    assert nodes(SERIAL.serial) == ["/dev/ttyACM0"]


def test_the_example_passes() -> None:
    done = verified(*sorted((ROOT / "udev").glob("*.rules")))
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("71-comma", "comma"),
        ("72-assign", "Invalid operator for SUBSYSTEM"),
        ("72-attrs", "Invalid operator for ATTRS"),
        ("72-goto", "GOTO"),
        ("72-group", "nosuchgroup"),
        ("72-key", "Invalid key"),
        ("72-never", "conflicting match"),
        ("72-quote", "Invalid key/value pair"),
        ("72-subst", "Invalid"),
        ("72-twoparents", "conflicting match"),
        ("72-unused", "unused"),
    ],
)
def test_a_bad_rule_is_refused(name: str, words: str) -> None:
    """So that a pass above means something."""
    file = ROOT / "tests" / "drivers" / "udev" / "bad" / f"{name}.rules"
    done = verified(file, more=("--resolve-names=early",))
    assert done.returncode != 0
    assert words in done.stdout + done.stderr


def test_a_late_number_is_not_seen_by_verifying() -> None:
    """Why the program itself must look at the name."""
    assert verified(ROOT / "tests" / "drivers" / "udev" / "bad" / "99-late.rules").returncode == 0
