"""A session whose values a person types: what becomes of each line, and what is asked for."""

from pathlib import Path

import msgspec
import pytest

from daq.acquisition.inputs import Item, KeyboardGone, TakingMode, Typed
from daq.acquisition.manager import SessionManager
from daq.acquisition.run_loop import RunLoop
from daq.acquisition.session_run import SessionRun
from daq.acquisition.typed_port import BY_HAND_TEXT
from daq.equipment.gauge import TYPED_PORT
from daq.errors import SettingsError
from daq.record.events import GaugeSource
from daq.record.state import Status, standing_readings, status
from daq.services.verify import verify
from daq.storage.replay import load_state
from tests.builders import ONE, START_US, opened, setup
from tests.daq.acquisition.played import Exhausted, HandClock, PlayedInputs, Watcher

SOURCE = GaugeSource("mike 3", TYPED_PORT, None, TYPED_PORT)
BY_HAND = msgspec.structs.replace(setup(), source=SOURCE, profile=BY_HAND_TEXT)
CHECK = ("59.970", "59.971")


class Hand:
    """A session of ONE (59.970 to 59.990 mm, two places) and who types at it."""

    def __init__(self, folder: Path, plan: str = ONE) -> None:
        self.clock, self.shown = HandClock(), Watcher()
        self.folder = folder / "s"
        self.manager, first = SessionManager.create(
            self.folder, opened(plan, with_setup=BY_HAND), START_US
        )
        self.owner = SessionRun(self.manager, first, self.clock, self.shown, is_attended=True)
        self.owner.begin()

    def type(self, *lines: str) -> "Hand":
        for line in lines:
            self.clock.us += 10_000  # as quick as a script
            self.owner.typed(line, self.clock.now())
        return self

    @property
    def taken(self) -> list[str]:
        state = self.owner.state
        sent = [each.sent for each in state.checks]
        sent += [each.sent for each in standing_readings(state)]
        return [f"{each.value} {each.unit}" for each in sent]

    @property
    def stored(self) -> list[dict[str, str]]:
        return [msgspec.json.decode(line) for line in self.shown.lines]

    @property
    def rejects(self) -> list[str]:
        return [line["detail"] for line in self.stored if line["kind"] == "reject"]

    @property
    def news(self) -> tuple[str, ...]:
        return self.owner.board.news

    @property
    def asked(self) -> str:
        return self.owner.board.asked.action


