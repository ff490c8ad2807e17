"""One queue of many threads: what a person does goes before what the gauge has sent by then."""

import threading
from collections.abc import Callable

import msgspec
import pytest

from daq.acquisition.inputs import (
    Item,
    KeyboardGone,
    KeyRefused,
    KeyWord,
    Nudged,
    SendPressed,
    TakingMode,
    Typed,
)
from daq.acquisition.sources import Sources
from drivers.attached.device_id import DeviceId
from drivers.clock import Clock
from drivers.profile.file import parse_profile
from drivers.reading import Reading, plain

PATIENCE_S = 10.0
PROFILE = (
    'schema = 1\nid = "t"\nkind = "text"\n[frame]\nend = "\\r\\n"\n'
    '[[layout]]\nname = "number"\nform = "fixed"\n'
)


class Sending:
    """A port that has sent some frames, and then says nothing."""

    name = "sending"
    identity = DeviceId("sending")

    def __init__(self, frames: int) -> None:
        self._data = b"".join(b"%d.0\r\n" % number for number in range(frames))
        self._woken = threading.Event()

    def read(self, timeout_s: float | None) -> bytes:
        if timeout_s == 0.0:
            return b""
        data, self._data = self._data, b""
        if not data:
            self._woken.wait(PATIENCE_S)
        return data

    def write(self, data: bytes) -> None: ...

    def notices(self) -> tuple[str, ...]:
        return ()

    def wake(self) -> None:
        self._woken.set()

    def close(self) -> None: ...


def name_of(item: Item | None) -> str:
    match item:
        case Reading():
            return plain(item.value)
        case Typed():
            return item.text
        case _:
            return type(item).__name__


def taken(sources: Sources, count: int) -> list[str]:
    """So many items, in their order, but for the nudges."""
    names: list[str] = []
    while len(names) < count:
        item = sources.take(PATIENCE_S)
        assert item is not None
        if not isinstance(item, Nudged):
            names.append(name_of(item))
    return names


def test_words_go_before_readings_that_wait_and_keep_their_own_order() -> None:
    may_type, has_typed = threading.Event(), threading.Event()

    def keyboard(put: Callable[[Item], None]) -> None:
        may_type.wait(PATIENCE_S)
        for word in ("first", "second"):
            put(Typed(word))
        put(KeyboardGone())
        has_typed.set()

    profile = parse_profile(PROFILE, "t.toml")
    sources = Sources(Sending(5), profile, Clock(), keyboard, TakingMode(), with_signals=False)
    with sources.listening():
        assert taken(sources, 1) == ["0.0"]
        may_type.set()
        assert has_typed.wait(PATIENCE_S)
        words, rest = taken(sources, 3), taken(sources, 4)
    assert words == ["first", "second", "KeyboardGone"]
    assert rest == ["1.0", "2.0", "3.0", "4.0"]


@pytest.mark.parametrize("item", [SendPressed(), KeyWord("keep"), KeyRefused("no word")])
def test_what_a_key_means_bears_the_moment_it_was_pressed(item: SendPressed | KeyWord) -> None:
    def keys(put: Callable[[Item], None]) -> None:
        put(item)

    profile = parse_profile(PROFILE, "t.toml")
    sources = Sources(Sending(0), profile, Clock(), keys, TakingMode(), with_signals=False)
    before = Clock().now()
    with sources.listening():
        came = sources.take(PATIENCE_S)
    assert isinstance(came, SendPressed | KeyWord | KeyRefused)
    assert came.at is not None
    assert before.mono_ns <= came.at.mono_ns <= Clock().now().mono_ns
    assert msgspec.structs.replace(came, at=None) == item


@pytest.mark.parametrize("is_typed", [False, True])
def test_a_word_ends_the_waiting_for_the_gauge(is_typed: bool) -> None:
    def keyboard(put: Callable[[Item], None]) -> None:
        put(Typed("stop"))

    profile, mode = parse_profile(PROFILE, "t.toml"), TakingMode(is_typed=is_typed)
    sources = Sources(Sending(0), profile, Clock(), keyboard, mode, with_signals=False)
    with sources.listening():
        assert taken(sources, 1) == ["stop"]
