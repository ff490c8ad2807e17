"""Which keys of a profile go with which kind."""

from typing import Any

from drivers.toml_file import WrongKey, need

TEXT, BCD, MODBUS = "text", "bcd", "modbus-rtu"
KINDS = (TEXT, BCD, MODBUS)

_WITH: dict[str, tuple[str, ...]] = {
    "bcd": (BCD,),
    "modbus": (MODBUS,),
    "layout": (TEXT, BCD),
    "check": (TEXT,),
    "conditions": (TEXT,),
    "link.keyboard": (TEXT,),
    "link.alt_numpad": (TEXT,),
    "trigger.send": (TEXT, BCD),
    "trigger.echo": (TEXT,),
    "frame.start": (TEXT, BCD),
    "frame.start_hex": (TEXT, BCD),
    "frame.length": (TEXT, BCD),
    "frame.end": (TEXT,),
    "frame.tail": (TEXT,),
    "frame.max_bytes": (TEXT,),
    "frame.mask7": (TEXT,),
    "frame.trim": (TEXT,),
}
"""Keys that not every kind has; all others go with all kinds."""

_INSTEAD = {
    (BCD, "check"): "a layout token of that name says it",
    (BCD, "frame.end"): "its length is fixed",
    (MODBUS, "check"): "its CRC goes without saying",
    (MODBUS, "layout"): "the modbus table says what is read",
    (MODBUS, "trigger.send"): "the modbus table says what is asked for",
}

_LINK_DEFAULTS: dict[str, Any] = {"baud": 19200, "parity": "E"}
"""Source: Modbus over Serial Line V1.02, 2.5.1 and 3.2 (from memory): 19200 baud, even parity."""


def kind_in(table: dict[str, Any]) -> str:
    """The profile's kind; raises WrongKey if there is none, or one of another program."""
    kind = table.get("kind")
    need("kind" in table, "kind", "this key is required")
    if not isinstance(kind, str) or kind not in KINDS:
        known = ", ".join(map(repr, KINDS))
        raise WrongKey("kind", f"{kind!r} is not read by this version; known are {known}")
    return kind


def check_keys(table: dict[str, Any], kind: str) -> None:
    """Raises WrongKey for a key that belongs to another kind, or one that the kind lacks."""
    for key, kinds in _WITH.items():
        if kind not in kinds and _has(table, key):
            reason = f"goes with kind {' or '.join(kinds)}, not with {kind}"
            instead = _INSTEAD.get((kind, key))
            raise WrongKey(key, f"{reason}: {instead}" if instead else reason)
    for key, kinds in (("bcd", (BCD,)), ("modbus", (MODBUS,))):
        need(kind not in kinds or key in table, key, f"kind {kind} needs this table")


def keys_of_other_kinds(kind: str) -> list[str]:
    """The keys that a profile of this kind may not have."""
    return [key for key, kinds in _WITH.items() if kind not in kinds]


def with_link_defaults(table: dict[str, Any], kind: str) -> dict[str, Any]:
    """The table with what a link of this kind is where the profile does not say."""
    link = table.get("link", {})
    if kind != MODBUS or not isinstance(link, dict):
        return table
    return {**table, "link": {**_LINK_DEFAULTS, **link}}


def check_link(transport: str, bits: int, kind: str) -> None:
    """Raises WrongKey for a link that cannot carry frames of this kind."""
    if kind != TEXT:
        need(transport != "usb-hid-keyboard", "link.transport", "a keyboard types text only")
        need(bits == 8, "link.bits", f"kind {kind} needs 8 data bits")


def _has(table: dict[str, Any], key: str) -> bool:
    outer, _, inner = key.partition(".")
    found = table.get(outer)
    return outer in table if not inner else isinstance(found, dict) and inner in found