def test_a_whole_session_is_typed_with_the_unit_only_where_one_likes(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type(*CHECK, "59,980", "981", "59.970 mm", "970")
    assert hand.taken[:4] == ["59.970 mm", "59.971 mm", "59.970 mm", "59.970 mm"]
    assert hand.taken[4:] == ["59.980 mm", "59.981 mm"]
    assert hand.owner.state.closed is not None
    assert hand.owner.state.closed.verdict == "accepted"
    hand.manager.close()
    assert verify(hand.folder).is_whole
    assert load_state(hand.folder)[0].standing == hand.owner.state.standing


def test_what_was_completed_is_shown_in_full_and_stored_as_typed_with_its_flag(
    tmp_path: Path,
) -> None:
    hand = Hand(tmp_path).type(*CHECK, "981")
    assert hand.news == ("M1 front 0°: 59.981 mm",)
    sent = hand.owner.state.readings[-1].sent
    assert (sent.value, sent.flags, bytes.fromhex(sent.raw_hex)) == (
        "59.981",
        ("completed",),
        b"981",
    )


def test_it_is_said_what_to_do(tmp_path: Path) -> None:
    hand = Hand(tmp_path)
    assert hand.asked == "reading 1 of 2: type the value, then Enter"
    assert hand.type(*CHECK).asked == "place 1 of 2: type the value, then Enter"


def test_a_line_that_is_no_size_is_stored_and_answered_with_what_to_type(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type(*CHECK, "59.98")
    assert hand.rejects == ["Type all digits, a zero at the end too, like 59.970"]
    assert hand.news == ("Type all digits, a zero at the end too, like 59.970.",)
    assert len(hand.taken) == 2


@pytest.mark.parametrize("line", ["+1", "1e3", "59.98O", "1.234,5", "59.970 59.971", "1" * 5000])
def test_no_bad_line_is_a_reading_or_ends_anything(tmp_path: Path, line: str) -> None:
    hand = Hand(tmp_path).type(*CHECK, line)
    assert len(hand.taken) == 2
    assert len(hand.rejects) == 1
    assert hand.shown.refusals == []
    assert status(hand.owner.state) is Status.MEASURING


@pytest.mark.parametrize("line", ["e", "nte 59.980", "mm", "m1 front 0"])
def test_what_begins_with_a_letter_is_a_word_known_or_not(tmp_path: Path, line: str) -> None:
    hand = Hand(tmp_path).type(*CHECK, line)
    assert hand.rejects == []
    assert "unknown word" in hand.shown.refusals[0]


def test_another_unit_is_asked_about(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type(*CHECK, "2.3615 in")
    assert status(hand.owner.state) is Status.ASKING
    # 2.3615 x 25.4 = 59.9821
    assert hand.type("keep").taken[-1] == "2.3615 in"


def test_a_size_far_off_is_asked_about_and_nothing_is_taken_meanwhile(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type(*CHECK, "69.980", *["59.981"] * 6)
    assert hand.rejects == ["Type keep or drop first"] * 6
    assert hand.type("drop", "59.980").taken[-1] == "59.980 mm"
    assert "--continuous" not in "".join(map(str, hand.stored))


def test_a_first_value_that_lost_a_zero_does_not_end_the_session(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type("59.97")
    assert "Type all digits that the gauge shows, like 59.970" in hand.rejects[0]
    assert hand.type(*CHECK).taken == ["59.970 mm", "59.971 mm"]


def test_a_place_may_be_typed_as_people_say_it(tmp_path: Path) -> None:
    hand = Hand(tmp_path).type(*CHECK, "59.980", "retake m1 front 0°", "59.985")
    assert hand.taken[2:] == ["59.985 mm"]


def test_where_no_more_can_be_typed_the_run_ends_and_says_so(tmp_path: Path) -> None:
    hand = Hand(tmp_path)
    items: list[tuple[float, Item | None]] = [(0.1, Typed("59.970")), (0.1, KeyboardGone())]
    mode = TakingMode(needs_press=True, is_script=True, is_typed=True)
    loop = RunLoop(PlayedInputs(hand.clock, items), hand.owner, hand.clock, mode, "text")
    with pytest.raises(SettingsError, match=r"keyboard is gone.* Resume the session to type the"):
        loop.run()
    assert hand.taken == ["59.970 mm"]


def test_the_lines_of_a_script_do_not_wait_for_one_another(tmp_path: Path) -> None:
    hand = Hand(tmp_path)
    items: list[tuple[float, Item | None]] = [(0.0, Typed(line)) for line in (*CHECK, "59.980")]
    mode = TakingMode(needs_press=True, is_script=True, is_typed=True)
    with pytest.raises(Exhausted):
        RunLoop(PlayedInputs(hand.clock, items), hand.owner, hand.clock, mode, "text").run()
    assert hand.taken == ["59.970 mm", "59.971 mm", "59.980 mm"]


# Each value twice ---------------------------------------------------------------------------------

TWICE = ONE.replace("[defaults]\n", '[defaults]\ntyped = "twice"\n')
BOTH = [line for value in CHECK for line in (value, value)]


def test_typed_twice_each_value_is_asked_for_again_and_counts_once(tmp_path: Path) -> None:
    hand = Hand(tmp_path, TWICE).type("59.970")
    assert hand.asked == "59.970 mm: type it once more, then Enter"
    assert hand.news == ("Typed once: 59.970 mm.",)
    assert hand.taken == []
    assert hand.type("970").rejects == ["Type the first value with all its digits, like 59.970"]
    assert hand.asked == "59.970 mm: type it once more, then Enter"  # it waits on
    assert hand.type("59,970").taken == ["59.970 mm"]
    assert hand.asked == "reading 2 of 2: type the value, then Enter"


def test_two_that_differ_are_dropped_and_stay_in_the_record(tmp_path: Path) -> None:
    hand = Hand(tmp_path, TWICE).type(*BOTH, "59.981", "59.918")
    words = "59.981 mm, then 59.918 mm: not the same. Type it twice again"
    assert hand.rejects == [words]
    assert hand.news == (f"{words}.",)
    assert len(hand.taken) == 2
    assert hand.asked == "place 1 of 2: type the value, then Enter"
    assert hand.type("981", "59.981").taken[2:] == ["59.981 mm"]


def test_back_takes_the_first_typing_back_and_no_reading(tmp_path: Path) -> None:
    hand = Hand(tmp_path, TWICE).type(*BOTH, "59.981", "59.981", "59.985", "back")
    assert hand.taken[2:] == ["59.981 mm"]
    assert hand.rejects == ["59.985 mm is taken back: it was typed only once"]
    assert hand.asked == "place 2 of 2: type the value, then Enter"
    assert hand.type("back").taken[2:] == []


def test_a_note_leaves_what_waits_and_any_other_word_gives_it_up(tmp_path: Path) -> None:
    hand = Hand(tmp_path, TWICE).type(*BOTH, "59.981", "note dry")
    assert hand.asked == "59.981 mm: type it once more, then Enter"
    hand.type("skip no access")
    assert hand.rejects == ["59.981 mm is taken back: it was typed only once"]
    assert hand.asked == "place 2 of 2: type the value, then Enter"
    assert len(hand.owner.state.skips) == 1


def test_a_value_that_waits_is_over_once_the_check_has_grown_too_old(tmp_path: Path) -> None:
    plan = TWICE.replace("readings = 2", "readings = 2\nmax_age_min = 1")
    hand = Hand(tmp_path, plan).type(*BOTH, "59.981")
    hand.clock.us += 61_000_000
    hand.owner.pass_time()
    assert hand.asked == "reading 1 of 2: type the value, then Enter"
    hand.type("59.981")
    assert hand.rejects == ["59.981 mm was typed only once"]
    assert hand.asked == "59.981 mm: type it once more, then Enter"


def test_a_doubted_value_is_asked_about_after_the_second_typing(tmp_path: Path) -> None:
    hand = Hand(tmp_path, TWICE).type(*BOTH, "69.981")
    assert status(hand.owner.state) is Status.MEASURING
    hand.type("69.981")
    assert status(hand.owner.state) is Status.ASKING
    assert hand.type("drop").asked == "place 1 of 2: type the value, then Enter"
