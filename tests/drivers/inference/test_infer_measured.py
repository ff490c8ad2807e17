"""The measurement of bench/teach.py, small: nothing that was taught may ever be misread."""

import random

import pytest

from bench.taught_gauges import GAUGES
from bench.taught_traps import TRAPS
from bench.teach import RIGHT, WRONG, counts, decoded, is_wrong, truth

SETS = 3


@pytest.mark.parametrize("name", GAUGES)
def test_the_gauges_say_what_their_profiles_mean(name: str) -> None:
    """Else the measurement would measure its own mistakes."""
    gauge, rng = GAUGES[name], random.Random(3)
    layout = gauge.layout or "us"
    profile = truth(name, layout)
    sent = [gauge.press(rng) for _ in range(100)]
    sent += [gauge.odd(rng) for _ in range(20)] if gauge.odd is not None else []
    for press, got in zip(sent, decoded(profile, sent), strict=True):
        assert not is_wrong(press, got, is_answered=True), (press, got)
        assert (press.value is None) is hasattr(got, "code"), (press, got)


@pytest.mark.parametrize("is_answered", [True, False], ids=["answered", "accepted"])
@pytest.mark.parametrize("name", [*GAUGES, *TRAPS])
def test_nothing_is_misread(name: str, is_answered: bool) -> None:
    found, verdicts = counts(name, SETS, is_answered=is_answered, seed=11)
    assert not found[WRONG], next(v.story for v in verdicts if v.outcome == WRONG)


def test_an_operator_who_answers_gets_a_working_profile() -> None:
    total = right = 0
    for name in GAUGES:
        found, _ = counts(name, SETS, is_answered=True, seed=11)
        total, right = total + SETS, right + found[RIGHT]
    assert right / total > 0.8
