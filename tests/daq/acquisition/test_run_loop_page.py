"""Buttons of the page at the bench, met by the loop of a run: done only where they were drawn for
how things stand, answered once, and only after what they did is on the disk.
"""

import json
from collections.abc import Sequence
from pathlib import Path

import pytest

from daq.acquisition.check_run import CheckRun
from daq.acquisition.inputs import Item, KeyboardGone, PagePressed, PressOutcome, TakingMode
from daq.acquisition.manager import SessionManager
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.board.asked import OLDER_STEP
from daq.board.board import Board, LinkShown
from daq.equipment.stacks.stack_file import assumed_stack
from daq.errors import CheckStopped, SettingsError
from daq.gauges.check_rules import CheckWanted
from daq.lengths import parse_length
from daq.storage.ledger import LEDGER
from drivers.gauge.asking import Asking
from drivers.reading import Instant
from tests.builders import ONE, opened, reading
from tests.daq.acquisition.played import Exhausted, HandClock, PlayedInputs, Watcher

STACK = ("59.970", "59.971")


class OnPage:
    """A session whose page is pressed; `answers` has what each press was told, and how many lines
    the record had by then.
    """

    def __init__(
        self, folder: Path, mode: TakingMode | None = None, *, is_attended: bool = True
    ) -> None:
        self.mode = mode or TakingMode(has_page=True, answers=True)
        self.folder, self.clock = folder / "s", HandClock()
        now = self.clock.now().utc_us
        self.manager, first = SessionManager.create(self.folder, opened(ONE), now)
        self.owner = SessionRun(
            self.manager,
            first,
            self.clock,
            Watcher(),
            is_attended=is_attended,
            can_send=self.mode.has_trigger,
        )
        self.answers: list[tuple[PressOutcome, str]] = []
        self.lines_then: list[int] = []

    def button(self, word: str, text: str = "", step: int | None = None) -> PagePressed:
        return PagePressed(word, text, self.owner.board.step if step is None else step, self._hear)

    def _hear(self, outcome: PressOutcome, words: str) -> None:
        self.answers.append((outcome, words))
        self.lines_then.append(len(self.events))

    def run(self, *items: Item | None) -> "OnPage":
        """These items, a second apart; the run then waits for more."""
        inputs = PlayedInputs(self.clock, [(1.0, item) for item in items], _answered)
        with pytest.raises(Exhausted):
            RunLoop(inputs, self.owner, self.clock, self.mode, "text").run()
        return self

    def press(self, word: str, text: str = "", step: int | None = None) -> tuple[str, str]:
        self.run(self.button(word, text, step))
        return self.answers[-1]

    def read(self, *values: str) -> "OnPage":
        now = self.clock.now
        return self.run(*(reading(value, now().utc_us) for value in values))

    @property
    def events(self) -> Sequence[dict[str, object]]:
        return [json.loads(line) for line in (self.folder / LEDGER).read_bytes().splitlines()]


def _answered(at: Instant) -> Item:
    return reading("59.970", at.utc_us)


def test_a_button_does_what_its_word_does_and_the_record_says_that_the_page_said_it(
    tmp_path: Path,
) -> None:
    page = OnPage(tmp_path).read(*STACK, "59.980")
    assert page.press("back") == ("done", "")
    last = page.events[-1]  # opened, stint, two of the stack, judged, the reading, then this
    assert [last[key] for key in ("seq", "kind", "target", "why", "by")] == [
        *(7, "void", 6, "back", "board")
    ]
    assert page.lines_then == [7]  # told only once it was stored


def test_a_button_drawn_for_an_older_step_does_nothing(tmp_path: Path) -> None:
    page = OnPage(tmp_path).read(*STACK)
    old = page.owner.board.step
    page.read("59.980")
    before = len(page.events)
    assert page.press("back", step=old) == ("refused", OLDER_STEP)
    assert len(page.events) == before


def test_a_word_that_is_not_possible_now_is_refused_with_those_that_are(tmp_path: Path) -> None:
    outcome, words = OnPage(tmp_path).read(*STACK).press("keep")
    assert outcome == "refused"
    assert words.startswith("keep is not possible now. Possible: back, retake, skip")


@pytest.mark.parametrize(
    ("word", "text", "outcome"),
    [
        ("skip", "", "bad"),  # a reason is missing, now and ever
        ("back", "now", "bad"),
        ("note", "x" * 1001, "bad"),
        ("retake", "M9 front 0", "refused"),
        ("skip", "cannot be reached", "done"),
        ("note", "wiped", "done"),
    ],
)
def test_what_cannot_be_is_bad_and_what_cannot_be_now_is_refused(
    tmp_path: Path, word: str, text: str, outcome: str
) -> None:
    assert OnPage(tmp_path).read(*STACK).press(word, text)[0] == outcome


