"""Feeding a codec: the same bytes in one piece or cut, and what must hold of what comes out."""

from hypothesis import strategies as st

from drivers.dialects.codec import codec_for
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome, Reading, plain
from tests.contracts.good_frames import VECTOR_BYTES, good_frame


def run(profile: Profile, chunks: list[bytes], gaps_us: list[int] | int = 0) -> list[Outcome]:
    """The outcomes of chunks with a gap before each, then two minutes of silence."""
    codec = codec_for(profile)
    out: list[Outcome] = []
    now_us = 0
    for number, chunk in enumerate(chunks):
        now_us += gaps_us if isinstance(gaps_us, int) else gaps_us[number]
        out += codec.feed(chunk, Instant(now_us, now_us * 1000))
    now_us += 120_000_000
    return out + codec.idle(Instant(now_us, now_us * 1000))


def told(outcomes: list[Outcome]) -> list[tuple[object, ...]]:
    """All of each outcome but its time."""
    return [
        (plain(o.value), o.unit, plain(o.resolution), o.channel, o.flags, o.raw)
        if isinstance(o, Reading)
        else (o.code, o.detail, o.flags, o.raw, o.skipped)
        for o in outcomes
    ]


def streams(profile: Profile) -> st.SearchStrategy[bytes]:
    """Good frames, vectors, marks, pieces of text and any bytes at all, one behind the other."""
    frame = profile.frame
    known = [
        good_frame(profile),
        *VECTOR_BYTES.get(profile.id, []),
        *frame.ends,
        frame.start,
        profile.trigger.send,
        b"1.5",
        b" mm",
        b"x" * (frame.max_bytes + 1),
        b"\r",
        b"\n",
    ]
    short = [piece for piece in known if len(piece) < 200]
    return st.lists(st.sampled_from(short) | st.binary(max_size=8), max_size=12).map(b"".join)


def cut(stream: bytes, cuts: list[int]) -> list[bytes]:
    places = sorted({place % (len(stream) + 1) for place in cuts})
    edges = zip([0, *places], [*places, len(stream)], strict=True)
    return [stream[a:b] for a, b in edges if a < b]


CUTS = st.lists(st.integers(0, 2000), max_size=30)


def is_covered(
    profile: Profile, stream: bytes, outcomes: list[Outcome], *, was_asked: bool = False
) -> bool:
    """The outcomes' bytes, with at most one end mark each and consumed echoes, are the stream."""
    mask = bytes(b & 0x7F for b in range(256)) if profile.frame.mask7 else bytes(range(256))
    masked = stream.translate(mask)
    ends = set(profile.frame.ends) | ({b"\r\n"} if b"\r" in profile.frame.ends else set())
    echo = profile.trigger.send.rstrip(b"\r\n") if profile.trigger.echo else None

    frame = profile.frame
    marks = [] if echo is None else [frame.start + echo + end for end in ends or {b""}]
    if profile.modbus is not None and was_asked:
        marks = [codec_for(profile).request() or b""]

    def past_echo(places: set[int]) -> set[int]:
        behind = {p + len(m) + frame.tail for p in places for m in marks if masked.startswith(m, p)}
        past = places | {place for place in behind if place <= len(stream)}
        # Each request may have its echo, so there may be several in a row.
        return past_echo(past) if was_asked and past != places else past

    places = {0}
    for outcome in outcomes:
        after: set[int] = set()
        skipped = 0 if isinstance(outcome, Reading) else outcome.skipped
        for place in past_echo(places):
            rest = stream[place:]
            size = len(outcome.raw) + skipped
            if rest.startswith(outcome.raw) and len(rest) >= size:
                after.add(place + size)
            for end in ends:  # the end mark stands behind the payload, a tail behind the mark
                split = size - frame.tail
                whole = rest[:split] + rest[split + len(end) : size + len(end)]
                is_end = masked.startswith(end, place + split)
                if is_end and split >= 0 and len(whole) == size and whole.startswith(outcome.raw):
                    after.add(place + size + len(end))
        places = after
    return len(stream) in past_echo(places)
