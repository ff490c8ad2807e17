"""`prove` at a terminal: the readings taken, the result told and kept."""

import sys
from contextlib import ExitStack

from msgspec.structs import replace

from daq.acquisition.check_run import CheckRun
from daq.acquisition.inputs import InputSource
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.sources import Sources
from daq.acquisition.typed_port import TypedPort, shared
from daq.board.asked import TYPE_IT
from daq.board.board import Board, LinkShown
from daq.board.cue import SILENCE
from daq.board.of_check import proven_board
from daq.cli.besides import Besides
from daq.cli.line_editor import lines_if_any
from daq.cli.options import Context
from daq.cli.run_session import tell
from daq.errors import ANSWER_NO, CheckStopped, HistoryNotWritten
from daq.gauges.check_result import CheckResult, prove, result_json, result_lines
from daq.gauges.history import history_name
from daq.pictures.layout import CrankLayout
from daq.services.home import home_folder
from daq.services.prove import OpenCheck, keep_check
from daq.services.taking import trigger_words
from drivers.printable import printable
from drivers.reading import Reading


def run(context: Context, check: OpenCheck, beside: Besides) -> int:
    """Take the readings, tell the result, keep it; gives the exit code. `beside`: where else it is
    shown.
    """
    named, device, wanted = check.named, check.device, check.wanted
    beside.announce()
    for text in trigger_words(check.mode):
        tell(text)
    try:
        readings, board = _taken(check, beside)
    except CheckStopped as stopped:
        _say(f"jbridge: {stopped}")
        beside.end(None)
        return ANSWER_NO
    result = prove(readings, wanted, check.temperatures, named or device, device, check.operator)
    judged = proven_board(board, result.check, result.at_us)
    said = tuple(result_lines(result, wanted, None))
    verdict = "passed" if result.check.passed else "failed"
    beside.show(judged)
    # Heard already: what comes last only tells it.
    beside.end(replace(judged, verdict=verdict, reasons=said, cue=SILENCE))
    return _tell(context, result, check, history_name(named, device))


def _taken(check: OpenCheck, beside: Besides) -> tuple[tuple[Reading, ...], Board]:
    with ExitStack() as at_the_end:
        lines = lines_if_any()
        keyboard: InputSource | None = lines
        if lines is not None:
            at_the_end.callback(lines.stop)
            if isinstance(check.port, TypedPort) and not check.chosen.is_by_hand:
                keyboard = shared(lines, check.port)
        if check.mode.send_key is not None:
            at_the_end.callback(check.mode.send_key.stop)
        profile, clock = check.chosen.profile, check.clock
        link = LinkShown(check.named or check.device, check.device, check.chosen.port)
        do = TYPE_IT if check.chosen.is_by_hand else check.mode.press
        asks = (
            f"> {link.gauge}: put the stack of {check.wanted.stack.size} in and {do}, "
            f"{check.wanted.readings} readings"
        )
        owner = CheckRun(
            check.wanted,
            link,
            clock,
            _say,
            asks,
            check.mode.press,
            can_send=check.mode.has_trigger,
            shown=beside.show,
        )
        inputs = Sources(check.port, profile, clock, keyboard, check.mode, page=beside.presses)
        beside.start(lambda: CrankLayout(()))
        RunLoop(inputs, owner, clock, check.mode, profile.kind).run()
        return owner.readings, owner.board


def _tell(context: Context, result: CheckResult, check: OpenCheck, name: str) -> int:
    """Keep the result and tell it: also where it could not be kept."""
    kept = keep_check(result, name, home_folder(context.home))
    trouble = str(kept.trouble) if kept.trouble is not None else ""
    if context.as_json:
        print(result_json(result, kept.control, kept.path, trouble), flush=True)
    else:
        print("\n".join(result_lines(result, check.wanted, kept.control)))
        if kept.path:
            print(f"Kept in {kept.path}")
        elif not trouble:
            print(
                "Not kept: nothing tells which gauge is on this port. Write a gauge file and "
                "give --gauge"
            )
    if trouble:
        _say(f"jbridge: {trouble}. The result above is NOT in the gauge's history.")
    if isinstance(kept.trouble, HistoryNotWritten):
        return kept.trouble.exit_code
    return 0 if result.check.passed else ANSWER_NO


def _say(text: str) -> None:
    print(printable(text), file=sys.stderr, flush=True)
