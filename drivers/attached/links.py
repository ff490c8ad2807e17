"""Names that stay on a device when its node's number changes."""

import os
from pathlib import Path

from drivers.attached.machine import Machine

_SURE = ("gauges",)
_BY_NUMBER = ("serial/by-id",)
_BY_SOCKET = ("serial/by-path",)


def link_to(node: str, has_own_number: bool, machine: Machine) -> str:
    """The best link to a node: one of a gauge's rule, else by serial number, else by socket.

    Without a serial number of its own two devices share the link by-id, and the last one wins, so
    there it is not offered. "" if there is no link.
    """
    folders = (*_SURE, *(_BY_NUMBER if has_own_number else ()), *_BY_SOCKET)
    for folder in folders:
        for link in _links(machine.dev / folder):
            if os.path.realpath(link) == os.path.realpath(node) and link.name.isprintable():
                return str(link)
    return ""


def _links(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if path.is_symlink())
    except OSError:
        return []
