"""A Modbus RTU profile's `[modbus]` table to the registers that it asks for, checked."""

from typing import Literal

import msgspec

from drivers.profile.modbus_spec import REGISTERS, Modbus
from drivers.profile.texts import NAME
from drivers.toml_file import WrongKey, need

MOST_DECIMALS = 40


class ModbusKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[modbus]` table as written."""

    unit_id: int
    function: Literal[3, 4]
    address: int
    count: int
    type: Literal["int16", "uint16", "int32", "uint32", "float32"]
    words: Literal["big", "little"] | None = None
    decimals: int | None = None
    sentinel_hex: str | None = None
    sentinel_name: str | None = None


def modbus_of(keys: ModbusKeys) -> Modbus:
    """The checked record; raises WrongKey."""
    need(
        1 <= keys.unit_id <= 247,
        "modbus.unit_id",
        "1 to 247; 0 is for all units at once, and none answers it",
    )
    registers = REGISTERS[keys.type]
    need(
        keys.count == registers,
        "modbus.count",
        f"{keys.type} takes {registers} register{'s' if registers > 1 else ''}, not {keys.count}",
    )
    need(
        0 <= keys.address <= 0x10000 - registers,
        "modbus.address",
        f"0 to {0x10000 - registers}, as on the wire: lists that begin at 1 or 40001 are one more",
    )
    need(
        keys.words is not None or registers == 1,
        "modbus.words",
        'two registers need "big" (high word first) or "little": no standard says which',
    )
    need(
        keys.words != "little" or registers == 2,
        "modbus.words",
        f"{keys.type} is one word",
    )
    need(
        keys.decimals is not None or keys.type != "float32",
        "modbus.decimals",
        "float32 is rounded to so many decimals, so they are required",
    )
    decimals = keys.decimals or 0
    need(0 <= decimals <= MOST_DECIMALS, "modbus.decimals", f"0 to {MOST_DECIMALS}")
    return Modbus(
        unit_id=keys.unit_id,
        function=keys.function,
        address=keys.address,
        count=keys.count,
        type=keys.type,
        little=keys.words == "little",
        decimals=decimals,
        sentinel=_sentinel(keys, 2 * registers),
    )


def _sentinel(keys: ModbusKeys, size: int) -> tuple[bytes, str] | None:
    digits, name = keys.sentinel_hex, keys.sentinel_name
    if digits is None:
        need(name is None, "modbus.sentinel_name", "names what sentinel_hex says, which is missing")
        return None
    need(name is not None, "modbus.sentinel_name", "sentinel_hex needs a name for what it means")
    need(bool(NAME.fullmatch(name or "")), "modbus.sentinel_name", f"{name!r} is not a name")
    reason = f"{2 * size} hex digits for {keys.type}"
    need(len(digits) == 2 * size, "modbus.sentinel_hex", reason)
    try:
        # int() alone would take an underscore or a sign, fromhex() spaces.
        bits = bytes.fromhex(digits)
    except ValueError as error:
        raise WrongKey("modbus.sentinel_hex", reason) from error
    need(len(bits) == size, "modbus.sentinel_hex", reason)
    return bits, name or ""
