"""`jbridge export SESSION…`: the tables again, from what the ledger stored, or other formats."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli import completing
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options, shown_options

if TYPE_CHECKING:
    from daq.record.state import State
    from daq.services.export_to import ExportWanted
    from daq.storage.ledger import Scan


@click.command("export", epilog="\b\nExample: jbridge export 20261125T080000Z-kqwe")
@click.argument(
    "sessions", nargs=-1, required=True, type=click.Path(), shell_complete=completing.sessions
)
@click.option(
    "--even-rejected",
    is_flag=True,
    help="Write the tables of a rejected or abandoned session too, with its true verdict.",
)
@click.option(
    "--format",
    "as_format",
    type=click.Choice(["csv", "xlsx", "parquet", "jsonl"]),
    default="csv",
    help="What to make; all but plain csv goes into --to. xlsx is for people: the answer first.",
)
@click.option(
    "--to",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Make the files in FOLDER, under the session's id.",
)
@click.option(
    "--dialect",
    type=click.Choice(["comma"]),
    help="CSV for a spreadsheet with a decimal comma: ; between the cells.",
)
@click.option(
    "--columns",
    metavar="NAME,…",
    help="Only these columns, in this order: COLUMN, or TABLE.COLUMN of one table.",
)
@click.option(
    "--template",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Fill a Jinja template with the tables, for an importer with a form of its own.",
)
@click.option(
    "--as-now",
    is_flag=True,
    help="Today's tables of a session that an earlier version closed.",
)
@click.option("--replace", is_flag=True, help="Write over what an export made in --to before.")
@shown_options
@common_options
def command(
    context: Context,
    sessions: tuple[str, ...],
    even_rejected: bool,
    as_format: str,
    to: Path | None,
    dialect: str | None,
    columns: str | None,
    template: Path | None,
    as_now: bool,
    replace: bool,
) -> int:
    """Write the tables of each closed SESSION into its folder again, or make other files of them.

    With --show or --details what the session came to is printed first, as at its end.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.
    """
    from daq.cli.command_said import say_command
    from daq.cli.finish import say_answer, shown_in
    from daq.cli.views.ended import ended
    from daq.errors import Refused, UsageError
    from daq.evaluation.verdict import ACCEPTED
    from daq.services.export_to import ExportWanted, check_wanted
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.storage.whole import whole
    from drivers.printable import printable

    def tell(state: "State") -> None:
        if (context.show or context.details) and not context.as_json:
            say_answer(context, ended(state, shown_in(context)))

    names = tuple(name for name in (columns or "").replace(" ", "").split(",") if name)
    if columns is not None and not names:
        raise UsageError("name a column at least, like journal", "--columns")
    wanted = ExportWanted(
        format=as_format,
        to=to,
        dialect=dialect,
        columns=names,
        template=template,
        as_now=as_now,
        replace=replace,
    )
    check_wanted(wanted)
    home = home_folder(context.home)
    worst = 0
    reports: list[dict[str, object]] = []
    made: set[str] = set()
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
        report: dict[str, object] = {"folder": str(folder), "verdict": verdict, "files": []}
        reports.append(report)
        if verdict != ACCEPTED and not even_rejected:
            said = (
                f"Session {where} is {verdict}: no tables were written. --even-rejected writes "
                "them with this verdict in every row."
            )
            click.echo(for_readers(said, sys.stderr), err=True)
            worst = 1
            tell(state)
            continue
        if wanted.to is not None and state.opened.session in made:
            raise UsageError(
                f"two of these sessions have the id {printable(state.opened.session)}, by which "
                "their files are named: export them into folders of their own",
                "--to",
            )
        made.add(state.opened.session)
        made_in, files = _made(context, folder, state, found, wanted)
        report["files"] = list(files)
        if wanted.to is not None:
            report["to"] = str(made_in)
        tell(state)
        if not context.as_json:
            line = f"{printable(str(made_in))}: {', '.join(files)} ({verdict})"
            print(for_readers(line, sys.stdout))
    if context.as_json:
        print(json.dumps(reports))
    return worst


def _made(
    context: Context, folder: Path, state: "State", found: "Scan", wanted: "ExportWanted"
) -> tuple[Path, tuple[str, ...]]:
    """Make the files of one session; gives where, and their names."""
    from daq.cli.finish import shown_in
    from daq.cli.views.answer_sheet import answer_texts
    from daq.cli.views.ended import ended
    from daq.export.csv_files import files_of, write_files
    from daq.services.export_to import export_to
    from daq.services.verify import unlike_files
    from daq.storage.ledger import held

    if wanted.to is not None:
        return export_to(state, found, wanted, answer_texts(ended(state, shown_in(context))))
    files = files_of(state, found)
    with held(folder):
        unlike = unlike_files(folder, files)
        write_files(folder, files)
    if unlike:
        said = f"Note: written again, as they were not what the record gives: {', '.join(unlike)}"
        click.echo(for_readers(said, sys.stderr), err=True)
    return folder, tuple(files)
