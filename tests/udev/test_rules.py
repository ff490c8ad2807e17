"""The example udev rules: read as udev would read them, and held against what a gauge needs."""

import re
from pathlib import Path
from typing import NamedTuple

import pytest

FOLDER = Path(__file__).parents[2] / "udev"
EXAMPLE = FOLDER / "70-journalbridge-gauge.rules"

# Sources: udev(7) for keys and operators; systemd's 73-seat-late.rules applies the `uaccess` tag,
# so that it must be set in a file before it, and its 60-serial.rules sets the port's properties.
TOKEN = re.compile(r'([A-Z]+)(?:\{([^{}"]+)\})?(==|!=|\+=|-=|:=|=)"([^"\\]*)"')
MATCH_ONLY = {"ACTION", "SUBSYSTEM", "SUBSYSTEMS", "KERNEL", "KERNELS", "ATTRS", "DRIVERS", "TEST"}
ASSIGN_ONLY = {"SYMLINK", "GOTO", "LABEL", "OWNER", "GROUP", "MODE", "OPTIONS"}
BOTH = {"ATTR", "ENV", "TAG", "TAGS", "NAME", "PROGRAM", "RESULT", "IMPORT", "RUN"}


class Token(NamedTuple):
    """One KEY{attribute}OPERATOR"value" of a rule."""

    key: str
    attribute: str
    operator: str
    value: str

    @property
    def is_match(self) -> bool:
        return self.operator in ("==", "!=")

    @property
    def name(self) -> str:
        return f"{self.key}{{{self.attribute}}}" if self.attribute else self.key


def rules_of(text: str) -> tuple[list[list[Token]], list[str]]:
    """The rules of a file, and the faults of their writing."""
    rules: list[list[Token]] = []
    faults: list[str] = []
    for line in text.replace("\\\n", "").splitlines():
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        tokens: list[Token] = []
        at = 0
        while at < len(line):
            found = TOKEN.match(line, at)
            if found is None:
                faults.append(f"not KEY operator value: {line[at:]}")
                break
            tokens.append(Token(found[1], found[2] or "", found[3], found[4]))
            at = found.end()
            if at < len(line):
                comma = re.compile(r", ?").match(line, at)
                if comma is None or comma.end() == len(line):
                    faults.append(f"no comma between tokens: {line[at:]}")
                    break
                at = comma.end()
        rules.append(tokens)
    return rules, faults


def faults_of(name: str, text: str) -> list[str]:
    """Everything that is wrong with a rules file for a gauge."""
    rules, faults = rules_of(text)
    if not "60-serial.rules" < name < "73-seat-late.rules":
        faults.append("sorts outside 60-serial and 73-seat-late")
    labels = [t.value for rule in rules for t in rule if t.key == "LABEL"]
    gotos = [t.value for rule in rules for t in rule if t.key == "GOTO"]
    faults += [f"GOTO {goto} has no LABEL" for goto in gotos if goto not in labels]
    faults += [f"LABEL {label} is unused" for label in labels if label not in gotos]
    for rule in rules:
        faults += faults_of_rule(rule)
    return faults


def faults_of_rule(rule: list[Token]) -> list[str]:
    faults = []
    matches = [token for token in rule if token.is_match]
    assigned = [token for token in rule if not token.is_match]
    for token in rule:
        if token.key not in MATCH_ONLY | ASSIGN_ONLY | BOTH:
            faults.append(f"unknown key {token.key}")
        if token.key in MATCH_ONLY and not token.is_match:
            faults.append(f"{token.name} only matches")
        if token.key in ASSIGN_ONLY - {"SYMLINK"} and token.is_match:
            faults.append(f"{token.name} only assigns")
        if token.key in ("TAG", "SYMLINK") and token.operator in ("=", ":="):
            faults.append(f"{token.name} takes away what other files set")
    for key in {token.name for token in matches}:
        wanted = {token.value for token in matches if token.name == key and token.operator == "=="}
        if len(wanted) > 1:
            faults.append(f"{key} matches nothing")
    named = {token.name for token in matches if token.operator == "=="}
    if Token("TAG", "", "+=", "uaccess") in assigned and not (
        {"ATTRS{idVendor}", "ATTRS{idProduct}"} <= named
        or {"ATTR{idVendor}", "ATTR{idProduct}"} <= named
    ):
        faults.append("uaccess without vendor and product")
    for token in assigned:
        if token.key == "RUN":
            faults.append("runs a program")
        if token.key == "NAME":
            faults.append("renames the device")
        if token.key == "MODE" and token.value[-1:] not in ("0", ""):
            faults.append("lets everybody in")
        if token.key == "SYMLINK" and not re.fullmatch(r"gauges/[A-Za-z0-9_-]+", token.value):
            faults.append(f"a link outside gauges/: {token.value}")
        if "%" in token.value or "$" in token.value:
            faults.append(f"a substitution: {token.value}")
    return faults


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
