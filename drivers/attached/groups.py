"""The system's groups and this login, where there are such."""

import os
import sys

import msgspec


class Group(msgspec.Struct, frozen=True):
    """One group, and this login by name. `is_held_now`: in this login; `is_held`: by the system's
    files.
    """

    name: str
    user: str
    is_held_now: bool
    is_held: bool


def group_of(number: int) -> Group | None:
    """The group of this number; None where the system has none, or no groups at all."""
    if sys.platform == "win32":
        return None
    else:  # said so for the type checker, which knows the systems
        try:
            import grp  # noqa: PLC0415 - POSIX only
            import pwd  # noqa: PLC0415 - POSIX only

            group = grp.getgrgid(number)
        except (ImportError, KeyError):
            return None
        try:
            login = pwd.getpwuid(os.getuid())
            user, own_group = login.pw_name, login.pw_gid
        except KeyError:  # a login that the system's files do not know
            user, own_group = "$USER", -1
        return Group(
            name=group.gr_name,
            user=user,
            is_held_now=number in (*os.getgroups(), os.getegid()),
            is_held=user in group.gr_mem or own_group == number,
        )
