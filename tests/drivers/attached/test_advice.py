"""What the user of an attached device is told."""

import pytest

from drivers.attached import advice

NONE: frozenset[str] = frozenset()
MODEM = frozenset({"ModemManager"})
BRAILLE = frozenset({"brltty"})


@pytest.mark.parametrize(("latency_ms", "is_said"), [(None, False), (1, False), (16, True)])
def test_a_slow_adapter_is_told_with_the_way_to_hurry_it(
    latency_ms: int | None, is_said: bool
) -> None:
    """16 ms is what the kernel's driver begins with. Source: ftdi_sio.c (from memory)."""
    text = advice.latency_advice(latency_ms, "/dev/ttyUSB3")
    assert bool(text) is is_said
    if is_said:
        assert "16 ms" in text
        assert "echo 1 | sudo tee /sys/bus/usb-serial/devices/ttyUSB3/latency_timer" in text


@pytest.mark.parametrize(("power", "is_said"), [("auto", True), ("on", False), ("", False)])
def test_sleep_is_told(power: str, is_said: bool) -> None:
    assert bool(advice.sleep_advice(power)) is is_said


def test_two_that_look_alike_are_to_be_labelled() -> None:
    assert "Label the sockets" in advice.alike_advice(True)
    assert advice.alike_advice(False) == ""


def test_modem_software_is_told_only_where_it_may_write() -> None:
    assert "talks to new ports" in advice.modem_advice(MODEM, False, True)
    assert advice.modem_advice(MODEM, True, True) == ""
    assert advice.modem_advice(MODEM, False, False) == ""
    assert advice.modem_advice(NONE, False, True) == ""


@pytest.mark.parametrize(
    "text",
    [
        advice.stolen_advice(BRAILLE, ()),
        advice.stolen_advice(NONE, ("brltty",)),
        advice.went_soon_advice(BRAILLE),
    ],
)
def test_the_braille_service_is_never_simply_to_be_removed(text: str) -> None:
    """Blind users need it. Source: the maintainer in arduino-ide issue 1788 for the version."""
    assert "blind people" in text
    assert "6.5" in text
    for word in ("remove", "purge", "apt"):
        assert word not in text.lower().replace("adapter", "")


def test_a_port_that_went_soon_has_a_reason_in_any_case() -> None:
    assert "loose plug" in advice.went_soon_advice(NONE)
    assert advice.stolen_advice(NONE, ()) == ""


def test_a_keyboard_without_driver_is_to_be_released_unless_a_program_reads_it() -> None:
    assert "jbridge ports --release" in advice.driverless_advice(True, ())
    assert advice.driverless_advice(True, ("jbridge",)) == ""
    assert advice.driverless_advice(False, ()) == ""
