"""Which programs of the machine play a file or speak a text, and how each is called."""

import shutil
import sys
from collections.abc import Callable
from typing import NamedTuple


class Way(NamedTuple):
    """One way to play: a program by its whole path, with the `options` that go before what is
    played. `is_by_stdin`: that goes to its standard input instead. `is_cut`: what it plays ends
    when it is killed. `here`: it is played by this call, in this process, and raises RuntimeError
    where it cannot be.
    """

    name: str
    path: str = ""
    options: tuple[str, ...] = ()
    is_by_stdin: bool = False
    is_cut: bool = True
    here: Callable[[str], None] | None = None

    def command(self, what: str) -> list[str]:
        """What to start: a list, so that no shell reads it."""
        return [self.path, *self.options, *([] if self.is_by_stdin else [what])]


PLAYERS: dict[str, tuple[str, ...]] = {
    "pw-play": (),
    "paplay": (),
    "aplay": ("-q",),
    "play": ("-q",),  # of sox
    "afplay": (),
}
"""Options before the file, by program; the first that is found and works plays."""

SPEAKERS = ("spd-say", "espeak-ng", "espeak", "say")


def ways_to_play() -> list[Way]:
    """Ways to play a WAV file by its whole path, the best first."""
    found = {name: shutil.which(name) for name in PLAYERS}
    ways = [Way(name, path, PLAYERS[name]) for name, path in found.items() if path]
    return [Way("winsound", here=_by_windows)] if sys.platform == "win32" else ways


def ways_to_speak(language: str) -> list[Way]:
    """Ways to speak a text, the best first."""
    found = {name: shutil.which(name) for name in SPEAKERS}
    return [_speaker(name, path, language) for name, path in found.items() if path]


def _speaker(name: str, path: str, language: str) -> Way:
    """A text goes to standard input, where no option can be mistaken for one; spd-say would repeat
    it on its output then, so it takes it behind `--`. Its voice is a server's, and goes on.
    """
    if name == "spd-say":
        return Way(name, path, ("--wait", "--language", language, "--"), is_cut=False)
    options = ("-f", "-") if name == "say" else ("-v", language, "--stdin")
    return Way(name, path, options, is_by_stdin=True)


def _by_windows(file: str) -> None:
    if sys.platform == "win32":
        import winsound  # noqa: PLC0415 - only there

        winsound.PlaySound(file, winsound.SND_FILENAME | winsound.SND_NODEFAULT)
