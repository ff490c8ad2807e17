"""How hard hypothesis searches: one profile for all tests, and a deep one for a long run by hand.

The suite asks the same examples every time, so that a red build is the doing of a change and not of
luck. Luck belongs to the deep run, which draws anew each time:
`python -m pytest tests/contracts --hypothesis-profile=deep --timeout=0`, or the name of the profile
in the environment variable HYPOTHESIS_PROFILE. No profile has a deadline: how long one example
takes says more about the machine than about the program.
"""

import os

import pytest
from hypothesis import HealthCheck, settings

from tests.first_run import compile_once, is_first

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
