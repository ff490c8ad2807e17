"""Options that every command takes, before or after its name."""

import functools
import sys
from collections.abc import Callable
from typing import Any, TypeVar

import click

from daq.errors import UsageError


class Context:
    """What the common options said."""

    def __init__(self) -> None:
        self.as_json = False
        self.plain = False
        self.debug = False
        self.home: str | None = None
        self.show: str | None = None
        self.details = False

    @property
    def is_plain(self) -> bool:
        """Plain text was asked for, or nobody looks at a terminal."""
        return self.plain or self.as_json or not sys.stderr.isatty()


_F = TypeVar("_F", bound=Callable[..., Any])


def common_options(function: _F) -> _F:
    """Add --json, --home, --plain, --debug; the function gets a Context as its first argument."""

    @click.option("--json", "as_json", is_flag=True, help="Results as JSON on stdout.")
    @click.option("--home", metavar="DIR", help="Where gauges, profiles, stacks and sessions live.")
    @click.option("--plain", is_flag=True, help="Plain text; lines on stdin are commands.")
    @click.option("--debug", is_flag=True, help="Show a traceback with an error.")
    @click.pass_context
    @functools.wraps(function)
    def wrapped(
        click_context: click.Context,
        /,
        *args: Any,
        as_json: bool,
        home: str | None,
        plain: bool,
        debug: bool,
        **options: Any,
    ) -> Any:
        context = click_context.find_root().ensure_object(Context)
        context.as_json = context.as_json or as_json
        context.plain = context.plain or plain
        context.debug = context.debug or debug
        context.home = home or context.home
        try:
            return function(context, *args, **options)
        except UsageError as error:
            if error.option:
                raise click.BadParameter(str(error), param_hint=error.option) from error
            raise click.UsageError(str(error)) from error

    return wrapped  # type: ignore[return-value] # the decorator changes the arguments on purpose


def shown_options(function: _F) -> _F:
    """Add --show and --details, which the Context keeps; stands above `common_options`."""

    @click.option(
        "--show",
        type=click.Choice(["mm", "inch", "in", "both"]),
        help="Read lengths in these; default: as the plan prints its limits.",
    )
    @click.option(
        "--details",
        is_flag=True,
        help="What stands behind the answer too: estimates, uncertainties, checks.",
    )
    @click.pass_context
    @functools.wraps(function)
    def wrapped(
        click_context: click.Context,
        /,
        *args: Any,
        show: str | None,
        details: bool,
        **options: Any,
    ) -> Any:
        context = click_context.find_root().ensure_object(Context)
        context.show, context.details = "inch" if show == "in" else show, details
        return function(*args, **options)

    return wrapped  # type: ignore[return-value] # the decorator changes the arguments on purpose
