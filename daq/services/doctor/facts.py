"""What is known of a machine before anything is judged. Tests give other facts."""

from datetime import datetime

import msgspec

from drivers.attached.discovery import Attached
from drivers.attached.holders import Holder
from drivers.udev.installed import InstalledRule


class GaugeFacts(msgspec.Struct, frozen=True, kw_only=True):
    """A serial port or keyboard-type device, and what is known beside it. `gauges`: the names of
    the gauge files that mean it; `rules`: the installed files that give rights on it.
    """

    device: Attached
    gauges: tuple[str, ...] = ()
    holders: tuple[Holder, ...] = ()
    rules: tuple[InstalledRule, ...] = ()
    is_kept_from_modems: bool = False


class DeviceFacts(msgspec.Struct, frozen=True, kw_only=True):
    """What is attached. `candidates` have no port, `others` are keyboards that are not on USB.

    `library_trouble`: why no keyboard-type gauge can be read here, "" if it can; `grabbers`: the
    programs that run and take ports for themselves; `faults`: gauge files that cannot be used.
    """

    attached: tuple[GaugeFacts, ...] = ()
    candidates: tuple[Attached, ...] = ()
    others: tuple[Attached, ...] = ()
    library_trouble: str = ""
    has_udev: bool = True
    grabbers: frozenset[str] = frozenset()
    faults: tuple[str, ...] = ()


class CommandFacts(msgspec.Struct, frozen=True):
    """Which of the usual commands this machine has: players of sounds, speakers, browsers."""

    players: tuple[str, ...] = ()
    speakers: tuple[str, ...] = ()
    browsers: tuple[str, ...] = ()


class ClockFacts(msgspec.Struct, frozen=True, kw_only=True):
    """The time by this machine, with its zone; `is_synchronised` None where that is not cheap to
    know; `counts_sleep`: the clock for intervals goes on while the machine sleeps.

    `program_at`: when the program's own files were written; `newest_session_at`: when the newest
    session of the home was begun, None if there is none. Neither can be still to come.
    """

    now: datetime
    program_at: datetime | None = None
    newest_session_at: datetime | None = None
    counts_sleep: bool = True
    is_synchronised: bool | None = None


class HomeFacts(msgspec.Struct, frozen=True, kw_only=True):
    """The home: `path` is "" where none can be told, and then `fault` says why.

    `place` is the home, or the nearest folder above it that exists; a file was written there, made
    durable in `sync_s` seconds, and taken away. `fault` says why not. `filesystem` is the
    system's word for its kind, "" if unknown.
    """

    path: str
    place: str = ""
    exists: bool = True
    fault: str = ""
    free_bytes: int | None = None
    sync_s: float | None = None
    filesystem: str = ""


class TerminalFacts(msgspec.Struct, frozen=True, kw_only=True):
    """Where the program talks: `is_terminal` for keys and screen; `kind` is TERM's word."""

    is_terminal: bool
    columns: int = 0
    rows: int = 0
    encoding: str = "utf-8"
    kind: str = ""


class PythonFacts(msgspec.Struct, frozen=True, kw_only=True):
    """The interpreter, and which packages it does not find; `pdf_libraries`: the system's libraries
    that lay out a PDF and are not found.
    """

    version: tuple[int, int, int]
    missing: frozenset[str] = frozenset()
    pdf_libraries: tuple[str, ...] = ()


class MachineFacts(msgspec.Struct, frozen=True, kw_only=True):
    """All of it."""

    devices: DeviceFacts
    commands: CommandFacts
    clock: ClockFacts
    home: HomeFacts
    terminal: TerminalFacts
    python: PythonFacts
