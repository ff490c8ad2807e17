"""`jbridge resume SESSION`: carry on an open session, always with a check first."""

import click

from daq.cli import completing
from daq.cli.beside_options import beside_options
from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options, shown_options
from daq.cli.run_options import as_run_wanted, despite_history_option, gauge_options
from daq.cli.taking_options import taking_options
from daq.services.run_wanted import BesideWanted, RunWanted


@click.command("resume", cls=TakesNames, epilog="\b\nExample: jbridge resume 4711")
@click.argument("session", type=click.Path(), shell_complete=completing.open_sessions)
@gauge_options
@click.option(
    "--same-gauge",
    metavar="REASON",
    help="Another port, but the same gauge: why. Without it the gauge is checked anew.",
)
@despite_history_option
@taking_options
@as_run_wanted
@beside_options
@shown_options
@common_options
def command(
    context: Context,
    session: str,
    same_gauge: str | None,
    wanted: RunWanted,
    beside: BesideWanted,
) -> int:
    """Carry on an open session, always with a check first.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.

    Gauge, stack and journals are those of the last run unless the options say otherwise. The check
    is one before measuring where one after it was made, else one in between. Of a session that was
    cut off between its end and its tables, the tables are written.
    """
    from daq.cli.besides import opened_beside
    from daq.cli.finish import finish
    from daq.cli.run_session import around, run_session, tell
    from daq.services.finish import write_missing_tables
    from daq.services.folders import session_folder
    from daq.services.opening import open_again

    here = around(context, beside)
    folder = session_folder(session, here.home)
    closed = write_missing_tables(folder)
    if closed is not None:
        tell("this session was closed, but its tables were not all written; now they are")
        return finish(context, closed, folder)
    with opened_beside(context, beside, tell) as besides:
        run = open_again(wanted, folder, same_gauge, here)
        return run_session(context, run, beside=besides)
