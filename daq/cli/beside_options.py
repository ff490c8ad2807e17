"""The options that show or sound a run elsewhere than on its terminal; light, since every --help
loads them.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from daq.services.run_wanted import BesideWanted


def beside_options(function: Any) -> Any:
    """Add the options of BesideWanted, given to the command as one argument `beside`."""

    @wraps(function)
    def wrapped(
        *args: Any,
        board: bool,
        board_on: str | None,
        sound: bool,
        speak: bool,
        **options: Any,
    ) -> Any:
        beside = BesideWanted(board, board_on, sound, speak)
        return function(*args, beside=beside, **options)

    result: Callable[..., Any] = wrapped
    for option in (
        click.option(
            "--speak",
            is_flag=True,
            help="Say the next place, and each value digit by digit.",
        ),
        click.option(
            "--sound",
            is_flag=True,
            help="A short sound for each reading once it is stored, another if it needs a look.",
        ),
        click.option(
            "--board-on",
            metavar="ADDRESS[:PORT]",
            help="The page, for the shop's network: this machine's address, or 0.0.0.0 for all.",
        ),
        click.option(
            "--board",
            is_flag=True,
            help="Show the run on a page too, for a browser on this machine.",
        ),
    ):
        result = option(result)
    return result
