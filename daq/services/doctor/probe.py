"""A file written into a folder, made durable, and taken away again."""

import contextlib
import os
import secrets
import time
from pathlib import Path

from daq.storage.durable import AS_BYTES, sync_data, sync_folder

_BYTES = b"\n" * 4096


def sync_seconds(folder: Path) -> float:
    """How long a small file in `folder` takes until it would outlive a power cut.

    Nothing of it stays. Raises OSError where it cannot be written or made durable.
    """
    path = folder / f".jbridge-doctor-{secrets.token_hex(4)}"
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | AS_BYTES, 0o600)
    try:
        began_s = time.perf_counter()
        os.write(fd, _BYTES)
        sync_data(fd)
        took_s = time.perf_counter() - began_s
        sync_folder(folder)
        return took_s
    finally:
        os.close(fd)
        with contextlib.suppress(OSError):
            path.unlink()
