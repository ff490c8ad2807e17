"""The hand-made vectors of the wire format, character for character."""

import json
from typing import Any

import pytest

from drivers.dialects.codec import codec_for
from drivers.profile.file import read_profile
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome, Reading, plain
from tests.places import VECTORS


def vectors(file: str) -> list[dict[str, Any]]:
    """The vectors of one file, in order."""
    lines = (VECTORS / file).read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines if line]


FRAMES = vectors("frames.jsonl")
STREAMS = vectors("streams.jsonl")


def profile(name: str) -> Profile:
    return read_profile(VECTORS / "profiles" / f"{name}.toml")


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * 1_000_000)


def told(outcome: Outcome) -> dict[str, Any]:
    """An outcome in the words of the vectors."""
    if not isinstance(outcome, Reading):
        return {"error": outcome.code}
    expect: dict[str, Any] = {
        "value": plain(outcome.value),
        "unit": outcome.unit,
        "resolution": plain(outcome.resolution),
        "flags": list(outcome.flags),
    }
    return {"expect": expect if outcome.channel is None else expect | {"channel": outcome.channel}}


def test_no_vector_is_dropped() -> None:
    # counted by hand in the files: 146 text, 12 bcd and 15 modbus-rtu; 17 and 2 streams
    assert len(FRAMES) == 146 + 12 + 15 == 173
    assert len(STREAMS) == 17 + 2 == 19
    assert sum("expect" in vector for vector in FRAMES) == 54 + 4 + 5
    assert len({vector["id"] for vector in FRAMES + STREAMS}) == 173 + 19


@pytest.mark.parametrize("vector", FRAMES, ids=[vector["id"] for vector in FRAMES])
def test_a_frame_and_silence_give_exactly_the_one_outcome(vector: dict[str, Any]) -> None:
    raw = bytes.fromhex(vector["bytes_hex"])
    codec = codec_for(profile(vector["profile"]))
    outcomes = codec.feed(raw, at(0)) + codec.idle(at(2000))
    expected = {key: vector[key] for key in ("expect", "error") if key in vector}
    assert [told(outcome) for outcome in outcomes] == [expected]


@pytest.mark.parametrize("vector", STREAMS, ids=[vector["id"] for vector in STREAMS])
def test_a_timed_stream_gives_its_outcomes_in_order(vector: dict[str, Any]) -> None:
    codec = codec_for(profile(vector["profile"]))
    outcomes: list[Outcome] = []
    ms = 0
    for ms, chunk in vector["chunks"]:
        outcomes += codec.feed(bytes.fromhex(chunk), at(ms))
    outcomes += codec.idle(at(ms + 2000))
    assert [told(outcome) for outcome in outcomes] == vector["events"]


@pytest.mark.parametrize("vector", STREAMS, ids=[vector["id"] for vector in STREAMS])
def test_a_timed_stream_is_the_same_with_silence_told_in_time(vector: dict[str, Any]) -> None:
    codec = codec_for(profile(vector["profile"]))
    outcomes: list[Outcome] = []
    ms = 0
    for ms, chunk in [*vector["chunks"], [vector["chunks"][-1][0] + 2000, ""]]:
        if codec.silence_s is not None:
            outcomes += codec.idle(at(ms))
        outcomes += codec.feed(bytes.fromhex(chunk), at(ms))
    assert [told(outcome) for outcome in outcomes] == vector["events"]
