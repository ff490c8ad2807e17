"""What is attached, judged: ports, rights, rules, the library, programs that take ports. Pure."""

import shlex
from collections.abc import Iterator

from daq.services.doctor.facts import DeviceFacts, GaugeFacts
from daq.services.doctor.finding import MachineFinding
from drivers.attached import advice

NOTHING = (
    "no gauge can be seen: plug it in, then look with `jbridge ports`. A gauge on "
    "the network or `--port typed:` needs nothing here"
)


def port_findings(facts: DeviceFacts) -> Iterator[MachineFinding]:
    """A line for each port and keyboard, one if no gauge is there, one for each broken file."""
    for one in facts.attached:
        if one.device.kind == "serial":
            yield _port(one, facts)
        else:
            yield _keyboard(one, facts)
    for device in facts.others:
        yield MachineFinding(
            "keyboard",
            True,
            False,
            f"{device.looks_like}: not on USB. If it is a gauge, it can be used with "
            f"`--port {device.port}` only",
        )
    for device in facts.candidates:
        yield MachineFinding("port", False, False, f"{device.looks_like}: {device.trouble}")
    if not any(_may_be_gauge(one) for one in facts.attached) and not facts.candidates:
        yield MachineFinding("gauge", False, False, NOTHING)
    for fault in facts.faults:
        yield MachineFinding("gauge file", False, False, fault.rstrip("."))


def _is_usb_port(one: GaugeFacts) -> bool:
    return one.device.kind == "serial" and one.device.socket != ""


def _may_be_gauge(one: GaugeFacts) -> bool:
    """A keyboard is somebody's keyboard unless a gauge file says otherwise."""
    return bool(one.gauges) or one.device.kind == "serial"


def _trouble(one: GaugeFacts, facts: DeviceFacts) -> str:
    """Why it cannot be used now; "" if it can."""
    trouble = advice.why_not_usable(one.device, facts.library_trouble)
    if not trouble and one.holders:
        users = ", ".join(map(str, one.holders))
        return f"in use by {users}: close that program, or wait until it is done"
    return trouble


def _is_needed(one: GaugeFacts, facts: DeviceFacts) -> bool:
    """The shop's own gauge; else a USB port, as long as no other gauge can be used."""
    if one.gauges:
        return True
    others = [two for two in facts.attached if two is not one]
    return _is_usb_port(one) and not any(
        (two.gauges or _is_usb_port(two)) and not _trouble(two, facts) for two in others
    )


def _title(one: GaugeFacts) -> str:
    known = f", gauge {' or '.join(one.gauges)}" if one.gauges else ""
    return f"{one.device.port} ({one.device.looks_like}{known})"


def _port(one: GaugeFacts, facts: DeviceFacts) -> MachineFinding:
    trouble = _trouble(one, facts)
    said = trouble or "may be opened"
    return MachineFinding("port", not trouble, _is_needed(one, facts), f"{_title(one)}: {said}")


def _keyboard(one: GaugeFacts, facts: DeviceFacts) -> MachineFinding:
    trouble = _trouble(one, facts)
    if one.gauges:
        said = trouble or "may be opened"
        return MachineFinding("keyboard", not trouble, True, f"{_title(one)}: {said}")
    said = trouble or "it may be opened"
    return MachineFinding(
        "keyboard",
        True,  # nobody's gauge so far: a desktop's own keyboard should not be open to programs
        False,
        (
            f"{_title(one)}: types like a keyboard, and no gauge file names it. If it is a "
            f"gauge: {said}"
        ),
    )


def rule_findings(facts: DeviceFacts) -> Iterator[MachineFinding]:
    """A line for each USB gauge; none where the system has no such rules, or where the line of its
    port says already which rule is missing.
    """
    for one in facts.attached if facts.has_udev else ():
        is_said = one.device.trouble != "" and not one.rules
        if one.device.socket and _may_be_gauge(one) and not is_said:
            yield _rule(one)


def _rule(one: GaugeFacts) -> MachineFinding:
    port = one.device.port
    in_force = [rule.path for rule in one.rules if not rule.fault]
    faults = "; ".join(f"{rule.path} has no effect: {rule.fault}" for rule in one.rules)
    if in_force:
        late = " It is not in force yet: unplug the gauge and plug it in again"
        told = f"{port}: {', '.join(in_force)}.{late if one.device.trouble else ''}"
        return MachineFinding("rule", not one.device.trouble, False, told.rstrip("."))
    if faults:
        return MachineFinding("rule", False, False, f"{port}: {faults}")
    return MachineFinding(
        "rule",
        False,
        False,
        f"{port}: no udev rule is installed for it. `jbridge udev --for {shlex.quote(port)}` "
        "prints one and how to install it: rights for whoever sits here, steady power, and modem "
        "software kept away",
    )


def library_finding(facts: DeviceFacts) -> MachineFinding:
    """libusb, which reads gauges that type."""
    needed = any(one.gauges and one.device.kind == "keyboard" for one in facts.attached)
    trouble = facts.library_trouble
    said = trouble or "found: gauges that type like a keyboard can be read"
    return MachineFinding("libusb", not trouble, needed, said)


def grabber_finding(facts: DeviceFacts) -> MachineFinding:
    """Programs that run here and take serial ports for themselves."""
    said = [advice.stolen_advice(facts.grabbers, ())]
    ports = [one for one in facts.attached if _is_usb_port(one)]
    if any(not one.is_kept_from_modems for one in ports):
        said.append(advice.modem_advice(facts.grabbers, is_kept=False, is_usb_serial=True))
    told = ". ".join(text for text in said if text)
    return MachineFinding(
        "services", not told, False, told or "none runs that would take the gauge's port"
    )
