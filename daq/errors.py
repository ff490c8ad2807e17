"""What can go wrong in a session: the whole tree, each class with the exit code that it ends with.

Each error says what, where, why and what to do. The codes are those of the command line: 1 the
answer is no, 2 bad usage or a bad file, 3 the port, 4 this machine failed.
"""

import shlex
from pathlib import Path
from typing import Self

ANSWER_NO, BAD_INPUT, NO_PORT, MACHINE_FAILED = 1, 2, 3, 4


class DaqError(Exception):
    """Anything that this package refuses or cannot do.

    `command`, where one helps: its verb and the session's folder. `words` are the message without
    it; as text both stand there, the command on a line of its own.
    """

    exit_code = BAD_INPUT
    command: tuple[str, Path] | None = None

    def then(self, verb: str, folder: Path) -> Self:
        """The same error, with the command to type next."""
        self.command = (verb, folder)
        return self

    @property
    def words(self) -> str:
        """What happened and what to do, without the command."""
        return super().__str__()

    def __str__(self) -> str:
        if self.command is None:
            return self.words
        verb, folder = self.command
        return f"{self.words}:\n  jbridge {verb} {shlex.quote(str(folder))}"


class UsageError(DaqError):
    """A call whose options do not go together, or where one is missing; `option` is the one at
    fault, "" where the words name it.
    """

    def __init__(self, reason: str, option: str = "") -> None:
        self.option = option
        super().__init__(reason)


class PlanError(DaqError):
    """A plan that cannot be used: `file`, the `key` at fault, its `place` in words, the reason."""

    def __init__(self, file: str | Path, key: str, reason: str, place: str = "") -> None:
        self.file = str(file)
        self.key = key
        self.reason = reason
        self.place = place or (f"key {key}" if key else "")
        where = f"{self.file}, {self.place}" if self.place else self.file
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

    def __init__(self, folder: str | Path, reason: str) -> None:
        self.folder = str(folder)
        self.reason = reason
        super().__init__(f"Session {self.folder}: {reason}")


class LedgerLocked(LedgerError):
    """Another program has the session open."""

    exit_code = MACHINE_FAILED


class LedgerDamaged(LedgerError):
    """A line of the ledger is not what was written; `line` counts from 1, 0 for the whole."""

    exit_code = ANSWER_NO

    def __init__(
        self,
        folder: str | Path,
        line: int,
        reason: str,
        remedy: str = "Restore the folder from a copy, or measure the part again",
    ) -> None:
        self.line = line
        where = f"line {line} " if line else ""
        super().__init__(
            folder,
            f"the record is damaged: {where}{reason}. Nothing was changed. {remedy}",
        )


class LedgerAbsent(LedgerError):
    """There is no ledger, or nothing of a session in it: none was ever begun here."""


class LedgerNotRead(LedgerError):
    """This machine could not read what may be whole on its disk."""

    exit_code = MACHINE_FAILED


class LedgerTooNew(LedgerError):
    """Written in a format that this program does not know."""


class LedgerNotWritten(LedgerError):
    """This machine could not store a record; the last reading shown is the last one kept.
    `is_known` False: the record that could not be stored may be there all the same.
    """

    exit_code = MACHINE_FAILED

    def __init__(self, folder: str | Path, reason: str, *, is_known: bool = True) -> None:
        self.is_known = is_known
        super().__init__(folder, reason)


class LedgerTaken(LedgerNotWritten):
    """The ledger on the disk is no longer the file that this run writes, or nobody can tell.

    `what` happened and what `helps`, each without its full stop; `lost` is what was to be stored,
    "" for nothing. `rescued` is the folder that holds all that was acknowledged, None if there was
    no place for one.
    """

    def __init__(
        self, folder: str | Path, what: str, helps: str, rescued: Path | None, *, lost: str = ""
    ) -> None:
        self.rescued = rescued
        not_kept = f" {lost} was NOT kept." if lost else ""
        kept = (
            f"All that was stored before is in {rescued}. Carry on there"
            if rescued is not None
            else "No place was found to copy what was stored before to"
        )
        super().__init__(
            folder, f"{what}. This run ends here.{not_kept} {helps}. {kept}", is_known=False
        )
        if rescued is not None:
            self.command = ("resume", rescued)


class ExportError(DaqError):
    """Tables that cannot be derived or written."""

    exit_code = MACHINE_FAILED


class HistoryError(DaqError):
    """A gauge's history that cannot be used: where, why, what to do."""

    def __init__(self, where: str | Path, reason: str) -> None:
        self.where = str(where)
        self.reason = reason
        super().__init__(f"History {self.where}: {reason}")


class HistoryNotWritten(HistoryError):
    """This machine could not store a record in a gauge's history."""

    exit_code = MACHINE_FAILED


class NoStudy(DaqError):
    """A session whose plan holds no gauge study."""


class StudyRefused(DaqError):
    """A gauge study that cannot be evaluated: what is missing."""


class CheckStopped(DaqError):
    """A check outside any session that ended before all was read; nothing is kept of it."""

    exit_code = ANSWER_NO

    def __init__(self, why: str) -> None:
        super().__init__(f"The gauge is not proven: {why}. Nothing was kept.")
