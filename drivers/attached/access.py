"""May this login open a device node, and if not: why, and what to do."""

import os
import shlex

import msgspec

from drivers.attached.groups import group_of


class Rights(msgspec.Struct, frozen=True, kw_only=True):
    """What the system says about one node and this login. `group` is the node's group, "" where the
    group has no rights on it; `has_group_now` in this login, `has_group` in the system's files.
    """

    exists: bool
    may_open: bool
    group: str = ""
    has_group_now: bool = False
    has_group: bool = False
    user: str = ""


def rights_on(node: str) -> Rights:
    """Look at a node without opening it, which on a serial port would already move its lines."""
    try:
        found = os.stat(node)
    except OSError as error:
        return Rights(exists=isinstance(error, PermissionError), may_open=False)
    if os.access(node, os.R_OK | os.W_OK):
        return Rights(exists=True, may_open=True)
    group = group_of(found.st_gid)
    if group is None:
        return Rights(exists=True, may_open=False)
    is_for_group = found.st_mode & 0o060 == 0o060 and found.st_gid != 0
    return Rights(
        exists=True,
        may_open=False,
        group=group.name if is_for_group else "",
        has_group_now=group.is_held_now,
        has_group=group.is_held,
        user=group.user,
    )


def why_not(rights: Rights, port: str, *, is_usb: bool) -> str:
    """Why the node cannot be opened and what to do; "" if it can. Pure.

    Only for a USB device can a rule be written: a port of the machine itself may be its console.
    """
    if rights.may_open:
        return ""
    if not rights.exists:
        return (
            "the system shows it, but it cannot be reached: it was plugged in a moment ago "
            "(wait and look again), or this is a container that was not given the device"
        )
    if rights.group and rights.has_group and not rights.has_group_now:
        return (
            f"this login may not open it yet: {rights.user} joined the group {rights.group} "
            "after logging in. Log out and in again (or restart the machine)"
        )
    ways = []
    if is_usb:
        ways.append(f"install the rule that `jbridge udev --for {shlex.quote(port)}` prints")
    if rights.group and not rights.has_group_now:
        ways.append(
            f"join its group: `sudo usermod -a -G {rights.group} {rights.user}`, then log out and "
            "in again"
        )
    if not ways:
        ways.append("only the administrator may use it; it may be a console of the system")
    return f"this user may not open it: {'; or '.join(ways)}"
