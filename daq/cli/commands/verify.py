"""`jbridge verify SESSION…`: is a session what its ledger says?"""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli import completing
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options
from daq.cli.shortened import shortened
from drivers.printable import printable

if TYPE_CHECKING:
    from daq.services.verify import LedgerFinding


@click.command("verify", epilog="\b\nExample: jbridge verify 20261125T080000Z-kqwe")
@click.argument(
    "sessions", nargs=-1, required=True, type=click.Path(), shell_complete=completing.sessions
)
@common_options
def command(context: Context, sessions: tuple[str, ...]) -> int:
    """Prove each SESSION: every line unchanged and in order, every judgement computed again.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.

    Changes nothing. The chain of digests finds damage, not a forger. An open session whose last
    lines are gone looks like one that was interrupted earlier.
    """
    from daq.errors import LedgerDamaged, LedgerError
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.verify import LedgerFinding, verify

    home = home_folder(context.home)
    worst = 0
    reports = []
    for session in sessions:
        folder = Path(session)
        try:
            folder = session_folder(session, home)
            finding = verify(folder)
            code = 0 if finding.is_whole else 1
        except LedgerError as error:
            is_damaged = isinstance(error, LedgerDamaged)
            code = 1 if is_damaged else 2
            finding = LedgerFinding("", "damaged" if is_damaged else "unreadable", 0, (str(error),))
        worst = max(worst, code)
        reports.append(
            {
                "folder": str(folder),
                "session_id": finding.session or None,
                "verdict": finding.verdict,
                "lines": finding.lines,
                "ok": finding.is_whole,
                "faults": finding.faults,
                "notes": finding.notes,
            }
        )
        if not context.as_json:
            _tell(folder, finding, sessions)
    if context.as_json:
        json.dump(reports, sys.stdout, ensure_ascii=False)
        print()
    return worst


def _tell(folder: Path, finding: "LedgerFinding", given: tuple[str, ...]) -> None:
    if not finding.session:
        said = shortened(finding.faults[0], given)
        click.echo(f"jbridge: {printable(said, keep=chr(10))}", err=True)
        return
    word = "whole" if finding.is_whole else "NOT what its record should say"
    where = printable(str(folder))
    said = f"{where}: {word}; {finding.lines} lines, {printable(finding.verdict)}"
    print(for_readers(said, sys.stdout))
    for text in (*finding.faults, *finding.notes):
        print(for_readers(f"  - {printable(text)}", sys.stdout))
