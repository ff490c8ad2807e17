"""Where gauges, profiles, stacks and sessions live, and the files that describe gauge or stack."""

import os
import re
import secrets
from datetime import UTC, date, datetime
from pathlib import Path

from daq.acquisition.typed_port import by_hand
from daq.equipment.gauge import BY_HAND, Gauge, parse_gauge
from daq.equipment.stacks.set_file import BlockSet, parse_block_set
from daq.equipment.stacks.stack_file import Stack, parse_stack
from daq.errors import SettingsError
from daq.lengths import parse_length
from daq.storage.durable import write_whole
from drivers.profile.file import read_profile
from drivers.profile.profile import SHIPPED, Profile
from drivers.reading import utc_text
from drivers.toml_file import WrongKey, text_in

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
MOST_FILE_BYTES = 64 * 1024
SHIPPED_SETS = Path(__file__).parents[1] / "equipment" / "stacks" / "sets"
_SET_OF_UNIT = {"mm": "M112", "in": "inch-81"}


def home_folder(option: str | None) -> Path:
    """`option`, else JBRIDGE_HOME, else the platform's user data folder."""
    given = option or os.environ.get("JBRIDGE_HOME")
    if given:
        return _expanded(given, "--home" if option else "JBRIDGE_HOME")
    import platformdirs  # noqa: PLC0415 - only where neither is given

    return Path(platformdirs.user_data_dir("journalbridge", appauthor=False))


def _expanded(text: str, what: str) -> Path:
    """A path with its ~ resolved; raises SettingsError where there is no such user."""
    try:
        return Path(text).expanduser()
    except RuntimeError as error:
        raise SettingsError(
            f"{what} {text[:80]!r}: there is no such user's folder. Write the path out, or begin "
            "it with ./"
        ) from error


def new_session_id(utc_us: int) -> str:
    """UTC time and 4 random letters, like 20261125T080000Z-kqwe."""
    stamp = utc_text(utc_us)
    compact = stamp[:19].replace("-", "").replace(":", "")
    letters = "".join(secrets.choice("abcdefghijklmnopqrstuvwxyz") for _ in range(4))
    return f"{compact}Z-{letters}"


def load_profile(word: str, home: Path) -> Profile:
    """The profile called `word`: a file, one in HOME/profiles, one that is shipped, or that of
    values typed by hand.

    Raises SettingsError if there is none, ProfileError if it is wrong.
    """
    if ("/" in word or word.endswith(".toml")) and "\x00" not in word:
        return read_profile(_expanded(word, "The profile"))
    if word == BY_HAND:
        return by_hand()
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


def load_stack(name: str, home: Path) -> tuple[Stack, str] | None:
    """The stack saved as HOME/stacks/NAME.toml and its file's text; None if there is none.

    Raises SettingsError for a file that is wrong.
    """
    path = home / "stacks" / f"{name}.toml"
    if not _NAME.fullmatch(name) or not path.is_file():
        return None
    text = _text(path)
    stack = parse_stack(text, name, str(path))
    _refuse_to_come(stack.certificate_date, path)
    return stack, text


def saved_stack(name: str, home: Path) -> str | None:
    """The certified size, as text, of the stack saved under a name; None if there is none."""
    found = load_stack(name, home)
    return None if found is None else str(found[0].size)


def load_block_set(word: str | None, unit: str, home: Path) -> BlockSet:
    """The block set called `word`: a file, one in HOME/blocks, or one that is shipped.

    Without a word: the shop's own set of that unit, if it has exactly one; without any the shipped
    M112 or inch-81. Raises SettingsError.
    """
    if word is None:
        word = _only_set(unit, home) or _SET_OF_UNIT[unit]
    path = None
    if ("/" in word or word.endswith(".toml")) and "\x00" not in word:
        path = _expanded(word, "The block set")
    elif _NAME.fullmatch(word):
        places = (folder / f"{word}.toml" for folder in (home / "blocks", SHIPPED_SETS))
        path = next((place for place in places if place.is_file()), None)
    if path is None:
        known = ", ".join(sorted(p.stem for p in SHIPPED_SETS.glob("*.toml")))
        raise SettingsError(
            f"There is no block set {word[:80]!r}. Give a file, put one into {home / 'blocks'}, or "
            f"use one of {known}."
        )
    return _block_set(path)


def _only_set(unit: str, home: Path) -> str | None:
    """The name of the shop's own set of a unit; None if it has none."""
    own = [_block_set(path) for path in sorted((home / "blocks").glob("*.toml"))]
    names = [one.name for one in own if one.unit == unit]
    if len(names) > 1:
        raise SettingsError(
            f"Which block set? {home / 'blocks'} holds {', '.join(names)}: say --set NAME."
        )
    return names[0] if names else None


def _block_set(path: Path) -> BlockSet:
    shipped = {p.stem: p.read_text(encoding="utf-8") for p in SHIPPED_SETS.glob("*.toml")}
    found = parse_block_set(_text(path), path.stem, str(path), shipped)
    _refuse_to_come(found.certificate_date, path)
    return found


def save_stack(name: str, text: str, home: Path, *, replace: bool) -> Path:
    """Keep a stack file as HOME/stacks/NAME.toml, whole or not at all; gives its path.

    Raises SettingsError for a name that is none, or a stack of that name unless `replace`.
    """
    if not _NAME.fullmatch(name) or _is_size(name):
        raise SettingsError(
            f"A stack cannot be called {name[:80]!r}: letters, digits, . _ and -, at most 80, and "
            "not a size."
        )
    path = home / "stacks" / f"{name}.toml"
    if path.exists() and not replace:
        raise SettingsError(
            f"There is a stack {name!r} already: {path}. Take another name, or say --replace."
        )
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text.encode())
    return path


def _is_size(name: str) -> bool:
    try:
        parse_length(name)
    except ValueError:
        return False
    return True


def _refuse_to_come(certified: date | None, path: Path) -> None:
    """Raises SettingsError for a certificate whose date is still to come."""
    if certified is not None and certified > datetime.now(UTC).date():
        raise SettingsError(
            f"{path}, key certificate_date: {certified} is still to come. Is the year "
            "right, and this computer's clock?"
        )


def _text(path: Path) -> str:
    try:
        return text_in(path, MOST_FILE_BYTES)
    except WrongKey as wrong:
        raise SettingsError(f"{path}: {wrong.reason}.") from wrong
