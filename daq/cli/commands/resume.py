"""`jbridge resume SESSION`: carry on an open session, always with a check first."""

from pathlib import Path

import click

from daq.cli.commands.measure import despite_history_option, gauge_options
from daq.cli.names_option import TakesNames
from daq.cli.options import Context, common_options, text_of
from daq.cli.taking_options import taking_options
from daq.services.trigger_options import TriggerOptions


@click.command("resume", cls=TakesNames, epilog="\b\nExample: jbridge resume 20261125T080000Z-kqwe")
@click.argument("session", type=click.Path(path_type=Path))
@gauge_options
@click.option(
    "--same-gauge",
    metavar="REASON",
    help="Another port, but the same gauge: why. Without it a new stint begins.",
)
@despite_history_option
@taking_options
@common_options
def command(
    context: Context,
    session: Path,
    gauge: str | None,
    port: str | None,
    profile: str | None,
    stack: str | None,
    only: tuple[str, ...],
    part_temp: str | None,
    gauge_temp: str | None,
    stack_temp: str | None,
    same_gauge: str | None,
    despite_history: str | None,
    wanted: TriggerOptions,
) -> int:
    """Carry on SESSION, a folder or the id of one below --home.

    Gauge, stack and journals are those of the last run unless the options say otherwise. It begins
    with a check: a before-check where the last stint is over, else one in between.
    """
    from daq.acquisition.manager import SessionManager, refuse_closed
    from daq.acquisition.typed_port import open_here
    from daq.cli import run_session as measuring
    from daq.cli.ask_despite_history import kept_study, may_open, past_of
    from daq.plan.scope import make_scope
    from daq.rules.commands import HistoryNote
    from daq.services import choose as choosing
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.taking import taking_of
    from daq.storage.replay import load_state
    from drivers.clock import Clock

    home = home_folder(context.home)
    folder = session_folder(session, home)
    state, _ = load_state(folder)
    refuse_closed(state, folder)
    reason = None if same_gauge is None else text_of(same_gauge, "--same-gauge")
    last = state.setup
    chosen = choosing.choose_again(last, port, profile, gauge, home)
    names = only or last.only
    wanted_stack = stack or last.stack
    found = measuring.saved_stacks(state.plan, names, wanted_stack, home)
    stacks = measuring.with_last(found, last)
    temperatures = measuring.temperatures_of(part_temp, gauge_temp, stack_temp)
    choosing.check_gauge(make_scope(state.plan, names, wanted_stack, stacks.sizes), chosen)
    taking = taking_of(wanted, chosen.profile, chosen.gauge, chosen.port)
    clock = Clock()
    opened_port = open_here(chosen.port, chosen.profile.link)
    try:
        choosing.refuse_other(chosen, opened_port)
        past = past_of(chosen, opened_port.identity.text, home)
        now = clock.now().utc_us
        despite = may_open(past, now, despite_history)
        setup = measuring.setup_of(
            chosen, opened_port, names, wanted_stack, stacks, temperatures, kept_study(past)
        )
        manager, first = SessionManager.resume(folder, setup, now, reason)
        if despite and manager.state.closed is None:
            first = first.and_then(manager.submit(HistoryNote(despite), now))
    except BaseException:
        opened_port.close()
        raise
    return measuring.run_session(
        context, manager, first, opened_port, chosen, clock, taking, home=home
    )
