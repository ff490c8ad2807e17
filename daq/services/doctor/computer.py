"""The computer without its gauges, judged: commands, clock, disk, home, terminal, Python. Pure."""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from daq.services.doctor.facts import (
    ClockFacts,
    CommandFacts,
    HomeFacts,
    PythonFacts,
    TerminalFacts,
)
from daq.services.doctor.finding import MachineFinding

LEAST_FREE_BYTES = 20_000_000
"""A long session with its tables takes a tenth of it. Chosen by us."""
SLOW_SYNC_S = 0.5
"""A reading is shown once it is on the disk; so long a wait is felt. Chosen by us."""
LEAST_SIZE, WHOLE_SIZE = (60, 20), (80, 24)
"""Columns and rows of a terminal in which one can work, and in which all fits."""
SIGNS = {
    "µ": "micro",
    "°": "degree",
    "±": "plus-minus",
    "…": "three dots",
    "─": "lines",
    "█": "large figures",
}
"""Characters that the program prints beside plain English, and plain words for them."""
LEAST_PYTHON = (3, 11)
_EARLY = timedelta(days=1)
"""Files and sessions may come from a machine whose clock is a little ahead."""

MUST_HAVE = {
    "click": "click",
    "filelock": "filelock",
    "msgspec": "msgspec",
    "platformdirs": "platformdirs",
    "rich": "rich",
    "serial": "pyserial",
}
"""Modules that no session can do without, and the packages that bring them."""
MAY_HAVE = {
    "pandas": ("pandas", "`daq.load` gives tables to Python programs"),
    "usb": ("pyusb", "gauges that type like a keyboard can be read"),
}
"""Modules that some things need: the package, and what it is for."""
EXTRAS = {
    "openpyxl": ("formats", "`jbridge export` makes workbooks"),
    "pyarrow": ("formats", "`jbridge export` makes Parquet"),
    "weasyprint": ("pdf", "`jbridge sheet` makes a PDF"),
}
"""Modules of the program's extras: the extra, and what it is for."""

NETWORK = ("9p", "afs", "ceph", "cifs", "fuse.sshfs", "nfs", "nfs4", "smb3", "smbfs", "virtiofs")
FLEETING = ("ramfs", "tmpfs")
"""File systems by their Linux names: on another machine; gone when this one is switched off."""


def command_findings(facts: CommandFacts) -> tuple[MachineFinding, ...]:
    """Sound, speech and browser: pleasant to have."""
    return (
        _command("sound", facts.players, "plays sounds", "alsa-utils (for aplay)"),
        _command("speech", facts.speakers, "can speak", "speech-dispatcher or espeak-ng"),
        _command("browser", facts.browsers, "shows pages", "a browser such as firefox"),
    )


def _command(name: str, found: Sequence[str], does: str, package: str) -> MachineFinding:
    if found:
        return MachineFinding(name, True, False, f"{found[0]} {does}")
    return MachineFinding(
        name, False, False, f"no command that {does} was found. If you want it: install {package}"
    )


def clock_finding(facts: ClockFacts) -> MachineFinding:
    """The date goes into every record; a session runs with any."""
    wrong = _wrong_date(facts)
    said = f"{facts.now:%Y-%m-%d %H:%M} {_zone(facts)}"
    if wrong:
        return MachineFinding("clock", False, False, f"{said}: {wrong}. Set date and time")
    if facts.is_synchronised is False:
        return MachineFinding(
            "clock",
            False,
            False,
            f"{said}, set by nobody but this machine: see that it is right, or let it be set over "
            "the network (`sudo timedatectl set-ntp true`)",
        )
    if facts.is_synchronised:
        said += ", set over the network"
    if not facts.counts_sleep:
        said += ". The time that a check may be old stands still while this machine sleeps"
    return MachineFinding("clock", True, False, said)


def _zone(facts: ClockFacts) -> str:
    offset = facts.now.utcoffset() or timedelta()
    sign = "-" if offset < timedelta() else "+"
    minutes = abs(offset) // timedelta(minutes=1)
    return f"UTC{sign}{minutes // 60:02}:{minutes % 60:02}"


def _wrong_date(facts: ClockFacts) -> str:
    """Why the date cannot be right; "" if nothing shows that."""
    if facts.program_at is not None and facts.program_at > facts.now + _EARLY:
        return f"this program was installed on {facts.program_at:%Y-%m-%d}, which is later"
    if facts.newest_session_at is not None and facts.newest_session_at > facts.now + _EARLY:
        return f"a session was begun on {facts.newest_session_at:%Y-%m-%d}, which is later"
    return ""


def home_findings(facts: HomeFacts) -> tuple[MachineFinding, ...]:
    """Home, what kind of disk it is on, and whether what is written there stays."""
    if facts.fault:
        where = f"{facts.path}: " if facts.path else ""
        return (MachineFinding("home", False, True, f"{where}{facts.fault}"),)
    said = "can be written to" if facts.exists else f"will be made (in {facts.place})"
    home = MachineFinding("home", True, True, f"{facts.path}: {said}")
    return (home, *_filesystem(facts), _disk(facts))


