"""Which installed udev rules give rights on a device, and whether they come in time."""

import os
import re
from contextlib import suppress

import msgspec

from drivers.attached.machine import THIS_MACHINE, Machine

BEFORE = "73-seat-late.rules"
"""The file that gives the rights of the tag `uaccess`. Source: systemd's rules.d."""

_MOST_BYTES = 256 * 1024
_ID = re.compile(r'ATTRS?\{id(Vendor|Product)\}=="([^"]*)"')


class InstalledRule(msgspec.Struct, frozen=True):
    """One file that gives rights on a device. `fault` says why it has no effect, "" if it has."""

    path: str
    fault: str = ""


def rules_for(vendor: str, product: str, files: dict[str, str]) -> tuple[InstalledRule, ...]:
    """The files among `files` (path to text) with a line that is for this device and gives rights.

    Pure. Ids are four lower-case hexadecimal digits, as the system shows them.
    """
    found = {}
    for path, text in sorted(files.items()):
        for line in text.replace("\\\n", "").splitlines():
            ids = dict(_ID.findall(line))
            named = (ids.get("Vendor", ""), ids.get("Product", ""))
            if line.lstrip().startswith("#") or not all(named):
                continue
            if (named[0].lower(), named[1].lower()) != (vendor, product):
                continue
            is_tagged = 'TAG+="uaccess"' in line
            if is_tagged or "MODE=" in line or "GROUP=" in line:
                fault = _fault(os.path.basename(path), named, (vendor, product), is_tagged)
                if path not in found or not fault:
                    found[path] = InstalledRule(path, fault)
    return tuple(found.values())


def _fault(name: str, named: tuple[str, str], ids: tuple[str, str], is_tagged: bool) -> str:
    if named != ids:
        return "its ids are in capital letters and never match: write them small"
    if is_tagged and name > BEFORE:
        return f"it comes after {BEFORE}, too late for its rights: give it a number below 73"
    return ""


def installed_files(machine: Machine = THIS_MACHINE) -> dict[str, str]:
    """The text of every rule file in force, by path. Of files of one name the first folder's
    counts, an empty one or a link to /dev/null puts it out of force.
    """
    files: dict[str, str] = {}
    names: set[str] = set()
    for folder in machine.rules:
        with suppress(OSError):
            for name in sorted(os.listdir(folder)):
                if name.endswith(".rules") and name not in names:
                    names.add(name)
                    with suppress(OSError), (folder / name).open("rb") as file:
                        text = file.read(_MOST_BYTES).decode("utf-8", "replace")
                        files[str(folder / name)] = text
    return files
