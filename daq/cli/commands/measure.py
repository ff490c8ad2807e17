"""`jbridge measure PLAN`: a session from the first check to the tables."""

import os
from pathlib import Path
from typing import Any

import click

from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options, text_of
from daq.cli.taking_options import taking_options
from daq.services.trigger_options import TriggerOptions


def gauge_options(function: Any) -> Any:
    """The options by which `measure` and `resume` name the gauge and its surroundings."""
    for option in (
        click.option("--stack-temp", metavar="C", help="Stack temperature, degrees Celsius."),
        click.option("--gauge-temp", metavar="C", help="Gauge temperature, degrees Celsius."),
        click.option("--part-temp", metavar="C", help="Part temperature, degrees Celsius."),
        click.option(
            "--only",
            metavar="NAME...",
            multiple=True,
            help="Journals or groups that this gauge can reach.",
        ),
        click.option("--stack", metavar="SIZE|NAME", help="Stack for groups without their own."),
        click.option("--profile", metavar="NAME|FILE", help="How the gauge talks."),
        click.option(
            "--port",
            metavar="URL",
            help="Device path, usb:VID:PID[:SERIAL], socket://, rfc2217:// or loop://.",
        ),
        click.option("--gauge", metavar="NAME", help="A gauge of the shop: HOME/gauges/NAME.toml."),
    ):
        function = option(function)
    return function


def despite_history_option(function: Any) -> Any:
    """The option that opens a session for a gauge whose history says that it is out of control."""
    return click.option(
        "--despite-history",
        metavar="REASON",
        help="Why a gauge that its history calls out of control is used all the same.",
    )(function)


@click.command(
    "measure",
    cls=TakesNames,
    epilog=(
        "\b\n"
        "Example: jbridge measure crank.toml --port /dev/ttyUSB0 --profile number-unit-crlf "
        "--job 4711 --operator Ada"
    ),
)
@click.argument("plan", type=click.Path(path_type=Path))
@gauge_options
@click.option("--job", default="", metavar="TEXT", help="Job, for the tables.")
@click.option("--part", metavar="TEXT", help="This part; default: the plan's.")
@click.option("--operator", default="", metavar="TEXT", help="Who measures.")
@click.option(
    "--session",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A new folder for the session.",
)
@despite_history_option
@taking_options
@common_options
def command(
    context: Context,
    plan: Path,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    only: tuple[str, ...],
    part_temp: str | None,
    gauge_temp: str | None,
    stack_temp: str | None,
    job: str,
    part: str | None,
    operator: str,
    session: Path | None,
    despite_history: str | None,
    wanted: TriggerOptions,
) -> int:
    """Measure a part by PLAN: gauge checked on the stack, the route, checked again, tables.

    Press send for each reading and nothing else. With --plain, lines on stdin are words like back,
    skip REASON or stop REASON; without any stdin the send button drives everything.
    """
    from daq.acquisition.manager import SessionManager
    from daq.acquisition.typed_port import open_here
    from daq.cli import run_session as measuring
    from daq.cli.ask_despite_history import kept_study, may_open, past_of
    from daq.errors import LedgerError
    from daq.plan.plan import load_plan
    from daq.plan.scope import make_scope
    from daq.record.events import FORMAT, RULES, Opened
    from daq.rules.commands import HistoryNote
    from daq.services import choose as choosing
    from daq.services.home import home_folder, new_session_id
    from daq.services.taking import taking_of
    from daq.version import __version__
    from drivers.clock import Clock

    home = home_folder(context.home)
    wanted_plan = load_plan(plan)
    texts = [text_of(job, "--job"), text_of(operator, "--operator")]
    part_text = wanted_plan.part if part is None else text_of(part, "--part")
    temperatures = measuring.temperatures_of(part_temp, gauge_temp, stack_temp)
    chosen = choosing.choose(port, profile, gauge, home)
    stacks = measuring.saved_stacks(wanted_plan, only, stack, home)
    work = make_scope(wanted_plan, only, stack, stacks.sizes)
    choosing.check_gauge(work, chosen)
    taking = taking_of(wanted, chosen.profile, chosen.gauge, chosen.port)
    clock = Clock()
    now = clock.now().utc_us
    session_id = new_session_id(now)
    folder = session or home / "sessions" / session_id
    if folder.exists():
        raise LedgerError(folder, "this folder exists already; a session needs a new one")
    opened_port = open_here(chosen.port, chosen.profile.link)
    try:
        choosing.refuse_other(chosen, opened_port)
        past = past_of(chosen, opened_port.identity.text, home)
        reason = may_open(past, now, despite_history)
        opened = Opened(
            format=FORMAT,
            program=__version__,
            rules=RULES,
            session=session_id,
            job=texts[0],
            part=part_text,
            operator=texts[1],
            plan_name=os.fsencode(plan.name).decode("utf-8", "backslashreplace"),
            plan=wanted_plan.text,
            setup=measuring.setup_of(
                chosen, opened_port, only, stack, stacks, temperatures, kept_study(past)
            ),
        )
        manager, first = SessionManager.create(folder, opened, now)
        if reason:
            first = first.and_then(manager.submit(HistoryNote(reason), now))
        measuring.keep_plan(folder, wanted_plan.text)
    except BaseException:
        opened_port.close()
        raise
    return measuring.run_session(
        context, manager, first, opened_port, chosen, clock, taking, home=home
    )