def _filesystem(facts: HomeFacts) -> tuple[MachineFinding, ...]:
    kind = facts.filesystem
    if not kind:
        return ()
    wrong = ""
    if kind in FLEETING:
        wrong = "in memory only: sessions are lost when this machine is switched off"
    elif kind in NETWORK:
        wrong = "on another machine: a session ends when the network does"
    elif kind == "overlay":
        wrong = "inside a container: sessions are lost when it is removed"
    said = f"the home is on {kind}"
    if wrong:
        said += f", {wrong}. Choose a folder on a disk of this machine with --home"
    return (MachineFinding("file system", not wrong, False, said),)


def _disk(facts: HomeFacts) -> MachineFinding:
    told = f"what is written is safe after {_duration(facts.sync_s or 0)}"
    if facts.free_bytes is not None:
        free = f"{_size(facts.free_bytes)} free"
        if facts.free_bytes < LEAST_FREE_BYTES:
            only = f"only {free} for {facts.place}: free some space, or use --home"
            return MachineFinding("disk", False, True, only)
        told = f"{free}; {told}"
    if (facts.sync_s or 0) >= SLOW_SYNC_S:
        told += ". That is slow: each reading waits so long. A disk of this machine would be faster"
    return MachineFinding("disk", True, True, told)


def _size(many: int) -> str:
    for unit, one in (("GB", 10**9), ("MB", 10**6), ("kB", 1000)):
        if many >= one:
            return f"{many // one} {unit}"
    return f"{many} bytes"


def _duration(seconds: float) -> str:
    return f"{seconds:.1f} s" if seconds >= 1 else f"{max(1, round(seconds * 1000))} ms"


def terminal_finding(facts: TerminalFacts) -> MachineFinding:
    """A session runs without one; then it tells and takes lines."""
    if not facts.is_terminal:
        return MachineFinding(
            "terminal",
            True,
            False,
            "none: what is told and typed is plain lines, as with --plain",
        )
    wrong = []
    if facts.kind in ("dumb", "unknown"):
        wrong.append(f"TERM is {facts.kind}, so nothing can be drawn: use --plain")
    hidden = _not_shown(facts.encoding)
    if hidden:
        wrong.append(
            f"its encoding {facts.encoding} has no signs for {', '.join(hidden)}, so codes stand "
            "in their place: choose UTF-8 (`export LANG=C.UTF-8`)"
        )
    size = f"{facts.columns} columns, {facts.rows} rows"
    if 0 < facts.columns < LEAST_SIZE[0] or 0 < facts.rows < LEAST_SIZE[1]:
        least = f"{LEAST_SIZE[0]} by {LEAST_SIZE[1]}"
        wrong.append(f"{size} are too few: make the window at least {least}, or use --plain")
    if wrong:
        return MachineFinding("terminal", False, False, "; ".join(wrong))
    told = f"{size}, {facts.encoding}"
    if facts.columns < WHOLE_SIZE[0] or facts.rows < WHOLE_SIZE[1]:
        told += f". All fits at {WHOLE_SIZE[0]} by {WHOLE_SIZE[1]}"
    return MachineFinding("terminal", True, False, told)


def _not_shown(encoding: str) -> list[str]:
    """What of SIGNS an encoding lacks, in words that any can show."""
    return [word for char, word in SIGNS.items() if not _has(encoding, char)]


def _has(encoding: str, char: str) -> bool:
    try:
        return bool(char.encode(encoding))
    except (UnicodeError, LookupError):
        return False


def python_findings(facts: PythonFacts) -> tuple[MachineFinding, ...]:
    """The interpreter, the packages that must be there, and those that some things need."""
    version = ".".join(map(str, facts.version))
    is_new = facts.version >= LEAST_PYTHON
    least = ".".join(map(str, LEAST_PYTHON))
    python = version if is_new else f"{version} is too old: install Python {least} or newer"
    missing = [package for module, package in MUST_HAVE.items() if module in facts.missing]
    packages = "all that are needed are there" if not missing else _install(missing)
    return (
        MachineFinding("python", is_new, True, python),
        MachineFinding("packages", not missing, True, packages),
        *(
            MachineFinding("packages", False, False, f"{_install([package])}; with it {use}")
            for module, (package, use) in MAY_HAVE.items()
            if module in facts.missing
        ),
        *_extra_findings(facts),
    )


def _extra_findings(facts: PythonFacts) -> Iterator[MachineFinding]:
    """The extras: what is there together, what is missing one by one."""
    out = {*facts.missing, *(["weasyprint"] if facts.pdf_libraries else [])}
    there = [use for module, (_, use) in EXTRAS.items() if module not in out]
    if there:
        yield MachineFinding("extras", True, False, ", ".join(there))
    for module, (extra, use) in EXTRAS.items():
        if module in facts.missing:
            said = f"missing: {module}. Install: `pip install 'journalbridge[{extra}]'`"
            yield MachineFinding("extras", False, False, f"{said}; with it {use}")
    if facts.pdf_libraries and "weasyprint" not in facts.missing:
        said = f"weasyprint does not find {', '.join(facts.pdf_libraries)}, so no PDF can be made"
        way = "Install pango, on Debian libpango-1.0-0 and libpangoft2-1.0-0"
        yield MachineFinding("extras", False, False, f"{said}. {way}")


def _install(packages: Sequence[str]) -> str:
    return f"missing: {', '.join(packages)}. Install: `pip install {' '.join(packages)}`"
