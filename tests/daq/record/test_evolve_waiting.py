"""The places that wait are told line by line as if all of them had been looked at."""

import random
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest

from daq.errors import DaqError
from daq.record.events import (
    AnyEvent,
    Closed,
    Entry,
    Held,
    Kept,
    Read,
    Sent,
    Skipped,
    Voided,
)
from daq.record.evolve import evolve
from daq.record.state import State, next_position, waiting_places
from daq.record.waiting import Waiting
from daq.storage.replay import begin_state, evolve_state
from tests.builders import Bench, judged, opened
from tests.house.moves import random_steps


def waits(state: State, by: Waiting) -> set[int]:
    """The places of the route that wait, by their numbers on it."""
    without_reading = {
        index
        for index, place in enumerate(state.scope.route)
        if index >= by.unread_from and place not in state.standing and place not in state.skips
    }
    again = {index for index in range(len(state.scope.route)) if by.again >> index & 1}
    return without_reading | again


def check_waiting(state: State) -> None:
    seen = waits(state, waiting_places(state))
    assert waits(state, state.waiting) == seen
    assert state.waiting.first == min(seen, default=len(state.scope.route))


def lines_of(chance: random.Random) -> list[Entry]:
    found: list[Entry] = []
    for done in random_steps(chance):
        found += [entry for entry in done.entries if entry.seq > len(found)]
    return found


def folded(lines: Sequence[Entry]) -> list[State]:
    """The states after each line, up to one that no run could have stored."""
    states = [begin_state(lines[0], Path())]
    for entry in lines[1:]:
        try:
            states.append(evolve_state(states[-1], entry, Path()))
        except DaqError:
            break
    return states


@pytest.mark.parametrize("seed", range(40))
def test_after_each_line_of_a_session_the_same_places_wait(seed: int) -> None:
    states = folded(lines_of(random.Random(seed)))
    for state in states:
        check_waiting(state)
    assert len(states) > 1


def changed_by_hand(chance: random.Random, lines: Sequence[Entry]) -> list[Entry]:
    """Lines left out, told twice, moved, or said of another stint, and places left out that were
    read, as no run writes them.
    """
    found = list(lines)
    for _ in range(6):
        at, where = chance.randrange(len(found)), chance.randrange(len(found))
        event = found[at].event
        match chance.randrange(5):
            case 0:
                found.insert(where, found[at])
            case 1 if len(found) > 1:
                found.pop(at)
            case 2:
                found.insert(where, found.pop(at))
            case 3 if isinstance(event, Read | Kept):
                other = msgspec.structs.replace(event, stint=chance.randrange(1, 4))
                found[at] = msgspec.structs.replace(found[at], event=other)
            case 4 if isinstance(event, Read):
                left_out = Skipped(place=event.place, reason="by hand")
                line = msgspec.structs.replace(found[at], event=left_out)
                found.insert(chance.choice((at + 1, max(at + 1, where))), line)
    # Then some are taken back, at once or late. The first line is number 1.
    for _ in range(3):
        at = chance.randrange(len(found))
        line = msgspec.structs.replace(found[at], event=Voided(target=at + 2, why="by hand"))
        found.insert(chance.randrange(at + 1, len(found) + 1), line)
    return found


@pytest.mark.parametrize("seed", range(120))
def test_after_each_line_of_a_record_made_by_hand_too(seed: int) -> None:
    chance = random.Random(seed)
    first, *rest = lines_of(chance)
    kept = [each for each in changed_by_hand(chance, rest) if not isinstance(each.event, Closed)]
    numbered = [msgspec.structs.replace(each, seq=seq) for seq, each in enumerate(kept, 2)]
    for state in folded([first, *numbered]):
        check_waiting(state)


def test_sessions_at_random_have_what_changes_the_places_that_wait() -> None:
    """Places that open again, stints that end with readings that no check has proven, and none of
    them in an order that no run writes.
    """
    opened_again, over = 0, 0
    for seed in range(40):
        for before, after in pairwise(folded(lines_of(random.Random(seed)))):
            opened_again += after.waiting.first < before.waiting.first
            over += len(after.over_stints) > len(before.over_stints)
            assert after.is_as_run
    assert opened_again > 5
    assert over > 20


def test_a_place_that_was_taken_back_is_one_more_that_waits(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened()).press("59.970", "59.970", "59.980", "59.980")
    state = bench.state
    first, second = state.readings
    taken_back = Entry(state.last_seq + 1, state.last_us, Voided(target=first.seq, why="retake"))
    opened_again = evolve(state, taken_back)
    assert waits(opened_again, opened_again.waiting) == waits(state, state.waiting) | {0}
    assert next_position(opened_again) == first.position
    assert next_position(state) not in (first.position, second.position)


# What only a record made by hand has, line by line ------------------------------------------------


SENT = Sent("59.980", "mm", "0.001", None, (), "")


@pytest.mark.parametrize(
    "moves",
    [
        "read, fail, skip",  # what is lost waits, left out or not
        "skip, read, void",  # what was left out does not wait again
        "skip, read, fail, void",
        "hold, pass, keep, fail",  # what a check had proven before it was kept is not lost
        "hold, read, keep, void",
    ],
)
def test_such_lines_leave_the_places_that_wait_right(tmp_path: Path, moves: str) -> None:
    state = Bench.new(tmp_path / "s", opened()).press("59.970", "59.970").state
    place = next_position(state)
    assert place is not None
    read = Read(stint=1, place=place, sent=SENT)
    for move in moves.split(", "):
        line = max((each.seq for each in state.readings), default=0)
        events: dict[str, AnyEvent] = {
            "read": read,
            "skip": Skipped(place=place, reason="by hand"),
            "void": Voided(target=line, why="by hand"),
            "hold": Held(stint=1, reasons=("by hand",), sent=SENT),
            "keep": Kept(held=state.held.seq if state.held else 0, stint=1, place=place),
            "pass": judged("during", passed=True),
            "fail": judged("during", passed=False),
        }
        state = evolve(state, Entry(state.last_seq + 1, state.last_us + 1, events[move]))
        check_waiting(state)
