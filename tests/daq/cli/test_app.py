"""A request to end that comes where nothing can be raised is made again, not lost."""

import signal
import sys
from types import SimpleNamespace

import pytest

from daq.cli import app


def test_one_that_comes_while_another_is_being_put_off_is_put_off_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """On a busy machine the repeated request comes before the first one is put away."""
    end, again = app._Ending(), list[bool]()

    def comes_at_once() -> None:
        again.append(True)
        if len(again) == 1:
            end.handle(signal.SIGINT, sys._getframe())

    monkeypatch.setattr(app, "_interrupt_soon", comes_at_once)
    end.not_raised(SimpleNamespace(exc_type=KeyboardInterrupt))
    assert len(again) == 2
    with pytest.raises(KeyboardInterrupt):
        end.handle(signal.SIGINT, sys._getframe())
