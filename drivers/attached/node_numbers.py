"""The numbers by which a system tells device nodes and files apart, where it has such."""

import os
import stat
import sys
from typing import TypeAlias

DeviceNumber: TypeAlias = tuple[int, int]
"""Major and minor."""

_HAS_NUMBERS = hasattr(os, "major")


def device_number(about: os.stat_result) -> DeviceNumber | None:
    """The device behind a node; None for any other file, or where nodes have no numbers."""
    if sys.platform == "win32" or not _HAS_NUMBERS or not stat.S_ISCHR(about.st_mode):
        return None
    else:  # said so for the type checker, which knows the systems
        return os.major(about.st_rdev), os.minor(about.st_rdev)


def file_number(about: os.stat_result) -> tuple[int, int, int] | None:
    """Major and minor of the disk that a file is on, and its number there."""
    if sys.platform == "win32" or not _HAS_NUMBERS:
        return None
    else:
        return os.major(about.st_dev), os.minor(about.st_dev), about.st_ino
