"""What every port offers, and how a device is known again."""

from typing import Protocol

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


class Port(Protocol):
    """Bytes to and from one open device. Belongs to the thread that opened it, but for `wake`."""

    @property
    def name(self) -> str:
        """As the user wrote it."""
        ...

    @property
    def identity(self) -> DeviceId:
        """The same after a replug."""
        ...

    def read(self, timeout_s: float | None) -> bytes:
        """Bytes as soon as there are any; b"" means silence so far, or a wake-up.

        None waits without end. Raises PortLost.
        """
        ...

    def write(self, data: bytes) -> None:
        """Send all of `data` in bounded time; raises PortLost."""
        ...

    def notices(self) -> tuple[str, ...]:
        """What the link met since the last call and no byte shows, in order: stable words like
        `rollover`, harmless on any terminal. Bounded, whatever the device sends.
        """
        ...

    def wake(self) -> None:
        """End a waiting `read` early; callable from any thread, also after `close`."""
        ...

    def close(self) -> None:
        """As often as you like; never raises."""
        ...
