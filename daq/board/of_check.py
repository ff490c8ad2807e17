"""The board of a check outside any session: made after each reading of the stack. Pure."""

import msgspec

from daq.board.asked import PRESS_SEND, TYPE_IT
from daq.board.board import Asked, Board, CheckAsked, CheckShown, LastValue, LinkShown, Word
from daq.board.cue import CHECK_FAILED, CHECK_PASSED, GAUGE_LOST, KEPT, LOOK, SILENCE
from daq.gauges.check_rules import CheckWanted, StackReadings
from daq.gauges.history import CheckRecord
from daq.lengths import plain
from drivers.reading import Reading, utc_text

WORDS = (
    Word("back", "", "take back the last reading"),
    Word("stop", "REASON", "end without a result"),
)


def check_board(
    last: Board | None,
    wanted: CheckWanted,
    taken: StackReadings,
    link: LinkShown,
    at_us: int,
    *,
    reading: Reading | None = None,
    said: str = "",
    press: str = PRESS_SEND,
    can_send: bool = False,
) -> Board:
    """The board once `reading` was taken, or something else was said; `last` is the one before.
    `press` says how a reading is given, `can_send` that a press here takes one. The last reading is
    silent: it is judged at once, and `proven_board` sounds like that.
    """
    done = len(taken.readings)
    counts = reading is not None and any(one is reading for one in taken.readings[-1:])
    shown = last.last if last is not None else None
    if reading is not None:
        why = () if counts else (said,)
        shown = LastValue(plain(reading.value), reading.unit, "stack", "", counts, why)
    elif not taken.readings:
        shown = None
    do = TYPE_IT if wanted.is_by_hand else f"{press} on the stack"
    check = CheckAsked("prove", str(wanted.stack.size), done, wanted.readings)
    if link.is_lost and last is not None and not last.link.is_lost:
        cue = GAUGE_LOST
    elif reading is None or done >= wanted.readings:
        cue = SILENCE
    else:
        cue = KEPT if counts else LOOK
    is_new = last is None or last.check != check or last.link != link
    return Board(
        step=(last.step if last is not None else 0) + is_new,
        made_at=utc_text(at_us),
        session="",
        job="",
        part="",
        operator="",
        status="waiting" if done < wanted.readings else "closed",
        asked=Asked(
            f"Check of {link.gauge}: stack {wanted.stack.size}",
            f"reading {done + 1} of {wanted.readings}: {do}" if done < wanted.readings else "",
            f"Stack {done + 1}/{wanted.readings}" if done < wanted.readings else "",
        ),
        check=check,
        last=shown,
        link=link,
        news=(said,) if said else (),
        words=WORDS if taken.readings else WORDS[1:],
        can_send=can_send and done < wanted.readings and not link.is_lost,
        cue=cue,
    )


def proven_board(last: Board, check: CheckRecord, at_us: int) -> Board:
    """The board once the check is judged: its numbers, and how it sounds. It moves the step on."""
    words = "passed" if check.passed else "FAILED"
    judged = CheckShown(
        check.check_no,
        check.stint,
        check.phase,
        check.passed,
        check.mean_error_mm,
        check.spread_mm,
        "",
        check.reason,
        utc_text(at_us),
        0,
    )
    return msgspec.structs.replace(
        last,
        step=last.step + 1,
        made_at=utc_text(at_us),
        status="closed",
        asked=Asked(f"Check {words}", "", f"Check {words}"),
        checks=(judged,),
        news=(f"Check {words}: {check.reason}.",),
        words=(),
        cue=CHECK_PASSED if check.passed else CHECK_FAILED,
    )
