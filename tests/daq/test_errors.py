"""An error says what to do, and the command that does it stands apart from the sentence."""

import shlex
from pathlib import Path

from daq.errors import DaqError, ExportError, LedgerTaken


def test_a_command_stands_on_a_line_of_its_own_as_a_shell_takes_it() -> None:
    error = ExportError("The disk is full. Free some space, then write the tables again")
    assert str(error).splitlines() == [error.words]
    *above, line = str(error.then("export", Path("/srv/crank shop/s"))).splitlines()
    assert above == [f"{error.words}:"]
    assert shlex.split(line) == ["jbridge", "export", "/srv/crank shop/s"]


def test_of_a_taken_ledger_the_rescue_is_carried_on_and_without_one_nothing_is() -> None:
    rescued = Path("/srv/s.rescued-1")
    taken = LedgerTaken("/srv/s", "it was cut", "Look", rescued)
    assert taken.command == ("resume", rescued)
    assert str(taken).splitlines()[-1] == "  jbridge resume /srv/s.rescued-1"
    lost: DaqError = LedgerTaken("/srv/s", "it was cut", "Look", None)
    assert lost.command is None
    assert "No place was found" in str(lost)
