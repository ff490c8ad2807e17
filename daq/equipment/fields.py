"""What gauge and stack files have in common: text to record, lengths, faults with their file.

A file is taken in two ways. `parse_...` is for what people write and refuses by every rule of
today. `read_...` is for the text that a ledger recorded: its own program had checked it, so only
its shape counts, what a record needs to be built at all, and no rule made since can spoil it; keys
that this program does not know are left out. `check_...` are the rules.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TypeVar

import msgspec

from daq.errors import SettingsError
from daq.lengths import Length, parse_length
from drivers.toml_file import WrongKey, converted, known_only, table_in

SCHEMA = 1

_T = TypeVar("_T", bound=msgspec.Struct)


@contextmanager
def fault_in(source: str) -> Iterator[None]:
    """A WrongKey becomes a SettingsError that names `source`, the file, and the key."""
    try:
        yield
    except WrongKey as wrong:
        where = f"{source}, key {wrong.key}" if wrong.key else source
        raise SettingsError(f"{where}: {wrong.reason}.") from wrong


def record_of(text: str, kind: type[_T]) -> _T:
    """A small TOML file as a record of `kind`; raises WrongKey, for unknown keys too."""
    return converted(table_in(text, SCHEMA), kind)


def known_record_of(text: str, kind: type[_T]) -> _T:
    """As `record_of`, without the keys that `kind` does not know."""
    table, _ = known_only(table_in(text, SCHEMA), kind)
    return converted(table, kind)


def read_length(text: str, key: str) -> Length:
    """A length of either sign; raises WrongKey for what is none."""
    try:
        return parse_length(text)
    except ValueError as error:
        raise WrongKey(key, str(error)) from error


def read_optional_length(text: str | None, key: str) -> Length | None:
    """A length if there is one."""
    return None if text is None else read_length(text, key)


def check_positive(text: str | None, key: str) -> None:
    """Refuse a length that is none or not above zero; one that is left out is right."""
    if text is None:
        return
    found = read_length(text, key)
    if found.value <= 0:
        raise WrongKey(key, f"{found} is not above zero")
