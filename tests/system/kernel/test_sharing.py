"""A gauge belongs to one program, and the system gets it back on every way out."""

import json
import signal
from contextlib import closing

import pytest

from drivers.ports import open_port
from drivers.profile.profile import Link
from tests.system.kernel.conftest import (
    KEYBOARD_PORT,
    Plugging,
    Programs,
    has_driver,
    wait_until,
)

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
        print(type(error).__name__)
"""
HOLDS = """
import sys
from drivers.ports import open_port
from drivers.profile.profile import Link
port = open_port(sys.argv[1], Link())
print("open", flush=True)
exec(sys.stdin.readline())
"""


def test_a_second_program_is_refused(programs: Programs, plugging: Plugging) -> None:
    plugging.serial()
    plugging.keyboard()
    ports = ("/dev/ttyACM0", KEYBOARD_PORT)
    with (
        closing(open_port(ports[0], Link())),
        closing(open_port(ports[1], Link())),
        programs.python(OPENS, *ports) as second,
    ):
        assert second.finish().stdout.splitlines() == ["PortBusy", "PortBusy"]
    with programs.python(OPENS, *ports) as second:
        assert second.finish().stdout.splitlines() == ["opened", "opened"]


@pytest.mark.parametrize(("end", "code"), [("pass", 0), ("1 / 0", 1), ("sys.exit(3)", 3)])
def test_the_driver_comes_back_however_the_program_ends(
    programs: Programs, plugging: Plugging, end: str, code: int
) -> None:
    """Normally, by an exception that nobody caught, or by an exit in the middle."""
    plugging.keyboard()
    with programs.python(HOLDS, KEYBOARD_PORT) as process:
        assert process.stdout.readline() == "open\n"
        assert not has_driver("HID456")
        assert process.finish(f"{end}\n").code == code
    wait_until(lambda: has_driver("HID456"), "given back")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_listening_and_the_driver_comes_back(
    programs: Programs, plugging: Plugging, number: signal.Signals
) -> None:
    plugging.keyboard()
    words = ("--port", KEYBOARD_PORT, "--profile", "keyboard-number-enter")
    with programs.start("listen", *words) as process:
        wait_until(lambda: not has_driver("HID456"), "taken")
        process.send_signal(number)
        assert process.finish().code == 130
    # The kernel binds its driver by itself, which takes a moment on a busy machine.
    wait_until(lambda: has_driver("HID456"), "given back")


def test_what_a_killed_program_left_is_released(programs: Programs, plugging: Plugging) -> None:
    plugging.keyboard()
    with programs.python(HOLDS, KEYBOARD_PORT) as process:
        assert process.stdout.readline() == "open\n"
        process.send_signal(signal.SIGKILL)
        assert process.finish().code == -signal.SIGKILL
    assert not has_driver("HID456")
    done = programs.jbridge("ports", "--release", "--json")
    assert done.code == 0, done.stderr
    assert [row["happened"] for row in json.loads(done.stdout)] == ["released"]
    assert has_driver("HID456")


def test_what_another_program_holds_is_not_released(programs: Programs, plugging: Plugging) -> None:
    plugging.keyboard()
    with closing(open_port(KEYBOARD_PORT, Link())):
        done = programs.jbridge("ports", "--release", "--json")
        assert [row["happened"] for row in json.loads(done.stdout)] == ["in use"]
        assert not has_driver("HID456")
