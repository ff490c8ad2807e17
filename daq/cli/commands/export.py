"""`jbridge export SESSION…`: the tables again, from what the ledger stored."""

import json
import sys

import click

from daq.cli import completing
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options, shown_options


@click.command("export", epilog="\b\nExample: jbridge export 20261125T080000Z-kqwe")
@click.argument(
    "sessions", nargs=-1, required=True, type=click.Path(), shell_complete=completing.sessions
)
@click.option(
    "--even-rejected",
    is_flag=True,
    help="Write the tables of a rejected or abandoned session too, with its true verdict.",
)
@shown_options
@common_options
def command(context: Context, sessions: tuple[str, ...], even_rejected: bool) -> int:
    """Write the tables of each closed SESSION into its folder again.

    With --show or --details what the session came to is printed first, as at its end.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.
    """
    from daq.cli.command_said import say_command
    from daq.cli.finish import say_answer, shown_in
    from daq.cli.views.ended import ended
    from daq.errors import Refused
    from daq.evaluation.verdict import ACCEPTED
    from daq.export.csv_files import files_of, write_files
    from daq.record.state import State
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.verify import unlike_tables
    from daq.storage.ledger import held
    from daq.storage.whole import whole
    from drivers.printable import printable

    def tell(state: State) -> None:
        if (context.show or context.details) and not context.as_json:
            say_answer(context, ended(state, shown_in(context)))

    home = home_folder(context.home)
    worst = 0
    reports = []
    for session in sessions:
        folder = session_folder(session, home)
        where = printable(str(folder))
        state, found = whole(folder)
        if state.closed is None:
            raise Refused(
                "session-open",
                f"Session {folder} is open, so it has no verdict yet. Finish it first:\n"
                f"{say_command(context, 'resume', folder)}",
            )
        verdict = state.closed.verdict
        if verdict != ACCEPTED and not even_rejected:
            said = (
                f"Session {where} is {verdict}: no tables were written. --even-rejected writes "
                "them with this verdict in every row."
            )
            click.echo(for_readers(said, sys.stderr), err=True)
            worst = 1
            tell(state)
            reports.append({"folder": str(folder), "verdict": verdict, "files": []})
            continue
        files = files_of(state, found)
        with held(folder):
            unlike = unlike_tables(folder, state, found)
            write_files(folder, files)
        if unlike:
            said = (
                f"Note: written again, as they were not what the record gives: {', '.join(unlike)}"
            )
            click.echo(for_readers(said, sys.stderr), err=True)
        reports.append({"folder": str(folder), "verdict": verdict, "files": list(files)})
        tell(state)
        if not context.as_json:
            print(for_readers(f"{where}: {', '.join(files)} ({verdict})", sys.stdout))
    if context.as_json:
        print(json.dumps(reports))
    return worst
