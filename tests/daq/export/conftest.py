"""What several tests of this room look at."""

from pathlib import Path

import pytest

from tests.daq.export.awkward import awkward


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the awkward session; nobody changes it."""
    return awkward(tmp_path_factory.mktemp("awkward") / "s").folder
