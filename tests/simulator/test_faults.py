"""Faults on a cable: what each does, that they stack, and that a seed replays them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import SimulatorError
from simulator.fault_kinds import AWAY_S, BYTE_S, FAULTS, MOST_NULS, PACKET_S, STALL_S
from simulator.faults import (
    JOIN_WAIT_S,
    Back,
    Event,
    Fault,
    FaultStack,
    Gone,
    Piece,
    faulty,
    parse_fault,
)

FRAME = b"59.982 mm\r\n"
ALWAYS = 1.0


def frames(count: int, every_s: float = 1.0, data: bytes = FRAME) -> list[Piece]:
    return [Piece(number * every_s, data) for number in range(count)]


def sent(events: list[Event]) -> bytes:
    return b"".join(event.data for event in events if isinstance(event, Piece))


def struck(name: str, count: int = 1, seed: int = 0, rate: float = ALWAYS) -> list[Event]:
    return faulty(frames(count), [Fault(name, rate)], seed)


def test_without_faults_nothing_happens() -> None:
    assert faulty(frames(3), []) == frames(3)


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_that_never_strikes_changes_nothing(name: str) -> None:
    assert struck(name, 50, rate=0.0) == frames(50)


def test_split_is_byte_by_byte_as_on_a_slow_line() -> None:
    events = struck("split")
    assert [event.data for event in events if isinstance(event, Piece)] == [
        bytes([byte]) for byte in FRAME
    ]
    assert [event.at_s for event in events] == pytest.approx([n * BYTE_S for n in range(11)])


def test_cut_is_in_two_and_at_every_place_sooner_or_later() -> None:
    firsts = set()
    for seed in range(200):
        events = struck("cut", seed=seed)
        assert sent(events) == FRAME
        assert len(events) <= 2
        firsts.add(len(sent(events[:1])) if len(events) == 2 else 0)
    assert firsts == set(range(len(FRAME)))


def test_join_sends_two_frames_as_one() -> None:
    events = faulty(frames(4, every_s=0.125), [Fault("join", ALWAYS)])
    assert events == [Piece(0.125, FRAME * 2), Piece(0.375, FRAME * 2)]


def test_a_frame_without_a_next_one_is_let_go() -> None:
    assert struck("join", 2) == [Piece(JOIN_WAIT_S, FRAME), Piece(1 + JOIN_WAIT_S, FRAME)]
    stack = FaultStack([Fault("join", ALWAYS)])
    due_s = [stack.due_s]
    assert stack.feed(Piece(5.0, FRAME)) == []
    due_s.append(stack.due_s)
    assert stack.idle(5.1) == []
    assert stack.idle(5.5) == [Piece(5.0 + JOIN_WAIT_S, FRAME)]
    due_s.append(stack.due_s)
    assert due_s == [None, 5.0 + JOIN_WAIT_S, None]


def test_packets_come_every_16_ms_and_no_byte_is_early() -> None:
    # 11 bytes of 1.0417 ms from 10 ms on: 6 of them before 16 ms, the rest by 32
    events = faulty([Piece(0.010, FRAME)], [Fault("packets", ALWAYS)])
    assert events == [Piece(PACKET_S, FRAME[:6]), Piece(2 * PACKET_S, FRAME[6:])]
    long = faulty([Piece(0.0, bytes(300))], [Fault("packets", ALWAYS)])
    assert sent(long) == bytes(300)
    assert all(len(event.data) <= 62 for event in long if isinstance(event, Piece))


@pytest.mark.parametrize("seed", range(20))
def test_drop_double_and_flip_change_one_byte(seed: int) -> None:
    dropped, doubled, flipped = (
        sent(struck(name, seed=seed)) for name in ("drop", "double", "flip")
    )
    assert dropped in {FRAME[:n] + FRAME[n + 1 :] for n in range(len(FRAME))}
    assert doubled in {FRAME[: n + 1] + FRAME[n:] for n in range(len(FRAME))}
    bits = [(a ^ b).bit_count() for a, b in zip(flipped, FRAME, strict=True)]
    assert sum(bits) == 1


def test_a_stall_is_a_pause_within() -> None:
    for seed in range(20):
        events = struck("stall", seed=seed)
        assert sent(events) == FRAME
        assert events[-1].at_s == STALL_S


def test_nuls_come_before_the_frame() -> None:
    for seed in range(20):
        nuls, frame = struck("nuls", seed=seed)
        assert isinstance(nuls, Piece)
        assert 1 <= len(nuls.data) <= MOST_NULS
        assert set(nuls.data) == {0}
        assert sent([frame]) == FRAME
        assert frame.at_s > nuls.at_s


def test_unplugged_within_a_frame_and_all_after_it_is_lost() -> None:
    for seed in range(20):
        events = struck("unplug", 3, seed=seed)
        assert isinstance(events[-1], Gone)
        assert FRAME.startswith(sent(events))
        assert len(sent(events)) < len(FRAME)


@pytest.mark.parametrize(("name", "is_elsewhere"), [("return", False), ("elsewhere", True)])
def test_back_again_and_what_was_sent_meanwhile_is_lost(name: str, is_elsewhere: bool) -> None:
    stack = FaultStack([Fault(name, ALWAYS)])
    first = stack.feed(Piece(0.0, FRAME))
    back = first[-1]
    assert isinstance(back, Back)
    assert back.is_elsewhere is is_elsewhere
    assert isinstance(first[-2], Gone)
    assert back.at_s == pytest.approx(first[-2].at_s + AWAY_S)
    lost = stack.feed(Piece(0.5, FRAME))
    assert sent(lost) == b""
    assert sent(stack.feed(Piece(3.0, FRAME))[:1]) in {FRAME[:n] for n in range(len(FRAME))}


def test_plugged_in_by_hand_bytes_come_again() -> None:
    stack = FaultStack([Fault("unplug", ALWAYS)], seed=1)
    stack.feed(Piece(0.0, FRAME))
    assert stack.feed(Piece(1.0, FRAME)) == []
    stack.plugged()
    assert isinstance(stack.feed(Piece(2.0, FRAME))[-1], Gone)


def test_faults_stack_in_their_order() -> None:
    double_then_split = faulty(frames(1), [Fault("double", ALWAYS), Fault("split", ALWAYS)])
    assert len(double_then_split) == len(FRAME) + 1
    split_then_double = faulty(frames(1), [Fault("split", ALWAYS), Fault("double", ALWAYS)])
    assert len(split_then_double) == len(FRAME)
    assert sent(split_then_double) == bytes(byte for byte in FRAME for _ in range(2))


def test_one_fault_more_does_not_change_what_the_others_do() -> None:
    one = faulty(frames(100), [Fault("drop", 0.5)], 7)
    both = faulty(frames(100), [Fault("drop", 0.5), Fault("cut", 0.5)], 7)
    assert sent(one) == sent(both)
    assert len(both) > len(one)


FAULT_LISTS = st.lists(
    st.builds(Fault, st.sampled_from(sorted(FAULTS)), st.sampled_from([0.1, 0.5, 1.0])), max_size=5
)
PIECES = st.lists(st.builds(Piece, st.floats(0, 20), st.binary(max_size=40)), max_size=12).map(
    lambda pieces: sorted(pieces, key=lambda piece: piece.at_s)
)


@given(pieces=PIECES, faults=FAULT_LISTS, seed=st.integers(0, 2**32))
def test_any_stack_is_replayed_by_its_seed_and_never_runs_backwards(
    pieces: list[Piece], faults: list[Fault], seed: int
) -> None:
    events = faulty(pieces, faults, seed)
    assert events == faulty(pieces, faults, seed)
    times = [event.at_s for event in events]
    assert times == sorted(times)
    assert all(math.isfinite(at_s) for at_s in times)
    assert all(event.data for event in events if isinstance(event, Piece))


@given(
    pieces=PIECES,
    faults=st.lists(
        st.builds(
            Fault,
            st.sampled_from(["split", "cut", "join", "packets", "stall"]),
            st.sampled_from([0.5, 1.0]),
        ),
        max_size=4,
    ),
    seed=st.integers(0, 100),
)
def test_faults_of_time_alone_lose_and_add_nothing(
    pieces: list[Piece], faults: list[Fault], seed: int
) -> None:
    assert sent(faulty(pieces, faults, seed)) == b"".join(piece.data for piece in pieces)


@given(pieces=PIECES, seed=st.integers(0, 100))
def test_nothing_arrives_while_the_cable_is_out(pieces: list[Piece], seed: int) -> None:
    is_out = False
    for event in faulty(pieces, [Fault("return", 0.5), Fault("split", 1.0)], seed):
        assert not (is_out and isinstance(event, Piece))
        is_out = isinstance(event, Gone) or (is_out and not isinstance(event, Back))


@pytest.mark.parametrize(
    ("name", "seed", "low", "high"), [("drop", 3, 60, 140), ("flip", 4, 60, 140)]
)
def test_a_rate_is_a_chance(name: str, seed: int, low: int, high: int) -> None:
    events = struck(name, 1000, seed, rate=0.1)
    assert low < sum(sent([event]) != FRAME for event in events) < high


def test_faults_by_name() -> None:
    assert parse_fault("drop") == Fault("drop", 0.1)
    assert str(parse_fault("drop=0.25")) == "drop=0.25"
    for text in ("", "fire", "drop=-1", "drop=inf", "drop=x"):
        with pytest.raises(SimulatorError):
            parse_fault(text)
    assert all(kind.title and 0 < kind.rate <= 1 for kind in FAULTS.values())
