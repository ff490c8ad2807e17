"""The text of a udev rule file for measuring gauges. Pure.

No text of a device gets into a rule but a serial number of harmless characters: in a rule quotes,
line ends, `%`, `$` and the signs of patterns all have a meaning.
Source: udev(7) for keys and operators; systemd's 73-seat-late.rules, which gives the rights of the
tag `uaccess`, so that it must be set in a file before it, and 60-serial.rules, which sets a port's
properties.
"""

import re
import shlex
from collections.abc import Iterable, Sequence

import msgspec

from drivers.errors import RuleRefused

FOLDER = "/etc/udev/rules.d"
"""Where a machine's own rules live."""

MARK = "# Made by `jbridge udev`"
"""By this the program knows a rule file of its own."""

_LINK = re.compile(r"[A-Za-z0-9_-]{1,60}")
_SERIAL = re.compile(r"[A-Za-z0-9_.:-]{1,126}")
_ID = re.compile(r"[0-9a-f]{4}")
_SOCKET = re.compile(r"[0-9]{1,3}-[0-9]{1,3}(\.[0-9]{1,3}){0,6}")
_INTERFACE = re.compile(r"[0-9a-f]{2}")
_GROUP = re.compile(r"[a-z_][a-z0-9_-]{0,31}")
_END = "journalbridge_gauge_end"
_PORTS = 'SUBSYSTEM=="tty", KERNEL=="ttyACM[0-9]*|ttyUSB[0-9]*"'
_DEVICE = 'SUBSYSTEM=="usb", ENV{DEVTYPE}=="usb_device"'
_NO_MODEM = 'ENV{ID_MM_DEVICE_IGNORE}="1"'


class RuleTarget(msgspec.Struct, frozen=True, kw_only=True):
    """One device that a rule is for: by its serial number, else by its USB socket, else every one
    of its kind. `links` are (interface or "", name below /dev/gauges) for its serial ports.

    Raises RuleRefused for anything that cannot stand in a rule.
    """

    vendor: str
    product: str
    serial: str | None = None
    socket: str | None = None
    is_serial: bool = False
    is_keyboard: bool = False
    links: tuple[tuple[str, str], ...] = ()
    is_slow: bool = False

    def __post_init__(self) -> None:
        if not (_ID.fullmatch(self.vendor) and _ID.fullmatch(self.product)):
            raise RuleRefused(
                "A rule needs the whole vendor and product id, four hex digits each: else it "
                "would hold for other devices too, even for keyboards."
            )
        if self.serial is not None and not is_plain_serial(self.serial):
            raise RuleRefused(
                "The serial number has characters that mean something else in a rule."
            )
        if self.socket is not None and not _SOCKET.fullmatch(self.socket):
            raise RuleRefused("The USB socket must be written like 1-2.3.")
        for interface, name in self.links:
            if interface and not _INTERFACE.fullmatch(interface):
                raise RuleRefused("An interface is written as two hex digits.")
            check_link(name)


def is_plain_serial(serial: str) -> bool:
    """A rule may compare with it: nothing but letters, digits, and `_ . : -`."""
    return _SERIAL.fullmatch(serial) is not None


def check_link(name: str) -> None:
    """Raises RuleRefused if it cannot be a name below /dev/gauges."""
    if not _LINK.fullmatch(name):
        raise RuleRefused(
            f"{name!a} cannot be a gauge's name in a rule: use letters, digits, - and _ only, "
            "60 at most."
        )


