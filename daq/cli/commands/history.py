"""`jbridge history GAUGE`: a gauge's checks over time."""

from pathlib import Path

import click

from daq.cli.options import Context, common_options
from daq.services.option_values import text_of


@click.command(
    "history",
    epilog="\b\nExample: jbridge history mic-50-75 --picture mic-50-75.svg",
)
@click.argument("gauge")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Write an SVG.")
@click.option("--replace", is_flag=True, help="Let --picture write over any file.")
@click.option("--size", metavar="LENGTH", help="Only this size of stack.")
@click.option(
    "--interval",
    type=click.IntRange(min=1, max=3650),
    metavar="DAYS",
    help="Usual days from one check to the next; default: 30.",
)
@click.option("--note", metavar="TEXT", help="Add words to the history.")
@click.option(
    "--adjusted",
    metavar="TEXT",
    help="Record that the gauge was set anew or mended: limits begin again.",
)
@click.option("--due", metavar="DATE", help="Record the next check's day, YYYY-MM-DD.")
@common_options
def command(
    context: Context,
    gauge: str,
    picture: Path | None,
    replace: bool,
    size: str | None,
    interval: int | None,
    note: str | None,
    adjusted: str | None,
    due: str | None,
) -> int:
    """Show the checks of GAUGE over time: error with its uncertainty at each size, control, drift.

    GAUGE is the name of a gauge file, of a history below --home, or a port's identity. Tells
    whether the gauge is in statistical control, how fast it drifts and when it is to be checked
    next. Exit code 1: out of control, or lines of the history are damaged.
    """
    from daq.cli import history_run
    from daq.services.home import home_folder

    words = {
        about: text_of(text, f"--{about}")
        for about, text in (("note", note), ("adjusted", adjusted), ("due", due))
        if text is not None
    }
    home = home_folder(context.home)
    return history_run.run(context, gauge, picture, size, interval, words, home, replace=replace)
