"""What was found about this machine, for people: a paragraph a finding. Pure."""

import textwrap
from collections.abc import Sequence

from daq.services.doctor.finding import MachineFinding
from drivers.printable import shown

_MARK_WIDTH, _NAME_WIDTH = 6, 12
_MOST = 2000


def finding_lines(findings: Sequence[MachineFinding], width: int) -> list[str]:
    """Each with its mark: ok, note (a session runs all the same), or MEND."""
    return [_line(one, width) for one in findings]


def summary(findings: Sequence[MachineFinding]) -> str:
    """What it comes to."""
    missing = [one for one in findings if one.needed and not one.ok]
    if missing:
        return f"{len(missing)} to mend before a session can run here: see MEND above."
    return "Nothing that a session needs is missing."


def _line(one: MachineFinding, width: int) -> str:
    mark = "ok" if one.ok else "MEND" if one.needed else "note"
    message = shown(one.message, _MOST)
    return textwrap.fill(
        f"{message.rstrip('.')}.",
        width=max(width, 40),
        initial_indent=f"{mark:<{_MARK_WIDTH}}{one.name:<{_NAME_WIDTH}} ",
        subsequent_indent=" " * (_MARK_WIDTH + _NAME_WIDTH + 1),
        break_long_words=False,
        break_on_hyphens=False,
    )
