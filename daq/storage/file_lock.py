"""A lock on an open file itself, which no other name and no deleted lock file gets round.

Where the system has no such lock for whole files, or the disk does not keep it, nothing is locked:
`.lock` is there besides, and Windows lets nobody delete that while it is open.
"""

import errno
import sys

_NOT_KEPT_HERE = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.EINVAL)


def lock_open_file(fd: int) -> bool:
    """Lock a file until its descriptor is closed; False if another open file holds it.

    Raises OSError.
    """
    if sys.platform != "win32":
        try:
            import fcntl  # noqa: PLC0415 - only where there is one
        except ImportError:
            return True
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError as error:
            if error.errno not in _NOT_KEPT_HERE:
                raise
    return True
