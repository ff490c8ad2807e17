"""The rule files that `jbridge udev` makes, read by another reader, also for hostile devices."""

import os.path
import shlex

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.attached.tree import Tree, Tty, UsbDevice, UsbInterface
from drivers.errors import PortNameError, RuleRefused
from drivers.udev.rules import (
    RuleTarget,
    file_name,
    install_commands,
    link_name,
    rule_text,
)
from drivers.udev.targets import Targets, all_attached, one_named, renamed
from tests.drivers.udev.rule_reader import Token, faults_of, rules_of
from tests.places import ROOT

EXAMPLE = ROOT / "udev" / "70-journalbridge-gauge.rules"
KEYBOARD = (UsbInterface("00", ("03", "01", "01"), "usbhid", is_keyboard=True),)


def unit(socket: str = "1-2", serial: str | None = "A1", **facts: object) -> UsbDevice:
    return UsbDevice(socket=socket, vendor="1209", product="0001", serial=serial, **facts)  # type: ignore[arg-type] # a test's shorthand


def with_port(*units: UsbDevice, latency_ms: int | None = None) -> Tree:
    ttys = [
        Tty(node=f"/dev/ttyUSB{number}", socket=one.socket, interface="00", latency_ms=latency_ms)
        for number, one in enumerate(units)
    ]
    return Tree(units, tuple(ttys))


def unknown(identity: str) -> None:
    return None


def made(tree: Tree, word: str | None = None, group: str | None = None) -> str:
    found = all_attached(tree, unknown) if word is None else named(word, tree)
    text = rule_text(found.targets, group)
    assert faults_of(file_name(found.targets), text) == []
    return text


def named(word: str, tree: Tree) -> Targets:
    return one_named(word, tree, unknown, os.path.normpath)


def lines_with(text: str, key: str, value: str) -> list[list[Token]]:
    rules, faults = rules_of(text)
    assert faults == []
    return [rule for rule in rules if any((t.key, t.value) == (key, value) for t in rule)]


def test_the_example_is_what_the_program_makes_for_the_test_device() -> None:
    found = renamed(named("usb:1209:0001", Tree()), "bench1")
    mine, _ = rules_of(rule_text(found.targets))
    example, _ = rules_of(EXAMPLE.read_text(encoding="utf-8"))
    assert [set(rule) for rule in mine] == [set(rule) for rule in example]


def test_a_serial_gauge_gets_rights_on_its_port_alone() -> None:
    text = made(with_port(unit()))
    (port,) = lines_with(text, "SUBSYSTEM", "tty")
    assert Token("ATTRS", "serial", "==", "A1") in port
    assert Token("TAG", "", "+=", "uaccess") in port
    assert Token("ENV", "ID_MM_PORT_IGNORE", "=", "1") in port
    assert Token("SYMLINK", "", "+=", "gauges/1209-0001-A1") in port
    for rule in lines_with(text, "SUBSYSTEM", "usb"):
        assert Token("ATTR", "serial", "==", "A1") in rule
        assert Token("TAG", "", "+=", "uaccess") not in rule
    assert "hidraw" not in text
    assert "latency" not in text


def test_an_adapter_that_holds_back_packets_is_told_not_to() -> None:
    (rule,) = lines_with(made(with_port(unit(), latency_ms=16)), "SUBSYSTEM", "usb-serial")
    assert Token("ATTR", "latency_timer", "=", "1") in rule
    assert Token("ATTRS", "serial", "==", "A1") in rule


def test_a_keyboard_type_gauge_gets_rights_on_the_device_and_its_reports() -> None:
    text = made(Tree((unit(interfaces=KEYBOARD),)), "usb:1209:0001:A1")
    for subsystem in ("usb", "hidraw"):
        tagged = [
            rule
            for rule in lines_with(text, "SUBSYSTEM", subsystem)
            if Token("TAG", "", "+=", "uaccess") in rule
        ]
        assert len(tagged) == 1
    assert "tty" not in text


def test_a_keyboard_that_no_gauge_file_knows_is_left_out_and_said() -> None:
    tree = Tree((unit(interfaces=KEYBOARD),))
    with pytest.raises(RuleRefused, match="types like a keyboard and no gauge file names it"):
        all_attached(tree, unknown)
    both = Tree((*tree.units, unit("1-3", "B2")), with_port(unit("1-3", "B2")).ttys)
    found = all_attached(both, unknown)
    assert [target.serial for target in found.targets] == ["B2"]
    assert "usb:1209:0001:A1 types like a keyboard" in found.notes[0]


