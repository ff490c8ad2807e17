"""A profile's `[frame]`, `[check]` and `[trigger]` tables to checked records."""

import msgspec

from drivers.profile.frame_spec import MOST_FRAME_BYTES, FrameSpec
from drivers.profile.modbus_spec import LONGEST_REPLY
from drivers.profile.profile import CheckCharacter, Trigger
from drivers.profile.texts import ascii_bytes
from drivers.toml_file import WrongKey, need


class FrameKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[frame]` table as written."""

    start: str | None = None
    start_hex: str | None = None
    end: str | list[str] | None = None
    tail: int = 0
    length: int | None = None
    idle_ms: int = 500
    max_bytes: int | None = None
    mask7: bool = False
    trim: bool = False


class TriggerKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[trigger]` table as written."""

    send: str | None = None
    reply_ms: int = 1000
    echo: bool = False


def frame_of(keys: FrameKeys) -> FrameSpec:
    """The checked record; raises WrongKey."""
    start = _start(keys)
    listed = [keys.end] if isinstance(keys.end, str) else keys.end
    ends = tuple(ascii_bytes(end, "frame.end") for end in listed or ())
    need(listed is None or bool(ends), "frame.end", "an empty list")
    need(all(0 < len(end) <= 16 for end in ends), "frame.end", "1 to 16 bytes")
    need(len(set(ends)) == len(ends), "frame.end", "the same end mark twice")
    need(1 <= keys.idle_ms <= 60_000, "frame.idle_ms", "between 1 and 60000")
    if keys.length is not None:
        need(not ends, "frame.length", "a fixed length goes without end")
        need(keys.max_bytes is None, "frame.max_bytes", "not used with length")
        low = len(start) + 1
        need(low <= keys.length <= MOST_FRAME_BYTES, "frame.length", f"{low} to 4096")
    need(0 <= keys.tail <= 16, "frame.tail", "0 to 16 bytes")
    need(not keys.tail or bool(ends), "frame.tail", "bytes after the end need an end")
    most = 64 if keys.max_bytes is None else keys.max_bytes
    need(1 <= most <= MOST_FRAME_BYTES, "frame.max_bytes", f"1 to {MOST_FRAME_BYTES}")
    return FrameSpec(
        start=start,
        ends=ends,
        listed=isinstance(keys.end, list),
        tail=keys.tail,
        length=keys.length,
        idle_ms=keys.idle_ms,
        max_bytes=most,
        mask7=keys.mask7,
        trim=keys.trim,
    )


def _start(keys: FrameKeys) -> bytes:
    need(keys.start is None or keys.start_hex is None, "frame.start_hex", "start is given too")
    start = ascii_bytes(keys.start or "", "frame.start")
    if keys.start_hex is not None:
        try:
            start = bytes.fromhex(keys.start_hex)
        except ValueError as error:
            raise WrongKey("frame.start_hex", "not pairs of hex digits") from error
    given = keys.start is not None or keys.start_hex is not None
    key = "frame.start" if keys.start_hex is None else "frame.start_hex"
    need(not given or 0 < len(start) <= 16, key, "1 to 16 bytes")
    if keys.mask7:
        need(all(b < 0x80 for b in start), "frame.start_hex", "bit 7 never comes with mask7")
    return start


def modbus_frame_of(keys: FrameKeys) -> FrameSpec:
    """What the kind modbus-rtu leaves to say of its frames: the silence. Raises WrongKey."""
    return FrameSpec(idle_ms=frame_of(keys).idle_ms, max_bytes=LONGEST_REPLY)


def check_check(check: CheckCharacter | None, frame: FrameSpec) -> None:
    """Raises WrongKey where a check character and the frame do not go together."""
    if check is None:
        return
    if check.form == "raw":
        need(frame.tail == 1, "check.form", "raw needs frame.tail = 1, the byte that is sent")
        need(not check.sep, "check.sep", "only used with form hex2")
    else:
        need(check.over == "payload", "check.over", "payload+end goes with form raw")
        need(check.sep.isascii(), "check.sep", "only ASCII is allowed here")


def trigger_of(keys: TriggerKeys | None, *, is_asked: bool) -> Trigger:
    """The checked record; `is_asked`: the profile's kind says how, without a text to send."""
    if keys is None:
        return Trigger()
    need(1 <= keys.reply_ms <= 60_000, "trigger.reply_ms", "between 1 and 60000")
    if is_asked:
        return Trigger(reply_ms=keys.reply_ms)
    if keys.send is None:
        raise WrongKey("trigger.send", "this key is required")
    try:
        send = keys.send.encode("latin-1")
    except UnicodeEncodeError as error:
        raise WrongKey("trigger.send", "characters up to U+00FF only") from error
    need(0 < len(send) <= 256, "trigger.send", "1 to 256 bytes")
    need(
        not keys.echo or bool(send.rstrip(b"\r\n")), "trigger.echo", "nothing but line ends is sent"
    )
    return Trigger(send, keys.reply_ms, keys.echo)
