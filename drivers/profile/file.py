"""A profile file: TOML text to a checked Profile; a mistake names file, key and reason."""

import re
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

import msgspec

from drivers.errors import ProfileError
from drivers.profile.bcd_checks import BcdKeys, bcd_of
from drivers.profile.frame_checks import (
    FrameKeys,
    TriggerKeys,
    check_check,
    frame_of,
    modbus_frame_of,
    trigger_of,
)
from drivers.profile.kinds import check_keys, check_link, kind_in, with_link_defaults
from drivers.profile.layout_checks import check_layout, token_of
from drivers.profile.layout_spec import Token
from drivers.profile.modbus_checks import ModbusKeys, modbus_of
from drivers.profile.profile import CheckCharacter, Link, Profile, units_of
from drivers.profile.texts import NAME, ascii_bytes
from drivers.toml_file import WrongKey, converted, need, table_in, text_in

SCHEMA = 1

MOST_FILE_BYTES = 64 * 1024

_ID = re.compile(r"[a-z0-9-]{1,64}")

_DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


class SentinelKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A `[[sentinel]]` table as written."""

    value: str
    name: str


class ValueKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[value]` table as written."""

    unit: str = ""
    resolution: str | dict[str, str] = "digits"
    min: str | None = None
    max: str | None = None


class RepeatKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[repeat]` table as written."""

    window_ms: int


class ProfileKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole profile file as written; its layout is read by its kind."""

    schema: int
    id: str
    kind: Literal["text", "bcd", "modbus-rtu"]
    title: str = ""
    link: Link = Link()
    trigger: TriggerKeys | None = None
    frame: FrameKeys = FrameKeys()
    bcd: BcdKeys | None = None
    modbus: ModbusKeys | None = None
    check: CheckCharacter | None = None
    layout: list[dict[str, Any]] = []
    conditions: dict[str, str] = {}
    sentinel: list[SentinelKeys] = []
    value: ValueKeys = ValueKeys()
    repeat: RepeatKeys | None = None


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
        kind = kind_in(table)
        check_keys(table, kind)
        return _profile(converted(with_link_defaults(table, kind), ProfileKeys), text)
    except WrongKey as wrong:
        raise ProfileError(source, wrong.key, wrong.reason) from wrong


def _profile(file: ProfileKeys, text: str) -> Profile:
    need(bool(_ID.fullmatch(file.id)), "id", "use a-z, 0-9 and - only, at most 64 characters")
    need(file.link.stop in (1, 1.5, 2), "link.stop", "1, 1.5 or 2 stop bits")
    need(50 <= file.link.baud <= 4_000_000, "link.baud", "between 50 and 4000000")
    check_link(file.link.transport, file.link.bits, file.kind)
    frame = frame_of(file.frame) if file.modbus is None else modbus_frame_of(file.frame)
    check_check(file.check, frame)
    layout: tuple[Token, ...] = ()
    if file.kind == "text":
        layout = tuple(token_of(entry, number) for number, entry in enumerate(file.layout, 1))
        check_layout(layout)
    bcd = None if file.bcd is None else bcd_of(file.bcd, file.layout, frame)
    unit = file.value.unit
    need(unit.isascii() and unit.isprintable(), "value.unit", "only ASCII is allowed here")
    least = _number(file.value.min, "value.min")
    most = _number(file.value.max, "value.max")
    need(least is None or most is None or least <= most, "value.min", "larger than value.max")
    return Profile(
        id=file.id,
        title=file.title,
        kind=file.kind,
        text=text,
        link=file.link,
        trigger=trigger_of(file.trigger, is_asked=file.modbus is not None),
        frame=frame,
        check=file.check,
        layout=layout,
        conditions=_conditions(file.conditions),
        sentinels=tuple(_sentinel(entry, i) for i, entry in enumerate(file.sentinel, 1)),
        unit=unit,
        resolution=_resolution(file.value.resolution, units_of(layout, bcd, unit)),
        least=least,
        most=most,
        repeat_window_ms=_window(file.repeat),
        bcd=bcd,
        modbus=None if file.modbus is None else modbus_of(file.modbus),
    )


def _conditions(spec: dict[str, str]) -> tuple[tuple[str, str], ...]:
    for pattern, name in spec.items():
        ascii_bytes(pattern, f"conditions.{pattern!r}")
        need(bool(pattern), "conditions", "an empty pattern")
        need(bool(NAME.fullmatch(name)), f"conditions.{pattern!r}", f"{name!r} is not a name")
    # A TOML table has no order, so the most literal pattern is tried first.
    return tuple(sorted(spec.items(), key=lambda item: item[0].count("?")))


def _sentinel(entry: SentinelKeys, number: int) -> tuple[Decimal, str]:
    value = _number(entry.value, f"sentinel[{number}].value")
    need(bool(NAME.fullmatch(entry.name)), f"sentinel[{number}].name", "not a name")
    assert value is not None
    return value, entry.name


def _number(text: str | None, key: str) -> Decimal | None:
    if text is None:
        return None
    need(bool(_DECIMAL.fullmatch(text)) and len(text) <= 60, key, f"{text!r} is not a number")
    return Decimal(text)


def _window(spec: RepeatKeys | None) -> int:
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
