"""The options that say how a run takes its readings; light, since every --help loads them."""

from collections.abc import Callable
from functools import wraps
from math import isfinite
from typing import Any

import click

from daq.services.run_wanted import UNATTENDED_WAIT_S, TriggerOptions

LONGEST_S = 7 * 86_400.0


class Seconds(click.FloatRange):
    """A time in seconds within bounds; nan and inf are no times."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """As FloatRange, which lets nan through."""
        seconds = super().convert(value, param, ctx)
        if not isfinite(seconds):
            self.fail(f"{value} is not a time", param, ctx)
        return seconds


def taking_options(function: Any) -> Any:
    """Add the options of TriggerOptions, given to the command as one argument `wanted`."""

    @wraps(function)
    def wrapped(
        *args: Any,
        continuous: bool,
        stable: float | None,
        send_key: str | None,
        wait_back: float | None,
        **options: Any,
    ) -> Any:
        wanted = TriggerOptions(continuous, stable, send_key, wait_back)
        return function(*args, wanted=wanted, **options)

    result: Callable[..., Any] = wrapped
    for option in (
        click.option(
            "--wait-back",
            type=Seconds(min=0, max=LONGEST_S),
            metavar="SECONDS",
            help="How long an unplugged gauge is waited for; default: without end on a terminal, "
            f"else {UNATTENDED_WAIT_S:g}.",
        ),
        click.option(
            "--send-key",
            metavar="USB[=KEYS]",
            help="usb:VID:PID[:SERIAL] of a button device: any key of it is the send key. With "
            "=USAGE:WORD,... behind it each key has a word of its own, its USB usage in hex: "
            "=68:send,69:back,6A:keep,6B:drop",
        ),
        click.option(
            "--stable",
            type=Seconds(min=0.2, max=60),
            metavar="SECONDS",
            help="Take a value by itself once it has rested so long within its resolution.",
        ),
        click.option(
            "--continuous",
            is_flag=True,
            help="The gauge sends without end: only the first reading after a press counts.",
        ),
    ):
        result = option(result)
    return result
