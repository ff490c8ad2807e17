"""The options by which `measure` and `resume` say what a run is to be; light, since every --help
loads them.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from daq.cli import completing
from daq.services.run_wanted import RunWanted, TriggerOptions

GAUGE = click.option(
    "--gauge",
    metavar="NAME",
    shell_complete=completing.gauges,
    help="A gauge of the shop: HOME/gauges/NAME.toml.",
)
PROFILE = click.option(
    "--profile",
    metavar="NAME|FILE",
    shell_complete=completing.profiles,
    help="How the gauge talks.",
)
PORT = click.option(
    "--port",
    metavar="URL",
    help="Device path, usb:VID:PID[:SERIAL], socket://, rfc2217:// or loop://; typed: needs no "
    "profile, each value is typed.",
)
"""Where a session or a check takes its readings from."""


def step_option(function: Any) -> Any:
    """The option that tells the gauge's true step."""
    return click.option(
        "--step",
        metavar="LENGTH",
        help="The gauge's true step, where it is a multiple of its last digit.",
    )(function)


def gauge_options(function: Any) -> Any:
    """The options by which `measure` and `resume` name the gauge and its surroundings."""
    for option in (
        step_option,
        click.option("--stack-temp", metavar="C", help="Stack temperature, degrees Celsius."),
        click.option("--gauge-temp", metavar="C", help="Gauge temperature, degrees Celsius."),
        click.option("--part-temp", metavar="C", help="Part temperature, degrees Celsius."),
        click.option(
            "--only",
            metavar="NAME...",
            multiple=True,
            help="Journals or groups that this gauge can reach.",
        ),
        click.option(
            "--stack",
            metavar="SIZE|NAME",
            shell_complete=completing.stacks,
            help="Stack for groups without their own.",
        ),
        PROFILE,
        PORT,
        GAUGE,
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


def as_run_wanted(function: Any) -> Any:
    """Give the command the options of a run, those of `taking_options` too, as one argument
    `wanted`.
    """

    @wraps(function)
    def wrapped(*args: Any, wanted: TriggerOptions, **options: Any) -> Any:
        said = {name: options.pop(name) for name in RunWanted._fields if name in options}
        return function(*args, wanted=RunWanted(**said, trigger=wanted), **options)

    result: Callable[..., Any] = wrapped
    return result
