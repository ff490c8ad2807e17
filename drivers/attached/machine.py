"""Where the system shows its devices. Tests give other folders."""

from pathlib import Path

import msgspec


class Machine(msgspec.Struct, frozen=True):
    """The roots under which Linux shows devices, nodes, processes and udev's own records."""

    sys: Path = Path("/sys")
    dev: Path = Path("/dev")
    proc: Path = Path("/proc")
    run: Path = Path("/run")
    rules: tuple[Path, ...] = (
        Path("/etc/udev/rules.d"),
        Path("/run/udev/rules.d"),
        Path("/usr/local/lib/udev/rules.d"),
        Path("/usr/lib/udev/rules.d"),
    )
    """Folders of udev rules; of files of one name the first counts. Source: udev(7)."""


THIS_MACHINE = Machine()
