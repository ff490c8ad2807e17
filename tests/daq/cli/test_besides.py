"""Where else than on its terminal a run is shown: each display is told, and the links stand where
the options say.
"""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest

from daq.acquisition.inputs import Item, Typed
from daq.acquisition.manager import Step
from daq.board.board import Board, LinkShown
from daq.board.of_check import check_board
from daq.cli.besides import PLAIN_HTTP, Besides, Shows, Telling, opened_beside, with_links
from daq.cli.options import Context
from daq.cli.views.page_links import PageLinks
from daq.equipment.stacks.stack_file import assumed_stack
from daq.gauges.check_rules import CheckWanted, StackReadings
from daq.lengths import parse_length
from daq.services.run_wanted import BesideWanted
from drivers.reading import Instant, Reading

NOTHING = Step((), ())


class Told:
    """A display that keeps what it was told."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def begun(self, board: Board) -> None:
        self.told.append("begun")

    def step(self, board: Board, step: Step) -> None:
        self.told.append(f"step {board.step}")

    def refused(self, reason: str) -> None:
        self.told.append(f"refused {reason}")

    def advice(self, text: str) -> None:
        self.told.append(f"advice {text}")

    def streamed(self, reading: Reading) -> None:
        self.told.append(f"streamed {reading.value}")


@pytest.fixture
def board() -> Board:
    size = parse_length("59.970 mm")
    wanted = CheckWanted(assumed_stack(size), "59.970 mm", 2, size, size)
    return check_board(None, wanted, StackReadings(), LinkShown("mic", "usb-1", "x"), 0)


def test_every_display_is_told_everything(board: Board) -> None:
    one, other = Told(), Told()
    shows = Shows((one, other))
    shows.begun(board)
    shows.step(board, NOTHING)
    shows.refused("no")
    shows.advice("look")
    shows.streamed(Reading(Decimal("59.970"), "mm", Decimal("0.001"), b"", Instant(0, 0)))
    assert one.told == ["begun", "step 1", "refused no", "advice look", "streamed 59.970"]
    assert other.told == one.told


def test_a_check_outside_a_session_is_shown_as_steps_that_store_nothing(board: Board) -> None:
    told = Told()
    Besides(shows=[told]).show(board)
    assert told.told == ["step 1"]


def test_nothing_asked_for_is_nothing_opened() -> None:
    with opened_beside(Context(), BesideWanted(), pytest.fail) as besides:
        assert (besides.links, besides.presses, besides.shows) == (None, None, ())


@pytest.fixture
def context() -> Context:
    made = Context()
    made.as_json = True
    return made


def test_of_a_session_with_json_the_links_are_the_first_line(
    context: Context, capsys: pytest.CaptureFixture[str]
) -> None:
    with opened_beside(context, BesideWanted(board=True), pytest.fail) as besides:
        assert capsys.readouterr().out == ""  # the gauge is still to be opened
        besides.announce()
    out, err = capsys.readouterr()
    links = json.loads(out)
    assert list(links) == ["board", "press"]
    assert (links["board"], links["press"], False) == besides.links
    assert all(
        link.startswith("http://127.0.0.1:") and link.endswith("/") for link in links.values()
    )
    assert links["board"] in err
    assert links["press"] in err


def test_of_a_check_stdout_stays_for_the_result_alone(
    context: Context, capsys: pytest.CaptureFixture[str]
) -> None:
    with opened_beside(context, BesideWanted(board=True), pytest.fail, is_session=False) as besides:
        besides.announce()
    assert capsys.readouterr().out == ""


def test_a_page_that_is_open_to_the_network_is_said_to_be_open(context: Context) -> None:
    told: list[str] = []
    with opened_beside(context, BesideWanted(board_on="127.0.0.1"), told.append) as here:
        here.announce()
    assert told == []
    with opened_beside(context, BesideWanted(board_on="0.0.0.0"), told.append) as everywhere:
        everywhere.announce()
    assert told == [PLAIN_HTTP]


def test_the_word_page_shows_the_links_and_is_no_word_of_the_session() -> None:
    shown: list[object] = []
    heard: list[Item] = []

    class Links:
        def show_links(self, links: object) -> None:
            shown.append(links)

    def keyboard(put: Callable[[Item], None]) -> None:
        for text in ("Page ", "back"):
            put(Typed(text))

    with_links(keyboard, Links(), PageLinks("a", "b"))(heard.append)
    assert shown == [PageLinks("a", "b")]
    assert heard == [Typed("back")]


def test_what_fails_in_the_middle_is_told_on_the_display_of_the_run() -> None:
    told, show = list[str](), Told()
    tell = Telling(told.append)
    tell("before")
    tell.on(show)
    tell("meanwhile")
    tell.on(None)
    tell("after")
    assert told == ["before", "after"]
    assert show.told == ["advice meanwhile"]
