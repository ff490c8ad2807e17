"""What sessions lie in a home, told from the first and the last line of each ledger alone."""

import os
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from daq.errors import LedgerDamaged, LedgerError
from daq.evaluation.verdict import OPEN
from daq.record.events import Closed, Opened
from daq.storage.ledger_ends import first_entry, last_line
from daq.storage.whole import METADATA, WRITTEN, noted

SESSIONS, DEMO = "sessions", "demo"
"""Where sessions and those of the demo lie below the home."""

DAMAGED, UNREADABLE = "damaged", "unreadable"
"""What stands for the verdict of a folder whose ledger cannot be believed, or read at all."""

LEAST_LETTERS = 4
"""So many of the last letters of an id are enough to mean it: those that an id has at random."""


class Listed(msgspec.Struct, frozen=True, kw_only=True):
    """One folder of the home. `gauge` is the one that the session began with; `begun_us` None and
    the texts empty where the first line cannot be read. `fault`: why it is damaged or unreadable,
    in words.
    """

    folder: Path
    is_demo: bool
    session_id: str = ""
    job: str = ""
    part: str = ""
    gauge: str = ""
    begun_us: int | None = None
    verdict: str
    fault: str = ""


def sessions_in(home: Path) -> list[Listed]:
    """All sessions below a home: the shop's, then the demo's; in each the open ones first, then
    those with a fault, then the closed ones, the newest first.

    Proves nothing of what lies between a ledger's first and last line. Raises LedgerError if the
    folders cannot be listed.
    """
    return [
        one
        for below in (SESSIONS, DEMO)
        for one in sorted(
            (listed(folder, is_demo=below == DEMO) for folder in _folders(home / below)),
            key=_order,
        )
    ]


def _order(one: Listed) -> tuple[int, int, str]:
    rank = 0 if one.verdict == OPEN else 1 if one.fault else 2
    return rank, -(one.begun_us or 0), str(one.folder)


def _folders(below: Path) -> Iterator[Path]:
    try:
        with os.scandir(below) as found:
            for entry in found:
                if not entry.name.startswith(".") and entry.is_dir():
                    yield below / entry.name
    except FileNotFoundError:
        return
    except OSError as error:
        raise LedgerError(
            below, f"the sessions here cannot be listed: {error.strerror}. Look at this folder"
        ) from error


def listed(folder: Path, *, is_demo: bool = False) -> Listed:
    """One session folder; what is wrong with it is told in the record, never raised."""
    known = Listed(folder=folder, is_demo=is_demo, verdict=OPEN)
    try:
        first = first_entry(folder)
        assert isinstance(first.event, Opened)  # the scan of a first line makes sure of it
        opened = first.event
        known = msgspec.structs.replace(
            known,
            session_id=opened.session,
            job=opened.job,
            part=opened.part,
            gauge=opened.setup.source.gauge,
            begun_us=first.at_us,
        )
        return msgspec.structs.replace(known, verdict=_verdict(folder, opened.session))
    except LedgerError as error:
        word = DAMAGED if isinstance(error, LedgerDamaged) else UNREADABLE
        return msgspec.structs.replace(known, verdict=word, fault=error.reason)


def _verdict(folder: Path, session: str) -> str:
    """The verdict in the closing line, `open` without one. Raises LedgerDamaged where the files
    beside the ledger say that its end is gone or another's.
    """
    last = last_line(folder)
    if not isinstance(last.entry.event, Closed):
        written = next((name for name in WRITTEN if (folder / name).exists()), None)
        if written is not None:
            raise LedgerDamaged(
                folder,
                0,
                (
                    f"its end is missing: {written} was written, so the session was closed. "
                    "Restore the folder from a copy"
                ),
            )
        return OPEN
    if noted(folder) not in (None, (session, last.chain)):
        raise LedgerDamaged(folder, 0, f"{METADATA} beside it belongs to another session's record")
    return last.entry.event.verdict


def begun_text(begun_us: int | None) -> str:
    """When a session began, in this machine's local time to the minute; "" where not known."""
    if begun_us is None:
        return ""
    moment = datetime.fromtimestamp(begun_us // 1_000_000, UTC)
    return moment.astimezone().strftime("%Y-%m-%d %H:%M")


def fitting(word: str, sessions: Sequence[Listed]) -> list[Listed]:
    """The sessions that a word means: a whole id or a folder's name before all, else the last
    letters of either (four or more) or a job number. As it is spelt, else in any case. Pure.
    """
    word = word.strip()
    folded = word.casefold()
    ways: tuple[Callable[[Listed], bool], ...] = (
        lambda one: one.folder.name == word,
        lambda one: one.session_id == word,
        lambda one: folded in (one.folder.name.casefold(), one.session_id.casefold()),
        lambda one: one.job.strip() == word or _ends(one, folded),
        lambda one: one.job.strip().casefold() == folded,
    )
    fits = ([one for one in sessions if means(one)] for means in ways if word)
    return next(filter(None, fits), [])


def _ends(one: Listed, folded: str) -> bool:
    names = (one.folder.name.casefold(), one.session_id.casefold())
    return len(folded) >= LEAST_LETTERS and any(name.endswith(folded) for name in names)
