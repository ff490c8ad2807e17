"""`jbridge plan new [FILE]`: a plan by asking, or from an example."""

import json
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from daq.cli.options import Context, common_options
from drivers.printable import printable

if TYPE_CHECKING:
    from daq.plan.decidable import GaugeKnown
    from daq.plan.drafting.draft import Draft
    from daq.plan.review import Finding

USUAL_FILE = "plan.toml"


@click.command(
    "new",
    epilog="\b\nExample: jbridge plan new\n"
    '         jbridge plan new pump.toml --part "pump engine, crankshaft" --mains 3 --rods 2 \\\n'
    '           --limits mains="59.970 59.990 mm" --limits rods="50.780 50.800 mm" \\\n'
    '           --undersizes "0.25 0.50" --form "0.005 0.005"\n'
    "         jbridge plan new pump.toml --like inline-four",
)
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--like", metavar="NAME", help="Begin from a shipped example; see --list.")
@click.option("--list", "is_list", is_flag=True, help="Name the shipped examples, a line each.")
@click.option("--replace", is_flag=True, help="With --like: also a file made by somebody else.")
@click.option("--part", metavar="TEXT", help="Engine and part.")
@click.option("--unit", metavar="mm|in", help="What the manual prints; of both, like 'mm in'.")
@click.option("--mains", metavar="N|NAMES", help="How many main journals, or their names.")
@click.option("--rods", metavar="N|NAMES", help="How many rod journals, or their names.")
@click.option("--others", metavar="TEXT", help="Other journals, like 'cams: 4; idler: I1'.")
@click.option(
    "--limits", multiple=True, metavar="[GROUP=]TEXT", help="Low and high: '59.970 59.990 mm'."
)
@click.option(
    "--cross-check", multiple=True, metavar="[GROUP=]TEXT", help="The same in the other unit."
)
@click.option(
    "--undersizes",
    multiple=True,
    metavar="[GROUP=]TEXT",
    help="'0.25 0.50', or with printed limits '0.25: 59.720 59.740; 0.50: ...'.",
)
@click.option(
    "--form", multiple=True, metavar="[GROUP=]TEXT", help="Out-of-round and taper: '0.005 0.005'."
)
@click.option("--stations", metavar="TEXT", help="Places along a journal: 'front, rear'.")
@click.option("--angles", metavar="TEXT", help="Degrees; '0 45 90 135' by default.")
@click.option("--strip", metavar="TEXT", help="Journals reached only after stripping.")
@click.option("--blocks", metavar="SET|SIZES", help="Gauge blocks at hand, or none.")
@click.option(
    "--stack", multiple=True, metavar="[GROUP=]SIZE", help="The stack, where it is not composed."
)
@click.option("--gauge", metavar="NAME", help="Warn of what this gauge of the shop cannot decide.")
@click.option("--resolution", metavar="LENGTH", help="Warn of what a gauge of this step cannot.")
@common_options
def new(
    context: Context,
    file: Path | None,
    like: str | None,
    is_list: bool,
    replace: bool,
    gauge: str | None,
    resolution: str | None,
    **answers: str | tuple[str, ...] | None,
) -> int:
    """Make a plan by asking; FILE is plan.toml by default.

    A plan that is there is changed: Enter keeps what it says, and the former file stays beside it
    as FILE.before-1. What was answered is kept in FILE.part when you leave; the same command
    carries on. Without a terminal nothing is asked: --part, --mains, --rods and --limits are
    needed, the rest is none or as usual where it is left out. GROUP is mains, rods or a name of
    --others; without it a word goes for all groups.
    """
    if is_list:
        return _list(context)
    from daq.cli.plan_options import completed, with_options
    from daq.plan.drafting.file_text import text_of
    from daq.services.draft_files import target
    from daq.services.gauge_known import gauge_known
    from daq.services.home import home_folder

    home = home_folder(context.home)
    known = gauge_known(gauge, resolution, home)
    path = target(file or Path(USUAL_FILE))
    given = {word: text for word, text in answers.items() if text}
    is_asking = _is_asking(context)
    if replace and like is None:
        raise click.UsageError("--replace goes with --like; without it a plan is changed.")
    if like is not None:
        draft = _like(path, like, replace=replace, is_asking=is_asking)
    else:
        draft = _begun(path, is_asking=is_asking)
    draft = with_options(draft, given, home)
    if is_asking:
        return _ask(context, path, home, known, gauge, draft)
    draft = completed(draft, home)
    return _write(context, path, home, known, gauge, text_of(draft), draft)


def _list(context: Context) -> int:
    from daq.services.examples import examples

    found = examples()
    if context.as_json:
        rows = [{"name": one.name, "title": one.title} for one in found]
        print(json.dumps(rows, ensure_ascii=False))
        return 0
    width = max(len(one.name) for one in found)
    for one in found:
        print(printable(f"{one.name.ljust(width)}  {one.title}"))
    return 0


def _is_asking(context: Context) -> bool:
    return not context.as_json and sys.stdin is not None and sys.stdin.isatty()


# The draft to begin with --------------------------------------------------------------------------


