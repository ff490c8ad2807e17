"""The board of a check outside any session: made after each reading of the stack. Pure."""

from daq.board.asked import PRESS_SEND, TYPE_IT
from daq.board.board import Asked, Board, CheckAsked, LastValue, LinkShown, Word
from daq.gauges.check_rules import CheckWanted, StackReadings
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
    `press` says how a reading is given, `can_send` that a press here takes one.
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
    )
