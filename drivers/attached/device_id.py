"""How a device is known again. Pure."""

import msgspec


class DeviceId(msgspec.Struct, frozen=True):
    """Which device is on a port: `text` is the same after a replug.

    `serial` is the device's own serial number where the link shows one; without it the text names
    the socket or the path, and a device swapped behind it cannot be noticed. `socket` is the USB
    socket that it is plugged into, as the system numbers it; "" where there is none.
    """

    text: str
    serial: str | None = None
    socket: str = ""
