"""Playing a script: its steps in order, through a link, in the time of a clock."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from simulator.clock import Clock
from simulator.errors import ScriptError
from simulator.player import Action, Pause, Player, Replug, SendBytes, Unplug
from simulator.script import Step, parse, parse_line, parse_lines

__all__ = [
    "Action",
    "Pause",
    "Played",
    "Player",
    "Replug",
    "ScriptError",
    "SendBytes",
    "Step",
    "Unplug",
    "parse",
    "parse_line",
    "parse_lines",
    "play",
]


class Wire(Protocol):
    """The part of a link that playing needs."""

    def send(self, data: bytes) -> bool:
        """Send all the bytes; False when nothing is at the other end and they are lost."""
        ...

    def unplug(self) -> None:
        """Pull the cable."""
        ...

    def replug(self, link_path: Path | None = None) -> None:
        """Plug it in again, under another name if there is a path."""
        ...


@dataclass(frozen=True, slots=True)
class Played:
    """How many frames went out, and how many were lost because nobody was there."""

    sent: int
    lost: int


def play(
    script: Iterable[Step],
    player: Player,
    link: Wire,
    clock: Clock,
    tell: Callable[[Action], None] | None = None,
) -> Played:
    """Take the steps as they come and do what follows from each.

    tell hears every action just before it is done. Raises ScriptError for a step that cannot be
    taken and LinkError for a link that does not take the bytes; what went before stays done.
    """
    sent = lost = 0
    for step in script:
        # Each step is timed from its own start: a script typed by hand comes with gaps in it, but
        # within a step no small delay may add up to the next.
        began_s = clock.now_s() - player.now_s
        for action in player.perform(step):
            if tell is not None:
                tell(action)
            match action:
                case Pause(at_s=at_s, seconds=seconds):
                    left_s = began_s + at_s + seconds - clock.now_s()
                    if left_s > 0:
                        clock.sleep_s(left_s)
                case SendBytes(data=data):
                    if link.send(data):
                        sent += 1
                    else:
                        lost += 1
                case Unplug():
                    link.unplug()
                case Replug(path=path):
                    link.replug(None if path is None else Path(path))
    return Played(sent, lost)
