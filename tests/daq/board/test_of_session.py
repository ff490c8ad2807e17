"""The board of a session: what is asked, the last value and why it counts, what is proven, when the
step rises; and that it is plain data.
"""

from pathlib import Path

import msgspec
import pytest

from daq.board.board import Board, CheckAsked, PlaceAsked
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.evaluation.verdict import confirmed_below, journals
from daq.record.state import fate
from daq.rules.commands import (
    Back,
    CheckNow,
    Command,
    FindLink,
    GaugeZeroed,
    Keep,
    Later,
    LinkNote,
    LoseLink,
    Note,
    Skip,
    StopHere,
    TakeReading,
    TakeReject,
)
from tests.builders import MAINS, ONE, PLAN, Bench, opened, reading, reject, setup, source

STACK = ("59.970", "59.970")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench.new(tmp_path / "s", opened(ONE))


class Watched:
    """A session whose boards are made one from another, as its owner makes them."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.shown: SessionShown = first_shown(bench.state, bench.now_us)

    @property
    def board(self) -> Board:
        return self.shown.board

    def say(self, command: Command) -> Board:
        step = self.bench.say(command)
        bench = self.bench
        self.shown = next_shown(self.shown, step.entries, bench.state, bench.now_us)
        return self.board

    def press(self, *values: str, unit: str = "mm", resolution: str = "0.001") -> Board:
        for value in values:
            at_us = self.bench.now_us + 1_000_000
            self.say(TakeReading(reading(value, at_us, unit=unit, resolution=resolution)))
        return self.board


def test_a_check_is_asked_for_then_each_place_then_a_check_again(bench: Bench) -> None:
    watched = Watched(bench)
    assert watched.board.check == CheckAsked("before", "59.970 mm", 0, 2)
    assert watched.board.place is None
    assert watched.press("59.970").check == CheckAsked("before", "59.970 mm", 1, 2)
    board = watched.press("59.970")
    assert board.check is None
    assert board.place == PlaceAsked("M1", "front", 0, 1, number=1, total=2)
    assert [row.is_asked for row in board.rows] == [True]
    assert watched.press("59.980").place == PlaceAsked("M1", "front", 90, 1, number=2, total=2)
    assert watched.press("59.981").check == CheckAsked("after", "59.970 mm", 0, 2)
    board = watched.press(*STACK)
    assert (board.verdict, board.check, board.place) == ("accepted", None, None)
    assert board.reasons


def test_a_held_value_does_not_count_and_says_why_until_it_is_kept(bench: Bench) -> None:
    watched = Watched(bench)
    assert watched.board.last is None
    board = watched.press(*STACK, "59.980", "61.000")
    assert board.last is not None
    assert (board.last.value, board.last.of, board.last.counts) == ("61.000", "held", False)
    assert "outside the limits of M1" in board.last.why_not[0]
    assert {word.word for word in board.words} == {"note", "keep", "drop", "abandon"}
    board = watched.say(Keep())
    assert board.last is not None
    assert (board.last.value, board.last.of, board.last.counts) == ("61.000", "part", True)
    assert board.last.place == "M1/front/90"
    assert "over the high limit 59.990 mm" in board.last.against_limits


def test_a_value_that_was_taken_back_is_gone_at_once(bench: Bench) -> None:
    watched = Watched(bench)
    watched.press(*STACK, "59.980", "59.981")
    last = watched.say(Back()).last
    assert last is not None
    assert (last.value, last.place, last.counts) == ("59.980", "M1/front/0", True)
    last = watched.say(Back()).last
    assert last is not None
    assert (last.value, last.of) == ("59.970", "stack")
    assert watched.board.places_done == 0


def test_where_the_only_value_was_taken_back_none_is_shown(bench: Bench) -> None:
    watched = Watched(bench)
    assert watched.press("59.970").last is not None
    assert watched.say(Back()).last is None


def test_a_held_value_says_where_it_would_belong(bench: Bench) -> None:
    last = Watched(bench).press(*STACK, "59.980", "61.000").last
    assert last is not None
    assert last.place == "M1/front/90"


def test_progress_counts_what_was_measured_or_left_out_and_need_not_be_again(
    tmp_path: Path,
) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    board = watched.press(*STACK)
    assert (board.places_done, board.places_proven, board.places_total) == (0, 0, 6)
    watched.press("59.980")
    board = watched.say(Skip("oil hole"))
    assert (board.places_done, board.places_proven) == (2, 0)
    watched.say(CheckNow())
    board = watched.press(*STACK, "59.981")
    assert (board.places_done, board.places_proven) == (3, 1)
    watched.say(LoseLink("unplugged"))
    board = watched.say(FindLink(source()))
    # What came after the check that passed has to be read again; the place left out stays so.
    assert (board.places_done, board.places_proven) == (2, 1)
    assert board.again == ("M1/rear/0",)
    assert board.again_words == ("Cable back. 1 reading must be taken again, start at M1 rear 0°.")


def test_ending_says_what_it_would_cost(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    assert watched.board.stop_rejects == "the gauge has not passed a check yet"
    assert watched.board.abandon_loses == ""
    board = watched.press(*STACK, "59.980")
    assert (board.stop_rejects, board.abandon_loses) == ("", "1 reading would come to nothing")
    board = watched.say(GaugeZeroed())
    assert board.stop_rejects == "1 reading is not proven"
    board = watched.press(*STACK, "59.980")
    assert board.stop_rejects == "", "measured again, and the closing check may prove it"


def test_warnings_stay_until_they_are_dealt_with_whatever_else_is_told(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    watched.press(*STACK, "59.980", "59.981")
    assert watched.say(LoseLink("x")).warnings == (
        "Cable out. Plug it in; nothing stored is lost.",
    )
    again = "Cable back. 2 readings must be taken again, start at M1 front 0°."
    board = watched.say(FindLink(source()))
    assert board.warnings == (again,)
    assert board.news[-1] == again
    board = watched.say(Note("the light is poor"))
    assert (board.news, board.warnings) == (("Noted: the light is poor",), (again,))
    failed, still = watched.press("59.975", "59.975").warnings
    assert failed == (
        "Check before measuring FAILED: mean error +0.0050 mm, permitted 0.0020 mm. Wipe anvils "
        "and stack, press 2 times again. Still off? Set zero and type zeroed."
    )
    assert still == again
    assert watched.press(*STACK).warnings == (again,)
    assert watched.press("59.980").warnings == (
        again.replace("2 readings", "1 reading").replace("front 0", "front 90"),
    )
    assert watched.press("59.981").warnings == ()


def test_a_certificate_out_of_date_is_a_warning(tmp_path: Path) -> None:
    file = 'schema = 1\nprofile = "bench"\ndue = 2026-11-24\n'
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=setup(gauge_file=file)))
    assert Watched(bench).board.warnings == ("The gauge's certificate was due on 2026-11-24.",)


def test_what_a_failed_check_taints_must_be_taken_again(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    watched.press("59.970", "59.971", *MAINS)
    assert (watched.board.rows[0].proven, watched.board.rows[0].not_yet_proven) == (0, 4)
    assert watched.board.again == ()
    board = watched.press("59.975", "59.975")  # off by 0.005 mm, 0.002 mm are permitted
    assert board.rows[0].tainted == 4
    assert board.again == ("M1/front/0", "M1/front/90", "M1/rear/0", "M1/rear/90")
    assert [check.passed for check in board.checks] == [True, False]
    # Measured again in a new stint, with the second station still to come.
    board = watched.press("59.970", "59.971", *MAINS[:2])
    assert board.again == ("M1/rear/0", "M1/rear/90")
    assert (board.rows[0].not_yet_proven, board.rows[0].tainted) == (2, 2)


def test_a_passed_check_proves_and_says_when_the_next_is_due(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    board = watched.press("59.970", "59.971")
    # The check passed at 08:00:02, and a check of this plan holds for 60 minutes.
    assert board.next_check_by == "2026-11-25T09:00:02.000000Z"
    assert board.checks[0].age_s == 0
    assert watched.press("59.980").checks[0].age_s == 1
    board = watched.press(*MAINS[1:], "59.970", "59.971")
    assert (board.rows[0].proven, board.rows[0].not_yet_proven) == (4, 0)
    assert board.next_check_by == ""  # the next stint waits for its own


def test_no_check_is_due_once_the_stint_is_over(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    watched.press("59.970", "59.971", "59.980")
    assert watched.say(Later()).next_check_by != ""
    board = watched.press("59.970", "59.971")
    assert (board.status, board.next_check_by) == ("over", "")


def test_the_step_rises_with_what_counts_and_not_with_rejects(bench: Bench) -> None:
    watched = Watched(bench)
    first = watched.board.step
    assert watched.say(TakeReject(reject(b"noise"))).step == first
    assert watched.say(LinkNote("rollover")).step == first
    assert watched.press("59.970").step == first + 1
    assert watched.say(Back()).step == first + 2
    assert watched.press(*STACK).step == first + 4
    assert watched.press("61.000").step == first + 5  # a question
    assert watched.say(Keep()).step == first + 6


def test_a_lost_link_shows_and_its_return_takes_it_away(bench: Bench) -> None:
    watched = Watched(bench)
    watched.press(*STACK, "59.980")
    assert watched.say(LoseLink("unplugged")).link.is_lost
    board = watched.say(FindLink(source()))
    assert not board.link.is_lost
    assert board.again == ("M1/front/0",)  # without power the zero may be lost


def test_a_confirmed_journal_is_news_once_and_a_warning_from_then_on(bench: Bench) -> None:
    watched = Watched(bench)
    watched.press(*STACK, "59.960")
    assert watched.board.warnings == ()
    board = watched.press("59.961")
    (warning,) = board.warnings
    assert warning.startswith("M1 is below its low limit 59.970 mm")
    assert any("this is evidence, not permission" in words for words in board.news)
    board = watched.press("59.970")
    assert board.warnings == (warning,)
    assert not any("evidence" in words for words in board.news)


def test_boards_made_one_from_another_are_those_made_anew(tmp_path: Path) -> None:
    """What is kept from board to board changes nothing of what they say."""
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    moves: list[str | Command] = [
        *("59.970", "59.971", *MAINS[:3]),
        CheckNow(),  # its error and its scatter are others than the first check's
        *("59.971", "59.972"),
        Back(),
        *("59.960", "59.961", "59.975", "59.975"),
        *("59.970", "59.971", *MAINS),
        LoseLink("unplugged"),
        FindLink(source()),
        *("59.970", "59.971"),
        StopHere("the shift ends"),
    ]
    for move in moves:
        board = watched.press(move) if isinstance(move, str) else watched.say(move)
        anew = first_shown(watched.bench.state, watched.bench.now_us).board
        assert board == msgspec.structs.replace(
            anew, step=board.step, news=board.news, cue=board.cue
        )
        state = watched.bench.state
        for row, result in zip(board.rows, journals(state), strict=True):
            is_same = msgspec.structs.replace(result, settled_by="") == row.result
            assert is_same
            fated = [
                fate(state, taken)
                for place, taken in state.standing.items()
                if place.journal == result.journal
            ]
            counts = (row.proven, row.not_yet_proven, row.tainted)
            assert counts == tuple(map(fated.count, ("proven", "open", "tainted")))
        below = [confirmed_below(state, journal) for journal in state.plan.journals]
        wanted = [f"{words}." for words in below if words]
        assert [words for words in board.warnings if words in wanted] == wanted


def test_a_board_is_plain_data(bench: Bench) -> None:
    board = Watched(bench).press(*STACK, "59.980", "61.000")
    assert msgspec.json.decode(msgspec.json.encode(board), type=Board) == board


def test_a_failed_check_is_dealt_with_once_the_gauge_was_zeroed(bench: Bench) -> None:
    watched = Watched(bench)
    assert "type zeroed" in watched.press("59.980", "59.980").warnings[0]
    assert watched.say(GaugeZeroed()).warnings == ()
    assert "FAILED" in watched.press("59.980", "59.980").warnings[0]
    assert "FAILED" in watched.press("59.980", "59.980").warnings[0], "and after it, another one"


def test_a_failed_check_after_is_dealt_with_once_the_gauge_was_zeroed(tmp_path: Path) -> None:
    watched = Watched(Bench.new(tmp_path / "s", opened(PLAN)))
    watched.press(*STACK, "59.980", "59.980", "59.980", "59.980")
    failed, again = watched.press("59.980", "59.980").warnings
    assert failed.startswith("Check after measuring FAILED")
    assert watched.say(GaugeZeroed()).warnings == (again,)
