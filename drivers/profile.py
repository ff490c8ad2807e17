"""A gauge profile: TOML text to a frozen, checked record; a mistake names file, key and reason."""

import re
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal, TypeVar

import msgspec

from drivers.errors import ProfileError
from drivers.framing import FrameSpec
from drivers.layout_spec import (
    NAMED,
    Bits,
    Channel,
    Flag,
    Lit,
    Number,
    Sign,
    Spaces,
    Token,
    Unit,
)

SHIPPED = Path(__file__).parent / "profiles"
"""The folder of pattern profiles that come with the program."""

SCHEMA = 1
MOST_FILE_BYTES = 64 * 1024
MOST_FRAME_BYTES = 4096
_ID = re.compile(r"[a-z0-9-]{1,64}")
_NAME = re.compile(r"[A-Za-z0-9._-]{1,40}")
_DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


class Link(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How to open the port; the user may override it."""

    transport: Literal["serial", "usb-hid-keyboard", "tcp", "rfc2217"] = "serial"
    baud: int = 9600
    bits: Literal[5, 6, 7, 8] = 8
    parity: Literal["N", "E", "O", "M", "S"] = "N"
    stop: float = 1
    dtr: bool | None = None
    rts: bool | None = None
    keyboard: Literal["us", "de", "fr"] | None = None
    alt_numpad: bool = False


class Trigger(msgspec.Struct, frozen=True):
    """What asks the gauge for a reading, as bytes; empty if it speaks unasked."""

    send: bytes = b""
    reply_ms: int = 1000
    echo: bool = False


class Check(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The frame's check character."""

    kind: Literal["xor8", "sum8"]
    form: Literal["raw", "hex2"]
    sep: str = ""
    over: Literal["payload", "payload+end"] = "payload"


class Profile(msgspec.Struct, frozen=True):
    """A whole text profile, checked. `text` is the file as read, for the record.

    `resolution` is None where the digits sent say it, one decimal for every unit, or a decimal for
    each. `conditions` are (pattern, name), the pattern with the fewest wildcards first.
    """

    id: str
    title: str
    text: str
    link: Link
    trigger: Trigger
    frame: FrameSpec
    check: Check | None
    layout: tuple[Token, ...]
    conditions: tuple[tuple[str, str], ...]
    sentinels: tuple[tuple[Decimal, str], ...]
    unit: str
    resolution: Decimal | dict[str, Decimal] | None
    least: Decimal | None
    most: Decimal | None
    repeat_window_ms: int

    def condition(self, text: str) -> str | None:
        """The condition that the whole text stands for, if any."""
        for pattern, name in self.conditions:
            if len(pattern) == len(text) and all(
                p in ("?", c) for p, c in zip(pattern, text, strict=True)
            ):
                return name
        return None

    def resolution_in(self, unit: str) -> Decimal | None:
        """The declared resolution in `unit`; None if the digits sent say it."""
        if isinstance(self.resolution, dict):
            return self.resolution.get(unit)
        return self.resolution

    def units(self) -> tuple[str, ...]:
        """Every unit that a reading of this profile can have, sorted."""
        return tuple(sorted(_units(self.layout, self.unit)))

    def statuses(self) -> frozenset[str]:
        """Every flag name that a reading of this profile can carry."""
        names: set[str] = set()
        for token in self.layout:
            if isinstance(token, Flag):
                names.update(token.map.values())
            elif isinstance(token, Bits):
                names.update(token.bits.values())
        return frozenset(name for name in names if name and not name.startswith("!"))

    def has_channel(self) -> bool:
        """The gauge says which of its inputs a reading came from."""
        return any(isinstance(token, Channel) for token in self.layout)


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


class _Wrong(Exception):
    def __init__(self, key: str, reason: str) -> None:
        self.key = key
        self.reason = reason
        super().__init__(reason)


def read_profile(path: Path) -> Profile:
    """The profile in a file; raises ProfileError, also where the file cannot be read."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_FILE_BYTES + 1)
    except OSError as error:
        raise ProfileError(path, "", f"cannot be read: {error.strerror}") from error
    if len(data) > MOST_FILE_BYTES:
        raise ProfileError(path, "", f"longer than {MOST_FILE_BYTES} bytes: not a profile")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ProfileError(path, "", f"not UTF-8 text: {error}") from error
    return parse_profile(text, str(path))


def parse_profile(text: str, source: str) -> Profile:
    """The profile in `text`; `source` names its file in a ProfileError."""
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # A number of thousands of digits or nesting as deep passes tomllib's own error by.
        raise ProfileError(source, "", f"not a TOML file: {error}") from error
    try:
        if table.get("schema") != SCHEMA or isinstance(table.get("schema"), bool):
            raise _Wrong("schema", f"this program reads profile schema {SCHEMA}")
        kind = table.get("kind")
        _need(kind in (None, "text"), "kind", f'{kind!r} is not read by this version; "text" is')
        return _profile(_convert(table, _File, ""), text)
    except _Wrong as wrong:
        raise ProfileError(source, wrong.key, wrong.reason) from wrong


_T = TypeVar("_T")


def _convert(table: object, kind: type[_T], where: str) -> _T:
    try:
        return msgspec.convert(table, kind)
    except msgspec.ValidationError as error:
        reason, _, path = str(error).partition(" - at `$")
        key = path.rstrip("`").lstrip(".")
        key = re.sub(r"\[(\d+)\]", lambda index: f"[{int(index[1]) + 1}]", key)  # as people count
        unknown = re.search(r"unknown field `([^`]*)`", reason)
        if unknown:
            key = f"{key}.{unknown[1]}".lstrip(".")
            reason = "unknown key"
        missing = re.search(r"missing required field `([^`]*)`", reason)
        if missing:
            key = f"{key}.{missing[1]}".lstrip(".")
            reason = "this key is required"
        raise _Wrong(".".join(filter(None, (where, key))), reason.replace("`", "")) from error


def _need(fits: bool, key: str, reason: str) -> None:
    if not fits:
        raise _Wrong(key, reason)


def _ascii(text: str, key: str) -> bytes:
    _need(text.isascii(), key, "only ASCII is allowed here")
    return text.encode("ascii")


def _profile(file: _File, text: str) -> Profile:
    _need(bool(_ID.fullmatch(file.id)), "id", "use a-z, 0-9 and - only, at most 64 characters")
    _need(file.link.stop in (1, 1.5, 2), "link.stop", "1, 1.5 or 2 stop bits")
    _need(50 <= file.link.baud <= 4_000_000, "link.baud", "between 50 and 4000000")
    frame = _frame(file.frame)
    _check(file.check, frame)
    layout = tuple(_token(entry, number) for number, entry in enumerate(file.layout, 1))
    _layout(layout)
    unit = file.value.unit
    _need(unit.isascii() and unit.isprintable(), "value.unit", "only ASCII is allowed here")
    least = _number(file.value.min, "value.min")
    most = _number(file.value.max, "value.max")
    _need(least is None or most is None or least <= most, "value.min", "larger than value.max")
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
        resolution=_resolution(file.value.resolution, _units(layout, unit)),
        least=least,
        most=most,
        repeat_window_ms=_window(file.repeat),
    )


def _frame(spec: _Frame) -> FrameSpec:
    _need(spec.start is None or spec.start_hex is None, "frame.start_hex", "start is given too")
    start = _ascii(spec.start or "", "frame.start")
    if spec.start_hex is not None:
        try:
            start = bytes.fromhex(spec.start_hex)
        except ValueError as error:
            raise _Wrong("frame.start_hex", "not pairs of hex digits") from error
    given = spec.start is not None or spec.start_hex is not None
    key = "frame.start" if spec.start_hex is None else "frame.start_hex"
    _need(not given or 0 < len(start) <= 16, key, "1 to 16 bytes")
    if spec.mask7:
        _need(all(b < 0x80 for b in start), "frame.start_hex", "bit 7 never comes with mask7")
    listed = [spec.end] if isinstance(spec.end, str) else spec.end
    ends = tuple(_ascii(end, "frame.end") for end in listed or ())
    _need(listed is None or bool(ends), "frame.end", "an empty list")
    _need(all(0 < len(end) <= 16 for end in ends), "frame.end", "1 to 16 bytes")
    _need(len(set(ends)) == len(ends), "frame.end", "the same end mark twice")
    _need(1 <= spec.idle_ms <= 60_000, "frame.idle_ms", "between 1 and 60000")
    if spec.length is not None:
        _need(not ends, "frame.length", "a fixed length goes without end")
        _need(spec.max_bytes is None, "frame.max_bytes", "not used with length")
        low = len(start) + 1
        _need(low <= spec.length <= MOST_FRAME_BYTES, "frame.length", f"{low} to 4096")
    _need(0 <= spec.tail <= 16, "frame.tail", "0 to 16 bytes")
    _need(not spec.tail or bool(ends), "frame.tail", "bytes after the end need an end")
    most = 64 if spec.max_bytes is None else spec.max_bytes
    _need(1 <= most <= MOST_FRAME_BYTES, "frame.max_bytes", f"1 to {MOST_FRAME_BYTES}")
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
        _need(frame.tail == 1, "check.form", "raw needs frame.tail = 1, the byte that is sent")
        _need(not check.sep, "check.sep", "only used with form hex2")
    else:
        _need(check.over == "payload", "check.over", "payload+end goes with form raw")
        _need(check.sep.isascii(), "check.sep", "only ASCII is allowed here")


def _trigger(spec: _Trigger | None) -> Trigger:
    if spec is None:
        return Trigger()
    try:
        send = spec.send.encode("latin-1")
    except UnicodeEncodeError as error:
        raise _Wrong("trigger.send", "characters up to U+00FF only") from error
    _need(0 < len(send) <= 256, "trigger.send", "1 to 256 bytes")
    _need(1 <= spec.reply_ms <= 60_000, "trigger.reply_ms", "between 1 and 60000")
    _need(
        not spec.echo or bool(send.rstrip(b"\r\n")), "trigger.echo", "nothing but line ends is sent"
    )
    return Trigger(send, spec.reply_ms, spec.echo)


def _token(entry: dict[str, Any], number: int) -> Token:
    where = f"layout[{number}]"
    selectors = [key for key in ("lit", "sp", "name") if key in entry]
    _need(len(selectors) == 1, where, "exactly one of lit, sp or name says what stands here")
    if selectors == ["lit"]:
        lit = _convert(entry, Lit, where)
        _ascii(lit.lit, f"{where}.lit")
        _need(bool(lit.lit), f"{where}.lit", "empty text")
        return lit
    if selectors == ["sp"]:
        spaces = _convert(entry, Spaces, where)
        _width(spaces.sp, f"{where}.sp", 0)
        return spaces
    kind = NAMED.get(entry["name"]) if isinstance(entry["name"], str) else None
    if kind is None:
        raise _Wrong(f"{where}.name", f"unknown; known are {', '.join(NAMED)}")
    token = _convert(entry, kind, where)
    _one_token(token, where)
    return token


def _one_token(token: Token, where: str) -> None:
    match token:
        case Channel():
            _width(token.width, f"{where}.width", 1)
            for name in token.allowed or ():
                _ascii(name, f"{where}.allowed")
        case Sign():
            _keys(token.map, where)
        case Number():
            _number_token(token, where)
        case Unit():
            _keys(token.map, where)
            for unit in token.map.values():
                _ascii(unit, f"{where}.map")
        case Flag():
            _keys(token.map, where)
            _status_names(token.map, f"{where}.map")
        case Bits():
            _need(1 <= token.width <= 8, f"{where}.width", "1 to 8 hex digits")
            for bit in token.bits:
                known = [str(n) for n in range(4 * token.width)]
                _need(bit in known, f"{where}.bits", f"bit {bit!r} is not 0 to {known[-1]}")
            _status_names(token.bits, f"{where}.bits")


def _keys(entries: dict[str, Any], where: str) -> None:
    _need(bool(entries), f"{where}.map", "empty")
    for key in entries:
        _ascii(key, f"{where}.map")


def _status_names(entries: dict[str, str], key: str) -> None:
    for name in filter(None, entries.values()):
        fits = bool(_NAME.fullmatch(name.removeprefix("!")))
        _need(fits, key, f"{name!r}: use letters, digits, '.', '_' and '-'")


def _width(width: int | tuple[int, int], key: str, least: int) -> None:
    low, high = width if isinstance(width, tuple) else (width, width)
    _need(least <= low <= high <= MOST_FRAME_BYTES and high > 0, key, "not a width")


def _number_token(token: Number, where: str) -> None:
    if token.width is not None:
        _width(token.width, f"{where}.width", 1)
    _need(not token.gap or token.sign != "none", f"{where}.gap", "a gap needs a sign before it")
    if token.form in ("fixed", "exp", "nrf"):
        _need(token.sep in (None, ".", ","), f"{where}.sep", "'.' or ','")
    elif token.form == "dms":
        sep = token.sep or ""
        fits = len(sep) == 1 and sep.isascii() and sep.isprintable() and not sep.isdigit()
        _need(fits, f"{where}.sep", "form dms needs the one character between its numbers")
    else:
        _need(token.sep is None, f"{where}.sep", f"form {token.form} has no separator")
    if token.decimals is not None:
        fits = token.form in ("int", "fixed", "exp")
        _need(fits, f"{where}.decimals", f"form {token.form} has none")
        _need(0 <= token.decimals <= 40, f"{where}.decimals", "0 to 40")


def _layout(layout: tuple[Token, ...]) -> None:
    for kind in (Number, Sign, Unit, Channel):
        found = sum(isinstance(token, kind) for token in layout)
        name = kind.__name__.lower()
        _need(found <= 1, "layout", f"more than one {name}")
        _need(found == 1 or kind is not Number, "layout", 'no token with name = "number"')
    exponents = sum(isinstance(token, NAMED["exponent"]) for token in layout)
    _need(exponents <= 1, "layout", "more than one exponent")
    number = next(token for token in layout if isinstance(token, Number))
    _need(
        not exponents or number.form in ("int", "fixed"),
        "layout",
        f"an exponent does not go with form {number.form}",
    )
    _need(
        number.sign == "none" or not any(isinstance(token, Sign) for token in layout),
        "layout",
        "a sign token and a number with its own sign",
    )


def _conditions(spec: dict[str, str]) -> tuple[tuple[str, str], ...]:
    for pattern, name in spec.items():
        _ascii(pattern, f"conditions.{pattern!r}")
        _need(bool(pattern), "conditions", "an empty pattern")
        _need(bool(_NAME.fullmatch(name)), f"conditions.{pattern!r}", f"{name!r} is not a name")
    # A TOML table has no order, so the most literal pattern is tried first.
    return tuple(sorted(spec.items(), key=lambda item: item[0].count("?")))


def _sentinel(entry: _Sentinel, number: int) -> tuple[Decimal, str]:
    value = _number(entry.value, f"sentinel[{number}].value")
    _need(bool(_NAME.fullmatch(entry.name)), f"sentinel[{number}].name", "not a name")
    assert value is not None
    return value, entry.name


def _number(text: str | None, key: str) -> Decimal | None:
    if text is None:
        return None
    _need(bool(_DECIMAL.fullmatch(text)) and len(text) <= 60, key, f"{text!r} is not a number")
    return Decimal(text)


def _window(spec: _Repeat | None) -> int:
    if spec is None:
        return 0
    _need(1 <= spec.window_ms <= 60_000, "repeat.window_ms", "between 1 and 60000")
    return spec.window_ms


def _units(layout: tuple[Token, ...], default: str) -> set[str]:
    for token in layout:
        if isinstance(token, Unit):
            return set(token.map.values()) | ({default} if token.optional else set())
    return {default}


def _resolution(spec: str | dict[str, str], units: set[str]) -> Decimal | dict[str, Decimal] | None:
    if spec == "digits":
        return None
    if isinstance(spec, str):
        return _step(spec, "value.resolution")
    missing = units - spec.keys()
    _need(not missing, "value.resolution", f"no entry for {', '.join(map(repr, sorted(missing)))}")
    return {unit: _step(text, f"value.resolution.{unit}") for unit, text in spec.items()}


def _step(text: str, key: str) -> Decimal:
    fits = re.fullmatch(r"\d+(\.\d+)?", text, re.ASCII) and len(text) <= 40
    _need(bool(fits) and Decimal(text) > 0, key, f"{text!r} is not a positive decimal like 0.001")
    return Decimal(text)
