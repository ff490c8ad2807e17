"""An argument echoed in a message is told whole as long as a path may be, else in its beginning."""

import pytest

from daq.cli.shortened import MOST_ECHOED, shortened
from drivers.printable import MOST_SHOWN


def test_what_a_path_may_be_stands_whole() -> None:
    path = "/" + "p" * (MOST_ECHOED - 1)
    assert shortened(f"{path} is not there", [path]) == f"{path} is not there"


def test_of_a_longer_argument_the_beginning_stands_with_or_without_blanks() -> None:
    for piece in ("p", "p q "):
        long = (piece * 2 * MOST_ECHOED)[: MOST_ECHOED + 1]
        cut = long[: MOST_SHOWN - 1] + "…"
        assert shortened(f"What is {long}? Say.", [long]) == f"What is {cut}? Say."


def test_a_value_behind_its_option_and_one_that_was_quoted_are_found() -> None:
    long = "a'b\n" * 100
    cut = long[: MOST_SHOWN - 1] + "…"
    assert shortened(f"got {long!r}.", [f"--part={long}"]) == f'got "{cut}".'


def test_a_long_word_that_nobody_gave_is_cut_too() -> None:
    word = "w" * (MOST_ECHOED + 1)
    assert shortened(f"a {word} b") == f"a {word[: MOST_SHOWN - 1]}… b"


@pytest.mark.parametrize("short", ["", "x", "--part=x", "="])
def test_short_arguments_change_nothing(short: str) -> None:
    assert shortened("some = words x", [short]) == "some = words x"
