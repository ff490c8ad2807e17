"""What a text in a profile may be."""

import re

from drivers.toml_file import need

NAME = re.compile(r"[A-Za-z0-9._-]{1,40}")
"""The name of a flag, or of a reason for no reading."""


def ascii_bytes(text: str, key: str) -> bytes:
    """The bytes of a text that a gauge sends; raises WrongKey."""
    need(text.isascii(), key, "only ASCII is allowed here")
    return text.encode("ascii")


def check_status_names(entries: dict[str, str], key: str) -> None:
    """Raises WrongKey where what a status means is neither "", a name, nor "!" and a name."""
    for name in filter(None, entries.values()):
        fits = bool(NAME.fullmatch(name.removeprefix("!")))
        need(fits, key, f"{name!r}: use letters, digits, '.', '_' and '-'")
