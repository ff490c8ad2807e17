"""What was typed, echoed in a message: never more of it than somebody would read."""

import re
from collections.abc import Sequence

from drivers.printable import MOST_SHOWN

MOST_ECHOED = 255
"""A path may be so long and must be told whole; of what is longer the beginning is."""

_OVERLONG = re.compile(rf"\S{{{MOST_ECHOED + 1},}}")


def shortened(text: str, arguments: Sequence[str] = ()) -> str:
    """A message in which no argument of more than MOST_ECHOED characters stands, nor any word that
    is as long: of each the first MOST_SHOWN are left. Pure.
    """
    for given in arguments:
        for argument in (given, given.partition("=")[2]):
            if len(argument) > MOST_ECHOED:
                cut = argument[: MOST_SHOWN - 1] + "…"
                for written in (argument, repr(argument)[1:-1]):
                    text = text.replace(written, cut)
    return _OVERLONG.sub(lambda word: word[0][: MOST_SHOWN - 1] + "…", text)
