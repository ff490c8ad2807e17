"""The places that wait are told line by line as if all of them had been looked at."""

import random
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest

from daq.errors import DaqError
from daq.record.events import Closed, Entry, Voided
from daq.record.evolve import evolve
from daq.record.state import State, next_position, waiting_places
from daq.record.waiting import Waiting
from daq.storage.replay import begin_state, evolve_state
from tests.builders import Bench, opened
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


@pytest.mark.parametrize("seed", range(40))
def test_after_each_line_of_a_record_made_by_hand_too(seed: int) -> None:
    """Lines of a session left out, told twice or moved: no run writes such a record."""
    chance = random.Random(seed)
    first, *rest = lines_of(chance)
    for _ in range(3):
        line = chance.randrange(len(rest))
        if chance.random() < 0.5:
            rest.insert(chance.randrange(len(rest)), rest[line])
        elif len(rest) > 1:
            rest.pop(line)
    kept = [entry for entry in rest if not isinstance(entry.event, Closed)]
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
