"""What is answered to a request."""

from pathlib import Path
from urllib.parse import urlencode

import msgspec
import pytest

from daq.board.board import Board
from daq.page.address import Secrets
from daq.page.messages import PageOver, PagePress, PageShown, PressAnswer
from daq.page.server.access import PageGate
from daq.page.server.app import HEADERS, MOST_HEADER, MOST_READ, Application
from daq.page.server.hub import MOST_STREAMS, Hub
from daq.page.server.press_form import FORM_TYPE, MOST_BYTES
from tests.daq.page.boards import Shown
from tests.daq.page.server.asked import HOST, Answered, ask

ORIGIN = ("origin", f"http://{HOST}")
MAY_PRESS = (("host", HOST), ORIGIN, ("content-type", FORM_TYPE))


class Site:
    """The application with a hub that answers presses as done."""

    def __init__(self) -> None:
        self.presses: list[PagePress] = []
        self.hub = Hub(
            lambda moment: {"place": str(moment.step), "keys": "buttons"},
            lambda moment: {"side": "crank"},
            self._pressed,
            lambda: 0.0,
            lambda after_s, call: None,
            lambda before, board: "",
        )
        gate = PageGate(Secrets("look", "press"), HOST)
        self.app = Application(
            gate, self.hub, lambda parts, may_press, step: f"page {step} {may_press}"
        )

    def _pressed(self, press: PagePress) -> None:
        self.presses.append(press)
        self.hub.take(PressAnswer(press.id, "done"))

    def post(self, body: bytes) -> Answered:
        """A press."""
        return ask(self.app, "POST", "/press/", headers=MAY_PRESS, body=body)


@pytest.fixture
def board(tmp_path: Path) -> Board:
    return Shown(tmp_path / "s").press("59.970", "59.971", "59.980")


def test_each_link_has_its_page(board: Board) -> None:
    site = Site()
    site.hub.take(PageShown(board))
    assert ask(site.app, "GET", "/look/").text == f"page {board.step} False"
    assert ask(site.app, "GET", "/press/").text == f"page {board.step} True"


def test_the_board_is_there_as_json(board: Board) -> None:
    site = Site()
    assert ask(site.app, "GET", "/look/state.json").status == 503
    site.hub.take(PageShown(board))
    answered = ask(site.app, "GET", "/look/state.json")
    assert answered.headers["content-type"] == "application/json"
    assert msgspec.json.decode(answered.body, type=Board) == board


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/look/", 200),
        ("GET", "/look/page.css", 200),
        ("GET", "/look/page.js", 200),
        ("GET", "/look/sounds/kept.wav", 200),
        ("GET", "/look/sounds/../../page.py", 404),
        ("GET", "/look/page.html", 404),
        ("GET", "/other/", 403),
        ("PUT", "/look/", 405),
        ("POST", "/look/", 403),
    ],
)
def test_every_answer_has_the_headers_that_keep_a_page_to_itself(
    method: str, path: str, status: int
) -> None:
    answered = ask(Site().app, method, path)
    assert answered.status == status
    found = {name.lower(): value for name, value in answered.headers.items()}
    assert {name.lower(): found.get(name.lower()) for name in HEADERS} == {
        name.lower(): value for name, value in HEADERS.items()
    }
    assert "set-cookie" not in found
    assert "server" not in found


def test_nothing_but_its_own_files_runs_in_the_page() -> None:
    policy = dict(each.split(" ", 1) for each in HEADERS["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert {policy[f"{kind}-src"] for kind in ("script", "style", "img", "connect", "media")} == {
        "'self'"
    }


def test_a_press_goes_to_the_run_and_comes_back(board: Board) -> None:
    site = Site()
    site.hub.take(PageShown(board))
    body = urlencode({"word": "note", "text": "wiped", "step": board.step}).encode()
    answered = site.post(body)
    assert (answered.status, answered.body) == (204, b"")
    assert site.presses == [PagePress(1, "note", "wiped", board.step)]


def test_a_press_that_is_refused_says_why(board: Board) -> None:
    site = Site()
    site.hub.take(PageShown(board))
    answered = site.post(b"word=back&step=1")
    assert answered.status == 409
    assert "moved on" in answered.text
    assert answered.headers["content-type"].startswith("text/plain")
    assert site.post(b"word=dance&step=1").status == 400
    assert site.presses == []


@pytest.mark.parametrize("size", [MOST_BYTES + 1, MOST_READ + 5000])
def test_a_body_that_is_too_long_is_refused_and_the_connection_closed(size: int) -> None:
    answered = Site().post(b"x" * size)
    assert answered.status == 413
    assert answered.headers["connection"] == "close"


def test_headers_that_are_too_long_are_refused() -> None:
    headers = [("host", HOST), ("cookie", "x" * MOST_HEADER)]
    assert ask(Site().app, "GET", "/look/", headers=headers).status == 431


def test_the_stream_tells_what_changed_and_its_end(board: Board) -> None:
    site = Site()
    site.hub.take(PageShown(board))
    site.hub.take(PageOver())
    answered = ask(site.app, "GET", "/look/events")
    assert answered.headers["content-type"].startswith("text/event-stream")
    events = [
        msgspec.json.decode(event.removeprefix(b"data: "))
        for event in answered.body.removesuffix(b"\n\n").split(b"\n\n")[1:]
    ]
    beside: dict[str, object] = {"step": board.step, "cues": [], "say": ""}
    assert events == [
        {**beside, "parts": {"place": str(board.step)}, "over": False},
        {**beside, "parts": {"side": "crank"}, "over": True},
    ]
    assert not site.hub.has_viewers


def test_a_viewer_who_leaves_is_forgotten(board: Board) -> None:
    site = Site()
    site.hub.take(PageShown(board))
    answered = ask(site.app, "GET", "/look/events", most=3)
    assert answered.body.startswith(b"retry: 1000\n\ndata: ")
    assert not site.hub.has_viewers


def test_too_many_viewers_are_told_so() -> None:
    site = Site()
    for _ in range(MOST_STREAMS):
        assert site.hub.enter(may_press=False) is not None
    assert ask(site.app, "GET", "/look/events").status == 503
