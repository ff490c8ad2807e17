"""What is attached, judged from given facts: no device is asked."""

from typing import Any

import pytest

from daq.services.doctor.facts import DeviceFacts, GaugeFacts
from daq.services.doctor.finding import MachineFinding
from daq.services.doctor.gauges import (
    grabber_finding,
    library_finding,
    port_findings,
    rule_findings,
)
from drivers.attached.discovery import Attached
from drivers.attached.holders import Holder
from drivers.udev.installed import InstalledRule

NO_RIGHTS = "this user may not open it: join its group"


def port(trouble: str = "", *gauges: str, node: str = "/dev/ttyUSB0", **more: Any) -> GaugeFacts:
    device = Attached(
        port=node,
        kind="serial",
        looks_like="Bridge",
        identity="usb:1209:0001:A1",
        socket="1-2",
        node=node,
        trouble=trouble,
    )
    return GaugeFacts(device=device, gauges=gauges, **more)


def keyboard(trouble: str = "", *gauges: str, unreadable: str = "") -> GaugeFacts:
    device = Attached(
        port="usb:1209:0002:K7",
        kind="keyboard",
        looks_like="Caliper",
        identity="usb:1209:0002:K7",
        socket="1-3",
        node="/dev/bus/usb/001/004",
        trouble=trouble,
        unreadable=unreadable,
    )
    return GaugeFacts(device=device, gauges=gauges)


def onboard(trouble: str = "", *gauges: str) -> GaugeFacts:
    device = Attached(
        port="/dev/ttyS0",
        kind="serial",
        looks_like="a port of the machine itself",
        identity="/dev/ttyS0",
        node="/dev/ttyS0",
        trouble=trouble,
    )
    return GaugeFacts(device=device, gauges=gauges)


def ports(*attached: GaugeFacts, **more: Any) -> list[MachineFinding]:
    return list(port_findings(DeviceFacts(attached=attached, **more)))


def test_without_any_gauge_it_is_said_and_nothing_needed_is_missing() -> None:
    (one,) = ports()
    assert (one.ok, one.needed) == (False, False)
    assert "plug it in" in one.message
    assert "typed:" in one.message


def test_a_port_that_may_be_opened_is_one_good_line() -> None:
    assert ports(port("", "mike")) == [
        MachineFinding("port", True, True, "/dev/ttyUSB0 (Bridge, gauge mike): may be opened")
    ]


def test_a_port_without_rights_says_what_to_mend() -> None:
    (one,) = ports(port(NO_RIGHTS))
    assert (one.ok, one.needed) == (False, True)
    assert one.message == f"/dev/ttyUSB0 (Bridge): {NO_RIGHTS}"


@pytest.mark.parametrize(
    ("attached", "needed"),
    [
        # nobody's port beside one that works: a telephone, perhaps
        ([port(NO_RIGHTS), port(node="/dev/ttyUSB1")], [False, True]),
        ([port(NO_RIGHTS), keyboard("", "caliper")], [False, True]),
        # the shop's own gauge is needed, whatever else works
        ([port(NO_RIGHTS, "mike"), port(node="/dev/ttyUSB1")], [True, True]),
        # a keyboard that no gauge file knows is no gauge that could be used instead
        ([port(NO_RIGHTS), keyboard()], [True, False]),
        # a port of the machine itself is no gauge until a gauge file says so
        ([onboard(NO_RIGHTS)], [False]),
        ([onboard(NO_RIGHTS, "mike")], [True]),
    ],
)
def test_what_a_session_cannot_do_without(attached: list[GaugeFacts], needed: list[bool]) -> None:
    assert [one.needed for one in ports(*attached)] == needed


def test_a_port_in_use_is_not_promised() -> None:
    (one,) = ports(port(holders=(Holder(12, "screen"),)))
    assert not one.ok
    assert "in use by screen (process 12): close that program" in one.message


@pytest.mark.parametrize("trouble", ["", NO_RIGHTS])
def test_a_keyboard_of_nobodys_knowledge_is_no_fault(trouble: str) -> None:
    """It is somebody's keyboard; that programs may not read it is as it should be."""
    found = ports(keyboard(trouble), onboard())
    assert found[0].ok
    assert not found[0].needed
    assert f"If it is a gauge: {trouble or 'it may be opened'}" in found[0].message


