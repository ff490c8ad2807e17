"""The file of one gauge of the shop: its text to a record. Pure."""

from datetime import date
from decimal import Decimal

import msgspec

from daq.equipment.fields import (
    check_positive,
    fault_in,
    known_record_of,
    read_length,
    read_optional_length,
    record_of,
)
from daq.lengths import Length
from drivers.toml_file import WrongKey

TYPED_PORT = "typed:"
"""The port of a gauge that types into this program's own window, or of a person who does."""

BY_HAND = "typed-by-hand"
"""The id of the profile of values that a person reads off and types."""

LEAST_PITCH_MM, MOST_PITCH_MM = Decimal("0.1"), Decimal(5)
"""Of a measuring screw. Chosen by us, wide about 0.5 mm, 1 mm and 0.025 in."""


class GaugeFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    """One gauge of the shop, as HOME/gauges/NAME.toml describes it."""

    file_schema: int
    profile: str | None = None
    port: str | None = None
    identity: str | None = None
    resolution: str | None = None
    permitted_error: str | None = None
    range: tuple[str, str] | None = None
    certificate: str | None = None
    due: date | None = None
    continuous: bool = False
    pitch: str | None = None


class Gauge(msgspec.Struct, frozen=True):
    """A gauge file; `text` as read. `profile`: that of values typed by hand, where none is said.
    `pitch`: that of its measuring screw, how far one turn goes.
    """

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
    pitch: Length | None = None


def parse_gauge(text: str, name: str, source: str) -> Gauge:
    """A gauge file's text, checked; raises SettingsError naming `source` and the key."""
    with fault_in(source):
        table = record_of(text, GaugeFile)
        check_gauge_file(table)
        return _gauge(table, name, text)


def read_gauge(text: str, name: str, source: str) -> Gauge:
    """A gauge file's text, which some program has checked: the same record as `parse_gauge` gives.

    Raises SettingsError naming `source` and the key where it has not the shape of one.
    """
    with fault_in(source):
        return _gauge(known_record_of(text, GaugeFile), name, text)


def _gauge(table: GaugeFile, name: str, text: str) -> Gauge:
    return Gauge(
        name=name,
        text=text,
        profile=_profile(table),
        port=table.port,
        identity=table.identity,
        resolution=read_optional_length(table.resolution, "resolution"),
        permitted_error=read_optional_length(table.permitted_error, "permitted_error"),
        range=None if table.range is None else _range(table.range),
        certificate=table.certificate,
        due=table.due,
        continuous=table.continuous,
        pitch=read_optional_length(table.pitch, "pitch"),
    )


def _profile(table: GaugeFile) -> str:
    if table.profile is None and table.port != TYPED_PORT:
        raise WrongKey(
            "profile", f'this key is required; only with port = "{TYPED_PORT}" it may be left out'
        )
    return table.profile or BY_HAND


def _range(texts: tuple[str, str]) -> tuple[Length, Length]:
    low, high = texts
    return read_length(low, "range"), read_length(high, "range")


def check_gauge_file(table: GaugeFile) -> None:
    """Refuse a gauge file that cannot be meant; raises WrongKey."""
    _profile(table)
    if table.range is not None:
        for text in table.range:
            check_positive(text, "range")
        low, high = _range(table.range)
        if low.mm >= high.mm:
            raise WrongKey("range", f"{low} is not under {high}")
    if table.port is None and table.identity is None:
        raise WrongKey("port", "write a port or an identity")
    check_positive(table.resolution, "resolution")
    check_positive(table.permitted_error, "permitted_error")
    _check_pitch(read_optional_length(table.pitch, "pitch"))


def _check_pitch(pitch: Length | None) -> None:
    if pitch is not None and not LEAST_PITCH_MM <= pitch.mm <= MOST_PITCH_MM:
        raise WrongKey(
            "pitch",
            (
                f"{pitch} is no pitch of a measuring screw ({LEAST_PITCH_MM} to {MOST_PITCH_MM} "
                "mm): how far one turn goes, usually 0.5 mm or 0.025 in"
            ),
        )
