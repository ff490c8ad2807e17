"""`jbridge prove`: a gauge checked on a stack outside any session."""

import click

from daq.cli import completing
from daq.cli.beside_options import beside_options
from daq.cli.options import Context, common_options
from daq.cli.run_options import GAUGE, PORT, PROFILE, step_option
from daq.cli.taking_options import Seconds, taking_options
from daq.services.run_wanted import BesideWanted, RunWanted, TriggerOptions

MOST_INTERVAL_S = 60.0
"""As in a plan."""


@click.command(
    "prove",
    epilog='\b\nExample: jbridge prove --gauge mic-50-75 --stack "60 mm" --max-error "0.004 mm"',
)
@GAUGE
@PORT
@PROFILE
@click.option(
    "--stack",
    metavar="SIZE|NAME",
    shell_complete=completing.stacks,
    help="The stack: its size, or a saved one.",
)
@click.option(
    "--readings",
    type=click.IntRange(min=2, max=100),
    default=5,
    show_default=True,
    help="How many readings of the stack.",
)
@click.option(
    "--max-error",
    metavar="LENGTH",
    help="Largest |mean - stack|; default: the permitted error in the gauge file.",
)
@click.option(
    "--max-spread",
    metavar="LENGTH",
    help="Largest spread of the readings; default: --max-error, but at least 3 steps.",
)
@click.option(
    "--least-interval",
    type=Seconds(min=0, max=MOST_INTERVAL_S),
    metavar="SECONDS",
    help="A reading sooner than this after the one before does not count, as if pressed twice; 0: "
    "any does. Default: 0.3, for the first one 0.7.",
)
@click.option("--stack-temp", metavar="C", help="Stack temperature, degrees Celsius.")
@click.option("--gauge-temp", metavar="C", help="Gauge temperature, degrees Celsius.")
@click.option("--operator", default="", metavar="TEXT", help="Who proves it.")
@step_option
@taking_options
@beside_options
@common_options
def command(
    context: Context,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    readings: int,
    max_error: str | None,
    max_spread: str | None,
    least_interval: float | None,
    stack_temp: str | None,
    gauge_temp: str | None,
    operator: str,
    step: str | None,
    wanted: TriggerOptions,
    beside: BesideWanted,
) -> int:
    """Check a gauge on a stack and keep the result in the gauge's history.

    Press send for each reading of the stack. Lines on stdin are back (take the last reading back)
    and stop. Exit code 0: passed, 1: failed or stopped.
    """
    from daq.cli.besides import opened_beside
    from daq.cli.run_prove import run
    from daq.cli.run_session import around, tell
    from daq.services.prove import ProveWanted, open_check

    asked = RunWanted(
        gauge=gauge,
        port=port,
        profile=profile,
        stack=stack,
        gauge_temp=gauge_temp,
        stack_temp=stack_temp,
        trigger=wanted,
    )
    limits = ProveWanted(
        readings=readings,
        max_error=max_error,
        max_spread=max_spread,
        operator=operator,
        step=step,
        least_interval_s=least_interval,
    )
    with opened_beside(context, beside, tell, is_session=False) as besides:
        check = open_check(asked, limits, around(context, beside))
        try:
            return run(context, check, besides)
        finally:
            check.port.close()
