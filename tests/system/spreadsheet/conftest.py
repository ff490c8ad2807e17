"""A session full of awkward texts, and the spreadsheets that open it."""

import os
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.daq.export.awkward import awkward
from tests.system.spreadsheet.office import LOCALES, SOFFICE, Office


@pytest.fixture(scope="session")
def offices(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Office]:
    """One a country."""
    if SOFFICE is None:
        reason = "there is no soffice: apt-get install libreoffice-calc libreoffice-l10n-de"
        if os.environ.get("JBRIDGE_SPREADSHEET") == "require":
            pytest.fail(reason)
        pytest.skip(reason)
    folder = tmp_path_factory.mktemp("office")
    return {locale: Office(folder, locale) for locale in LOCALES}


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the awkward session; nobody changes it."""
    return awkward(tmp_path_factory.mktemp("awkward") / "s").folder
