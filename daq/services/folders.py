"""A session by its folder, or by its id below --home."""

import contextlib
from pathlib import Path

from daq.storage.ledger import LEDGER


def session_folder(word: Path, home: Path) -> Path:
    """The folder that `word` means: itself if it holds a ledger, else HOME/sessions/word."""
    with contextlib.suppress(OSError):  # a name too long for any folder is no session either
        if not (word / LEDGER).exists() and len(word.parts) == 1:
            below = home / "sessions" / word
            if below.is_dir():
                return below
    return word
