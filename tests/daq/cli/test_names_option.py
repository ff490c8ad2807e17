"""`--only` with several names, in every order people write it."""

import pytest

from daq.cli.names_option import spread


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("plan.toml --only M1 M2", "--only M1 --only M2 plan.toml"),
        ("plan.toml --only M1 --only M2", "--only M1 --only M2 plan.toml"),
        ("--only M1 M2 --plain plan.toml", "--only M1 --only M2 --plain plan.toml"),
        ("plan.toml --only M1 M2 --job 7", "--only M1 --only M2 plan.toml --job 7"),
        ("plan.toml --job 7", "plan.toml --job 7"),
        ("--only M1 plan.toml", "--only M1 plan.toml"),
        ("--job 7 --only M1 M2 plan.toml", "--only M1 --only M2 --job 7 plan.toml"),
        ("--only M1 M2 -- plan.toml", "--only M1 --only M2 -- plan.toml"),
        ("--plain=1 --only M1 20261125T080000Z-kqwe", "--only M1 --plain=1 20261125T080000Z-kqwe"),
    ],
)
def test_names_behind_only_are_spread(written: str, read: str) -> None:
    assert spread(written.split()) == read.split()
