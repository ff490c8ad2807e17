"""`jbridge measure PLAN`: a session from the first check to the tables."""

from pathlib import Path

import click

from daq.cli.beside_options import beside_options
from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options, shown_options
from daq.cli.run_options import as_run_wanted, despite_history_option, gauge_options
from daq.cli.taking_options import taking_options
from daq.services.run_wanted import BesideWanted, RunWanted


@click.command(
    "measure",
    cls=TakesNames,
    epilog=(
        "\b\n"
        "Example: jbridge measure crank.toml --port /dev/ttyUSB0 --profile number-unit-crlf "
        "--job 4711 --operator Ada"
    ),
)
@click.argument("plan", type=click.Path(path_type=Path))
@gauge_options
@click.option("--job", default="", metavar="TEXT", help="Job, for the tables.")
@click.option("--part", metavar="TEXT", help="This part; default: the plan's.")
@click.option("--operator", default="", metavar="TEXT", help="Who measures.")
@click.option(
    "--session",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A new folder for the session.",
)
@click.option(
    "--ground-to",
    multiple=True,
    metavar="[GROUP=]NAME",
    help="The part was ground to this undersize of the plan: inspect against its limits.",
)
@despite_history_option
@taking_options
@as_run_wanted
@beside_options
@shown_options
@common_options
def command(
    context: Context,
    plan: Path,
    job: str,
    part: str | None,
    operator: str,
    session: Path | None,
    wanted: RunWanted,
    beside: BesideWanted,
) -> int:
    """Measure a part by PLAN: gauge checked on the stack, the route, checked again, tables.

    Press send for each reading and nothing else. With --plain, lines on stdin are words like back,
    skip REASON or stop REASON; without any stdin the send button drives everything. With --port
    typed: there is no cable: type each value as the gauge shows it.
    """
    from daq.cli.besides import opened_beside
    from daq.cli.run_session import around, run_session, tell
    from daq.plan.plan import load_plan
    from daq.services.opening import NewSession, open_new, plan_name_of

    here = around(context, beside)
    new = NewSession(
        plan=load_plan(plan),
        plan_name=plan_name_of(plan),
        job=job,
        part=part,
        operator=operator,
        folder=session,
    )
    with opened_beside(context, beside, tell) as besides:
        return run_session(context, open_new(wanted, new, here), beside=besides)
