"""`jbridge resume SESSION`: carry on an open session, always with a check first."""

from pathlib import Path

import click

from daq.cli.commands.measure import despite_history_option, gauge_options
from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options
from daq.cli.taking_options import taking_options
from daq.services.trigger_options import TriggerOptions


@click.command("resume", cls=TakesNames, epilog="\b\nExample: jbridge resume 20261125T080000Z-kqwe")
@click.argument("session", type=click.Path(path_type=Path))
@gauge_options
@click.option(
    "--same-gauge",
    metavar="REASON",
    help="Another port, but the same gauge: why. Without it a new stint begins.",
)
@despite_history_option
@taking_options
@common_options
def command(
    context: Context,
    session: Path,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    only: tuple[str, ...],
    part_temp: str | None,
    gauge_temp: str | None,
    stack_temp: str | None,
    same_gauge: str | None,
    despite_history: str | None,
    wanted: TriggerOptions,
) -> int:
    """Carry on SESSION, a folder or the id of one below --home.

    Gauge, stack and journals are those of the last run unless the options say otherwise. It begins
    with a check: a before-check where the last stint is over, else one in between. Of a session
    that was cut off between its end and its tables, the tables are written.
    """
    from daq.cli.finish import finish
    from daq.cli.run_session import around, run_session, tell
    from daq.services.finish import write_missing_tables
    from daq.services.folders import session_folder
    from daq.services.opening import RunWanted, open_again

    here = around(context)
    folder = session_folder(session, here.home)
    closed = write_missing_tables(folder)
    if closed is not None:
        tell("this session was closed, but its tables were not all written; now they are")
        return finish(context, closed, folder)
    asked = RunWanted(
        gauge=gauge,
        port=port,
        profile=profile,
        stack=stack,
        only=only,
        part_temp=part_temp,
        gauge_temp=gauge_temp,
        stack_temp=stack_temp,
        despite_history=despite_history,
        trigger=wanted,
    )
    return run_session(context, open_again(asked, folder, same_gauge, here))
