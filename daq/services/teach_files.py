"""The two files that `teach` writes: a profile, and the gauge that has it."""

import re
from pathlib import Path

import msgspec

from daq.equipment.gauge import parse_gauge
from daq.errors import SettingsError
from daq.storage.durable import write_whole
from drivers.inference.toml_text import text_of
from drivers.profile.file import parse_profile

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
"""As `daq.services.home` reads gauge files."""


class TeachTarget(msgspec.Struct, frozen=True):
    """Where a gauge called `name` goes; `profile_id` is the name as a profile may have it."""

    name: str
    profile_id: str
    profile: Path
    gauge: Path


def target(name: str, home: Path) -> TeachTarget:
    """The files for `name`; raises SettingsError if it cannot be a file's name."""
    if not _NAME.fullmatch(name):
        raise SettingsError(
            f"{name!r} cannot be the name of a gauge: use letters, digits, '.', '_' and '-', at "
            "most 80, and begin with a letter or digit."
        )
    profile_id = re.sub(r"[^a-z0-9]+", "-", name.lower())[:64]
    return TeachTarget(
        name,
        profile_id,
        home / "profiles" / f"{profile_id}.toml",
        home / "gauges" / f"{name}.toml",
    )


def refuse_existing(where: TeachTarget) -> None:
    """Raises SettingsError if one of the files is there."""
    for path in (where.profile, where.gauge):
        if path.exists():
            raise SettingsError(f"{path} exists. Use another name, or --replace.")


def gauge_text(profile_id: str, port: str, identity: str | None) -> str:
    """A gauge file: known by `identity` where the device has a serial number, else by its port."""
    known = f"identity = {text_of(identity)}" if identity else f"port = {text_of(port)}"
    return (
        f"schema = 1\nprofile = {text_of(profile_id)}\n{known}\n"
        "# From the gauge's certificate, for the judgement of what it measures:\n"
        '# resolution = "0.001 mm"\n'
        '# permitted_error = "0.003 mm"\n'
        '# range = ["0 mm", "25 mm"]\n'
    )


def write(where: TeachTarget, profile: str, gauge: str) -> None:
    """Write both, each whole or not at all; the gauge last, so that it never lacks its profile.

    Raises SettingsError for texts that would not be read again, OSError where the disk refuses.
    """
    parse_profile(profile, str(where.profile))
    parse_gauge(gauge, where.name, str(where.gauge))
    for path, text in ((where.profile, profile), (where.gauge, gauge)):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.encode())
