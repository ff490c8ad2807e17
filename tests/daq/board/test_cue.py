"""Which cue a step has: one, the most urgent; words that were typed are silent."""

from pathlib import Path

import pytest

from daq.board.board import Board
from daq.board.cue import CUES, cue_of, urgency
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.record.events import Entry, LinkLost
from daq.rules.commands import (
    Back,
    CheckNow,
    Command,
    Drop,
    FindLink,
    GaugeZeroed,
    GiveUp,
    Keep,
    LinkNote,
    LoseLink,
    Note,
    SetAside,
    Skip,
    TakeReading,
    TakeReject,
    TimePassed,
)
from tests.builders import (
    MINUTE_US,
    ONE,
    PLAN,
    SECOND_US,
    Bench,
    opened,
    reading,
    reject,
    source,
)

STACK = ("59.970", "59.970")


class Heard:
    """A session of which every step's cue is kept."""

    def __init__(self, folder: Path, plan: str = ONE) -> None:
        self.bench = Bench.new(folder / "s", opened(plan))
        self.shown: SessionShown = first_shown(self.bench.state, self.bench.now_us)
        self.before: Board = self.shown.board

    def say(self, command: Command, after_us: int = SECOND_US) -> str:
        step = self.bench.say(command, after_us)
        self.before = self.shown.board
        state, now_us = self.bench.state, self.bench.now_us
        self.shown = next_shown(self.shown, step.entries, state, now_us)
        return self.shown.board.cue

    def press(self, *values: str) -> list[str]:
        return [
            self.say(TakeReading(reading(value, self.bench.now_us + SECOND_US))) for value in values
        ]


@pytest.fixture
def heard(tmp_path: Path) -> Heard:
    return Heard(tmp_path)


def test_a_whole_session_is_heard_step_by_step(heard: Heard) -> None:
    assert heard.shown.board.cue == ""
    assert heard.press(*STACK) == ["kept", "check-passed"]
    assert heard.press("59.980", "59.981") == ["kept", "journal-done"]
    assert heard.press(*STACK) == ["kept", "check-passed"]
    assert heard.shown.board.verdict == "accepted"


def test_a_check_that_fails_is_heard_as_that(heard: Heard) -> None:
    assert heard.press("59.975", "59.975") == ["kept", "check-failed"]


def test_a_held_reading_asks_for_a_look_and_counts_once_it_is_kept(heard: Heard) -> None:
    heard.press(*STACK)
    assert heard.press("62.000") == ["look"]
    assert heard.say(Keep()) == "kept"
    assert heard.press("62.001") == ["look"]
    assert heard.say(Drop(why="operator")) == ""


def test_a_second_press_that_answers_for_the_first_counts_and_is_heard_so(tmp_path: Path) -> None:
    """0.2 s after another is sooner than a hand presses; a second later the same value comes again,
    where the plan lets that be the answer.
    """
    plan = ONE.replace("[defaults]\n", '[defaults]\nheld = "press-again"\n')
    heard = Heard(tmp_path, plan)
    heard.press(*STACK, "59.981")
    soon_us = SECOND_US // 5
    made = reading("59.980", heard.bench.now_us + soon_us)
    assert heard.say(TakeReading(made, "sent"), soon_us) == "look"
    assert heard.shown.board.press_answers
    again = reading("59.980", heard.bench.now_us + SECOND_US)
    assert heard.say(TakeReading(again, "sent")) == "journal-done"
    assert not heard.shown.board.press_answers


def test_a_journal_below_its_limit_is_heard_when_it_becomes_so_and_not_again(heard: Heard) -> None:
    """59.940 is 0.030 mm under the low limit of 59.970 mm: far more than any doubt of this gauge.

    The second is the journal's last place: below is more urgent than done, but was heard.
    """
    heard.press(*STACK)
    assert heard.press("59.940", "59.940") == ["below", "journal-done"]


def test_a_journal_below_and_done_in_one_step_is_heard_as_below(heard: Heard) -> None:
    heard.press(*STACK, "59.980")
    assert heard.press("59.940") == ["below"]


def test_a_lost_link_is_heard_and_its_return_where_the_stack_is_asked_for_again(
    heard: Heard,
) -> None:
    heard.press(*STACK)
    assert heard.say(LoseLink("unplugged")) == "gauge-lost"
    assert heard.say(FindLink(source())) == "look"


def test_a_check_too_old_asks_for_a_look_though_nobody_pressed(heard: Heard) -> None:
    heard.press(*STACK)
    heard.bench.now_us += 241 * MINUTE_US
    assert heard.say(TimePassed()) == "look"


@pytest.mark.parametrize(
    "word", [Back(), Note("cold"), Skip("worn"), CheckNow(), GaugeZeroed(), LinkNote("echo")]
)
def test_what_was_typed_and_what_the_link_met_is_silent(heard: Heard, word: Command) -> None:
    heard.press(*STACK, "59.980")
    assert heard.say(word) == ""


def test_what_follows_a_failed_check_by_itself_is_silent_after_it(heard: Heard) -> None:
    """Nobody is at a keyboard: the check was heard, and its end is no news."""
    heard.press("59.975", "59.975")
    assert heard.say(GiveUp("nobody was at a keyboard")) == ""


def test_rejects_in_a_flood_are_heard_once_a_second(heard: Heard) -> None:
    """Twenty a second for two seconds: at 0 s, 0.9 s, 1.8 s."""
    cues = []
    for _ in range(40):
        heard.bench.now_us += SECOND_US // 20
        step = heard.bench.manager.submit(TakeReject(reject(b"?")), heard.bench.now_us)
        heard.shown = next_shown(heard.shown, step.entries, heard.bench.state, heard.bench.now_us)
        cues.append(heard.shown.board.cue)
    assert [at for at, cue in enumerate(cues) if cue] == [0, 18, 36]
    assert set(cues) == {"look", ""}


def test_a_question_is_heard_even_in_a_flood(heard: Heard) -> None:
    heard.press(*STACK)
    now_us = heard.bench.now_us
    for command, cue in (
        (TakeReject(reject(b"?")), "look"),
        (TakeReject(reject(b"?")), ""),
        (TakeReading(reading("62.000", now_us + SECOND_US)), "look"),
        (SetAside(reading("62.000", now_us + SECOND_US), "a question waits"), ""),
    ):
        step = heard.bench.manager.submit(command, now_us + SECOND_US)
        heard.shown = next_shown(heard.shown, step.entries, heard.bench.state, now_us + SECOND_US)
        assert heard.shown.board.cue == cue


def test_the_most_urgent_of_two_is_heard(heard: Heard) -> None:
    """A lost link told with the reading before it, as a program that shows late may do."""
    heard.press(*STACK, "59.980")
    entries = (*heard.bench.steps[-1].entries, Entry(99, 0, LinkLost(reason="unplugged")))
    assert cue_of(heard.before, entries[:1], heard.shown.board) == "kept"
    assert cue_of(heard.before, entries, heard.shown.board) == "gauge-lost"


def test_a_journal_is_done_only_when_each_of_its_places_is(tmp_path: Path) -> None:
    """M1 has four places, in the order of the route, two a station."""
    heard = Heard(tmp_path, PLAN)
    heard.press(*STACK)
    assert heard.press(*["59.980"] * 4) == ["kept", "kept", "kept", "journal-done"]


def test_urgency_falls_along_the_list_and_silence_has_none() -> None:
    assert [urgency(cue) for cue in CUES] == [7, 6, 5, 4, 3, 2, 1]
    assert urgency("") == urgency("unheard-of") == 0
