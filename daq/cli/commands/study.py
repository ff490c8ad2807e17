"""`jbridge study SESSION`: what a gauge study says of the gauge and of who measures."""

import json
import shutil
import sys

import click

from daq.cli import completing
from daq.cli.options import Context, common_options


@click.command("study", epilog="\b\nExample: jbridge study 20261125T080000Z-kqwe --keep")
@click.argument("session", type=click.Path(), shell_complete=completing.sessions)
@click.option("--keep", is_flag=True, help="Keep the result in the gauge's history.")
@common_options
def command(context: Context, session: str, keep: bool) -> int:
    """Evaluate the gauge study SESSION, by analysis of variance and by average and range.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits.

    The session's plan has a [study]: every journal measured by every operator several times over.
    The answer stands first: is the gauge good enough for the plan's tolerance. If it is not, and
    for a study with holes, the exit code is 1. With --keep the repeatability goes into the gauge's
    history, and the next session's uncertainty uses it.
    """
    from daq.cli.views.study import lines
    from daq.errors import StudyRefused
    from daq.gauges.study import evaluate
    from daq.gauges.study_data import gathered
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.study_keeping import document, keep_study
    from daq.storage.whole import whole

    home = home_folder(context.home)
    state, _ = whole(session_folder(session, home))
    try:
        found = evaluate(gathered(state))
    except StudyRefused as refused:
        click.echo(f"jbridge: {refused}", err=True)
        return 1
    if context.as_json:
        json.dump(document(found), sys.stdout, ensure_ascii=False, indent=2)
        print()
    else:
        print("\n".join(lines(found, shutil.get_terminal_size().columns)))
    if keep:
        click.echo(keep_study(found, home), err=True)
    return 1 if found.fitness == "no" else 0
