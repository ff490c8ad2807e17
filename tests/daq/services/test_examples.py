"""The shipped example plans: invented, whole, free of doubts, measurable with shipped blocks."""

import pytest

from daq.equipment.stacks.making import Maker
from daq.errors import UsageError
from daq.lengths import parse_length
from daq.plan.decidable import GaugeKnown
from daq.plan.drafting.toml_text import MARK
from daq.plan.plan import parse_plan
from daq.plan.scope import make_scope
from daq.services.examples import EXAMPLES, Example, example, examples
from daq.services.home import load_block_set
from daq.services.plan_doubts import doubts
from daq.services.stack_proposals import proposals

# Journals times stations times angles, counted by hand.
READINGS = {
    "inline-four": 9 * 2 * 4,
    "single-inch": 3 * 2 * 4,
    "three-throw-pump": 2 * 2 * 6 + 3 * 3 * 6,
    "v6-shared-pins": 7 * 2 * 4,
}
ALL = examples()


def name_of(one: Example) -> str:
    return one.name


def test_there_are_four() -> None:
    assert [one.name for one in ALL] == sorted(READINGS)
    assert {path.stem for path in EXAMPLES.glob("*")} == set(READINGS)


@pytest.mark.parametrize("one", ALL, ids=name_of)
def test_it_says_that_it_is_invented_and_what_to_do(one: Example) -> None:
    head = one.text.split("schema =")[0]
    assert head.startswith(f"{MARK} --like {one.name}.")
    assert "INVENTED. Replace every number by the maker's" in head
    assert "(invented)" in parse_plan(one.text, one.name).part


@pytest.mark.parametrize("one", ALL, ids=name_of)
def test_nothing_looks_out_of_place_with_the_gauge_that_it_is_for(
    one: Example, tmp_path_factory: pytest.TempPathFactory
) -> None:
    step = "0.00005 in" if one.name == "single-inch" else "0.001 mm"
    known = GaugeKnown(parse_length(step).mm)
    assert doubts(one.text, one.name, tmp_path_factory.mktemp("home"), known) == ()


@pytest.mark.parametrize("one", ALL, ids=name_of)
def test_its_route_is_as_long_as_its_line_says(one: Example) -> None:
    scope = make_scope(parse_plan(one.text, one.name), (), None, {})
    assert len(scope.route) == READINGS[one.name]
    assert f"{READINGS[one.name]} readings" in one.title
    assert len(f"{one.name:<16}  {one.title}") < 80


@pytest.mark.parametrize("one", ALL, ids=name_of)
def test_its_stacks_are_those_that_a_shipped_set_makes_for_it(
    one: Example, tmp_path_factory: pytest.TempPathFactory
) -> None:
    home = tmp_path_factory.mktemp("home")
    for word in ("inch-81",) if one.name == "single-inch" else ("M112", "M87", "M46"):
        makers = {unit: Maker(load_block_set(word, unit, home)) for unit in ("mm", "in")}
        for proposed in proposals(parse_plan(one.text, one.name), makers.__getitem__):
            assert proposed.stack is not None, word
            assert proposed.away_um == 0
            assert str(proposed.stack.nominal) == proposed.planned


def test_a_name_that_is_none_is_refused_with_those_there_are() -> None:
    assert example("inline-four").name == "inline-four"
    with pytest.raises(UsageError, match="there are inline-four, single-inch"):
        example("../inline-four")
