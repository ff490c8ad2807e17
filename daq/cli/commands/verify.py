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
    from daq.services.sheet_check import SheetFinding
    from daq.services.verify import LedgerFinding


@click.command("verify", epilog="\b\nExample: jbridge verify 20261125T080000Z-kqwe")
@click.argument("sessions", nargs=-1, type=click.Path(), shell_complete=completing.sessions)
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A sheet too: does it belong to SESSION, and was it changed?",
)
@common_options
def command(context: Context, sessions: tuple[str, ...], sheet: Path | None) -> int:
    """Prove each SESSION: every line unchanged and in order, every judgement computed again.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.

    Changes nothing. The chain of digests finds damage, not a forger. An open session whose last
    lines are gone looks like one that was interrupted earlier.

    With --sheet FILE, of jbridge sheet, SESSION may be left out: it is the one that FILE names.
    """
    from daq.cli.sheet_run import sheet_finding
    from daq.errors import LedgerDamaged, LedgerError, UsageError
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.sheet_check import read_sheet
    from daq.services.verify import LedgerFinding, verify

    home = home_folder(context.home)
    handed_in = None if sheet is None else read_sheet(sheet)
    if handed_in is not None:
        sessions = sessions or (handed_in.seal.session,)
        if len(sessions) > 1:
            raise UsageError("A sheet is of one session: name one.", "--sheet")
    if not sessions:
        raise click.UsageError("Missing argument 'SESSIONS...'")
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
        found = sheet_finding(handed_in, folder) if handed_in is not None and code < 2 else None
        code = 1 if found is not None and found.faults and not code else code
        worst = max(worst, code)
        report: dict[str, object] = {
            "folder": str(folder),
            "session_id": finding.session or None,
            "verdict": finding.verdict,
            "lines": finding.lines,
            "ok": finding.is_whole,
            "faults": finding.faults,
            "notes": finding.notes,
        }
        if found is not None:
            told = {"file": str(sheet), "ok": not found.faults}
            report["sheet"] = {**told, "faults": found.faults, "notes": found.notes}
        reports.append(report)
        if not context.as_json:
            _tell(folder, finding, sessions)
            if found is not None and sheet is not None:
                _tell_sheet(sheet, found)
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


def _tell_sheet(sheet: Path, found: "SheetFinding") -> None:
    where = printable(str(sheet))
    word = "does NOT belong to this record as it is" if found.faults else "belongs to this record"
    print(for_readers(f"{where}: {word}, line {found.line}", sys.stdout))
    for text in (*found.faults, *found.notes):
        print(for_readers(f"  - {printable(text)}", sys.stdout))
