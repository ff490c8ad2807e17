"""The facts of this machine. Nothing is opened but a file of our own; nothing stays changed.

What cannot be seen is left out of the facts: a look at a machine fails for no fault of it.
"""

import ctypes
import importlib.util
import os
import shutil
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TextIO

import daq.version
from daq.equipment.gauge import Gauge
from daq.errors import SettingsError
from daq.services.doctor.computer import EXTRAS, MAY_HAVE, MUST_HAVE
from daq.services.doctor.facts import (
    ClockFacts,
    CommandFacts,
    DeviceFacts,
    GaugeFacts,
    HomeFacts,
    MachineFacts,
    PythonFacts,
    TerminalFacts,
)
from daq.services.doctor.filesystem import filesystem_of
from daq.services.doctor.probe import sync_seconds
from daq.services.home import home_folder
from daq.services.recognise import gauges_of, known_as
from daq.sounds.programs import PLAYERS, SPEAKERS
from daq.storage.durable import what_helps
from drivers.attached.discovery import Attached, attached, candidates, typing_only
from drivers.attached.holders import holders_of
from drivers.attached.machine import THIS_MACHINE, Machine
from drivers.attached.services import grabbers, is_kept_from_modems
from drivers.printable import shown
from drivers.udev.installed import installed_files, rules_for

BROWSERS = (
    *("xdg-open", "open", "firefox", "firefox-esr", "chromium", "chromium-browser"),
    *("google-chrome", "epiphany", "falkon"),
)
PDF_LIBRARIES = ("libpango-1.0.so.0", "libpangoft2-1.0.so.0")
"""What weasyprint needs of a Linux system."""
_MOST_MOUNT_BYTES = 1024 * 1024
_TIME_ERROR, _TIMEX_BYTES = 5, 1024
"""The answer of adjtimex(2) for a clock that nobody sets, and more room than its record takes."""


def look(home_option: str | None, machine: Machine = THIS_MACHINE) -> MachineFacts:
    """All facts; `home_option` is what --home said."""
    fault, home = "", None
    try:
        home = home_folder(home_option)
    except SettingsError as error:
        fault = str(error).rstrip(".")
    return MachineFacts(
        devices=_devices(home, machine),
        commands=CommandFacts(_present(tuple(PLAYERS)), _present(SPEAKERS), _present(BROWSERS)),
        clock=_clock(home),
        home=HomeFacts(path="", fault=fault) if home is None else home_facts(home, machine),
        terminal=_terminal(),
        python=PythonFacts(
            version=sys.version_info[:3],
            missing=frozenset(
                name for name in (*MUST_HAVE, *MAY_HAVE, *EXTRAS) if not _is_there(name)
            ),
            pdf_libraries=tuple(name for name in PDF_LIBRARIES if not _loads(name)),
        ),
    )


def _present(commands: Sequence[str]) -> tuple[str, ...]:
    return tuple(command for command in commands if shutil.which(command))


def _is_there(module: str) -> bool:
    try:
        return importlib.util.find_spec(module) is not None
    except (ImportError, ValueError):  # half a package
        return False


def _loads(library: str) -> bool:
    """A library of a Linux system can be loaded; elsewhere they have other names, and it counts as
    one that can.
    """
    if sys.platform == "linux":
        try:
            ctypes.CDLL(library)
        except OSError:
            return False
    return True


def _devices(home: Path | None, machine: Machine) -> DeviceFacts:
    gauges: list[Gauge] = []
    faults: list[str] = []
    with suppress(OSError):  # the home's own trouble is told where it is looked at
        gauges, faults = gauges_of(home) if home is not None else ([], [])
    found = attached(machine)
    files = installed_files(machine)
    holders = holders_of([one.node for one in found if one.node], machine)
    return DeviceFacts(
        attached=tuple(
            GaugeFacts(
                device=one,
                gauges=tuple(gauge.name for gauge in known_as(one, gauges)),
                holders=holders.get(one.node, ()),
                rules=rules_for(*_ids(one), files),
                is_kept_from_modems=is_kept_from_modems(one.node, machine),
            )
            for one in found
        ),
        candidates=candidates(machine),
        others=typing_only(machine),
        library_trouble=_library_trouble(),
        has_udev=(machine.sys / "class/tty").is_dir(),
        grabbers=grabbers(machine),
        faults=tuple(faults),
    )


