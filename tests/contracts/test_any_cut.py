"""What comes of bytes never depends on how they are cut, whatever delimits a frame."""

from hypothesis import given
from hypothesis import strategies as st

from drivers.dialects.codec import codec_for
from drivers.dialects.framing import Flaw, Frame, Framer
from drivers.profile.frame_spec import FrameSpec
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome
from tests.contracts.any_frames import drawn_streams, frame_specs, profiles
from tests.contracts.feeding import CUTS, cut, is_covered, run, told

NS = 1_000_000


def pieces(spec: FrameSpec, chunks: list[tuple[int, bytes]]) -> list[tuple[object, ...]]:
    """Frames and flaws, all but their time, of (nanoseconds, bytes) chunks and silence."""
    framer = Framer(spec)
    out = [piece for ns, data in chunks for piece in framer.feed(data, Instant(0, ns))]
    out += framer.idle(Instant(0, 10**15))
    assert not framer.is_waiting
    return [
        (one.payload, one.raw, one.end, one.tail)
        if isinstance(one, Frame)
        else (one.code, one.raw, one.skipped)
        for one in out
    ]


@given(data=st.data())
def test_the_frames_of_a_burst_are_the_same_however_it_is_cut(data: st.DataObject) -> None:
    spec = data.draw(frame_specs())
    burst = data.draw(drawn_streams(spec))
    whole = pieces(spec, [(0, burst)])
    assert pieces(spec, [(0, burst[n : n + 1]) for n in range(len(burst))]) == whole
    assert pieces(spec, [(0, chunk) for chunk in cut(burst, data.draw(CUTS))]) == whole


@given(data=st.data())
def test_bytes_of_one_moment_may_be_cut_though_the_stream_never_pauses(
    data: st.DataObject,
) -> None:
    spec = data.draw(frame_specs())
    bursts = data.draw(st.lists(drawn_streams(spec), max_size=6))
    gaps = data.draw(st.lists(st.integers(0, spec.idle_ms), min_size=6, max_size=6))
    moments = [sum(gaps[: n + 1]) * NS for n in range(len(bursts))]
    single = [
        (ns, burst[n : n + 1])
        for ns, burst in zip(moments, bursts, strict=True)
        for n in range(len(burst))
    ]
    whole = [(ns, burst) for ns, burst in zip(moments, bursts, strict=True) if burst]
    assert pieces(spec, single) == pieces(spec, whole)


@given(data=st.data())
def test_no_flaw_is_longer_than_what_the_profile_allows(data: st.DataObject) -> None:
    spec = data.draw(frame_specs())
    framer = Framer(spec)
    out = framer.feed(data.draw(drawn_streams(spec)), Instant(0, 0))
    out += framer.idle(Instant(0, 10**15))
    marks = max(map(len, spec.ends), default=0) + spec.tail + 1  # a line feed behind a listed CR
    most = spec.length or spec.max_bytes + len(spec.start) + marks
    assert all(len(one.raw) <= most for one in out if isinstance(one, Flaw))


@given(data=st.data())
def test_the_outcomes_of_bursts_are_the_same_however_they_are_cut(data: st.DataObject) -> None:
    profile = data.draw(profiles())
    bursts = data.draw(st.lists(drawn_streams(profile.frame), min_size=1, max_size=3))
    idle_us = profile.frame.idle_ms * 1000
    within_us = min(idle_us, profile.repeat_window_ms * 1000 or idle_us)
    pause_us = max(idle_us, profile.repeat_window_ms * 1000 + 1)
    chunks: list[bytes] = []
    gaps: list[int] = []
    for burst in bursts:
        parts = cut(burst, data.draw(CUTS))
        chunks += parts
        gaps += [pause_us, *[within_us // (len(parts) + 1)] * (len(parts) - 1)] if parts else []
    assert told(run(profile, chunks, gaps)) == told(run(profile, bursts, pause_us))


@given(data=st.data())
def test_every_byte_lands_in_exactly_one_outcome(data: st.DataObject) -> None:
    profile = data.draw(profiles())
    stream = data.draw(drawn_streams(profile.frame))
    assert is_covered(profile, stream, run(profile, cut(stream, data.draw(CUTS))))


def outcomes(profile: Profile, chunks: list[bytes]) -> list[Outcome]:
    codec = codec_for(profile)
    out = [outcome for chunk in chunks for outcome in codec.feed(chunk, Instant(0, 0))]
    return out + codec.idle(Instant(0, 10**15))
