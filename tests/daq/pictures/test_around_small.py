"""Many journals' diameters side by side: comparable, honest, whatever their names are."""

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree

from daq.board.board import JournalRow
from daq.cli.views.ended import ended
from daq.cli.views.sheet_drawings import rows_of
from daq.pictures.around_small import around_small, key_of
from daq.pictures.layout import JournalDrawn, layout_of
from tests.daq.cli.views.closing_sessions import begun, crank, drive, sized


def drawn(sizes: dict[str, str]) -> tuple[list[JournalDrawn], list[JournalRow]]:
    with TemporaryDirectory() as folder:
        plan = crank(len(sizes), 0)
        state = drive(begun(Path(folder) / "s", plan), sized(sizes)).close().state
    return list(layout_of(state.plan.journals).journals), rows_of(ended(state))


def low_radius(svg: str) -> str:
    found = re.search(r'r="([\d.]+)" class="pic-low', svg)
    assert found is not None
    return found[1]


def test_journals_of_the_same_limits_share_a_scale_but_for_one_far_off() -> None:
    one, two, far = around_small(*drawn({"M1": "59.982", "M2": "59.971", "M3": "59.700"}))
    assert low_radius(one) == low_radius(two)
    assert low_radius(far) != low_radius(one)
    # The limits are 0.02 mm apart: at most six steps of 0.005 mm.
    assert "0.005 mm a ring" in one
    # 59.70 to 59.99 is 0.29: at most six steps of 0.05 mm
    assert "0.05 mm a ring" in far


def test_every_mark_stands_there_once_and_once_hollow() -> None:
    (svg,) = around_small(*drawn({"M1": "59.982"}))
    # two stations at four angles, each mirrored; a ring around the smallest
    assert len(re.findall(r'r="5"', svg)) == 4
    assert len(re.findall(r'r="3.8"', svg)) == 4
    assert len(re.findall(r'class="pic-smallest', svg)) == 1
    assert "M1: front 0° 59.9820" in svg


def test_a_journal_without_diameters_is_not_drawn() -> None:
    journals, _ = drawn({"M1": "59.982"})
    assert around_small(journals, []) == []


def test_the_key_names_journals_only_where_their_stations_differ() -> None:
    one = key_of([("M1-M5", ("front", "rear"))], has_high=True)
    assert "M1-M5</" not in one.replace("<desc>M1-M5", "")
    assert "high limit" in one
    two = key_of([("M1-M5", ("front", "rear")), ("R1", ("<b>",))], has_high=False)
    assert ">M1-M5</tspan>" in two
    assert "&lt;b&gt;" in two
    assert "high limit" not in two
    ElementTree.fromstring(two)


def test_of_many_sorts_and_long_names_the_key_stays_small() -> None:
    sorts = [(f"M{n}" * 50, ("a station " * 30, "b")) for n in range(40)]
    svg = key_of(sorts, has_high=True)
    assert len(svg) < 20_000
    assert "stations of the others in their order" in svg
    ElementTree.fromstring(svg)
