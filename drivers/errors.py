"""What can go wrong between a gauge and this program; each error says what, where, why, what to do.

Library exceptions stop at the port or file that met them and leave as one of these. `exit_code` is
what a program ends with when such an error ends it: 2 bad input, 3 the port.
"""

from pathlib import Path

BAD_INPUT, NO_PORT = 2, 3


class DriverError(Exception):
    """Anything a driver refuses or loses."""

    exit_code = BAD_INPUT


class ProfileError(DriverError):
    """A profile file that cannot be used: `file`, the `key` at fault and the reason."""

    def __init__(self, file: str | Path, key: str, reason: str) -> None:
        self.file = str(file)
        self.key = key
        self.reason = reason
        where = f"{self.file}, key {key}" if key else self.file
        super().__init__(f"The profile cannot be used. {where}: {reason}")


class RuleRefused(DriverError):
    """A udev rule that would be wrong or dangerous is not written."""


class PortError(DriverError):
    """A port that cannot be used: `port` as the user wrote it."""

    exit_code = NO_PORT

    def __init__(self, port: str, reason: str) -> None:
        self.port = port
        self.reason = reason
        super().__init__(f"Port {port}: {reason}")


class PortNameError(PortError):
    """The port's name itself is wrong, so nothing was opened."""

    exit_code = BAD_INPUT


class PortUnavailable(PortError):
    """The port is missing, not a serial port, not permitted, or did not accept its settings."""


class PortBusy(PortError):
    """Another program holds the port."""


class PortLost(PortError):
    """The port was open and is gone."""
