"""`jbridge plan`: what a plan file may say, and what one says; the others are modules beside."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli import completing
from daq.cli.commands.plan_new import new
from daq.cli.commands.plan_worksheet import worksheet
from daq.cli.for_readers import for_readers
from daq.cli.options import Context, common_options
from drivers.printable import printable

if TYPE_CHECKING:
    from daq.plan.plan import Plan
    from daq.plan.review import Finding

FILE = click.argument("plan", type=click.Path(path_type=Path))


@click.group("plan", epilog="\b\nExample: jbridge plan check plan.toml")
@common_options
def command(context: Context) -> None:
    """Plan files: make one, look into one, print one."""


command.add_command(new)
command.add_command(worksheet)


@command.command("schema", epilog="\b\nExample: jbridge plan schema > plan.schema.json")
@common_options
def schema(context: Context) -> int:
    """Print the JSON Schema (2020-12) of the plan file."""
    from daq.plan.plan import json_schema

    print(json.dumps(json_schema(), indent=2))
    return 0


@command.command("check", epilog="\b\nExample: jbridge plan check plan.toml --gauge mic-50-75")
@FILE
@click.option(
    "--gauge",
    metavar="NAME",
    shell_complete=completing.gauges,
    help="Tell what this gauge of the shop cannot decide.",
)
@click.option(
    "--resolution", metavar="LENGTH", help="Tell what a gauge of this step cannot decide."
)
@common_options
def check(context: Context, plan: Path, gauge: str | None, resolution: str | None) -> int:
    """Tell what looks wrong in the limits of PLAN, with the arithmetic.

    Manuals have misprints, and hands slip. Nothing is mended. A doubt is no refusal: exit 0. A plan
    that cannot be used is exit 2.
    """
    from daq.errors import PlanError
    from daq.plan.plan import load_plan
    from daq.plan.review import cross_checks
    from daq.plan.schema import MOST_FILE_BYTES
    from daq.services.gauge_known import gauge_known
    from daq.services.home import home_folder
    from daq.services.plan_doubts import doubts
    from drivers.toml_file import WrongKey, text_in

    home = home_folder(context.home)
    known = gauge_known(gauge, resolution, home)
    try:
        text = text_in(plan, MOST_FILE_BYTES)
    except WrongKey:
        load_plan(plan)  # says why it cannot be read
        raise
    try:
        found = doubts(text, str(plan), home, known)
    except PlanError as error:
        wrong = cross_checks(text)
        if not context.as_json:  # the refusal itself is told on stderr
            wrong = tuple(one for one in wrong if one.key != error.key)
        _tell(context, plan, text, wrong, error)
        raise
    _tell(context, plan, text, found, None)
    return 0


def _tell(
    context: Context,
    plan: Path,
    text: str,
    found: "tuple[Finding, ...]",
    refused: Exception | None,
) -> None:
    """The findings on stdout; a refusal itself is told on stderr by the program."""
    from daq.plan.key_words import names_in, told

    if context.as_json:
        rows = [{"key": one.key, "kind": one.kind, "words": one.words} for one in found]
        document = {"plan": str(plan), "usable": refused is None, "findings": rows}
        json.dump(document, sys.stdout, ensure_ascii=False)
        print()
        return
    names = names_in(text)
    for one in found:
        print(for_readers(printable(told(one.key, one.words, names)), sys.stdout))
    if found:
        doubts = "1 doubt" if len(found) == 1 else f"{len(found)} doubts"
        print(f"{doubts}; nothing was changed. Look in the maker's manual.")
    elif refused is None:
        print("Nothing looks out of place. That does not prove the limits right.")


@command.command(
    "show",
    epilog="\b\nExample: jbridge plan show plan.toml\n"
    "         jbridge plan show plan.toml --picture plan.svg",
)
@FILE
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write an SVG: the crank, its journals from the end, the route.",
)
@click.option("--replace", is_flag=True, help="Let --picture write over any file.")
@common_options
def show(context: Context, plan: Path, picture: Path | None, replace: bool) -> int:
    """Show what PLAN measures: journals with their limits now, and the undersizes of each group."""
    from daq.cli.views.plan import plan_document, plan_lines
    from daq.plan.plan import load_plan

    found = load_plan(plan)
    if picture is not None:
        _draw(found, picture, replace=replace)
    if context.as_json:
        json.dump(plan_document(found), sys.stdout, ensure_ascii=False)
        print()
    else:
        for line in plan_lines(found):
            print(for_readers(printable(line), sys.stdout))
    if picture is not None:
        print(f"The picture is in {printable(str(picture))}", file=sys.stderr)
    return 0


def _draw(plan: "Plan", path: Path, *, replace: bool) -> None:
    from daq.pictures.layout import layout_of
    from daq.pictures.plan_picture import MARK, plan_picture
    from daq.services.own_files import write_own

    drawn = plan_picture(plan.part, layout_of(plan.journals))
    write_own(path, drawn, mark=MARK, option="--picture", replace=replace)
