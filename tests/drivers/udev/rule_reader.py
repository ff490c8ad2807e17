"""A reader of udev rules, written from udev(7) apart from the program, and their faults."""

import re
from typing import NamedTuple

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
        """It compares; else it assigns."""
        return self.operator in ("==", "!=")

    @property
    def name(self) -> str:
        """Key and attribute as they are written."""
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
    """Everything that is wrong with one rule."""
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
