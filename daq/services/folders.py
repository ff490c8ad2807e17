"""Which session a word means: a folder, or one of the home by its id, its last letters or job."""

import contextlib
import shlex
from pathlib import Path

from daq.errors import LedgerAbsent, LedgerError
from daq.services.session_list import (
    DEMO,
    LEAST_LETTERS,
    SESSIONS,
    Listed,
    begun_text,
    fitting,
    sessions_in,
)
from daq.storage.ledger import LEDGER
from drivers.printable import shown

MOST_NAMED = 8
"""So many sessions that fit are named; of more, how many. Chosen by us."""


def session_folder(word: str, home: Path) -> Path:
    """The folder that `word` means: itself if it holds a ledger, else the one session below `home`
    with this id, these last letters of an id, or this job number.

    Raises LedgerError naming them if several fit, LedgerAbsent if none does. A folder without a
    ledger that nothing in the home fits is given as it is: whoever reads it says what is wrong.
    """
    folder, is_folder = Path(word), False
    with contextlib.suppress(OSError):  # a name too long for any folder is no session either
        if word and (folder / LEDGER).exists():
            return folder
        is_folder = bool(word) and folder.is_dir()
    for below in (SESSIONS, DEMO):  # a whole id needs no look into the others
        with contextlib.suppress(OSError, ValueError):
            if word and len(folder.parts) == 1 and (home / below / folder / LEDGER).is_file():
                return home / below / folder
    sessions = sessions_in(home)
    found = fitting(word, sessions)
    if len(found) == 1:
        return found[0].folder
    if found:
        raise LedgerError(shown(word), _several(found))
    if is_folder:
        return folder
    raise LedgerAbsent(shown(word) or "''", _none(len(sessions), home))


def _several(found: list[Listed]) -> str:
    names = [one.folder.name for one in found]
    are_told_apart = len({name[-LEAST_LETTERS:].casefold() for name in names}) == len(names)
    say = "the last four letters" if are_told_apart else "the whole name"
    lines = [_line(one, is_whole=len(set(names)) < len(names)) for one in found[:MOST_NAMED]]
    more = len(found) - len(lines)
    if more:
        lines.append(f"and {more} more: `jbridge sessions` lists them")
    count = "two" if len(found) == 2 else str(len(found))
    return "\n  ".join([f"{count} sessions fit. Give {say} of the one you mean:", *lines])


def _line(one: Listed, *, is_whole: bool) -> str:
    name = str(one.folder) if is_whole else one.folder.name
    about = [one.verdict, begun_text(one.begun_us), f"job {shown(one.job)}" if one.job else ""]
    return "  ".join([shown(name, 255), ", ".join(text for text in about if text)])


def _none(many: int, home: Path) -> str:
    if not many:
        return (
            f"it is no session's folder, and there are no sessions in {home} yet. Is --home right? "
            "`jbridge sessions` lists what is there"
        )
    return (
        "it is no session's folder, and no session in the home has this id, these last "
        "letters (four or more) or this job number. `jbridge sessions` lists them"
    )


def session_word(folder: Path, home: Path) -> str:
    """The shortest word by which `session_folder` finds a folder again: its id if it lies in the
    home, else its path.
    """
    lies_in_home = folder.parent in (home / SESSIONS, home / DEMO)
    return folder.name if lies_in_home else str(folder)


def session_command(verb: str, folder: Path, home: Path, home_option: str | None) -> list[str]:
    """The words of a command on a session as a shell takes them, each quoted where it must be.

    `home_option`: what --home said, None where it was not given.
    """
    word = session_word(folder, home)
    asked_home = [] if home_option is None or word == str(folder) else ["--home", home_option]
    return [shlex.quote(text) for text in ("jbridge", verb, word, *asked_home)]
