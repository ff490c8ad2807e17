"""`--only` with several names, in every order people write it."""

from pathlib import Path

import pytest

from daq.cli.only import spread


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("plan.toml --only M1 M2", "plan.toml --only M1 --only M2"),
        ("plan.toml --only M1 --only M2", "plan.toml --only M1 --only M2"),
        ("--only M1 M2 --plain plan.toml", "--plain plan.toml --only M1 --only M2"),
        ("plan.toml --only M1 M2 --job 7", "plan.toml --job 7 --only M1 --only M2"),
        ("plan.toml --job 7", "plan.toml --job 7"),
        ("--job 7 --only M1", "--job 7 --only M1"),
    ],
)
def test_names_behind_only_are_spread(written: str, read: str) -> None:
    assert spread(written.split()) == read.split()


def test_a_file_behind_the_names_is_the_plan_where_none_was_given(tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text("")
    assert spread(["--only", "M1", str(plan)]) == [str(plan), "--only", "M1"]
    assert spread(["--job", "7", "--only", "M1", str(plan)])[-3:] == [str(plan), "--only", "M1"]
