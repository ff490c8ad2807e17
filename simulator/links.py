"""The cable between the simulated gauge and whatever reads it: a terminal or a socket."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from simulator.pty_link import PtyLink
from simulator.tcp_link import TcpLink

__all__ = ["Link", "PtyLink", "TcpLink"]


class Link(Protocol):
    """A cable a gauge can be heard through."""

    @property
    def port(self) -> str:
        """What a reader opens to listen."""
        ...

    def send(self, data: bytes) -> bool:
        """Send all the bytes; False when nothing is at the other end and they are lost."""
        ...

    def receive(self, timeout_s: float, wake: int | None = None) -> bytes:
        """What the reader says to the gauge; empty when nothing came in time, or wake is ready."""
        ...

    @property
    def is_plugged(self) -> bool:
        """Something can be received."""
        ...

    def unplug(self) -> None:
        """Pull the cable: the reader sees a hang-up."""
        ...

    def replug(self, link_path: Path | None = None) -> None:
        """Plug it in again; link_path is another name for it, where it has one."""
        ...

    def close(self) -> None:
        """Give everything back; harmless when done twice."""
        ...
