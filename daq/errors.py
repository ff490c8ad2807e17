"""What can go wrong in a session; each error says what, where, why and what to do."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


class DaqError(Exception):
    """Anything that this package refuses or cannot do."""


class UsageError(DaqError):
    """A call whose options do not go together, or where one is missing; `option` is the one at
    fault, "" where the words name it.
    """

    def __init__(self, reason: str, option: str = "") -> None:
        self.option = option
        super().__init__(reason)


class PlanError(DaqError):
    """A plan that cannot be used: `file`, the `key` at fault and the reason."""

    def __init__(self, file: "str | Path", key: str, reason: str) -> None:
        self.file = str(file)
        self.key = key
        self.reason = reason
        where = f"{self.file}, key {key}" if key else self.file
        super().__init__(f"The plan cannot be used. {where}: {reason}")


class SettingsError(DaqError):
    """A gauge or stack file, or an option, that cannot be used."""


class Refused(DaqError):
    """The operator asked for something that cannot be done now; `code` is a stable word."""

    def __init__(self, code: str, reason: str) -> None:
        self.code = code
        super().__init__(reason)


class LedgerError(DaqError):
    """A session's record that cannot be used or written."""

    def __init__(self, folder: "str | Path", reason: str) -> None:
        self.folder = str(folder)
        self.reason = reason
        super().__init__(f"Session {self.folder}: {reason}")


class LedgerLocked(LedgerError):
    """Another program has the session open."""


class LedgerDamaged(LedgerError):
    """A line of the ledger is not what was written; `line` counts from 1, 0 for the whole."""

    def __init__(self, folder: "str | Path", line: int, reason: str) -> None:
        self.line = line
        where = f"line {line} " if line else ""
        super().__init__(
            folder,
            f"the ledger is damaged: {where}{reason}. Nothing was changed; restore the folder from "
            "a copy, or measure the part again",
        )


class LedgerTooNew(LedgerError):
    """Written in a format that this program does not know."""


class LedgerNotWritten(LedgerError):
    """This machine could not store a record; the last reading shown is the last one kept."""


class ExportError(DaqError):
    """Tables that cannot be derived or written."""
