"""What holds for every profile there is: those that come with the program and the examples.

A good frame is written from the profile's own layout, so that a new profile is tested unasked.
"""

import gc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.dialects.codec import NO_ECHO, codec_for
from drivers.dialects.modbus import WHOLE_MS
from drivers.profile.file import read_profile
from drivers.profile.profile import SHIPPED, Profile
from drivers.reading import Instant, Outcome, Reading
from tests.contracts.feeding import CUTS, cut, is_covered, run, streams, told
from tests.contracts.good_frames import VECTOR_BYTES, good_frame, known_frames
from tests.places import VECTORS

READ_BYTES = 4096
"""What a port hands over at most at once."""

FILES = sorted(file for folder in (SHIPPED, VECTORS / "profiles") for file in folder.glob("*.toml"))
EVERY = pytest.mark.parametrize(
    "profile", [read_profile(file) for file in FILES], ids=[file.stem for file in FILES]
)
SHARED = settings(max_examples=settings().max_examples // 4)
"""So many profiles share the search; what delimits a frame is tried in test_any_cut, too."""


def held_bytes(thing: object) -> int:
    """The sizes of all byte strings that an object holds on to, however deep."""
    seen: set[int] = set()
    todo: list[object] = [thing]
    total = 0
    while todo:
        item = todo.pop()
        if id(item) in seen or isinstance(item, type | Profile) or callable(item):
            continue
        seen.add(id(item))
        total += len(item) if isinstance(item, bytes | bytearray) else 0
        todo += gc.get_referents(item)
    return total


# --- the contract ---


def test_there_are_profiles_of_both_folders() -> None:
    assert {file.parent.name for file in FILES} == {"shipped", "profiles"}
    assert {file.parent for file in FILES} == {SHIPPED, VECTORS / "profiles"}


def test_no_two_profiles_share_an_id() -> None:
    names = [read_profile(file).id for file in FILES]
    assert sorted(names) == sorted(file.stem for file in FILES)
    assert len(set(names)) == len(names)


@EVERY
def test_a_frame_written_to_the_layout_is_a_reading(profile: Profile) -> None:
    (only,) = run(profile, [good_frame(profile)])
    assert isinstance(only, Reading), only


@EVERY
def test_byte_by_byte_is_the_same_as_in_one_piece(profile: Profile) -> None:
    for raw in known_frames(profile):
        single = [raw[n : n + 1] for n in range(len(raw))]
        assert told(run(profile, single)) == told(run(profile, [raw]))


@EVERY
@SHARED
@given(data=st.data())
def test_any_chunking_within_the_idle_time_gives_the_same(
    profile: Profile, data: st.DataObject
) -> None:
    bursts = data.draw(st.lists(streams(profile), min_size=1, max_size=3))
    within_ms = min(silence_ms(profile), profile.repeat_window_ms or 60_000)
    pause_us = max(profile.frame.idle_ms, profile.repeat_window_ms + 1) * 1000
    chunks: list[bytes] = []
    gaps: list[int] = []
    for burst in bursts:
        pieces = cut(burst, data.draw(CUTS))
        chunks += pieces
        gap_us = within_ms * 1000 // (len(pieces) + 1)
        gaps += [pause_us, *[gap_us] * (len(pieces) - 1)] if pieces else []
    assert told(run(profile, chunks, gaps)) == told(run(profile, bursts, pause_us))


def silence_ms(profile: Profile) -> int:
    """The least silence that ends anything."""
    idle_ms = profile.frame.idle_ms
    return idle_ms if profile.modbus is None else min(idle_ms, WHOLE_MS)


@EVERY
@SHARED
@given(data=st.data())
def test_every_byte_lands_in_exactly_one_outcome_in_order(
    profile: Profile, data: st.DataObject
) -> None:
    stream = data.draw(streams(profile))
    chunks = cut(stream, data.draw(CUTS))
    pause_us = profile.frame.idle_ms * 1000
    gaps = data.draw(st.lists(st.sampled_from([0, pause_us]), min_size=40, max_size=40))
    assert is_covered(profile, stream, run(profile, chunks, gaps))


@EVERY
@SHARED
@given(garbage=st.binary(max_size=300), cuts=CUTS)
def test_any_bytes_are_outcomes_and_never_raise(
    profile: Profile, garbage: bytes, cuts: list[int]
) -> None:
    outcomes = run(profile, cut(garbage, cuts))
    assert is_covered(profile, garbage, outcomes)
    assert all(o.detail.isprintable() for o in outcomes if not isinstance(o, Reading))


@EVERY
@pytest.mark.parametrize("fill", [b"x", b"\xff", b" "])
@pytest.mark.parametrize("is_started", [False, True])
def test_a_stream_without_an_end_costs_bounded_memory(
    profile: Profile, fill: bytes, is_started: bool
) -> None:
    codec = codec_for(profile)
    if is_started:
        codec.feed(profile.frame.start, Instant(0, 0))
    most = 0
    told_bytes = 0
    for _ in range(200_000 // READ_BYTES + 1):
        outcomes = codec.feed(fill * READ_BYTES, Instant(0, 0))
        told_bytes = max(told_bytes, *(len(o.raw) for o in outcomes), 0)
        most = max(most, held_bytes(codec))
    longest = profile.frame.length or profile.frame.max_bytes
    marks = 16 * 8
    assert most <= longest + READ_BYTES + marks
    assert told_bytes <= longest + 16


@EVERY
def test_a_good_frame_after_garbage_and_silence_is_read(profile: Profile) -> None:
    frame = good_frame(profile)
    (expected,) = run(profile, [frame])
    *_, last = run(profile, [b"\xffgarbage\x00", frame], profile.frame.idle_ms * 1000)
    assert isinstance(last, Reading)
    assert told([last]) == told([expected])


@EVERY
@pytest.mark.parametrize("garbage", [b"\xff?", b"x" * 5000], ids=["short", "long"])
def test_a_good_frame_after_garbage_and_an_end_is_read(profile: Profile, garbage: bytes) -> None:
    spec, frame = profile.frame, good_frame(profile)
    end = spec.start + spec.ends[0] + b"?" * spec.tail if spec.ends else b""
    gap_us = 0 if spec.ends else spec.idle_ms * 1000
    *_, last = run(profile, [garbage + end, frame], gap_us)
    (expected,) = run(profile, [frame])
    assert told([last]) == told([expected])


@EVERY
def test_only_a_gauge_that_can_be_asked_has_a_request(profile: Profile) -> None:
    codec = codec_for(profile)
    assert (codec.request() is not None) == profile.is_asked
    assert profile.trigger.reply_ms > 0
    (only,) = codec.feed(good_frame(profile), Instant(0, 0)) + codec.idle(Instant(0, 10**12))
    assert isinstance(only, Reading), only


@EVERY
@SHARED
@given(data=st.data())
def test_requests_at_any_time_lose_no_byte(profile: Profile, data: st.DataObject) -> None:
    stream = data.draw(streams(profile))
    codec = codec_for(profile)
    out: list[Outcome] = []
    for chunk in cut(stream, data.draw(CUTS)):
        if data.draw(st.booleans()):
            codec.request()
        out += codec.feed(chunk, Instant(0, 0))
    out += codec.idle(Instant(0, 10**12))
    assert is_covered(profile, stream, out, was_asked=True)


@EVERY
def test_it_knows_beforehand_what_its_readings_can_carry(profile: Profile) -> None:
    for raw in [good_frame(profile), *VECTOR_BYTES.get(profile.id, [])]:
        for outcome in run(profile, [raw]):
            if isinstance(outcome, Reading):
                assert outcome.unit in profile.units()
                assert (outcome.channel is not None) <= profile.has_channel()
                named = {flag for flag in outcome.flags if not flag.startswith("bit-")}
                assert named <= profile.statuses() | {NO_ECHO}
