"""What a record costs in calls to the system: two looks, one write, one sync, and no other."""

import os
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import BuiltinFunctionType
from typing import Any

import pytest

from daq.record.events import Entry, Noted
from daq.storage.ledger import Ledger
from tests.builders import START_US, opened

NOT_THE_SYSTEMS = {"fspath", "fsencode", "fsdecode"}


def counted(name: str, call: Callable[..., Any], calls: Counter[str]) -> Callable[..., Any]:
    def counting(*args: Any, **options: Any) -> Any:
        calls[name] += 1
        return call(*args, **options)

    return counting


@pytest.mark.parametrize("many", [1, 2, 50])
def test_a_batch_costs_four_calls_whatever_it_holds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, many: int
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([Entry(1, START_US, opened())])
    calls: Counter[str] = Counter()
    with monkeypatch.context() as patched:
        for name, call in vars(os).copy().items():
            if isinstance(call, BuiltinFunctionType) and name not in NOT_THE_SYSTEMS:
                patched.setattr(os, name, counted(name, call, calls))
        ledger.append(
            [Entry(seq, START_US, Noted(about="note", text="x")) for seq in range(2, 2 + many)]
        )
        found = dict(calls)
    ledger.close()
    assert found == {"fstat": 1, "stat": 1, "write": 1, "fdatasync": 1}
