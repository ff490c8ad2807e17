"""What a run has stored, given a session folder of its own when its ledger was taken from it."""

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from daq.record.events import Opened
from daq.storage.chained_file import add, open_to_add
from daq.storage.durable import sync_folder, write_whole
from daq.storage.ledger_codec import entry_of

MOST_RESCUED = 1000
"""So many rescues of one session mean that something else is wrong. Chosen by us."""


def rescue(folder: Path, ledger: str, plan: str, data: bytes, refuge: Path | None) -> Path | None:
    """Store `data`, whole lines, as the ledger of a new session folder: FOLDER.rescued-N, below
    `refuge` if there is no place beside `folder`. Gives the new folder; None where no place was
    found for it.
    """
    for place in _places(folder, refuge):
        try:
            place.mkdir(parents=True)
        except OSError:  # also one that another program has just made: it is theirs
            continue
        try:
            _keep(place / ledger, data)
        except OSError:
            _give_up(place, ledger)
            continue
        # What counts is stored: nothing that goes wrong from here on takes it away again.
        with contextlib.suppress(OSError):
            sync_folder(place)
            sync_folder(place.parent)
        first = entry_of(data.partition(b"\n")[0]).event
        if isinstance(first, Opened):
            with contextlib.suppress(OSError):
                write_whole(place / plan, first.plan.encode("utf-8"))
                sync_folder(place)
        return place
    return None


def _keep(path: Path, data: bytes) -> None:
    fd = open_to_add(path, os.O_CREAT | os.O_EXCL)
    try:
        add(fd, data)
    finally:
        os.close(fd)


def _give_up(place: Path, ledger: str) -> None:
    """Half a ledger helps nobody; a folder that holds anything else is not ours to take."""
    with contextlib.suppress(OSError):
        (place / ledger).unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        place.rmdir()


def _places(folder: Path, refuge: Path | None) -> Iterator[Path]:
    whole = folder.absolute()
    beside = [whole.parent] if os.path.isdir(whole.parent) else []
    for above in [*beside, *([refuge] if refuge is not None else [])]:
        for number in range(1, MOST_RESCUED):
            place = above / f"{whole.name}.rescued-{number}"
            if not os.path.lexists(place):
                yield place
                break
