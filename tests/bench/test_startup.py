"""Slow modules stay off the ways that do not need them; the program runs in its own process."""

from pathlib import Path

import pytest

from bench.modules import SLOW, SLOW_IN_A_RUN, loaded, measured_session, slow_ones


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, set[str]]:
    """An accepted session, and what measuring it loaded."""
    return measured_session(tmp_path_factory.mktemp("measured"))


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["measure", "--help"]], ids=" ".join)
def test_help_and_version_load_nothing_slow(words: list[str], tmp_path: Path) -> None:
    modules = loaded(tmp_path, words)
    assert "daq.cli.app" in modules
    assert slow_ones(modules, SLOW) == []


@pytest.mark.parametrize("word", ["verify", "export"])
def test_verify_and_export_load_nothing_slow(
    word: str, measured: tuple[Path, set[str]], tmp_path: Path
) -> None:
    session, _ = measured
    modules = loaded(tmp_path, [word, str(session)])
    assert f"daq.cli.commands.{word}" in modules
    assert slow_ones(modules, SLOW) == []


def test_a_plain_run_loads_neither_tables_nor_a_display(measured: tuple[Path, set[str]]) -> None:
    _, modules = measured
    assert {"daq.acquisition.session_run", "serial"} <= modules
    assert slow_ones(modules, SLOW_IN_A_RUN) == []


def test_a_slow_module_would_be_seen() -> None:
    assert slow_ones({"os", "rich", "numpy"}, SLOW) == ["numpy", "rich"]
