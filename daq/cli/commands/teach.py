"""`jbridge teach`: a profile and a gauge file from a few presses of the send button."""

import json
import sys
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options

if TYPE_CHECKING:
    from daq.cli.teach_dialogue import TeachDialogue
    from daq.cli.teach_options import TeachOptions
    from daq.cli.teaching import Capture
    from daq.services.teach_files import TeachTarget

PRESSES = 3


@click.command(
    "teach",
    epilog="\b\nExample: jbridge teach bore-gauge-2 --port /dev/ttyUSB0\n"
    "         jbridge teach bore-gauge-2 --from capture.bin --port /dev/ttyUSB0 "
    "--shows '1: 12.345 mm' --accept",
)
@click.argument("name")
@click.option("--port", metavar="URL", help="Where the gauge is; with --from, where it will be.")
@click.option("--from", "source", metavar="FILE", help="Learn from captured bytes; - is stdin.")
@click.option("--keyboard", is_flag=True, help="--from holds keyboard reports in hex, one a line.")
@click.option("--presses", type=click.IntRange(3, 50), metavar="N", help="How many; 3 by default.")
@click.option(
    "--shows",
    multiple=True,
    metavar="[PRESS:]TEXT",
    help="What the display showed: '2: 12.345 mm'.",
)
@click.option("--answer", multiple=True, metavar="QUESTION=ANSWER", help="Answer one question.")
@click.option("--accept", is_flag=True, help="Take the cautious answer to all that has one.")
@click.option("--skip", multiple=True, type=click.IntRange(1), metavar="PRESS", help="Leave out.")
@click.option("--line", metavar="9600-8N1", help="The line setting; else the usual ones are tried.")
@click.option("--ask", metavar="TEXT", help=r"What asks the gauge for a reading, like 'READ?\n'.")
@click.option("--replace", is_flag=True, help="Overwrite the files of this name.")
@common_options
def command(
    context: Context,
    name: str,
    port: str | None,
    source: str | None,
    keyboard: bool,
    presses: int | None,
    shows: tuple[str, ...],
    answer: tuple[str, ...],
    accept: bool,
    skip: tuple[int, ...],
    line: str | None,
    ask: str | None,
    replace: bool,
) -> int:
    """Learn how a gauge talks from a few presses of its send button, at different sizes.

    Type once what the display shows. The program says what it understood, frame by frame, asks
    what the presses leave open, and writes HOME/profiles and HOME/gauges. A frame that later
    differs from all that was seen is refused, not guessed at.

    A capture of a keyboard-type gauge (--keyboard) is text: one report in hex a line, an empty line
    between presses, remarks behind #.
    """
    from daq.cli.teach_dialogue import TeachDialogue, chosen_port
    from daq.cli.teach_options import options_of
    from daq.errors import SettingsError
    from daq.services.home import home_folder
    from daq.services.teach_files import refuse_existing, target
    from drivers.inference.said import CannotInfer
    from drivers.ports import check_port_name

    where = target(name, home_folder(context.home))
    if not replace:
        refuse_existing(where)
    if keyboard and source is None:
        raise click.UsageError("--keyboard goes with --from; a port usb:… is one anyway.")
    options = options_of(shows, answer, skip, ask, line)
    is_asking = not context.as_json and sys.stdin is not None and sys.stdin.isatty()
    if port is None and source is None:
        port = chosen_port() if is_asking else None
        if port is None:
            raise click.UsageError("--port is missing: say where the gauge is, or --from FILE.")
    if port is not None:
        check_port_name(port)
    try:
        taken = _take(source, port, presses or PRESSES, keyboard, options)
        talk = TeachDialogue(taken, where.profile_id, options, presses, accept, is_asking)
        return _teach(context, where, taken, port, talk)
    except CannotInfer as error:
        raise SettingsError(str(error)) from error


def _take(
    source: str | None, port: str | None, presses: int, keyboard: bool, options: "TeachOptions"
) -> "Capture":
    from daq.cli import teaching
    from daq.cli.teach_dialogue import wait_for_enter

    if source is not None:
        return teaching.from_file(source, is_keyboard=keyboard)
    assert port is not None
    if port.startswith("usb:"):
        return teaching.from_keyboard(port, presses)
    return teaching.from_port(port, presses, options.line, options.send, wait_for_enter)


def _teach(
    context: Context,
    where: "TeachTarget",
    taken: "Capture",
    port: str | None,
    talk: "TeachDialogue",
) -> int:
    from daq.cli.views.teach import document, table
    from daq.services.teach_files import gauge_text, write

    found = talk.settled()
    if not context.as_json:
        print("\n".join(table(found)))
        for text in found.unseen:
            click.echo(f"Not seen: {text}", err=True)
    missing = talk.missing(found)
    if not missing and port is None:
        port = talk.port()
        missing = "" if port else "--port is missing: say where the gauge will be attached"
    gauge = None
    if not missing and port is not None:
        who = taken.identity
        gauge = gauge_text(where.profile_id, port, who.text if who and who.serial else None)
        assert found.profile is not None
        talk.confirm(where)
        write(where, found.profile, gauge)
    files = (str(where.profile), str(where.gauge)) if gauge else None
    if context.as_json:
        print(json.dumps(document(found, where.name, files, gauge), ensure_ascii=False))
    if files is None:
        raise click.UsageError(missing)
    if not context.as_json:
        print(f"Written: {files[0]}\n         {files[1]}")
        click.echo(f"Try it: jbridge listen --gauge {where.name}", err=True)
    return 0
