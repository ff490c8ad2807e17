"""What every port offers."""

from typing import Protocol

from drivers.attached.device_id import DeviceId


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
