"""A whole `jbridge measure` on real devices, the cable pulled in the middle."""

from typing import Any

from simulator.gadgets import SOCKETS, KeyboardGadget, SerialGadget
from tests.system.conftest import Program, Shop
from tests.system.kernel.conftest import (
    KEYBOARD_PORT,
    SERIAL,
    Plugging,
    came,
    has_driver,
    nodes,
    went,
)

STACK = ("59.970", "59.971")  # unlike: equal ones so soon count as a held button
GOOD = ("59.980", "59.981", "59.979", "59.980")


class Job:
    """One session with one gauge: what is sent is awaited as an event."""

    def __init__(self, shop: Shop, gauge: SerialGadget | KeyboardGadget, end: str) -> None:
        self.shop = shop
        self.gauge = gauge
        self._end = end

    def start(self, port: str, profile: str) -> Program:
        """`measure`, until the first stint waits."""
        program = self.shop.run(
            *("measure", str(self.shop.plan), "--port", port, "--profile", profile),
            *("--session", str(self.shop.session)),
        )
        program.wait_for("stint")
        return program

    def press(self, program: Program, kind: str, *values: str) -> None:
        """Press send once for each value, and wait for what becomes of it."""
        for value in values:
            self.gauge.send(value + self._end)
            program.wait_for(kind)

    def check(self, program: Program) -> dict[str, Any]:
        """The readings on the stack, and the judgement."""
        self.press(program, "check_reading", *STACK)
        return program.wait_for("check_judged", passed=True)


def test_a_serial_gauge_comes_back_in_another_socket(shop: Shop, plugging: Plugging) -> None:
    job = Job(shop, plugging.serial(), " mm\r\n")
    program = job.start("/dev/ttyACM0", str(shop.profile))
    job.check(program)
    job.press(program, "reading", *GOOD[:2])
    job.gauge.unplug()
    program.wait_for("link_lost")
    went("ACM123")
    other = plugging.serial(SERIAL._replace(serial="ACM999"), SOCKETS[3])  # takes the old name
    assert nodes("ACM999") == ["/dev/ttyACM0"]
    job.gauge.plug(SOCKETS[2])
    assert came("ACM123", "tty") == "/dev/ttyACM1"
    assert "1209:0001:ACM123" in str(program.wait_for("link_back"))
    program.wait_for("stint", cause="power-loss")
    other.send("60.000 mm\r\n")  # the gauge that nobody asked
    job.check(program)
    job.press(program, "reading", *GOOD)
    job.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert "60.000" not in (shop.session / "ledger.jsonl").read_text()


def test_a_keyboard_gauge_comes_back_in_another_socket(shop: Shop, plugging: Plugging) -> None:
    job = Job(shop, plugging.keyboard(), "\n")
    program = job.start(KEYBOARD_PORT, "keyboard-number-enter")
    job.check(program)
    job.press(program, "reading", *GOOD[:2])
    job.gauge.unplug()
    program.wait_for("link_lost")
    went("HID456")
    job.gauge.plug(SOCKETS[3])
    program.wait_for("link_back")
    program.wait_for("stint", cause="power-loss")
    assert not has_driver("HID456")
    job.check(program)
    job.press(program, "reading", *GOOD)
    job.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert has_driver("HID456")


def test_another_gauge_in_the_same_socket_is_noticed(shop: Shop, plugging: Plugging) -> None:
    job = Job(shop, plugging.serial(), " mm\r\n")
    program = job.start("/dev/ttyACM0", str(shop.profile))
    job.check(program)
    job.press(program, "reading", GOOD[0])
    job.gauge.remove()
    program.wait_for("link_lost")
    went("ACM123")
    job.gauge = plugging.serial(SERIAL._replace(serial="ACM999"))
    stint = program.wait_for("stint", stint=2)
    assert "ACM999" in str(stint)
    job.check(program)
    job.press(program, "reading", *GOOD)
    job.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"


def test_keys_of_a_second_device_answer_where_nobody_is_at_a_keyboard(
    shop: Shop, plugging: Plugging
) -> None:
    gauge, pad = plugging.serial(), plugging.keyboard()
    # Keys 1, 2 and 3 of the top row.
    program = shop.run(
        *("measure", str(shop.plan), "--port", "/dev/ttyACM0", "--profile", str(shop.profile)),
        *("--session", str(shop.session)),
        *("--send-key", f"{KEYBOARD_PORT}=1E:keep,1F:drop,20:back"),
        has_keyboard=False,
    )
    program.wait_for("stint")
    program.wait_for_talk("send key: 1 (1E) keeps, 2 (1F) drops, 3 (20) takes back")
    job = Job(shop, gauge, " mm\r\n")
    job.check(program)
    job.press(program, "held", "61.000")
    pad.send("2")
    program.wait_for("dropped", why="operator")
    job.press(program, "reading", GOOD[0])
    pad.send("3")
    program.wait_for("void")
    job.press(program, "held", "61.000")
    pad.send("1")
    program.wait_for("kept")
    pad.send("4")
    program.wait_for_talk("4 (21) means nothing here")
    job.press(program, "reading", *GOOD[1:])
    job.check(program)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
