"""What is attached, from the system's own tree, and whether it may be opened and why not."""

import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from drivers.attached.access import Rights, rights_on, why_not
from drivers.attached.discovery import Attached, attached, candidates, typing_only
from drivers.printable import shown
from tests.drivers.fake_machine import FakeMachine


@pytest.fixture
def fake(tmp_path: Path) -> FakeMachine:
    return FakeMachine(tmp_path)


def by_port(fake: FakeMachine) -> dict[str, Attached]:
    return {Path(one.port).name: one for one in attached(fake.machine)}


def test_nothing_is_attached_to_an_empty_machine(fake: FakeMachine) -> None:
    assert attached(fake.machine) == ()
    assert candidates(fake.machine) == ()


def test_a_machine_without_any_tree_has_nothing(tmp_path: Path) -> None:
    fake = FakeMachine(tmp_path)
    for folder in ("bus/usb/devices", "bus/usb-serial/devices"):
        (fake.machine.sys / folder).rmdir()
    assert attached(fake.machine) == ()


def test_an_adapter_is_listed_with_all_that_is_known(fake: FakeMachine) -> None:
    device = fake.usb("1-2.3", serial="A1", manufacturer="Acme", title="Bridge", power="auto")
    fake.tty_usb(device, "ttyUSB0", latency_ms=16)
    fake.link("serial/by-id/usb-Acme-A1", "ttyUSB0")
    fake.link("serial/by-path/pci-0-usb-1.3", "ttyUSB0")
    (one,) = attached(fake.machine)
    assert one == Attached(
        port=str(fake.machine.dev / "ttyUSB0"),
        kind="serial",
        looks_like="Acme Bridge",
        identity="usb:1209:0001:A1",
        socket="1-2.3",
        node=str(fake.machine.dev / "ttyUSB0"),
        link=str(fake.machine.dev / "serial/by-id/usb-Acme-A1"),
        latency_ms=16,
        power="auto",
        number="2",
    )


def test_the_link_of_a_gauges_rule_is_the_best(fake: FakeMachine) -> None:
    fake.tty_acm(fake.usb("1-2", serial="A1"), "ttyACM0")
    fake.link("serial/by-id/usb-A1", "ttyACM0")
    fake.link("gauges/bench1", "ttyACM0")
    assert by_port(fake)["ttyACM0"].link.endswith("/gauges/bench1")


def test_without_a_number_of_its_own_the_link_by_id_is_not_offered(fake: FakeMachine) -> None:
    """Two such adapters share it, and the last one wins."""
    for number in (0, 1):
        fake.tty_usb(fake.usb(f"1-{number + 1}"), f"ttyUSB{number}")
    fake.link("serial/by-id/usb-Bridge", "ttyUSB1")
    fake.link("serial/by-path/usb-1", "ttyUSB0")
    found = by_port(fake)
    assert found["ttyUSB0"].link.endswith("/by-path/usb-1")
    assert found["ttyUSB1"].link == ""


def test_terminals_and_ports_without_hardware_are_left_out(fake: FakeMachine) -> None:
    fake.virtual_terminal("tty1")
    fake.tty_onboard("ttyS0", kind=4)
    fake.tty_onboard("ttyS1", kind=0)
    assert list(by_port(fake)) == ["ttyS0"]


def test_a_keyboard_type_device_is_listed_by_the_name_that_opens_it(fake: FakeMachine) -> None:
    fake.keyboard("1-4", serial="K7", product="0002", title="Caliper")
    (one,) = attached(fake.machine)
    assert (one.kind, one.port, one.identity) == ("keyboard", *["usb:1209:0002:K7"] * 2)
    assert one.looks_like == "Caliper"
    assert not one.is_driverless


def test_two_equal_keyboards_are_listed_by_socket(fake: FakeMachine) -> None:
    fake.keyboard("1-4", product="0002")
    fake.keyboard("1-5.2", product="0002")
    assert [one.port for one in attached(fake.machine)] == [
        "usb:1209:0002@1-4",
        "usb:1209:0002@1-5.2",
    ]
    assert all(one.alike for one in attached(fake.machine))


def test_a_keyboard_that_lost_its_driver_is_noticed(fake: FakeMachine) -> None:
    fake.keyboard("1-4", driver="")
    assert attached(fake.machine)[0].is_driverless


