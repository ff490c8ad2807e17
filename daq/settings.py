"""Where gauges, profiles, stacks and sessions live, and the files that describe gauge or stack."""

import os
import re
import secrets
from pathlib import Path

import msgspec

from daq.errors import SettingsError
from daq.gauge_file import Gauge, parse_gauge, positive_length, record_of
from drivers.profile import SHIPPED, Profile
from drivers.profile_file import read_profile
from drivers.reading import utc_text
from drivers.toml_file import WrongKey, text_in

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
MOST_FILE_BYTES = 64 * 1024


class _StackFile(
    msgspec.Struct,
    frozen=True,
    forbid_unknown_fields=True,
    kw_only=True,
    rename={"file_schema": "schema"},
):
    file_schema: int
    size: str


def home_folder(option: str | None) -> Path:
    """`option`, else JBRIDGE_HOME, else the platform's user data folder."""
    given = option or os.environ.get("JBRIDGE_HOME")
    if given:
        return Path(given).expanduser()
    import platformdirs  # noqa: PLC0415 - only where neither is given

    return Path(platformdirs.user_data_dir("journalbridge", appauthor=False))


def new_session_id(utc_us: int) -> str:
    """UTC time and 4 random letters, like 20261125T080000Z-kqwe."""
    stamp = utc_text(utc_us)
    compact = stamp[:19].replace("-", "").replace(":", "")
    letters = "".join(secrets.choice("abcdefghijklmnopqrstuvwxyz") for _ in range(4))
    return f"{compact}Z-{letters}"


def load_profile(word: str, home: Path) -> Profile:
    """The profile called `word`: a file, one in HOME/profiles, or one that is shipped.

    Raises SettingsError if there is none, ProfileError if it is wrong.
    """
    if ("/" in word or word.endswith(".toml")) and "\x00" not in word:
        return read_profile(Path(word).expanduser())
    if _NAME.fullmatch(word):
        for folder in (home / "profiles", SHIPPED):
            path = folder / f"{word}.toml"
            if path.is_file():
                profile = read_profile(path)
                if profile.id != word:
                    raise SettingsError(
                        f"The profile cannot be used. {path}, key id: {profile.id!r} is not the "
                        f"file's name {word!r}."
                    )
                return profile
    known = sorted(path.stem for path in SHIPPED.glob("*.toml"))
    raise SettingsError(
        f"There is no profile {word!r}. Give a file, put one into {home / 'profiles'}, or use one "
        f"of {', '.join(known)}."
    )


def load_gauge(name: str, home: Path) -> Gauge:
    """The gauge file HOME/gauges/NAME.toml; raises SettingsError."""
    path = home / "gauges" / f"{name}.toml"
    if not _NAME.fullmatch(name) or not path.is_file():
        known = ", ".join(sorted(p.stem for p in (home / "gauges").glob("*.toml"))) or "none yet"
        raise SettingsError(
            f"There is no gauge {name!r} in {home / 'gauges'} (known: {known}). Write a gauge "
            "file, or give --port and --profile."
        )
    return parse_gauge(_text(path), name, str(path))


def saved_stack(name: str, home: Path) -> str | None:
    """The size, as text, of the stack saved as HOME/stacks/NAME.toml; None if there is none."""
    path = home / "stacks" / f"{name}.toml"
    if not _NAME.fullmatch(name) or not path.is_file():
        return None
    table = record_of(_text(path), _StackFile, str(path))
    return str(positive_length(table.size, str(path), "size"))


def _text(path: Path) -> str:
    try:
        return text_in(path, MOST_FILE_BYTES)
    except WrongKey as wrong:
        raise SettingsError(f"{path}: {wrong.reason}.") from wrong
