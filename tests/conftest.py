"""How hard hypothesis searches: one profile for all tests, and a deep one for a long run by hand.

The suite asks the same examples every time, so that a red build is the doing of a change and not of
luck. Luck belongs to the deep run, which draws anew each time:
`python -m pytest tests/contracts --hypothesis-profile=deep --timeout=0`, or the name of the profile
in the environment variable HYPOTHESIS_PROFILE. No profile has a deadline: how long one example
takes says more about the machine than about the program.
"""

import os
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.first_run import compile_once, is_first

WAITING = Path(__file__).parent / "system"
"""What is tested there runs in processes of its own, and the test waits for it."""

SUITE, DEEP = "suite", "deep"

settings.register_profile(
    SUITE,
    deadline=None,
    derandomize=True,
    max_examples=100,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    DEEP, settings.get_profile(SUITE), derandomize=False, max_examples=5000, print_blob=True
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", SUITE))


def pytest_xdist_setupnodes(config: pytest.Config) -> None:
    """Before the workers of a whole run start."""
    if config.args_source is pytest.Config.ArgsSource.TESTPATHS and is_first():
        compile_once()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that wait are spread among those that reckon, file by file: side by side they take the
    time of the longer ones, where one after the other they take that of both.
    """
    files = [list(of_one) for _, of_one in groupby(items, lambda item: item.path)]
    waiting = [each for each in files if WAITING in each[0].path.parents]
    others = [each for each in files if WAITING not in each[0].path.parents]
    placed = sorted([*_evenly(waiting), *_evenly(others)], key=lambda place: place[0])
    items[:] = [item for _, of_one in placed for item in of_one]


def _evenly(files: Sequence[list[pytest.Item]]) -> list[tuple[float, list[pytest.Item]]]:
    """Each with its place from 0 to 1, by how many tests come before it."""
    whole = sum(map(len, files))
    placed, before = [], 0
    for each in files:
        placed.append(((before + len(each) / 2) / whole, each))
        before += len(each)
    return placed
