"""`jbridge doctor`: is this machine fit for a session, and what to mend."""

import json
import shutil
import sys

import click

from daq.cli.options import Context, common_options


@click.command("doctor", epilog="\b\nExample: jbridge doctor")
@common_options
def command(context: Context) -> int:
    """Look over this machine: gauges and rights on them, home and disk, clock, terminal and more.

    Each finding is `ok`, `note` (a session runs all the same) or `MEND` (it does not; exit code 1),
    with what to do. Nothing is installed or changed.
    """
    try:
        import msgspec
    except ImportError:  # all that follows is made of it
        return _without_records(context.as_json)
    from daq.cli.views.doctor import finding_lines, summary
    from daq.services.doctor.examination import examined
    from daq.services.doctor.finding import is_fit
    from daq.services.doctor.look import look

    findings = examined(look(context.home))
    if context.as_json:
        print(json.dumps([msgspec.structs.asdict(one) for one in findings]))
    else:
        width = shutil.get_terminal_size((100, 24)).columns if sys.stdout.isatty() else 100
        for line in finding_lines(findings, width):
            print(line)
    click.echo(summary(findings), err=True)
    return 0 if is_fit(findings) else 1


def _without_records(as_json: bool) -> int:
    message = "missing: msgspec. Install: `pip install msgspec`"
    if as_json:
        told = {"name": "packages", "ok": False, "needed": True, "message": message}
        print(json.dumps([told]))
    else:
        print(f"MEND  packages     {message}.")
    return 1
