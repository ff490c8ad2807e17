"""A profile file: TOML text to a checked Profile; a mistake names file, key and reason."""

import re
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

import msgspec

from drivers.errors import ProfileError
from drivers.framing import FrameSpec
from drivers.layout_checks import (
    MOST_FRAME_BYTES,
    NAME,
    ascii_bytes,
    check_layout,
    need,
    token_of,
)
from drivers.profile import Check, Link, Profile, Trigger, units_of
from drivers.toml_file import WrongKey, converted, table_in, text_in

SCHEMA = 1

MOST_FILE_BYTES = 64 * 1024

_ID = re.compile(r"[a-z0-9-]{1,64}")

_DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


class _Frame(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    start: str | None = None
    start_hex: str | None = None
    end: str | list[str] | None = None
    tail: int = 0
    length: int | None = None
    idle_ms: int = 500
    max_bytes: int | None = None
    mask7: bool = False
    trim: bool = False


class _Trigger(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    send: str
    reply_ms: int = 1000
    echo: bool = False


class _Sentinel(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    value: str
    name: str


class _Value(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    unit: str = ""
    resolution: str | dict[str, str] = "digits"
    min: str | None = None
    max: str | None = None


class _Repeat(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    window_ms: int


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: int
    id: str
    kind: Literal["text"]
    title: str = ""
    link: Link = Link()
    trigger: _Trigger | None = None
    frame: _Frame = _Frame()
    check: Check | None = None
    layout: list[dict[str, Any]] = []
    conditions: dict[str, str] = {}
    sentinel: list[_Sentinel] = []
    value: _Value = _Value()
    repeat: _Repeat | None = None


def read_profile(path: Path) -> Profile:
    """The profile in a file; raises ProfileError, also where the file cannot be read."""
    try:
        return parse_profile(text_in(path, MOST_FILE_BYTES), str(path))
    except WrongKey as wrong:
        raise ProfileError(path, wrong.key, wrong.reason) from wrong


def parse_profile(text: str, source: str) -> Profile:
    """The profile in `text`; `source` names its file in a ProfileError."""
    try:
        table = table_in(text, SCHEMA)
        kind = table.get("kind")
        need(kind in (None, "text"), "kind", f'{kind!r} is not read by this version; "text" is')
        return _profile(converted(table, _File), text)
    except WrongKey as wrong:
        raise ProfileError(source, wrong.key, wrong.reason) from wrong


def _profile(file: _File, text: str) -> Profile:
    need(bool(_ID.fullmatch(file.id)), "id", "use a-z, 0-9 and - only, at most 64 characters")
    need(file.link.stop in (1, 1.5, 2), "link.stop", "1, 1.5 or 2 stop bits")
    need(50 <= file.link.baud <= 4_000_000, "link.baud", "between 50 and 4000000")
    frame = _frame(file.frame)
    _check(file.check, frame)
    layout = tuple(token_of(entry, number) for number, entry in enumerate(file.layout, 1))
    check_layout(layout)
    unit = file.value.unit
    need(unit.isascii() and unit.isprintable(), "value.unit", "only ASCII is allowed here")
    least = _number(file.value.min, "value.min")
    most = _number(file.value.max, "value.max")
    need(least is None or most is None or least <= most, "value.min", "larger than value.max")
    return Profile(
        id=file.id,
        title=file.title,
        text=text,
        link=file.link,
        trigger=_trigger(file.trigger),
        frame=frame,
        check=file.check,
        layout=layout,
        conditions=_conditions(file.conditions),
        sentinels=tuple(_sentinel(entry, i) for i, entry in enumerate(file.sentinel, 1)),
        unit=unit,
        resolution=_resolution(file.value.resolution, units_of(layout, unit)),
        least=least,
        most=most,
        repeat_window_ms=_window(file.repeat),
    )


def _frame(spec: _Frame) -> FrameSpec:
    need(spec.start is None or spec.start_hex is None, "frame.start_hex", "start is given too")
    start = ascii_bytes(spec.start or "", "frame.start")
    if spec.start_hex is not None:
        try:
            start = bytes.fromhex(spec.start_hex)
        except ValueError as error:
            raise WrongKey("frame.start_hex", "not pairs of hex digits") from error
    given = spec.start is not None or spec.start_hex is not None
    key = "frame.start" if spec.start_hex is None else "frame.start_hex"
    need(not given or 0 < len(start) <= 16, key, "1 to 16 bytes")
    if spec.mask7:
        need(all(b < 0x80 for b in start), "frame.start_hex", "bit 7 never comes with mask7")
    listed = [spec.end] if isinstance(spec.end, str) else spec.end
    ends = tuple(ascii_bytes(end, "frame.end") for end in listed or ())
    need(listed is None or bool(ends), "frame.end", "an empty list")
    need(all(0 < len(end) <= 16 for end in ends), "frame.end", "1 to 16 bytes")
    need(len(set(ends)) == len(ends), "frame.end", "the same end mark twice")
    need(1 <= spec.idle_ms <= 60_000, "frame.idle_ms", "between 1 and 60000")
    if spec.length is not None:
        need(not ends, "frame.length", "a fixed length goes without end")
        need(spec.max_bytes is None, "frame.max_bytes", "not used with length")
        low = len(start) + 1
        need(low <= spec.length <= MOST_FRAME_BYTES, "frame.length", f"{low} to 4096")
    need(0 <= spec.tail <= 16, "frame.tail", "0 to 16 bytes")
    need(not spec.tail or bool(ends), "frame.tail", "bytes after the end need an end")
    most = 64 if spec.max_bytes is None else spec.max_bytes
    need(1 <= most <= MOST_FRAME_BYTES, "frame.max_bytes", f"1 to {MOST_FRAME_BYTES}")
    return FrameSpec(
        start=start,
        ends=ends,
        listed=isinstance(spec.end, list),
        tail=spec.tail,
        length=spec.length,
        idle_ms=spec.idle_ms,
        max_bytes=most,
        mask7=spec.mask7,
        trim=spec.trim,
    )


def _check(check: Check | None, frame: FrameSpec) -> None:
    if check is None:
        return
    if check.form == "raw":
        need(frame.tail == 1, "check.form", "raw needs frame.tail = 1, the byte that is sent")
        need(not check.sep, "check.sep", "only used with form hex2")
    else:
        need(check.over == "payload", "check.over", "payload+end goes with form raw")
        need(check.sep.isascii(), "check.sep", "only ASCII is allowed here")


def _trigger(spec: _Trigger | None) -> Trigger:
    if spec is None:
        return Trigger()
    try:
        send = spec.send.encode("latin-1")
    except UnicodeEncodeError as error:
        raise WrongKey("trigger.send", "characters up to U+00FF only") from error
    need(0 < len(send) <= 256, "trigger.send", "1 to 256 bytes")
    need(1 <= spec.reply_ms <= 60_000, "trigger.reply_ms", "between 1 and 60000")
    need(
        not spec.echo or bool(send.rstrip(b"\r\n")), "trigger.echo", "nothing but line ends is sent"
    )
    return Trigger(send, spec.reply_ms, spec.echo)


def _conditions(spec: dict[str, str]) -> tuple[tuple[str, str], ...]:
    for pattern, name in spec.items():
        ascii_bytes(pattern, f"conditions.{pattern!r}")
        need(bool(pattern), "conditions", "an empty pattern")
        need(bool(NAME.fullmatch(name)), f"conditions.{pattern!r}", f"{name!r} is not a name")
    # A TOML table has no order, so the most literal pattern is tried first.
    return tuple(sorted(spec.items(), key=lambda item: item[0].count("?")))


def _sentinel(entry: _Sentinel, number: int) -> tuple[Decimal, str]:
    value = _number(entry.value, f"sentinel[{number}].value")
    need(bool(NAME.fullmatch(entry.name)), f"sentinel[{number}].name", "not a name")
    assert value is not None
    return value, entry.name


def _number(text: str | None, key: str) -> Decimal | None:
    if text is None:
        return None
    need(bool(_DECIMAL.fullmatch(text)) and len(text) <= 60, key, f"{text!r} is not a number")
    return Decimal(text)


def _window(spec: _Repeat | None) -> int:
    if spec is None:
        return 0
    need(1 <= spec.window_ms <= 60_000, "repeat.window_ms", "between 1 and 60000")
    return spec.window_ms


def _resolution(spec: str | dict[str, str], units: set[str]) -> Decimal | dict[str, Decimal] | None:
    if spec == "digits":
        return None
    if isinstance(spec, str):
        return _step(spec, "value.resolution")
    missing = units - spec.keys()
    need(not missing, "value.resolution", f"no entry for {', '.join(map(repr, sorted(missing)))}")
    return {unit: _step(text, f"value.resolution.{unit}") for unit, text in spec.items()}


def _step(text: str, key: str) -> Decimal:
    fits = re.fullmatch(r"\d+(\.\d+)?", text, re.ASCII) and len(text) <= 40
    need(bool(fits) and Decimal(text) > 0, key, f"{text!r} is not a positive decimal like 0.001")
    return Decimal(text)
