"""What the page is made of besides its parts: style, script, sounds."""

from functools import cache
from importlib.resources import files as packaged

import msgspec

from daq.board.cue import CUES
from daq.sounds.tones import wav

_KINDS = {"page.css": "text/css", "page.js": "text/javascript", "icon.svg": "image/svg+xml"}
_SOUNDS = {f"sounds/{cue}.wav": cue for cue in CUES}


class File(msgspec.Struct, frozen=True):
    """What never changes while the program runs."""

    kind: str
    content: bytes


def file_named(name: str) -> File | None:
    """By its name below a link; None for no file of the page."""
    return _file(name) if name in _KINDS or name in _SOUNDS else None


@cache
def _file(name: str) -> File:
    if name in _SOUNDS:
        return File("audio/wav", wav(_SOUNDS[name]))
    return File(_KINDS[name], (packaged("daq.page.server") / "static" / name).read_bytes())
