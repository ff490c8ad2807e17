"""What a run is asked for, in the words of the options; light, since every --help loads it."""

from typing import NamedTuple

UNATTENDED_WAIT_S = 30.0
"""How long an unplugged gauge is waited for where nobody is at a terminal. Chosen by us."""


class TriggerOptions(NamedTuple):
    """The options: each None or False where it was not given."""

    continuous: bool = False
    stable_s: float | None = None
    send_key: str | None = None
    wait_back_s: float | None = None


class BesideWanted(NamedTuple):
    """Where else than on its terminal a run is shown and heard: on a page for a browser of this
    machine (`board`), or of the network at an address (`board_on`); by sounds; by speech.
    """

    board: bool = False
    board_on: str | None = None
    sound: bool = False
    speak: bool = False

    @property
    def has_page(self) -> bool:
        """Somebody can press on a page."""
        return self.board or self.board_on is not None


class Attendance(NamedTuple):
    """Who is there while a run is on: somebody who types, and whether that is at a terminal.
    `has_lines`: what is typed comes in lines, so a gauge may type among them. `has_page`: somebody
    can press on a page.
    """

    has_keyboard: bool
    is_terminal: bool
    has_lines: bool = True
    has_page: bool = False


class RunWanted(NamedTuple):
    """What a run is asked for; None or empty where nothing was said. Temperatures are text in
    degrees Celsius, `step` is a length. `ground_to`: undersizes, of a new session only.
    """

    gauge: str | None = None
    port: str | None = None
    profile: str | None = None
    stack: str | None = None
    only: tuple[str, ...] = ()
    part_temp: str | None = None
    gauge_temp: str | None = None
    stack_temp: str | None = None
    despite_history: str | None = None
    trigger: TriggerOptions = TriggerOptions()
    step: str | None = None
    ground_to: tuple[str, ...] = ()
