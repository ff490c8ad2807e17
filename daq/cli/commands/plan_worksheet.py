"""`jbridge plan worksheet PLAN`: the route as a page to print, with boxes."""

from pathlib import Path

import click

from daq.cli.options import Context, common_options
from drivers.printable import printable


@click.command(
    "worksheet",
    epilog="\b\nExample: jbridge plan worksheet plan.toml\n"
    "         jbridge plan worksheet plan.toml --output monday.html",
)
@click.argument("plan", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Where to; PLAN-worksheet.html beside the plan by default, - is stdout.",
)
@click.option("--replace", is_flag=True, help="Write over a file that something else made.")
@common_options
def worksheet(context: Context, plan: Path, output: Path | None, replace: bool) -> int:
    """Make an HTML page to print: the route of PLAN with a box for each reading and each check.

    For a day without computer. Type the readings in the order of their numbers afterwards:
    jbridge measure PLAN --port typed:
    """
    import json

    from daq.cli.views import worksheet as view
    from daq.plan.plan import load_plan
    from daq.plan.worksheet import stints_of
    from daq.services.home import home_folder, saved_stack
    from daq.services.own_files import write_own

    found = load_plan(plan)
    home = home_folder(context.home)
    names = {j.group_stack or found.check.stack or "" for j in found.journals}
    saved = {name: size for name in names if (size := saved_stack(name, home)) is not None}
    page = view.worksheet(found, stints_of(found, saved))
    if output == Path("-"):
        print(page, end="")
        return 0
    path = output or plan.with_name(f"{plan.stem}-worksheet.html")
    write_own(path, page, mark=view.MARK, option="--output", replace=replace)
    print(json.dumps({"worksheet": str(path)}) if context.as_json else printable(str(path)))
    return 0
