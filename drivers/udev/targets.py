"""Which devices a rule file is for, of what is attached and what was asked for. Pure."""

import shlex
from collections.abc import Callable, Sequence

import msgspec

from drivers.attached.identity import identity_of_tty, identity_of_unit, own_serial
from drivers.attached.tree import Tree, Tty, UsbDevice
from drivers.attached.usb_name import UsbName, is_usb_name, parse_usb_name, usable_serial
from drivers.errors import RuleRefused
from drivers.udev.rules import RuleTarget, is_plain_serial, link_name


class Targets(msgspec.Struct, frozen=True):
    """The devices, and what the user should know of the choice."""

    targets: tuple[RuleTarget, ...]
    notes: tuple[str, ...] = ()


Named = Callable[[str], str | None]
"""The gauge's name for an identity; None if no gauge file knows it."""


def all_attached(tree: Tree, named: Named) -> Targets:
    """Every USB serial port, and those keyboard-type devices that a gauge file knows.

    A rule for a keyboard lets programs of the user read what is typed on it, so no other keyboard
    is taken by itself. Raises RuleRefused if nothing is left.
    """
    targets: list[RuleTarget] = []
    notes: list[str] = []
    for unit in tree.units:
        ttys = _ttys(unit, tree)
        is_keyboard = _is_keyboard(unit)
        identity = identity_of_unit(unit, tree).text
        is_gauge = named(identity) is not None
        if is_keyboard and not is_gauge and not ttys:
            notes.append(
                f"{identity} types like a keyboard and no gauge file names it, so it is left "
                f"out. If it is a gauge: `jbridge udev --for {shlex.quote(identity)}`."
            )
        elif ttys or is_keyboard:
            targets.append(
                _target(unit, tree, ttys, is_keyboard=is_keyboard and is_gauge, named=named)
            )
            notes += _notes(unit, tree)
    if not targets:
        raise RuleRefused(
            " ".join(
                (
                    "No gauge is attached over USB: plug it in, or name it with "
                    "--for usb:VID:PID:SERIAL.",
                    *notes,
                )
            )
        )
    return Targets(_told_apart(targets), tuple(notes))


def one_named(word: str, tree: Tree, named: Named, real: Callable[[str], str]) -> Targets:
    """The device that `word` names: a port's path, or a USB name, attached or not.

    `real` resolves links. Raises RuleRefused, or PortNameError for a broken USB name.
    """
    if not is_usb_name(word):
        tty = next((tty for tty in tree.ttys if real(tty.node) == real(word)), None)
        unit = None if tty is None else tree.unit(tty.socket)
        if unit is None:
            raise RuleRefused(
                f"{word} is no USB port that is attached, and a rule can be for USB only. For a "
                "port of the machine itself, join its group (dialout on Debian): `jbridge "
                "ports` says how."
            )
        return _whole(unit, tree, named)
    name = parse_usb_name(word)
    found = [unit for unit in tree.units if _fits(unit, name)]
    if len(found) > 1:
        listed = ", ".join(identity_of_unit(unit, tree).text for unit in found)
        raise RuleRefused(
            f"{len(found)} attached devices are {word}. Name one by serial number or socket: "
            f"{listed}."
        )
    if not found:
        return _absent(name)
    whole = _whole(found[0], tree, named)
    if name.is_explicit:
        return whole
    kind = msgspec.structs.replace(whole.targets[0], serial=None, socket=None)
    return Targets((kind,), ("The rule holds for every device of this kind.",))


def renamed(targets: Targets, name: str) -> Targets:
    """The one device under another name; raises RuleRefused for several or a bad name."""
    if len(targets.targets) != 1:
        raise RuleRefused("--name is for one gauge: say which with --for.")
    (target,) = targets.targets
    if not target.links:
        raise RuleRefused(
            "It has no serial port that could have a name below /dev/gauges; leave --name out."
        )
    links = tuple(
        (interface, f"{name}-{interface}" if interface else name) for interface, _ in target.links
    )
    return Targets((msgspec.structs.replace(target, links=links),), targets.notes)