@pytest.mark.parametrize("serial", ["A1", None, "A 1;$(x)"])
def test_the_command_that_is_named_for_a_keyboard_prints_its_rule(serial: str | None) -> None:
    tree = Tree((unit(serial=serial, interfaces=KEYBOARD),))
    with pytest.raises(RuleRefused) as caught:
        all_attached(tree, unknown)
    command = str(caught.value).split("`")[1]
    program, name, option, word = shlex.split(command)
    assert (program, name, option) == ("jbridge", "udev", "--for")
    assert [target.is_keyboard for target in named(word, tree).targets] == [True]
    assert 'TAG+="uaccess"' in made(tree, word)


def test_a_keyboard_that_a_gauge_file_knows_is_taken() -> None:
    found = all_attached(Tree((unit(interfaces=KEYBOARD),)), {"usb:1209:0001:A1": "cal"}.get)
    assert [target.is_keyboard for target in found.targets] == [True]


@pytest.mark.parametrize("serial", [None, "", 'A"1', "A 1", "A1\n", "A*", "A?", "[A]", "A|B", "%k"])
def test_without_a_plain_serial_number_the_rule_holds_for_the_socket(serial: str | None) -> None:
    tree = with_port(unit("1-2.3", serial))
    text = made(tree)
    (port,) = lines_with(text, "SUBSYSTEM", "tty")
    assert Token("KERNELS", "", "==", "1-2.3") in port
    for rule in lines_with(text, "SUBSYSTEM", "usb"):
        assert Token("KERNEL", "", "==", "1-2.3") in rule
    assert "ATTRS{serial}" not in text
    (note,) = all_attached(tree, unknown).notes
    assert "the USB socket 1-2.3 only" in note
    assert note.isprintable()


def test_two_devices_of_one_number_are_told_apart_by_socket() -> None:
    text = made(with_port(unit("1-2"), unit("1-3")))
    links = [t.value for rule in rules_of(text)[0] for t in rule if t.key == "SYMLINK"]
    assert links == ["gauges/1209-0001-1-2", "gauges/1209-0001-1-3"]


def test_two_gauges_never_get_one_name() -> None:
    tree = with_port(unit("1-2", "A1"), unit("1-3", "B2"))
    found = all_attached(tree, lambda identity: "bench")
    assert [target.links for target in found.targets] == [(("", "bench"),), (("", "bench-2"),)]


def test_several_ports_of_one_device_get_a_name_each() -> None:
    ttys = tuple(Tty(node=f"/dev/ttyUSB{n}", socket="1-2", interface=f"0{n}") for n in (0, 1))
    text = made(Tree((unit(),), ttys))
    ports = lines_with(text, "SUBSYSTEM", "tty")
    assert [
        [t.value for t in rule if t.key == "SYMLINK" or t.attribute == "ID_USB_INTERFACE_NUM"]
        for rule in ports
    ] == [["00", "gauges/1209-0001-A1-00"], ["01", "gauges/1209-0001-A1-01"]]


def test_several_lines_of_one_interface_get_no_name() -> None:
    ttys = tuple(Tty(node=f"/dev/ttyUSB{n}", socket="1-2", interface="00", line=n) for n in (0, 1))
    assert "SYMLINK" not in made(Tree((unit(),), ttys))


def test_the_group_variant_lets_the_group_in_and_nobody_else() -> None:
    text = made(with_port(unit()), group="dialout")
    (port,) = lines_with(text, "SUBSYSTEM", "tty")
    assert Token("GROUP", "", "=", "dialout") in port
    assert Token("MODE", "", "=", "0660") in port
    assert "0666" not in text


@pytest.mark.parametrize("group", ["", "dial out", 'x"', "a\nb", "-x", "x" * 40, "$user", "ROOT"])
def test_what_is_no_group_is_refused(group: str) -> None:
    with pytest.raises(RuleRefused, match="name of a group"):
        rule_text(all_attached(with_port(unit()), unknown).targets, group)


def test_a_port_is_chosen_by_its_path() -> None:
    found = named("/dev/ttyUSB1", with_port(unit("1-2", "A1"), unit("1-3", "B2")))
    assert [target.serial for target in found.targets] == ["B2"]


def test_a_port_of_the_machine_has_no_rule() -> None:
    with pytest.raises(RuleRefused, match="for USB only"):
        named("/dev/ttyS0", Tree((), (Tty(node="/dev/ttyS0"),)))


def test_a_name_of_two_attached_devices_is_refused_with_their_own_names() -> None:
    with pytest.raises(RuleRefused, match=r"usb:1209:0001:A1, usb:1209:0001:B2"):
        named("usb:1209:0001", with_port(unit("1-2", "A1"), unit("1-3", "B2")))


