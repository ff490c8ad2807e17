"""Which of the shop's gauges an attached device is."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from daq.errors import SettingsError

if TYPE_CHECKING:
    from daq.equipment.gauge import Gauge
    from drivers.attached.discovery import Attached

_KIND = len("usb:VVVV:PPPP")


def gauges_of(home: Path) -> tuple[list["Gauge"], list[str]]:
    """The gauges of HOME/gauges by name, and why files there cannot be used."""
    from daq.services.home import load_gauge  # noqa: PLC0415 - only when it runs

    gauges, faults = [], []
    for path in sorted((home / "gauges").glob("*.toml")):
        try:
            gauges.append(load_gauge(path.stem, home))
        except SettingsError as error:
            faults.append(str(error))
    return gauges, faults


def is_it(gauge: "Gauge", device: "Attached") -> bool:
    """The gauge file means this device: by the identity if it has one, else by the port."""
    if gauge.identity is not None:
        return gauge.identity == device.identity
    port = gauge.port or ""
    kind, which = port[:_KIND].lower(), port[_KIND:]
    if kind.startswith("usb:"):
        own = ("", device.identity[_KIND:], f"@{device.socket}")
        return kind == device.identity[:_KIND] and which in own
    return bool(device.node) and os.path.realpath(port) == os.path.realpath(device.node)


def known_as(device: "Attached", gauges: Sequence["Gauge"]) -> list["Gauge"]:
    """The gauges that this device may be, by name."""
    return [gauge for gauge in gauges if is_it(gauge, device)]
