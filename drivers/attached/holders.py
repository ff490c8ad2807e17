"""Which programs have a device open, as far as the system tells this user."""

import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

import msgspec

from drivers.attached.machine import THIS_MACHINE, Machine
from drivers.attached.node_numbers import DeviceNumber, device_number, file_number
from drivers.printable import shown

_LOCK = re.compile(r"\d+: \S+\s+\S+\s+\S+ (\d+) ([0-9a-f]+):([0-9a-f]+):(\d+) ", re.ASCII)
"""A line of /proc/locks: id, kind, mode, access, process, then device and inode of the file.
Source: proc(5)."""


class Holder(msgspec.Struct, frozen=True, order=True):
    """A process that has a device open, and its command's name, harmless on a terminal."""

    pid: int
    command: str

    def __str__(self) -> str:
        return f"{self.command} (process {self.pid})"


def holders_of(
    nodes: Iterable[str], machine: Machine = THIS_MACHINE
) -> dict[str, tuple[Holder, ...]]:
    """For each node the processes that have it open, by number; this process is left out.

    Open files of other users' processes are hidden from all but root; of those only the ones that
    lock the port show, since locks are public.
    """
    found: dict[str, set[int]] = {node: set() for node in nodes}
    devices: dict[DeviceNumber | None, str] = {}
    files: dict[tuple[int, int, int] | None, str] = {}
    for node in found:
        with suppress(OSError):
            about = os.stat(node)
            files[file_number(about)] = node
            devices[device_number(about)] = node
    files.pop(None, None)
    devices.pop(None, None)
    if not files:
        return dict.fromkeys(found, ())
    names = {os.path.basename(os.path.realpath(node)) for node in found}
    for pid in processes(machine):
        for number in _open_devices(machine.proc / str(pid) / "fd", names):
            if number in devices:
                found[devices[number]].add(pid)
    for pid, key in _locks(machine.proc / "locks"):
        if key in files:
            found[files[key]].add(pid)
    return {
        node: tuple(Holder(pid, command_of(pid, machine)) for pid in sorted(pids - {os.getpid()}))
        for node, pids in found.items()
    }


def processes(machine: Machine = THIS_MACHINE) -> Iterator[int]:
    """The numbers of all processes that show."""
    with suppress(OSError):
        for name in os.listdir(machine.proc):
            if name.isdecimal():
                yield int(name)


def command_of(pid: int, machine: Machine = THIS_MACHINE) -> str:
    """The name of a process's command, cleaned; "?" if it is gone."""
    try:
        return (
            shown((machine.proc / str(pid) / "comm").read_text("utf-8", "replace").strip()) or "?"
        )
    except OSError:
        return "?"


def _open_devices(folder: Path, names: set[str]) -> Iterator[DeviceNumber | None]:
    """Device numbers of a process's open files whose name is one of `names`.

    The name is asked first: to look at a file on a dead network share would wait for it.
    """
    with suppress(OSError):
        for entry in os.listdir(folder):
            with suppress(OSError):
                target = os.readlink(folder / entry).removesuffix(" (deleted)")
                if os.path.basename(target) in names:
                    yield device_number(os.stat(folder / entry))


def _locks(path: Path) -> Iterator[tuple[int, tuple[int, int, int]]]:
    with suppress(OSError):
        for line in path.read_text("ascii", "replace").splitlines():
            found = _LOCK.match(line)
            if found:
                key = (int(found[2], 16), int(found[3], 16), int(found[4]))
                yield int(found[1]), key