def _ids(device: Attached) -> tuple[str, str]:
    """Vendor and product of a USB device, by its identity; empty for any other."""
    scheme, _, rest = device.identity.partition(":")
    return (rest[:4], rest[5:9]) if scheme == "usb" else ("", "")


def _library_trouble() -> str:
    try:
        from drivers.ports.usb_bus import library_trouble  # noqa: PLC0415 - loads the library
    except ImportError:
        return "the package pyusb is missing. Install: `pip install pyusb`"
    return library_trouble()


def _clock(home: Path | None) -> ClockFacts:
    now = datetime.now(UTC)
    program_at = newest = None
    with suppress(OSError, ValueError, OverflowError):
        now = now.astimezone()
    with suppress(OSError, ValueError, OverflowError):
        program_at = datetime.fromtimestamp(Path(daq.version.__file__).stat().st_mtime, UTC)
    if home is not None:
        newest = newest_session(_names(home / "sessions"))
    return ClockFacts(
        now=now,
        program_at=program_at,
        newest_session_at=newest,
        counts_sleep=sys.platform == "win32" or hasattr(time, "CLOCK_BOOTTIME"),
        is_synchronised=_is_synchronised(),
    )


def _names(folder: Path) -> list[str]:
    try:
        return os.listdir(folder)
    except (OSError, ValueError):
        return []


def newest_session(names: Sequence[str]) -> datetime | None:
    """When the newest of these sessions was begun, by their ids; None if none of them is one."""
    times = []
    for name in names:
        with suppress(ValueError):
            times.append(datetime.strptime(name[:16], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC))
    return max(times, default=None)


def _is_synchronised() -> bool | None:
    """The system's clock is set from elsewhere. Source: adjtimex(2), which changes nothing where
    its record is empty.
    """
    if sys.platform.startswith("linux"):
        try:
            state = ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES))
        except (OSError, AttributeError):
            return None
        return None if state < 0 else bool(state != _TIME_ERROR)
    else:  # said so for the type checker, which knows the systems
        return None


def home_facts(home: Path, machine: Machine = THIS_MACHINE) -> HomeFacts:
    """The home, tried by a file that is taken away again."""
    try:
        path = os.path.abspath(home)
        with suppress(FileNotFoundError, NotADirectoryError, PermissionError):
            os.lstat(path)
    except OSError as error:  # a name far too long, or relative to a folder that is gone
        return HomeFacts(
            path=shown(str(home)),
            fault=f"no such folder can be made ({error.strerror}). Choose another with --home",
        )
    place = path
    while not os.path.lexists(place) and os.path.dirname(place) != place:
        place = os.path.dirname(place)
    exists = place == path
    if not os.path.isdir(place):
        return HomeFacts(
            path=path,
            place=place,
            exists=exists,
            fault=f"{'it' if exists else place} is not a folder: choose another with --home",
        )
    try:
        sync_s = sync_seconds(Path(place))
    except OSError as error:
        what = "it cannot be written to" if exists else f"it cannot be made in {place}"
        return HomeFacts(
            path=path,
            place=place,
            exists=exists,
            fault=f"{what} ({error.strerror or error}). {what_helps(error)}",
        )
    free = None
    with suppress(OSError, AttributeError):  # some systems have no such call
        free = shutil.disk_usage(place).free
    return HomeFacts(
        path=path,
        place=place,
        exists=exists,
        free_bytes=free,
        sync_s=sync_s,
        filesystem=filesystem_of(os.path.realpath(place), _mounts(machine)),
    )


def _mounts(machine: Machine) -> str:
    try:
        with (machine.proc / "self/mountinfo").open("rb") as file:
            return file.read(_MOST_MOUNT_BYTES).decode("utf-8", "surrogateescape")
    except OSError:
        return ""


def _terminal() -> TerminalFacts:
    encoding = getattr(sys.stderr, "encoding", None) or "utf-8"
    if not all(map(_is_terminal, (sys.stdin, sys.stderr))):
        return TerminalFacts(is_terminal=False, encoding=encoding)
    columns = rows = 0
    with suppress(OSError, ValueError):
        columns, rows = os.get_terminal_size(sys.stderr.fileno())
    return TerminalFacts(
        is_terminal=True,
        columns=columns,
        rows=rows,
        encoding=encoding,
        kind=os.environ.get("TERM", ""),
    )


def _is_terminal(stream: TextIO | None) -> bool:
    try:
        return stream is not None and stream.isatty()
    except ValueError:  # closed
        return False
