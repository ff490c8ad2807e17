"""Places as people write them: in the order of the route, with whatever stands between."""

import pytest

from daq.errors import Refused
from daq.lengths import Position
from daq.record.state import State, find_position
from tests.builders import Bench, opened

PLAN = """\
schema = 1
part = "crankshaft"

[check]
stack = "59.970 mm"
readings = 2

[defaults]
stations = ["front", "oil hole"]
angles_deg = [0, 45]
repeats = 2

[[journal]]
name = "M2"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "Rod 1"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "rod 1"
low = "59.970 mm"
high = "59.990 mm"

[[journal]]
name = "P"
low = "59.970 mm"
high = "59.990 mm"
stations = ["1", "1 45"]
"""
"""Two names that differ by their capitals, and a station whose name ends like an angle."""


@pytest.fixture(scope="module")
def state(tmp_path_factory: pytest.TempPathFactory) -> State:
    bench = Bench.new(tmp_path_factory.mktemp("places") / "s", opened(PLAN))
    bench.close()
    return bench.state


M2 = Position("M2", "front", 45)


@pytest.mark.parametrize(
    "text",
    [
        "M2/front/45",
        "M2 / front / 45",
        "m2 front 45",
        "  M2   Front  45°",
        "M2 front 45 °",
        "m2, front, 45",
        "M2 FRONT 45 deg",
        "M2 front/45",
        "M2 front 45 1",
        "m2 front 45° repeat 1",
        "M2/front/045",
    ],
)
def test_a_place_is_found_however_it_is_written(state: State, text: str) -> None:
    assert find_position(state, text) == M2


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("M2 front 45 2", Position("M2", "front", 45, 2)),
        ("M2 front 45° repeat 2", Position("M2", "front", 45, 2)),
        ("m2 oil hole 0", Position("M2", "oil hole", 0)),
        ("Rod 1 front 0", Position("Rod 1", "front", 0)),
        ("rod 1 front 0", Position("rod 1", "front", 0)),  # as it is written goes first
        ("p 1 0", Position("P", "1", 0)),
        ("p 1 45 45", Position("P", "1 45", 45)),
        ("p 1 45 0 2", Position("P", "1 45", 0, 2)),
    ],
)
def test_repeat_and_names_with_spaces_are_told_apart(
    state: State, text: str, place: Position
) -> None:
    assert find_position(state, text) == place


def test_two_that_fit_are_both_named(state: State) -> None:
    with pytest.raises(Refused, match="may be Rod 1/front/0 or rod 1/front/0: write it like that"):
        find_position(state, "ROD 1 front 0")


@pytest.mark.parametrize(
    "text", ["", " ", "/", "M2", "M2 front", "M2 front 90", "M2 front 45 3", "M3 front 45", "45"]
)
def test_what_is_no_place_is_refused_with_an_example(state: State, text: str) -> None:
    with pytest.raises(Refused, match="Type it like M2 front 0°"):
        find_position(state, text)
