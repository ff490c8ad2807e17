"""The guide's examples on frames run as they stand, and give what they say."""

import re
from pathlib import Path
from typing import Any

import msgspec
import pytest

from daq.export.csv_files import files_of, write_files
from daq.guide.topics import text_of
from daq.storage.ledger import scan
from tests.builders import PLAN, Bench, opened

UNDERSIZE = """
[[group.undersize]]
name = "0.50"
by = "0.50 mm"
low = "50.280 mm"
high = "50.300 mm"
"""
MAINS = ("59.980", "59.981", "59.979", "59.982")


def measured(folder: Path, name: str, *rods: str) -> None:
    """A session of PLAN with an undersize for the rods, which read so."""
    plan = PLAN.replace('stack = "50.780 mm"\n', f'stack = "50.780 mm"\n{UNDERSIZE}')
    plan = plan.replace('low = "50.780 mm"\n', 'low = "50.780 mm"\nwindow = "1 mm"\n')
    first = msgspec.structs.replace(opened(plan, job=name), session=f"20261125T080000Z-{name}")
    bench = Bench.new(folder / name, first).press("59.970", "59.971", *MAINS, "59.970", "59.970")
    bench.press("50.780", "50.781", *rods, "50.780", "50.780").close()
    write_files(bench.folder, files_of(bench.state, scan(bench.folder)))


def shown(example: str, known: dict[str, Any]) -> Any:
    """What the last line of an example gives."""
    *lines, last = example.strip().splitlines()
    exec("\n".join(lines), known)
    return eval(last, known)


def test_the_examples_give_what_the_guide_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    measured(tmp_path / "SESSIONS", "good", "50.790", "50.791")
    measured(tmp_path / "SESSIONS", "worn", "50.770", "50.771")
    measured(tmp_path / "SESSIONS", "lost", "50.250", "50.251")  # under 50.300
    (tmp_path / "SESSION").symlink_to(tmp_path / "SESSIONS" / "good")
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", text_of("python"), re.S)
    load, pivot, many, chart, pictures, _ = blocks
    known: dict[str, Any] = {}
    verdict, _ = shown(load, known)
    assert verdict == "accepted"
    table = shown(pivot, known)
    # 59.980 less 0.00025, the mean of the errors before and after
    assert table.loc["front", 0] == 59.97975
    assert (list(table.index), list(table.columns)) == (["front", "rear"], [0, 90])
    found = shown(many, known)
    assert sorted(found["job"]) == ["good", "worn"]
    over_time = shown(chart, known)
    assert list(over_time.columns) == [("mic-50-75", "after"), ("mic-50-75", "before")]
    assert over_time.iloc[0][("mic-50-75", "after")] == 0.0
    assert shown(pictures, known)._repr_svg_().startswith("<svg ")
