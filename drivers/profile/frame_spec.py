"""How a gauge's frames are delimited, as a profile declares it. Pure."""

import msgspec

MOST_FRAME_BYTES = 4096
"""The longest frame that a profile can declare. Chosen by us: no gauge sends a tenth of it."""


class FrameSpec(msgspec.Struct, frozen=True):
    """How frames are delimited; texts already as bytes.

    `ends` empty and `length` None: silence ends a frame. `listed` says that the ends came as a
    list, where a carriage return ends a frame at once and a line feed next to it belongs to it.
    """

    start: bytes = b""
    ends: tuple[bytes, ...] = ()
    listed: bool = False
    tail: int = 0
    length: int | None = None
    idle_ms: int = 500
    max_bytes: int = 64
    mask7: bool = False
    trim: bool = False
