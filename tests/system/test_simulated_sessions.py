"""Whole sessions on gauges that somebody else plays: asked by text, asked over Modbus, typing."""

import json
import threading
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.cli.app import run
from daq.cli.displays import JsonShow
from drivers.ports import usb_interface
from simulator.keystrokes import LEFT_CTRL, ROLL_OVER, chord
from simulator.usb_backend import SimulatedUsb
from simulator.usb_bus import UsbBus
from simulator.usb_device import SimulatedDevice
from tests.system.conftest import PATIENCE_S, PLAN, Program, Shop

PLACES = [f"at M1 {end} {angle}" for end in ("front", "rear") for angle in (0, 90)]


class Simulated:
    """A gauge that `simulate` plays, told by lines what is between its anvils."""

    def __init__(self, shop: Shop, form: str) -> None:
        self.program = shop.run("simulate", "--format", form, "--repeatability", "0")
        self.port = self.program.wait_for_next()["port"]
        self._held = 0

    def hold(self, what: str) -> None:
        """Type a line and wait until it was obeyed: a word that none knows is complained of."""
        self._held += 1
        self.program.type(f"{what}\ndone-{self._held}")
        self.program.wait_for_talk(f"done-{self._held}")


@pytest.mark.parametrize("form", ["ask-number-unit-cr", "modbus-int32"])
def test_a_gauge_that_is_asked_from_check_to_tables(shop: Shop, form: str) -> None:
    shop.plan.write_text(PLAN.replace('low = "59.970 mm"', 'low = "59.900 mm"'))
    gauge = Simulated(shop, form)
    program = shop.run(
        *("measure", str(shop.plan), "--port", gauge.port, "--profile", form),
        *("--session", str(shop.session)),
    )
    program.wait_for("stint")
    stack = ["stack 59.97 mm"] * 2
    for what in (*stack, *PLACES, *stack):
        gauge.hold(what)
        program.type("")
        program.wait_for("check_reading" if "stack" in what else "reading")
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert gauge.program.process.poll() is None


def test_a_modbus_gauge_with_a_fault_in_between(shop: Shop) -> None:
    gauge = Simulated(shop, "modbus-int32")
    program = shop.run(
        *("measure", str(shop.plan), "--port", gauge.port, "--profile", "modbus-int32"),
        *("--session", str(shop.session)),
    )
    program.wait_for("stint")
    gauge.hold("stack 59.97 mm")
    for manner, code in (
        ("exception 2", "modbus.exception-02"),
        ("wrong-crc", "checksum"),
        ("wrong-unit", "address"),
        ("off", "no-reply"),
    ):
        gauge.hold(f"answer {manner}")
        _press_until(program, code)
    gauge.hold("answer on")
    program.type("")
    assert program.wait_for("check_reading")["sent"]["value"] == "59.970"


def _press_until(program: Program, code: str) -> None:
    """Press until the gauge does as it was told; what it said before that is no matter here."""
    for _ in range(20):
        program.type("")
        event = program.wait_for_next(code)
        if event.get("code") == code:
            return
    raise AssertionError(f"never {code}")


KEYBOARD_PROFILE = """schema = 1
id = "typing"
kind = "text"
[link]
transport = "usb-hid-keyboard"
keyboard = "de"
[frame]
end = "\\n"
[[layout]]
name = "number"
form = "fixed"
sep = ","
[value]
unit = "mm"
"""


def test_a_typing_gauge_whose_chords_and_roll_overs_leave_a_note_and_nothing_else(
    tmp_path: Path, mocker: MockerFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    bus = UsbBus()
    person = bus.plug(SimulatedDevice(product=0x0099, serial="desk"))
    device = bus.plug(SimulatedDevice(serial="K1"))
    mocker.patch.object(usb_interface, "BACKEND", SimulatedUsb(bus))
    mocker.patch("sys.stdin", None)
    (tmp_path / "plan.toml").write_text(PLAN)
    (tmp_path / "typing.toml").write_text(KEYBOARD_PROFILE)
    name = f"usb:{device.vendor:04x}:{device.product:04x}:K1"

    is_asked = threading.Event()
    mocker.patch.object(JsonShow, "begun", side_effect=lambda board: is_asked.set())

    def play() -> None:
        assert is_asked.wait(PATIENCE_S)  # what it typed before is no reading
        assert bus.wait_for_reader(PATIENCE_S)
        bus.type(person, "this is a letter to my aunt\n")
        sizes = ["59,970"] * 2 + ["59,980", "59,981", "59,979", "59,980"] + ["59,970"] * 2
        for size in sizes:
            bus.send(device, *chord(0x19, LEFT_CTRL), *ROLL_OVER_ONCE)
            bus.type(device, size + "\n", layout="de")

    thread = threading.Thread(target=play)
    thread.start()
    code = run(
        [
            *("measure", str(tmp_path / "plan.toml"), "--port", name, "--json"),
            *("--profile", str(tmp_path / "typing.toml"), "--session", str(tmp_path / "s")),
        ]
    )
    thread.join()
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert code == 0, lines[-1]
    assert lines[-1]["verdict"] == "accepted"
    notes = " ".join(line["text"] for line in lines if line.get("about") == "link")
    assert "modifier-01+19" in notes
    assert "rollover" in notes
    values = [line["sent"]["value"] for line in lines if line.get("kind") == "reading"]
    assert values == ["59.980", "59.981", "59.979", "59.980"]
    assert {who for who, _ in bus.desktop} == {person}, "nothing of the gauge reached it"
    assert device.interfaces[0].is_bound, "and the desktop has the gauge back"


ROLL_OVER_ONCE = (ROLL_OVER, bytes(8))
