"""What the simulator raises on purpose."""

from __future__ import annotations


class SimulatorError(Exception):
    """Anything the person running the simulator can put right."""


class ScriptError(SimulatorError):
    """A script asks for something that is not understood or not there.

    ``line`` counts from 1; None when the fault was found away from any script line.
    """

    def __init__(self, line: int | None, reason: str) -> None:
        super().__init__(reason if line is None else f"line {line}: {reason}")
        self.line = line
        self.reason = reason


class LinkError(SimulatorError):
    """The simulated cable could not be laid, or did not take the bytes in time."""
