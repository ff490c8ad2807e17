"""`jbridge stack SIZE…`: which blocks to wring for a size, a plan or a micrometer's range."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options
from drivers.printable import printable

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from daq.cli.stack_answers import Answer
    from daq.equipment.stacks.making import Maker

DEFAULT_ALTERNATIVES = 3


@click.command(
    "stack",
    epilog='\b\nExample: jbridge stack "57.982 mm" --grade 1 --save mains\n'
    '         jbridge stack "57.970 mm" "58.000 mm" --set M88\n'
    "         jbridge stack --plan plan.toml\n"
    '         jbridge stack --check-range "50 mm" "75 mm"',
)
@click.argument("sizes", nargs=-1, metavar="[SIZE]...")
@click.option("--set", "set_word", metavar="NAME|FILE", help="The block set; see above.")
@click.option(
    "--protectors", metavar="SIZE|set", help="A wear protector at each end: its length, or set."
)
@click.option(
    "--without",
    multiple=True,
    metavar="BLOCK|STACK",
    help="A block that is in use, or all of a saved stack.",
)
@click.option(
    "--alternatives",
    type=click.IntRange(1, 50),
    metavar="N",
    help=f"How many stacks to show; {DEFAULT_ALTERNATIVES} by default.",
)
@click.option("--grade", metavar="GRADE", help="Of the blocks: K, 0, 1, 2, AS-1 or AS-2.")
@click.option("--save", metavar="NAME", help="Keep the first stack, for --stack NAME and plans.")
@click.option("--replace", is_flag=True, help="Overwrite the saved stack of that name.")
@click.option(
    "--plan",
    "plan_file",
    type=click.Path(path_type=Path),
    help="Propose the stacks that this plan needs.",
)
@click.option(
    "--check-range",
    nargs=2,
    metavar="LOW HIGH",
    help="Sizes to check a micrometer of this range at.",
)
@click.option("--pitch", metavar="SIZE", help="Of its screw; 0.5 mm or 0.025 in by default.")
@common_options
def command(
    context: Context,
    sizes: tuple[str, ...],
    set_word: str | None,
    protectors: str | None,
    without: tuple[str, ...],
    alternatives: int | None,
    grade: str | None,
    save: str | None,
    replace: bool,
    plan_file: Path | None,
    check_range: tuple[str, str] | None,
    pitch: str | None,
) -> int:
    """Compose a stack of gauge blocks for each SIZE, like "57.982 mm" or "2.7485 in".

    Fewest blocks first, up to five, each block once; several sizes share no block. Where no stack
    makes a size exactly, the nearest are told and the exit code is 1. --set takes a file, a set in
    HOME/blocks or one of inch-81, M112, M46, M47, M87, M88. By default: the shop's only set of the
    unit in HOME/blocks, else M112 or inch-81.
    """
    asked = [bool(sizes), plan_file is not None, check_range is not None]
    if sum(asked) != 1:
        raise click.UsageError("say a SIZE, or --plan, or --check-range.")
    if pitch is not None and check_range is None:
        raise click.UsageError("--pitch goes with --check-range.")
    if (replace and save is None) or (save is not None and not sizes):
        raise click.UsageError("--save goes with a SIZE, and --replace with --save.")
    if save is not None and len(sizes) > 1:
        raise click.UsageError("--save keeps one stack: give one SIZE.")
    from datetime import UTC, datetime

    on = datetime.now(UTC).date()
    maker_for = _makers(context, set_word, protectors, without, grade)
    if plan_file is not None:
        answer = _plan_answer(plan_file, maker_for, on)
    elif check_range is not None:
        answer = _range_answer(check_range, pitch, maker_for)
    else:
        answer = _sizes_answer(sizes, alternatives or DEFAULT_ALTERNATIVES, maker_for, on)
    print(json.dumps(answer.rows, ensure_ascii=False) if context.as_json else answer.text)
    if save is not None:
        _keep(context, save, answer, replace=replace)
    return answer.code


def _makers(
    context: Context,
    set_word: str | None,
    protectors: str | None,
    without: tuple[str, ...],
    grade: str | None,
) -> "Callable[[str], Maker]":
    """The maker of stacks by unit: the set is read when the unit is known."""
    from functools import cache

    from msgspec.structs import replace

    from daq.cli.stack_words import in_use, protectors_in
    from daq.equipment.stacks.grades import GRADES
    from daq.equipment.stacks.making import Maker
    from daq.errors import SettingsError
    from daq.services.home import home_folder, load_block_set

    home = home_folder(context.home)
    if grade is not None and grade not in GRADES:
        raise click.BadParameter(
            f"{grade!r} is not one of {', '.join(GRADES)}", param_hint="--grade"
        )

    @cache
    def maker_for(unit: str) -> Maker:
        found = load_block_set(set_word, "in" if unit == "in" else "mm", home)
        if grade is not None:
            found = replace(found, grade=grade)
        try:
            return Maker(
                found,
                in_use=in_use(without, home),
                protectors=protectors_in(protectors, found, without, home),
            )
        except ValueError as error:
            raise SettingsError(f"--without: {error}.") from error

    return maker_for


def _sizes_answer(
    words: tuple[str, ...], most: int, maker_for: "Callable[[str], Maker]", on: "date"
) -> "Answer":
    from daq.cli.stack_answers import one_size, several
    from daq.cli.stack_words import sizes_in

    sizes = sizes_in(words)
    maker = maker_for(sizes[0].unit)
    if len(sizes) == 1:
        return one_size(maker, sizes[0], most, on)
    try:
        return several(maker, sizes, on)
    except ValueError as error:
        raise click.UsageError(f"{error}.") from error


def _plan_answer(path: Path, maker_for: "Callable[[str], Maker]", on: "date") -> "Answer":
    from daq.cli.stack_answers import for_plan
    from daq.plan.plan import load_plan

    return for_plan(load_plan(path), maker_for, on)


def _range_answer(
    words: tuple[str, str], pitch: str | None, maker_for: "Callable[[str], Maker]"
) -> "Answer":
    from daq.cli.stack_answers import for_range
    from daq.cli.stack_words import pitch_in, range_in
    from daq.equipment.stacks.screw import PITCH, check_sizes

    low, high = range_in(words)
    turn = pitch_in(pitch, low.unit, PITCH[low.unit])
    try:
        sizes = check_sizes(low, high, turn)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--check-range") from error
    return for_range(maker_for(low.unit), sizes, low, turn)


def _keep(context: Context, name: str, answer: "Answer", *, replace: bool) -> None:
    from daq.equipment.stacks.making import stack_text
    from daq.services.home import home_folder, save_stack

    if answer.first is None:
        click.echo("Nothing is saved: there is not one stack to save.", err=True)
        return
    path = save_stack(name, stack_text(answer.first), home_folder(context.home), replace=replace)
    click.echo(f"Saved as {name}: {printable(str(path))}", err=True)
