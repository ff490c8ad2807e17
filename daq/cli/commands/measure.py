"""`jbridge measure PLAN`: a session from the first check to the tables."""

from pathlib import Path
from typing import Any

import click

from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options
from daq.cli.taking_options import taking_options
from daq.services.trigger_options import TriggerOptions


def gauge_options(function: Any) -> Any:
    """The options by which `measure` and `resume` name the gauge and its surroundings."""
    for option in (
        click.option("--stack-temp", metavar="C", help="Stack temperature, degrees Celsius."),
        click.option("--gauge-temp", metavar="C", help="Gauge temperature, degrees Celsius."),
        click.option("--part-temp", metavar="C", help="Part temperature, degrees Celsius."),
        click.option(
            "--only",
            metavar="NAME...",
            multiple=True,
            help="Journals or groups that this gauge can reach.",
        ),
        click.option("--stack", metavar="SIZE|NAME", help="Stack for groups without their own."),
        click.option("--profile", metavar="NAME|FILE", help="How the gauge talks."),
        click.option(
            "--port",
            metavar="URL",
            help="Device path, usb:VID:PID[:SERIAL], socket://, rfc2217:// or loop://.",
        ),
        click.option("--gauge", metavar="NAME", help="A gauge of the shop: HOME/gauges/NAME.toml."),
    ):
        function = option(function)
    return function


def despite_history_option(function: Any) -> Any:
    """The option that opens a session for a gauge whose history says that it is out of control."""
    return click.option(
        "--despite-history",
        metavar="REASON",
        help="Why a gauge that its history calls out of control is used all the same.",
    )(function)


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
@despite_history_option
@taking_options
@common_options
def command(
    context: Context,
    plan: Path,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    only: tuple[str, ...],
    part_temp: str | None,
    gauge_temp: str | None,
    stack_temp: str | None,
    job: str,
    part: str | None,
    operator: str,
    session: Path | None,
    despite_history: str | None,
    wanted: TriggerOptions,
) -> int:
    """Measure a part by PLAN: gauge checked on the stack, the route, checked again, tables.

    Press send for each reading and nothing else. With --plain, lines on stdin are words like back,
    skip REASON or stop REASON; without any stdin the send button drives everything.
    """
    from daq.cli.run_session import around, run_session
    from daq.plan.plan import load_plan
    from daq.services.opening import NewSession, RunWanted, open_new, plan_name_of

    here = around(context)
    new = NewSession(
        plan=load_plan(plan),
        plan_name=plan_name_of(plan),
        job=job,
        part=part,
        operator=operator,
        folder=session,
    )
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
    return run_session(context, open_new(asked, new, here))
