"""Where else than on its terminal a run is shown and heard: the page at the bench, sounds, speech.

None of them waits, and none of them ends a run by failing.
"""

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Protocol

from daq.acquisition.inputs import InputSource, Item, Typed
from daq.acquisition.manager import Step
from daq.acquisition.session_run import Show
from daq.board.board import Board
from daq.cli.options import Context
from daq.cli.views.page_links import PageLinks
from daq.services.run_wanted import BesideWanted
from drivers.reading import Reading

if TYPE_CHECKING:
    from daq.page.host import PageHost
    from daq.pictures.layout import CrankLayout

PLAIN_HTTP = (
    "the page is open to the network, and plain http hides nothing: who listens there can see the "
    "values and the links, and whoever has the link to press can press. Use it on the shop's own "
    "network only"
)


LINKS_WORD = "page"
"""Typed on a terminal, it shows the page's addresses again."""


class Shows:
    """Several displays of one run, told one after the other."""

    def __init__(self, shows: Sequence[Show]) -> None:
        self._shows = tuple(shows)

    def begun(self, board: Board) -> None:
        """The session stands."""
        for show in self._shows:
            show.begun(board)

    def step(self, board: Board, step: Step) -> None:
        """Lines were stored."""
        for show in self._shows:
            show.step(board, step)

    def refused(self, reason: str) -> None:
        """Something could not be done."""
        for show in self._shows:
            show.refused(reason)

    def advice(self, text: str) -> None:
        """A hint about the link."""
        for show in self._shows:
            show.advice(text)

    def streamed(self, reading: Reading) -> None:
        """A reading that nobody asked for."""
        for show in self._shows:
            show.streamed(reading)


class ShowsLinks(Protocol):
    """A display that can show the page's addresses."""

    def show_links(self, links: PageLinks | None) -> None:
        """Show them; None takes them away."""
        ...


class PageShow:
    """The page as a display of a run."""

    def __init__(self, host: "PageHost") -> None:
        self._host = host

    def begun(self, board: Board) -> None:
        """The first board."""
        self._host.show(board)

    def step(self, board: Board, step: Step) -> None:
        """How things stand now."""
        self._host.show(board)

    def refused(self, reason: str) -> None:
        """Why something was not done."""
        self._host.tell(f"Not done: {reason}.")

    def advice(self, text: str) -> None:
        """A hint about the link."""
        self._host.tell(f"Hint: {text}")

    def streamed(self, reading: Reading) -> None:
        """Nothing: a stream changes faster than anybody reads a page."""


class Telling:
    """Where a display that fails in the middle of a run is told of: on the run's own display while
    there is one. May be called from any thread.
    """

    def __init__(self, tell: Callable[[str], None]) -> None:
        self._tell = tell
        self._show: Show | None = None

    def __call__(self, words: str) -> None:
        """Tell it."""
        if self._show is not None:
            self._show.advice(words)
        else:
            self._tell(words)

    def on(self, show: Show | None) -> None:
        """From now on there; None: no display stands any more."""
        self._show = show


class Besides:
    """What is there besides the terminal; nothing, where nothing was asked for."""

    def __init__(
        self,
        page: "PageHost | None" = None,
        shows: Sequence[Show] = (),
        tell: Telling | None = None,
        *,
        is_speaking: bool = False,
        with_json: bool = False,
    ) -> None:
        self._page = page
        self.tell = tell or Telling(lambda words: None)
        self._is_speaking = is_speaking
        self._with_json = with_json
        self.shows = tuple(shows)

    @property
    def links(self) -> PageLinks | None:
        """The page's addresses; None without a page."""
        return None if self._page is None else _links(self._page)

    @property
    def presses(self) -> InputSource | None:
        """What is pressed on the page."""
        return None if self._page is None else self._page.presses

    def announce(self) -> None:
        """Tell the links; for a program that reads this one's JSON as one line first of all."""
        links = self.links
        if links is None:
            return
        if self._with_json:
            print(json.dumps({"board": links.board, "press": links.press}), flush=True)
        print(f"To look at:           {links.board}", file=sys.stderr)
        print(f"To look at and press: {links.press}", file=sys.stderr, flush=True)
        if links.is_open:
            self.tell(PLAIN_HTTP)

    def start(self, layout: "Callable[[], CrankLayout]") -> None:
        """The run begins: the page is served, with the part that `layout` has."""
        if self._page is not None:
            self._page.start(layout(), is_speaking=self._is_speaking, say=self.tell)

    def show(self, board: Board) -> None:
        """A board of a check, which is no session and stores no lines."""
        for show in self.shows:
            show.step(board, Step((), ()))

    def end(self, board: Board | None, said: Callable[[], Sequence[str]] = tuple) -> None:
        """The run is over; `board` is how things stood last, `said` makes the answer in
        sentences.
        """
        if self._page is not None:
            self._page.end(board, said())


def with_links(keyboard: InputSource, show: ShowsLinks, links: PageLinks) -> InputSource:
    """The keyboard, with the word that shows the page's addresses once more."""

    def listen(put: Callable[[Item], None]) -> None:
        def lead(item: Item) -> None:
            if isinstance(item, Typed) and item.text.strip().lower() == LINKS_WORD:
                show.show_links(links)
            else:
                put(item)

        keyboard(lead)

    return listen


@contextmanager
def opened_beside(
    context: Context, wanted: BesideWanted, tell: Callable[[str], None], *, is_session: bool = True
) -> Iterator[Besides]:
    """What was asked for, opened before anything is written; given back at the end.

    Raises UsageError and PageUnavailable where the page cannot be opened.
    """
    telling = Telling(tell)
    with ExitStack() as at_the_end:
        page, shows = None, list[Show]()
        if wanted.sound or wanted.speak:
            from daq.sounds.listening import SoundShow  # noqa: PLC0415 - only where it is wanted

            sounds = SoundShow(wanted.sound, wanted.speak, telling)
            at_the_end.callback(sounds.end)
            shows.append(sounds)
        if wanted.has_page:
            from daq.page.host import PageHost  # noqa: PLC0415 - only where it is wanted

            page = PageHost(wanted.board_on)
            at_the_end.callback(page.end)
            shows.append(PageShow(page))
        with_json = context.as_json and is_session
        yield Besides(page, shows, telling, is_speaking=wanted.speak, with_json=with_json)


def _links(page: "PageHost") -> PageLinks:
    return PageLinks(page.links.board, page.links.press, page.is_open)
