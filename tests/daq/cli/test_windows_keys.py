"""Keys of a Windows console, played by what stands in for msvcrt."""

import signal
from collections import deque
from collections.abc import Callable

import pytest

from daq.cli.windows_keys import WindowsKeys


class PlayedConsole:
    """Keys as _getwch gives them: an arrow or function key in two halves."""

    def __init__(self, keys: str) -> None:
        self._keys = deque(keys)
        self.when_over: Callable[[], None] = lambda: None

    def kbhit(self) -> bool:
        """A key is left."""
        if not self._keys:
            self.when_over()
        return bool(self._keys)

    def getwch(self) -> str:
        """The next one."""
        return self._keys.popleft()


def heard(keys: str) -> list[str]:
    """What is read until nothing is left or the input ends, "" for its end."""
    console = PlayedConsole(keys)
    source = WindowsKeys(console)
    console.when_over = source.stop
    found: list[str] = []
    while (key := source.read()) is not None:
        found.append(key)
        if not key:
            break
    return found


def test_letters_enter_and_backspace_come_one_by_one() -> None:
    assert heard("st\x08\r") == ["s", "t", "\x08", "\r"]


@pytest.mark.parametrize(
    "key",
    ["\xe0H", "\xe0P", "\xe0K", "\xe0M", "\xe0S", "\xe0\x86", "\x00;", "\x00D"],
    ids=["up", "down", "left", "right", "delete", "F12", "F1", "F10"],
)
def test_arrow_and_function_keys_mean_nothing(key: str) -> None:
    assert heard(f"a{key}b") == ["a", "b"]


def test_a_letter_that_looks_like_half_a_key_is_the_letter() -> None:
    """U+00E0 is an a with a grave accent, and what comes before the second half of an arrow."""
    assert heard("\xe0 \xe0r") == ["\xe0 ", "\xe0r"]


@pytest.mark.parametrize("key", ["\x1a", "\x04"])
def test_ctrl_z_and_ctrl_d_end_the_input(key: str) -> None:
    assert heard(f"a{key}b") == ["a", ""]


def test_a_stop_ends_the_waiting_for_a_key() -> None:
    assert heard("") == []


def test_ctrl_c_taken_as_a_key_is_still_an_interrupt() -> None:
    source, told = WindowsKeys(PlayedConsole("\x03a")), list[int]()
    before = signal.signal(signal.SIGINT, lambda number, frame: told.append(number))
    try:
        assert source.read() == "a"
    finally:
        signal.signal(signal.SIGINT, before)
    assert told == [signal.SIGINT]