def _whole(unit: UsbDevice, tree: Tree, named: Named) -> Targets:
    ttys = _ttys(unit, tree)
    is_keyboard = _is_keyboard(unit)
    if not ttys and not is_keyboard:
        raise RuleRefused(
            f"{identity_of_unit(unit, tree).text} has no serial port and does not type like a "
            "keyboard: see `jbridge ports` for what it is."
        )
    target = _target(unit, tree, ttys, is_keyboard=is_keyboard, named=named)
    return Targets((target,), tuple(_notes(unit, tree)))


def _target(
    unit: UsbDevice, tree: Tree, ttys: Sequence[Tty], *, is_keyboard: bool, named: Named
) -> RuleTarget:
    serial = _rule_serial(unit, tree)
    place = serial or unit.socket
    default = link_name(f"{unit.vendor}-{unit.product}-{place}")
    links: list[tuple[str, str]] = []
    for tty in ttys:
        known = named(identity_of_tty(tty, tree).text)
        interface = tty.interface if len(ttys) > 1 else ""
        own = f"{default[:57]}-{interface}" if interface else default
        links.append((interface, link_name(known or "") or own))
    if len({interface for interface, _ in links}) < len(links):
        links = []  # several lines on one interface: no rule can tell them apart
    return RuleTarget(
        vendor=unit.vendor,
        product=unit.product,
        serial=serial,
        socket=None if serial else unit.socket,
        is_serial=bool(ttys),
        is_keyboard=is_keyboard,
        links=tuple(links),
        is_slow=any(tty.latency_ms is not None for tty in ttys),
    )


def _absent(name: UsbName) -> Targets:
    """A device that is not attached may be of either kind, so the rule is for both."""
    if name.serial is not None and not is_plain_serial(name.serial):
        raise RuleRefused(
            "The serial number has characters that mean something else in a rule. Plug the "
            "gauge in: then the rule can be for its USB socket."
        )
    vendor, product = f"{name.vendor:04x}", f"{name.product:04x}"
    place = name.serial or name.socket or ""
    target = RuleTarget(
        vendor=vendor,
        product=product,
        serial=name.serial,
        socket=name.socket,
        is_serial=True,
        is_keyboard=True,
        links=(("", link_name(f"{vendor}-{product}-{place}")),),
    )
    return Targets(
        (target,), ("It is not attached now, so the rule is for a serial port and for a keyboard.",)
    )


def _notes(unit: UsbDevice, tree: Tree) -> list[str]:
    if _rule_serial(unit, tree) is not None:
        return []
    identity = identity_of_unit(unit, tree).text
    if own_serial(unit, tree) is not None:
        why = "has characters in its serial number that mean something else in a rule"
    elif usable_serial(unit.serial) is not None:
        why = "shares its serial number with another device"
    else:
        why = "has no serial number"
    return [
        f"{ascii(identity)[1:-1]} {why}: the rule holds for the USB socket {unit.socket} only. "
        "Label the socket."
    ]


def _rule_serial(unit: UsbDevice, tree: Tree) -> str | None:
    """The serial number as a rule can compare it: exactly as the device has it."""
    if own_serial(unit, tree) is None or unit.serial is None:
        return None
    return unit.serial if is_plain_serial(unit.serial) else None


def _ttys(unit: UsbDevice, tree: Tree) -> list[Tty]:
    return [tty for tty in tree.ttys if tty.socket == unit.socket]


def _is_keyboard(unit: UsbDevice) -> bool:
    return any(interface.is_keyboard for interface in unit.interfaces)


def _fits(unit: UsbDevice, name: UsbName) -> bool:
    if (int(unit.vendor, 16), int(unit.product, 16)) != (name.vendor, name.product):
        return False
    if name.serial is not None:
        return usable_serial(unit.serial) == name.serial
    return name.socket in (None, unit.socket)


def _told_apart(targets: Sequence[RuleTarget]) -> tuple[RuleTarget, ...]:
    """No name below /dev/gauges twice: the last device to come would have it."""
    used: set[str] = set()
    out = []
    for target in targets:
        links = []
        for interface, name in target.links:
            own, number = name, 2
            while own in used:
                own, number = f"{name[:56]}-{number}", number + 1
            used.add(own)
            links.append((interface, own))
        out.append(msgspec.structs.replace(target, links=tuple(links)))
    return tuple(out)