def link_name(text: str) -> str:
    """`text` as a name below /dev/gauges: whatever is not a letter, digit, - or _ becomes -."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", text)[:60].strip("-")


def check_group(group: str) -> None:
    """Raises RuleRefused if it cannot be the name of a group. Source: useradd(8)."""
    if not _GROUP.fullmatch(group):
        raise RuleRefused(f"{group!a} is not the name of a group.")


def file_name(targets: Sequence[RuleTarget]) -> str:
    """What the file must be called: the number decides whether the rights come in time."""
    links = [name for target in targets for _, name in target.links]
    one = links[0] if len(links) == 1 else ""
    if not links and len(targets) == 1:
        one = f"{targets[0].vendor}-{targets[0].product}"
    return f"70-journalbridge-{one}.rules" if one else "70-journalbridge.rules"


def install_commands(file: str, name: str) -> tuple[str, ...]:
    """What puts `file` in force as FOLDER/`name`; the last stands for plugging it in again."""
    return (
        f"sudo install -m 644 {shlex.quote(file)} {FOLDER}/{name}",
        "sudo udevadm control --reload",
        "sudo udevadm trigger --action=add --subsystem-match=usb --subsystem-match=tty "
        "--subsystem-match=hidraw",
    )


def rule_text(targets: Sequence[RuleTarget], group: str | None = None) -> str:
    """The whole file. `group` gets the rights as well, for services and logins over a network.

    Raises RuleRefused.
    """
    if not targets:
        raise RuleRefused("There is no device to write a rule for.")
    if group is not None:
        check_group(group)
    name = file_name(targets)
    head = (
        f"{MARK}: rights, a fixed name and steady power for measuring gauges.",
        f"# Its place is {FOLDER}/{name}; the number must stay below 73,",
        "# or the rights come too late.",
        "",
        f'ACTION=="remove", GOTO="{_END}"',
    )
    blocks = [line for target in targets for line in ("", *_block(target, group))]
    return "\n".join([*head, *blocks, "", f'LABEL="{_END}"', ""])


def _block(target: RuleTarget, group: str | None) -> Iterable[str]:
    rights = 'TAG+="uaccess"' + (f', GROUP="{group}", MODE="0660"' if group else "")
    device, parent = _matches(target)
    yield f"# {_description(target)}"
    opens = f", {rights}" if target.is_keyboard else ""
    yield f"{_DEVICE}, {device}{opens}, {_NO_MODEM}"
    yield (f'ACTION=="add", {_DEVICE}, {device}, TEST=="power/control", ATTR{{power/control}}="on"')
    if target.is_serial:
        for interface, name in target.links or (("", ""),):
            which = f', ENV{{ID_USB_INTERFACE_NUM}}=="{interface}"' if interface else ""
            link = f', SYMLINK+="gauges/{name}"' if name else ""
            yield (
                f"{_PORTS}, {parent}{which}, {rights}, {_NO_MODEM}, "
                f'ENV{{ID_MM_PORT_IGNORE}}="1"{link}'
            )
    if target.is_slow:
        # Only "bind" surely comes after the driver has made the timer.
        yield (
            f'ACTION=="add|bind", SUBSYSTEM=="usb-serial", {parent}, TEST=="latency_timer", '
            'ATTR{latency_timer}="1"'
        )
    if target.is_keyboard:
        yield f'SUBSYSTEM=="hidraw", {parent}, {rights}'


def _matches(target: RuleTarget) -> tuple[str, str]:
    """What holds for the USB device itself, and for its children by way of this one parent."""
    device = f'ATTR{{idVendor}}=="{target.vendor}", ATTR{{idProduct}}=="{target.product}"'
    if target.serial is not None:
        device += f', ATTR{{serial}}=="{target.serial}"'
    parent = device.replace("ATTR{", "ATTRS{")
    if target.serial is None and target.socket is not None:
        return f'KERNEL=="{target.socket}", {device}', f'KERNELS=="{target.socket}", {parent}'
    return device, parent


def _description(target: RuleTarget) -> str:
    kind = f"USB {target.vendor}:{target.product}"
    if target.serial is not None:
        return f"{kind}, serial number {target.serial}"
    if target.socket is not None:
        return f"{kind}, in the USB socket {target.socket} only"
    return f"{kind}, every one of this kind"