def test_a_device_that_describes_itself_as_keyboard_is_one(fake: FakeMachine) -> None:
    """The first bytes of HID 1.11, appendix E.6: usage page generic desktop, usage keyboard, and
    eight one-bit modifiers with six key codes.
    """
    descriptor = bytes.fromhex(
        "05010906a101050719e029e71500250175019508810295017508810195067508150025650507190029658100c0"
    )
    for socket, text in (("1-1", descriptor), ("1-2", bytes.fromhex("05010902a101c0"))):
        inner = fake.interface(fake.usb(socket), 0, "030000", "usbhid") / "0003:1209:0001.0001"
        inner.mkdir()
        (inner / "report_descriptor").write_bytes(text)
    assert [one.socket for one in attached(fake.machine)] == ["1-1"]


# A bit for each key: HID 1.11, 6.2.2, modifier bits and then 120 bits of the keys' page.
BITMAP = bytes.fromhex("05010906a101050719e029e715002501750195088102050719002977957875018102c0")


def test_a_keyboard_whose_keys_come_in_another_form_is_not_promised_to_be_readable(
    fake: FakeMachine,
) -> None:
    fake.described_keyboard("1-1", BITMAP)
    (one,) = attached(fake.machine)
    assert one.trouble == ""  # it may be opened: that is not the same
    assert "cannot read" in one.unreadable
    assert "typed:" in one.unreadable


def test_a_boot_keyboard_may_be_asked_for_the_boot_form_whatever_it_describes(
    fake: FakeMachine,
) -> None:
    fake.described_keyboard("1-1", BITMAP, kind="030101")
    fake.keyboard("1-2")
    assert [one.unreadable for one in attached(fake.machine)] == ["", ""]


def test_a_keyboard_that_is_not_on_usb_can_be_typed_with_only(fake: FakeMachine) -> None:
    fake.input_list(
        "I: Bus=0005 Vendor=1209 Product=0003 Version=0111\n"
        'N: Name="Caliper \x1b[2J"\n'
        "S: Sysfs=/devices/virtual/misc/uhid/0005:1209:0003.0001/input/input7\n"
        "B: KEY=ffff fffffffffffffffe\n\n"
    )
    assert typing_only(fake.machine) == (
        Attached(
            port="typed:",
            kind="typed",
            looks_like="Caliper \\x1b[2J, by Bluetooth",
            identity="input:0005:1209:0003",
            number="input7",
        ),
    )
    assert attached(fake.machine) == ()


def test_a_mouse_and_a_hub_are_nothing(fake: FakeMachine) -> None:
    fake.interface(fake.usb("1-1"), 0, "030102", "usbhid")
    (fake.usb("1-2") / "bDeviceClass").write_text("09\n")
    assert attached(fake.machine) == ()
    assert candidates(fake.machine) == ()


@pytest.mark.parametrize(
    ("kind", "driver", "words"),
    [
        ("020201", "", "no driver"),
        ("020201", "usbfs", "another program has taken it"),
        ("ff0000", "", "no driver"),
        ("ffffff", "usbfs", "another program has taken it"),
    ],
)
def test_an_adapter_without_a_port_is_a_candidate_with_a_reason(
    fake: FakeMachine, kind: str, driver: str, words: str
) -> None:
    fake.interface(fake.usb("1-2", serial="A1"), 0, kind, driver)
    (one,) = candidates(fake.machine)
    assert (one.kind, one.port, one.identity) == ("candidate", "", "usb:1209:0001:A1")
    assert words in one.trouble


def test_a_device_that_a_driver_has_is_no_candidate(fake: FakeMachine) -> None:
    device = fake.usb("1-2")
    fake.interface(device, 0, "e00101", "btusb")
    fake.interface(device, 1, "ff0000", "")
    assert candidates(fake.machine) == ()


def test_hostile_texts_of_a_device_are_escaped(fake: FakeMachine) -> None:
    title = 'x"\n%s$(reboot)*\x1b[2J\u202e' + "y" * 300
    fake.tty_acm(fake.usb("1-2", title=title, manufacturer="\x00", serial="a'b$%*"), "ttyACM0")
    (one,) = attached(fake.machine)
    assert one.looks_like.isprintable()
    assert len(one.looks_like) <= 80
    assert "\\x1b[2J\\u202e" in one.looks_like
    assert one.identity.isprintable()


def test_bytes_that_are_no_text_are_shown_all_the_same(fake: FakeMachine) -> None:
    fake.tty_acm(fake.usb("1-2", title="\udcff\udcfe"), "ttyACM0")
    assert attached(fake.machine)[0].looks_like.isprintable()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Gauge 9", "Gauge 9"),
        ("Messuhr µ", "Messuhr µ"),
        ("a\tb\x9f", "a\\x09b\\x9f"),
        ("\u200f", "\\u200f"),
        ("x" * 81, "x" * 79 + "…"),
    ],
)
def test_what_is_shown_of_a_text(text: str, expected: str) -> None:
    assert shown(text) == expected


