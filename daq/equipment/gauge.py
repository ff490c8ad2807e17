"""The file of one gauge of the shop: its text to a checked record. Pure."""

from datetime import date
from typing import TypeVar

import msgspec

from daq.errors import SettingsError
from daq.lengths import Length, parse_length
from drivers.toml_file import WrongKey, converted, table_in


class GaugeFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    """One gauge of the shop, as HOME/gauges/NAME.toml describes it."""

    file_schema: int
    profile: str
    port: str | None = None
    identity: str | None = None
    resolution: str | None = None
    permitted_error: str | None = None
    range: tuple[str, str] | None = None
    certificate: str | None = None
    due: date | None = None
    continuous: bool = False


class Gauge(msgspec.Struct, frozen=True):
    """A gauge file, checked; `text` as read."""

    name: str
    text: str
    profile: str
    port: str | None
    identity: str | None
    resolution: Length | None
    permitted_error: Length | None
    range: tuple[Length, Length] | None
    certificate: str | None
    due: date | None
    continuous: bool = False


def parse_gauge(text: str, name: str, source: str) -> Gauge:
    """A gauge file's text, checked; raises SettingsError naming `source` and the key."""
    table = record_of(text, GaugeFile, source)

    def length(value: str | None, key: str) -> Length | None:
        return None if value is None else positive_length(value, source, key)

    limits = None
    if table.range is not None:
        low, high = (positive_length(value, source, "range") for value in table.range)
        if low.mm >= high.mm:
            raise _wrong(source, "range", f"{low} is not under {high}")
        limits = (low, high)
    if table.port is None and table.identity is None:
        raise _wrong(source, "port", "a port or an identity must be given")
    return Gauge(
        name=name,
        text=text,
        profile=table.profile,
        port=table.port,
        identity=table.identity,
        resolution=length(table.resolution, "resolution"),
        permitted_error=length(table.permitted_error, "permitted_error"),
        range=limits,
        certificate=table.certificate,
        due=table.due,
        continuous=table.continuous,
    )


_T = TypeVar("_T")

SCHEMA = 1


def record_of(text: str, kind: type[_T], source: str) -> _T:
    """A small TOML file as a record of `kind`; raises SettingsError naming `source` and the key."""
    try:
        return converted(table_in(text, SCHEMA), kind)
    except WrongKey as wrong:
        raise _wrong(source, wrong.key, wrong.reason) from wrong


def positive_length(value: str, source: str, key: str) -> Length:
    """A length above zero; raises SettingsError naming `source` and `key`."""
    try:
        length = parse_length(value)
    except ValueError as error:
        raise _wrong(source, key, str(error)) from error
    if length.value <= 0:
        raise _wrong(source, key, f"{length} is not above zero")
    return length


def _wrong(source: str, key: str, reason: str) -> SettingsError:
    where = f"{source}, key {key}" if key else source
    return SettingsError(f"{where}: {reason}.")
