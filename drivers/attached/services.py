"""Programs known to take new serial ports for themselves, and whether udev keeps them from one."""

import os
from contextlib import suppress

from drivers.attached.holders import command_of, processes
from drivers.attached.machine import THIS_MACHINE, Machine
from drivers.attached.node_numbers import device_number

MODEM = "ModemManager"
BRAILLE = "brltty"
_IGNORED = ("E:ID_MM_DEVICE_IGNORE=1", "E:ID_MM_PORT_IGNORE=1")


def grabbers(machine: Machine = THIS_MACHINE) -> frozenset[str]:
    """Which of MODEM and BRAILLE run now. A command's name is public, whoever runs it."""
    running = {command_of(pid, machine) for pid in processes(machine)}
    return frozenset(running & {MODEM, BRAILLE})


def is_kept_from_modems(node: str, machine: Machine = THIS_MACHINE) -> bool:
    """A udev rule says of this port that modem software must let it be.

    Source: udev's record of a device, /run/udev/data/cMAJOR:MINOR (from memory); the properties'
    names: ModemManager's API reference, udev tags.
    """
    with suppress(OSError):
        number = device_number(os.stat(node))
        if number is None:
            return False
        record = machine.run / f"udev/data/c{number[0]}:{number[1]}"
        return any(line in _IGNORED for line in record.read_text("utf-8", "replace").splitlines())
    return False
