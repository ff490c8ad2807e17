"""`jbridge sessions`: what lies in the home, the open ones first."""

import json
import shutil
import sys
from typing import TYPE_CHECKING

import click

from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options

if TYPE_CHECKING:
    from collections.abc import Sequence

    from daq.services.session_list import Listed

EXAMPLES = """\b
Example: jbridge sessions
Example, the folders of all open ones:
  jbridge sessions --json | jq -r '.[] | select(.verdict == "open") | .folder'"""


@click.command("sessions", epilog=EXAMPLES)
@common_options
def command(context: Context) -> int:
    """List the sessions in the home: open ones first, then the newest; the demo's at the end.

    Each with job, part, the gauge it began with, its verdict, when it began (local time) and its
    id, by whose last four letters or by its job other commands find it. A session that was given a
    folder of its own by --session lies elsewhere and is not listed.

    Only the first and the last line of each ledger are read. That a session stands here proves
    nothing of the lines between; `jbridge verify` does.
    """
    from daq.services.home import home_folder
    from daq.services.session_list import sessions_in

    home = home_folder(context.home)
    found = sessions_in(home)
    if context.as_json:
        from daq.cli.views.sessions import document

        print(json.dumps([document(one) for one in found], ensure_ascii=False))
    elif found:
        _show(context, found)
    if not found:
        click.echo(
            f"There are no sessions in {home} yet. `jbridge measure PLAN` begins one, "
            "`jbridge demo` plays one.",
            err=True,
        )
    return 0


def _show(context: Context, found: "Sequence[Listed]") -> None:
    from daq.cli.command_said import say_command
    from daq.cli.views.sessions import MARGIN, blocks, lines, newest_open, table, table_width, talk

    columns = shutil.get_terminal_size().columns
    if context.plain or not sys.stdout.isatty():
        print("\n".join(lines(found)))
    elif columns < table_width(found):
        print("\n".join(blocks(found, columns - MARGIN)))
    else:
        from rich.console import Console

        Console().print(table(found))
    click.echo(for_readers(talk(found), sys.stderr), err=True)
    newest = newest_open(found)
    if newest is not None:
        again = say_command(context, "resume", newest.folder)
        click.echo(f"To carry on the newest that is open:\n{again}", err=True)
