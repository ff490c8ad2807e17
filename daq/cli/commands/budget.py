"""`jbridge budget SESSION`: the uncertainty of each journal's diameter, line by line."""

import json
import sys

import click

from daq.cli import completing
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options


@click.command("budget", epilog="\b\nExample: jbridge budget 20261125T080000Z-kqwe --journal M1")
@click.argument("session", type=click.Path(), shell_complete=completing.sessions)
@click.option("--journal", "names", metavar="NAME", multiple=True, help="Only these; default: all.")
@click.option("--form", is_flag=True, help="Of a difference of two diameters, for form limits.")
@common_options
def command(context: Context, session: str, names: tuple[str, ...], form: bool) -> int:
    """Show what the uncertainty of the diameters in SESSION is made of, after the GUM (JCGM 100).

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.

    Recomputed from the ledger by this program's rule set; what was stored with a closed session
    stays as it is.
    """
    from daq.cli.views.budget import budgets, document, lines
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.storage.whole import whole

    state, _ = whole(session_folder(session, home_folder(context.home)))
    known = [journal.name for journal in state.plan.journals]
    for name in names:
        if name not in known:
            raise click.BadParameter(
                f"no journal {name!r} (there are {', '.join(known[:12])})", param_hint="--journal"
            )
    found = budgets(state, names or known, is_form=form)
    if not found:
        print(
            "Nothing of the part was measured there, so there is no budget.",
            file=sys.stderr,
        )
    if context.as_json:
        print(json.dumps([document(budget) for budget in found], ensure_ascii=False, indent=2))
    else:
        text = "\n".join(line for budget in found for line in lines(budget)).rstrip()
        print(for_readers(text, sys.stdout))
    return 0