def test_a_held_reading_waits_for_the_page_though_stdin_is_at_its_end(tmp_path: Path) -> None:
    page = OnPage(tmp_path).run(KeyboardGone()).read(*STACK, "61.000")
    assert page.owner.board.status == "asking"
    assert page.press("drop") == ("done", "")
    assert page.owner.board.status == "measuring"


def test_a_failed_check_does_not_end_a_session_with_a_page(tmp_path: Path) -> None:
    page = OnPage(tmp_path).run(KeyboardGone()).read("59.990", "59.990")
    assert page.owner.board.status == "waiting"


def test_send_on_the_page_asks_a_gauge_that_is_asked(tmp_path: Path) -> None:
    mode = TakingMode(asking=Asking(), has_page=True, answers=True, has_keyboard=False)
    page = OnPage(tmp_path, mode)
    assert page.owner.board.can_send
    assert page.press("send") == ("done", "")
    assert len(page.owner.state.checks) == 1
    assert mode.press == "press send on the page"


def test_send_is_no_word_where_the_gauge_has_a_button_of_its_own(tmp_path: Path) -> None:
    outcome, words = OnPage(tmp_path).press("send")
    assert outcome == "refused"
    assert words.startswith("send is not possible now.")


def test_a_press_drawn_before_the_reading_that_another_press_took_takes_none(
    tmp_path: Path,
) -> None:
    mode = TakingMode(asking=Asking(), has_page=True, answers=True)
    page = OnPage(tmp_path, mode)
    page.run(page.button("send"), page.button("send"))  # two fingers: both drawn for one step
    assert page.answers == [("done", ""), ("refused", OLDER_STEP)]
    assert len(page.owner.state.checks) == 1


def test_whoever_mashes_send_is_told_each_time_why_nothing_was_done(tmp_path: Path) -> None:
    """The gauge has not answered yet, and the terminal is told but once a second."""
    page = OnPage(tmp_path, TakingMode(asking=Asking(), has_page=True, answers=True))
    mashed: list[tuple[float, Item | None]] = [(0.001, page.button("send"))] * 4
    inputs = PlayedInputs(page.clock, mashed)
    with pytest.raises(Exhausted):
        RunLoop(inputs, page.owner, page.clock, page.mode, "text").run()
    assert page.answers[0] == ("done", "")
    assert [outcome for outcome, _ in page.answers[1:]] == ["refused"] * 3
    assert all("press once for each reading" in words for _, words in page.answers[1:])


def test_without_a_page_a_run_that_needs_presses_ends_with_its_keyboard(tmp_path: Path) -> None:
    mode = TakingMode(is_stream=True, needs_press=True)
    page = OnPage(tmp_path, mode)
    inputs = PlayedInputs(page.clock, [(1.0, KeyboardGone())], _answered)
    with pytest.raises(SettingsError):
        RunLoop(inputs, page.owner, page.clock, mode, "text").run()
    with_page = TakingMode(is_stream=True, needs_press=True, has_page=True, answers=True)
    OnPage(tmp_path / "other", with_page).run(KeyboardGone())  # waits for the page


def test_a_check_outside_a_session_knows_back_and_stop_on_the_page_too(tmp_path: Path) -> None:
    clock, boards = HandClock(), list[Board]()
    wanted = CheckWanted(
        assumed_stack(parse_length("60 mm")), "60 mm", 3, parse_length("0.004 mm"), None, None
    )
    owner = CheckRun(
        wanted, LinkShown("mic", "usb-1", "x"), clock, lambda words: None, shown=boards.append
    )
    answers: list[tuple[str, str]] = []

    def button(word: str, step: int) -> PagePressed:
        return PagePressed(word, "", step, lambda outcome, words: answers.append((outcome, words)))

    first: list[tuple[float, Item | None]] = [(1.0, reading("60.000", 0)), (1.0, button("back", 2))]
    mode = TakingMode(has_page=True, answers=True)
    with pytest.raises(Exhausted):
        RunLoop(PlayedInputs(clock, first, _answered), owner, clock, mode, "text").run()
    assert answers == [("done", "")]
    assert [each.check.readings if each.check else None for each in boards] == [0, 1, 0]
    now = owner.board.step
    stop: list[tuple[float, Item | None]] = [(1.0, button("back", now)), (1.0, button("stop", now))]
    with pytest.raises(CheckStopped):
        RunLoop(PlayedInputs(clock, stop, _answered), owner, clock, mode, "text").run()
    assert answers[1][0] == "refused"  # nothing to take back
    assert answers[2] == ("done", "")