def test_a_keyboard_gauge_that_cannot_be_read_is_not_promised() -> None:
    (rights,) = ports(keyboard(NO_RIGHTS, "caliper"))
    (form,) = ports(keyboard("", "caliper", unreadable="other keys"))
    (library,) = ports(keyboard("", "caliper"), library_trouble="no libusb")
    assert [(one.ok, one.needed) for one in (rights, form, library)] == [(False, True)] * 3
    assert form.message.endswith("other keys")
    assert library.message.endswith("no libusb")


def test_a_keyboard_that_is_not_on_usb_is_told_its_only_use() -> None:
    radio = Attached(port="typed:", kind="typed", looks_like="Caliper, by Bluetooth", identity="x")
    found = ports(others=(radio,))
    assert [one.name for one in found] == ["keyboard", "gauge"]
    assert "not on USB" in found[0].message
    assert "`--port typed:` only" in found[0].message


def test_a_device_without_a_port_and_a_broken_gauge_file_are_told() -> None:
    lost = Attached(port="", kind="candidate", looks_like="Bridge", identity="x", trouble="no port")
    found = ports(candidates=(lost,), faults=("a.toml, key port: missing.",))
    assert [(one.name, one.message) for one in found] == [
        ("port", "Bridge: no port"),
        ("gauge file", "a.toml, key port: missing"),
    ]
    assert not any(one.ok or one.needed for one in found)


# --- rules ---


def rules(*attached: GaugeFacts, **more: Any) -> list[MachineFinding]:
    return list(rule_findings(DeviceFacts(attached=attached, **more)))


def test_where_no_rule_is_installed_the_whole_command_is_named() -> None:
    (one,) = rules(port())
    assert (one.ok, one.needed) == (False, False)
    assert "`jbridge udev --for /dev/ttyUSB0` prints one" in one.message


def test_an_installed_rule_is_named_and_one_not_yet_in_force_wants_the_plug_pulled() -> None:
    installed = (InstalledRule("/etc/udev/rules.d/70-x.rules"),)
    assert rules(port(rules=installed)) == [
        MachineFinding("rule", True, False, "/dev/ttyUSB0: /etc/udev/rules.d/70-x.rules")
    ]
    (late,) = rules(port(NO_RIGHTS, rules=installed))
    assert not late.ok
    assert "unplug the gauge" in late.message


def test_a_rule_without_effect_says_why() -> None:
    late = InstalledRule("/etc/udev/rules.d/99-x.rules", "it comes after 73")
    (one,) = rules(port(rules=(late,)))
    assert not one.ok
    assert "99-x.rules has no effect: it comes after 73" in one.message


def test_rules_are_looked_for_where_they_make_sense() -> None:
    """Not for a port of the machine itself, nobody's keyboard, or a system without udev."""
    assert rules(onboard(), keyboard()) == []
    assert len(rules(keyboard("", "caliper"))) == 1
    assert rules(port(), has_udev=False) == []


def test_a_rule_is_advised_once() -> None:
    """Without rights the port's own line names it."""
    assert rules(port(NO_RIGHTS)) == []


# --- library and services ---


def test_the_library_is_needed_only_for_a_gauge_that_types() -> None:
    missing: dict[str, Any] = {"library_trouble": "install libusb-1.0-0"}
    assert library_finding(DeviceFacts(**missing)) == MachineFinding(
        "libusb", False, False, "install libusb-1.0-0"
    )
    known = DeviceFacts(attached=(keyboard("", "caliper"),), **missing)
    assert library_finding(known).needed
    assert not library_finding(DeviceFacts(attached=(keyboard(),), **missing)).needed
    assert library_finding(DeviceFacts()).ok


@pytest.mark.parametrize(
    ("attached", "running", "words"),
    [
        ((), (), ""),
        ((), ("brltty",), "Braille"),
        ((port(),), ("ModemManager",), "talks to new ports"),
        ((port(is_kept_from_modems=True),), ("ModemManager",), ""),
        ((onboard(),), ("ModemManager",), ""),
    ],
)
def test_programs_that_take_ports_are_told(
    attached: tuple[GaugeFacts, ...], running: tuple[str, ...], words: str
) -> None:
    one = grabber_finding(DeviceFacts(attached=attached, grabbers=frozenset(running)))
    assert one.ok is not bool(words)
    assert words in one.message
    assert not one.needed
