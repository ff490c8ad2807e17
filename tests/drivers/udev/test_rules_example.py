"""The example udev rules: read as udev would read them, and held against what a gauge needs."""

import pytest

from tests.drivers.udev.rule_reader import Token, faults_of, rules_of
from tests.places import ROOT

FOLDER = ROOT / "udev"
EXAMPLE = FOLDER / "70-journalbridge-gauge.rules"

TEXT = EXAMPLE.read_text(encoding="utf-8")
RULES, _ = rules_of(TEXT)


def rule_with(*wanted: Token) -> list[Token]:
    (found,) = [rule for rule in RULES if set(wanted) <= set(rule)]
    return found


def test_the_example_is_the_only_rules_file_and_has_no_fault() -> None:
    assert [path.name for path in FOLDER.glob("*.rules")] == [EXAMPLE.name]
    assert faults_of(EXAMPLE.name, TEXT) == []


def test_the_example_is_plain_ascii_with_a_last_newline() -> None:
    assert TEXT.isascii()
    assert TEXT.endswith("\n")
    assert "\r" not in TEXT


def test_the_user_is_told_to_put_the_own_ids_in() -> None:
    header = TEXT[: TEXT.index("\nACTION")]
    assert all(line.startswith("#") for line in header.splitlines() if line)
    assert "your own" in header.lower()
    assert "idVendor" in header
    assert "plug" in header


def test_a_removed_device_is_left_alone() -> None:
    assert RULES[0] == [
        Token("ACTION", "", "==", "remove"),
        Token("GOTO", "", "=", "journalbridge_gauge_end"),
    ]
    assert RULES[-1] == [Token("LABEL", "", "=", "journalbridge_gauge_end")]


def test_the_serial_port_gets_rights_a_name_and_no_modem_commands() -> None:
    rule = rule_with(Token("SUBSYSTEM", "", "==", "tty"))
    assert Token("KERNEL", "", "==", "ttyACM[0-9]*|ttyUSB[0-9]*") in rule
    assert Token("TAG", "", "+=", "uaccess") in rule
    assert Token("ENV", "ID_MM_PORT_IGNORE", "=", "1") in rule
    assert Token("ENV", "ID_MM_DEVICE_IGNORE", "=", "1") in rule
    (link,) = [token for token in rule if token.key == "SYMLINK"]
    assert (link.operator, link.value) == ("+=", "gauges/bench1")


def test_the_usb_device_is_kept_from_modem_software_and_from_sleep() -> None:
    device = Token("ENV", "DEVTYPE", "==", "usb_device")
    # ModemManager reads the first property on the USB device itself
    assert Token("ENV", "ID_MM_DEVICE_IGNORE", "=", "1") in rule_with(
        device, Token("TAG", "", "+=", "uaccess")
    )
    power = rule_with(device, Token("ATTR", "power/control", "=", "on"))
    assert Token("ACTION", "", "==", "add") in power
    assert Token("TEST", "", "==", "power/control") in power


def test_a_keyboard_type_gauge_is_read_through_hidraw() -> None:
    assert Token("TAG", "", "+=", "uaccess") in rule_with(Token("SUBSYSTEM", "", "==", "hidraw"))


def test_every_rule_for_a_device_names_the_public_test_id_and_no_other() -> None:
    for rule in RULES[1:-1]:
        ids = {token.attribute: token.value for token in rule if token.attribute.startswith("id")}
        assert ids == {"idVendor": "1209", "idProduct": "0001"}


GOOD = 'ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0001", TAG+="uaccess"'
NAME = "70-x.rules"


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        (NAME, 'KERNEL=="ttyACM0" TAG+="x"', "no comma"),
        (NAME, 'KERNEL=="ttyACM0", TAG+="x",', "no comma"),
        (NAME, 'KERNEL="ttyACM0"', "KERNEL only matches"),
        (NAME, 'ATTRS{idVendor}="1209"', "ATTRS{idVendor} only matches"),
        (NAME, 'MODE=="0660"', "MODE only assigns"),
        (NAME, 'TAG="uaccess"', "takes away"),
        (NAME, 'SYMLINK="gauges/a"', "takes away"),
        (NAME, 'COLOUR=="red"', "unknown key COLOUR"),
        (NAME, 'ATTRS{serial}=="a"b"', "no comma"),
        (NAME, "KERNEL==ttyACM0", "not KEY operator value"),
        (NAME, 'GOTO="x"', "GOTO x has no LABEL"),
        (NAME, 'LABEL="x"', "LABEL x is unused"),
        (NAME, 'SUBSYSTEM=="usb", SUBSYSTEM=="tty"', "SUBSYSTEM matches nothing"),
        (NAME, 'ATTRS{idVendor}=="1", ATTRS{idVendor}=="2"', "matches nothing"),
        (NAME, 'ATTRS{idVendor}=="1209", TAG+="uaccess"', "uaccess without"),
        (NAME, 'ATTRS{idVendor}!="1209", ATTRS{idProduct}=="0001", TAG+="uaccess"', "without"),
        (NAME, f'{GOOD}, MODE="0666"', "lets everybody in"),
        (NAME, f'{GOOD}, RUN+="/bin/true"', "runs a program"),
        (NAME, f'{GOOD}, NAME="gauge"', "renames"),
        (NAME, f'{GOOD}, SYMLINK+="gauges/%s{{serial}}"', "a substitution"),
        (NAME, f'{GOOD}, SYMLINK+="../sda"', "a link outside"),
        ("99-x.rules", GOOD, "sorts outside"),
        ("50-x.rules", GOOD, "sorts outside"),
        ("73-seat-late.rules", GOOD, "sorts outside"),
    ],
)
def test_a_faulty_file_would_be_found(name: str, text: str, fault: str) -> None:
    assert any(fault in found for found in faults_of(name, text + "\n"))


def test_the_good_rule_of_the_faulty_ones_has_no_fault() -> None:
    assert faults_of(NAME, f'{GOOD}, GROUP="dialout", MODE="0660"\n') == []