def test_a_name_of_a_kind_holds_for_the_kind() -> None:
    found = named("usb:1209:0001", with_port(unit()))
    assert (found.targets[0].serial, found.targets[0].socket) == (None, None)
    assert "every device of this kind" in found.notes[0]


def test_a_device_without_port_and_keys_is_refused() -> None:
    with pytest.raises(RuleRefused, match="no serial port"):
        named("usb:1209:0001:A1", Tree((unit(),)))


@pytest.mark.parametrize("word", ["usb:", "usb:1209", "usb:1209:", "usb:12:1", "usb:*:*", "usb:g"])
def test_half_a_name_is_refused(word: str) -> None:
    """A rule for half an id would hold for keyboards of other people."""
    with pytest.raises(PortNameError):
        named(word, Tree())


@pytest.mark.parametrize("name", ["", "../sda", "a b", "a/b", "%k", "$x", 'a"', "ä", "a" * 61])
def test_what_is_no_name_of_a_gauge_is_refused(name: str) -> None:
    with pytest.raises(RuleRefused, match="cannot be a gauge's name"):
        renamed(all_attached(with_port(unit()), unknown), name)


def test_one_name_is_for_one_gauge() -> None:
    found = all_attached(with_port(unit("1-2", "A1"), unit("1-3", "B2")), unknown)
    with pytest.raises(RuleRefused, match="--for"):
        renamed(found, "bench1")


def test_a_file_is_named_so_that_its_rights_come_in_time() -> None:
    one = all_attached(with_port(unit()), unknown).targets
    two = all_attached(with_port(unit("1-2", "A1"), unit("1-3", "B2")), unknown).targets
    assert file_name(one) == "70-journalbridge-1209-0001-A1.rules"
    assert file_name(two) == "70-journalbridge.rules"


def test_the_commands_install_reload_and_trigger() -> None:
    install, reload, trigger = install_commands("my rules", "70-x.rules")
    assert install == "sudo install -m 644 'my rules' /etc/udev/rules.d/70-x.rules"
    assert reload == "sudo udevadm control --reload"
    assert trigger.startswith("sudo udevadm trigger --action=add")


# --- hostile devices ---

TEXTS = st.text(max_size=40) | st.text('"\n\r%$*?[]|\\{}=,# aA1', max_size=20)


@given(serials=st.lists(TEXTS, min_size=1, max_size=3), title=TEXTS, names=st.lists(TEXTS))
def test_no_text_of_a_device_or_file_gets_a_meaning(
    serials: list[str], title: str, names: list[str]
) -> None:
    units = [
        unit(f"1-{place}", serial, title=title, maker=title, interfaces=KEYBOARD)
        for place, serial in enumerate(serials, 1)
    ]
    gauges = iter(names)
    found = all_attached(with_port(*units), lambda identity: next(gauges, None))
    text = rule_text(found.targets)
    assert text.isascii()
    assert faults_of(file_name(found.targets), text) == []
    links = [t.value for rule in rules_of(text)[0] for t in rule if t.key == "SYMLINK"]
    assert len(links) == len(set(links)) == len(units)
    # a serial number stands there as it is or not at all, and each rule is for one device
    compared = {t.value for rule in rules_of(text)[0] for t in rule if t.attribute == "serial"}
    assert compared <= set(serials)
    for rule in rules_of(text)[0][1:-1]:
        assert any(t.attribute == "serial" or t.value.startswith("1-") for t in rule if t.is_match)


@given(serial=TEXTS)
def test_a_named_device_that_is_not_attached_is_refused_or_plain(serial: str) -> None:
    try:
        found = named(f"usb:1209:0002:{serial}", Tree())
    except (RuleRefused, PortNameError):
        return
    assert faults_of(file_name(found.targets), rule_text(found.targets)) == []


@given(text=TEXTS)
def test_any_text_becomes_a_name_or_nothing(text: str) -> None:
    name = link_name(text)
    assert len(name) <= 60
    assert all(char.isascii() and (char.isalnum() or char in "-_") for char in name)


@given(vendor=TEXTS, product=TEXTS, serial=TEXTS, socket=TEXTS)
def test_a_target_of_any_texts_is_plain_or_refused(
    vendor: str, product: str, serial: str, socket: str
) -> None:
    try:
        target = RuleTarget(vendor=vendor, product="0001", serial=serial or None, is_serial=True)
    except RuleRefused:
        with pytest.raises(RuleRefused):
            RuleTarget(vendor="1209", product=product + "x", socket=socket + "\n")
        return
    assert faults_of(file_name([target]), rule_text([target])) == []
