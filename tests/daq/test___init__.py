"""What is public: it can be listed, its help can be read, its types are real."""

import inspect
import pydoc
import subprocess
import sys
import typing
from pathlib import Path

import pytest

import daq
from tests.builders import accepted
from tests.places import ROOT

PUBLIC = [name for name in daq.__all__ if name != "__version__"]


@pytest.mark.parametrize("name", PUBLIC)
def test_its_types_can_be_read(name: str) -> None:
    thing = getattr(daq, name)
    typing.get_type_hints(thing)
    if inspect.isclass(thing):
        members = [*inspect.getmembers(thing, inspect.isfunction)]
        members += [
            (key, value.fget)
            for key, value in inspect.getmembers(thing, lambda each: isinstance(each, property))
        ]
        for key, member in members:
            if not key.startswith("_"):
                assert "return" in typing.get_type_hints(member), key
    else:
        assert "return" in typing.get_type_hints(thing)


@pytest.mark.parametrize("name", PUBLIC)
def test_its_help_can_be_read(name: str) -> None:
    text = pydoc.plain(pydoc.render_doc(getattr(daq, name)))
    assert name in text
    assert inspect.getdoc(getattr(daq, name))


def test_help_on_a_session_that_was_loaded_and_on_the_package(tmp_path: Path) -> None:
    session = daq.load(accepted(tmp_path / "s").folder)
    assert "value_text" in pydoc.plain(pydoc.render_doc(session))
    text = pydoc.plain(pydoc.render_doc(daq))
    for name in PUBLIC:
        assert name in text


def test_all_of_it_is_listed_and_nothing_else_is_found() -> None:
    assert set(daq.__all__) <= set(dir(daq))
    assert getattr(daq, "nothing", None) is None
    with pytest.raises(AttributeError, match="module 'daq' has no attribute 'nothing'"):
        daq.nothing  # noqa: B018


def test_the_command_line_loads_none_of_it_to_begin() -> None:
    code = (
        "import sys, daq, daq.cli.app; from daq import __version__, LedgerError; "
        "print([n for n in ('pandas', 'daq.services.live_session') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"