def _like(path: Path, name: str, *, replace: bool, is_asking: bool) -> "Draft":
    """An example, all of it answered; in brackets where somebody is asked."""
    from msgspec.structs import replace as with_

    from daq.plan.drafting.existing import draft_of
    from daq.plan.drafting.questions import questions
    from daq.services.draft_files import replaceable
    from daq.services.examples import example

    found = example(name)
    draft = draft_of(found.text, found.name)
    on_disk = replaceable(path, replace=replace)
    draft = with_(draft, on_disk=on_disk, blocks="none")
    return with_(draft, asked=tuple(one.key for one in questions(draft)))


def _begun(path: Path, *, is_asking: bool) -> "Draft":
    from daq.cli.plan_dialogue import say
    from daq.services.draft_files import begin

    found = begin(path, is_asking=is_asking)
    if found.words and is_asking:
        say(found.words)
    return found.draft


# Asked and written --------------------------------------------------------------------------------


def _ask(
    context: Context,
    path: Path,
    home: Path,
    known: "GaugeKnown | None",
    gauge: str | None,
    draft: "Draft",
) -> int:
    """Ask until the plan is written, or whoever answers leaves."""
    from daq.cli.plan_dialogue import LeftOff, PlanDialogue, terminal_lines
    from daq.errors import UsageError

    _line_editing()
    talk = PlanDialogue(draft, path, home, known, terminal_lines)
    try:
        text = talk.run()
    except LeftOff as left:
        return _kept(path, left.draft, draft)
    except EOFError:
        click.echo(err=True)
        return _kept(path, talk.draft, draft)
    except BaseException:
        click.echo(err=True)
        _kept(path, talk.draft, draft)
        raise
    try:
        return _write(context, path, home, known, gauge, text, talk.draft)
    except (OSError, UsageError):
        _kept(path, talk.draft, draft)
        raise


def _line_editing() -> None:
    """Arrow keys and history in the terminal's own line, where this Python has them."""
    try:
        import readline  # noqa: F401
    except ImportError:
        return


def _kept(path: Path, draft: "Draft", begun: "Draft") -> int:
    """Keep the answers for another time; those of a plan that is there and was left as it is stand
    in its file.
    """
    from daq.cli.plan_dialogue import say
    from daq.errors import MACHINE_FAILED
    from daq.services.draft_files import keep, part_file
    from daq.storage.durable import what_helps

    if not draft.asked or (draft == begun and not part_file(path).exists()):
        return 0
    try:
        where = keep(path, draft)
    except OSError as error:
        say(f"Your answers could not be kept: {error.strerror}. {what_helps(error)}.")
        return MACHINE_FAILED
    say(f"Your answers are kept in {where}. Carry on with:")
    click.echo(printable(f"jbridge plan new {shlex.quote(str(path))}"), err=True)
    return 0


def _write(
    context: Context,
    path: Path,
    home: Path,
    known: "GaugeKnown | None",
    gauge: str | None,
    text: str,
    draft: "Draft",
) -> int:
    """Write the plan, and say what to do next."""
    from daq.cli.plan_dialogue import say, tell_doubts
    from daq.cli.views.draft import understood
    from daq.services.draft_files import forget, write_plan
    from daq.services.plan_doubts import doubts

    found = doubts(text, str(path), home, known)
    if not _is_asking(context) and not context.as_json:
        for line in understood(draft, 79):
            click.echo(printable(line), err=True)
        tell_doubts(found)
    copy = write_plan(path, text, draft.on_disk)
    if _is_asking(context):
        forget(path)
    following = _next_command(path, text, home, gauge)
    if context.as_json:
        print(json.dumps(_document(path, copy, found, following), ensure_ascii=False))
        return 0
    if copy is not None:
        say(f"The former file is kept as {copy}.")
    is_same = text == draft.on_disk
    print(printable(f"{'Nothing was changed in' if is_same else 'Written:'} {path}"))
    say("Next:")
    print(printable(following))
    if following.endswith(" typed:"):
        say("That is for readings typed in. With a gauge: --gauge NAME instead of --port typed:")
    return 0


def _document(
    path: Path, copy: Path | None, found: "tuple[Finding, ...]", following: str
) -> dict[str, object]:
    return {
        "plan": str(path),
        "former": None if copy is None else str(copy),
        "findings": [{"key": o.key, "kind": o.kind, "words": o.words} for o in found],
        "next": following,
    }


def _next_command(path: Path, text: str, home: Path, gauge: str | None) -> str:
    """What to do with the plan: measure, with the shop's only gauge if it has one; or find stacks
    where the plan has none.
    """
    from daq.errors import PlanError
    from daq.plan.plan import parse_plan
    from daq.plan.scope import stacks_wanted

    name = shlex.quote(str(path))
    try:
        stacks_wanted(parse_plan(text, str(path)), (), None)
    except PlanError:
        return f"jbridge stack --plan {name}"
    gauges = sorted(one.stem for one in (home / "gauges").glob("*.toml"))
    chosen = gauge or (gauges[0] if len(gauges) == 1 else None)
    if chosen is not None:
        return f"jbridge measure {name} --gauge {shlex.quote(chosen)}"
    return f"jbridge measure {name} --port typed:"
