"""The tree of devices where the system has no /sys: what pyserial lists, serial ports only."""

from drivers.attached.tree import Tree, Tty, UsbDevice


def listed() -> Tree:
    """What is attached now; untested on real Windows and macOS machines."""
    from serial.tools.list_ports import comports  # noqa: PLC0415 - scans the machine

    units: dict[str, UsbDevice] = {}
    ttys = []
    for found in sorted(comports(), key=lambda found: found.device):
        if found.vid is None or found.pid is None:
            ttys.append(Tty(node=found.device))
            continue
        # A device of several ports shows its interface behind a colon.
        socket, _, interface = (found.location or found.device).partition(":")
        ttys.append(Tty(node=found.device, socket=socket, interface=interface))
        units[socket] = UsbDevice(
            socket=socket,
            vendor=f"{found.vid:04x}",
            product=f"{found.pid:04x}",
            serial=found.serial_number,
            maker=found.manufacturer or "",
            title=found.product or found.description or "",
        )
    return Tree(tuple(units.values()), tuple(ttys))