# --- rights ---


def test_a_node_that_is_there_may_be_opened(tmp_path: Path) -> None:
    (tmp_path / "node").touch()
    assert rights_on(str(tmp_path / "node")) == Rights(exists=True, may_open=True)


def test_a_node_that_is_not_there_is_said(fake: FakeMachine) -> None:
    fake.tty_acm(fake.usb("1-2"), "ttyACM0")
    (fake.machine.dev / "ttyACM0").unlink()
    assert "cannot be reached" in by_port(fake)["ttyACM0"].trouble


def test_rights_are_judged_by_group_of_node_and_login(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    node = tmp_path / "node"
    node.touch(0o660)
    facts = os.stat_result((0o20660, 1, 1, 1, 0, 20, 0, 0, 0, 0))
    mocker.patch("drivers.attached.access.os.stat", return_value=facts)
    mocker.patch("drivers.attached.access.os.access", return_value=False)
    mocker.patch("drivers.attached.access.os.getuid", return_value=1000)
    mocker.patch("drivers.attached.access.os.getegid", return_value=1000)
    mocker.patch("drivers.attached.access.os.getgroups", return_value=[1000])
    mocker.patch("pwd.getpwuid", return_value=mocker.Mock(pw_name="ada", pw_gid=1000))
    group = mocker.patch("grp.getgrgid")
    group.return_value = mocker.Mock(gr_name="dialout", gr_mem=[])
    rights = Rights(exists=True, may_open=False, group="dialout", user="ada")
    assert rights_on(str(node)) == rights
    group.return_value = mocker.Mock(gr_name="dialout", gr_mem=["ada"])
    assert rights_on(str(node)) == Rights(
        exists=True, may_open=False, group="dialout", has_group=True, user="ada"
    )


def test_a_login_that_the_system_does_not_know_is_told_of_the_group(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    facts = os.stat_result((0o20660, 1, 1, 1, 0, 20, 0, 0, 0, 0))
    mocker.patch("drivers.attached.access.os.stat", return_value=facts)
    mocker.patch("drivers.attached.access.os.access", return_value=False)
    mocker.patch("drivers.attached.access.os.getegid", return_value=1000)
    mocker.patch("drivers.attached.access.os.getgroups", return_value=[])
    mocker.patch("pwd.getpwuid", side_effect=KeyError)
    mocker.patch("grp.getgrgid", return_value=mocker.Mock(gr_name="dialout", gr_mem=[]))
    assert rights_on("/dev/x").group == "dialout"
    assert rights_on("/dev/x").user == "$USER"


def no(
    group: str = "", has_group: bool = False, has_group_now: bool = False, is_usb: bool = True
) -> str:
    rights = Rights(
        exists=True,
        may_open=False,
        group=group,
        has_group=has_group,
        has_group_now=has_group_now,
        user="ada",
    )
    return why_not(rights, "/dev/x", is_usb=is_usb)


def test_the_reason_names_what_to_do() -> None:
    assert why_not(Rights(exists=True, may_open=True), "/dev/x", is_usb=True) == ""
    outside = no(group="dialout")
    assert "jbridge udev --for /dev/x" in outside
    assert "sudo usermod -a -G dialout ada" in outside
    assert "Log out and in again" in no(group="dialout", has_group=True)
    assert "usermod" not in no(group="dialout", has_group=True)
    # the group has it and it is still refused, or no group has rights: only a rule helps
    for text in (no(group="dialout", has_group=True, has_group_now=True), no()):
        assert "jbridge udev" in text
        assert "usermod" not in text


def test_for_a_port_of_the_machine_itself_no_rule_is_offered() -> None:
    assert "jbridge udev" not in no(is_usb=False, group="dialout")
    assert "usermod -a -G dialout ada" in no(is_usb=False, group="dialout")
    assert "console" in no(is_usb=False)


def test_a_hostile_name_is_quoted_for_the_shell() -> None:
    text = why_not(Rights(exists=True, may_open=False), "usb:1209:0002:$(reboot)", is_usb=True)
    assert "--for 'usb:1209:0002:$(reboot)'" in text


@pytest.mark.parametrize("reason", [no(group="dialout"), no()])
def test_nobody_is_told_to_let_everybody_in_or_to_be_root(reason: str) -> None:
    assert "666" not in reason
    assert "sudo jbridge" not in reason
