"""DEVELOPERS.md against the tree: what it draws is there, and nothing else is."""

import ast
import inspect
import re
import tomllib

import pytest

import daq
import drivers.profile
from tests.house.guide import GUIDE, named, part, tree
from tests.places import ROOT

ROOMS = ("daq", "drivers")
TREE = dict(tree())


def with_init(top: str) -> set[str]:
    """The folders below a package, as the tree writes them."""
    inits = (ROOT / top).rglob("__init__.py")
    return {f"{init.parent.relative_to(ROOT).as_posix()}/" for init in inits}


@pytest.mark.parametrize("top", ROOMS)
def test_every_room_stands_in_the_tree_and_nothing_else_does(top: str) -> None:
    drawn = {path for path in TREE if path.startswith(f"{top}/") and path.endswith("/")}
    assert drawn == with_init(top)


@pytest.mark.parametrize("top", ROOMS)
def test_every_file_beside_the_rooms_stands_in_the_tree(top: str) -> None:
    drawn = {path for path in TREE if path.startswith(f"{top}/") and path.endswith(".py")}
    beside = {f"{top}/{file.name}" for file in (ROOT / top).glob("*.py")}
    assert drawn == beside - {f"{top}/__init__.py"}


def test_everything_in_the_tree_is_there_and_says_what_it_is() -> None:
    for path, words in TREE.items():
        assert (ROOT / path).is_dir() if path.endswith("/") else (ROOT / path).is_file(), path
        assert words, path


def layers(top: str) -> list[list[str]]:
    """The layers of a package as import-linter checks them, the highest first."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    (found,) = [
        one["layers"]
        for one in contracts["contracts"]
        if one["type"] == "layers" and one["layers"][0].startswith(f"{top}.")
    ]
    return [[name.strip() for name in layer.split("|")] for layer in found]


@pytest.mark.parametrize("top", ROOMS)
def test_the_tree_stands_in_the_order_of_the_layers(top: str) -> None:
    """What stands below in the tree is seen from above; those of one layer stand together."""
    drawn = [
        path.rstrip("/").removesuffix(".py").replace("/", ".")
        for path in TREE
        if re.fullmatch(rf"{top}/\w+(/|\.py)", path) and "__main__" not in path
    ]
    in_layers = layers(top)
    assert sorted(drawn) == sorted(name for layer in in_layers for name in layer)
    level = {name: number for number, layer in enumerate(in_layers) for name in layer}
    assert [level[name] for name in drawn] == sorted(level.values())


def test_the_number_of_layers_is_that_of_the_contracts() -> None:
    said = re.search(r"(\d+) lines of layers in `daq/`, (\d+)\s+in `drivers/`", GUIDE)
    assert said is not None
    assert [int(number) for number in said.groups()] == [len(layers(top)) for top in ROOMS]


PATH = re.compile(r"`((?:\.ci|[\w-]+)(?:/[\w.-]+)*/?)`")
FILE = re.compile(r"(?:/|\.(?:py|md|toml|txt)$)")


def paths_named() -> list[str]:
    """What the guide calls by a path, in its text, its commands and its remarks."""
    told = [path for path in PATH.findall(GUIDE) if FILE.search(path)]
    commands = re.findall(
        r"(?<![\w/.])((?:\.ci|tests|bench|daq|drivers|simulator)/[\w./-]+)", GUIDE
    )
    return sorted({*told, *(path.rstrip(".") for path in commands)})


def test_every_path_that_is_named_exists() -> None:
    found = paths_named()
    assert len(found) > 80
    assert [path for path in found if not (ROOT / path).exists()] == []


def names_in(path: str) -> set[str]:
    """What a module defines at its top, and what its classes define, as Class.name."""
    found: set[str] = set()

    def add(body: list[ast.stmt], before: str) -> None:
        for node in body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                found.add(before + node.name)
            if isinstance(node, ast.ClassDef):
                add(node.body, f"{before}{node.name}.")
            targets = node.targets if isinstance(node, ast.Assign) else []
            if isinstance(node, ast.AnnAssign):
                targets = [node.target]
            found.update(before + target.id for target in targets if isinstance(target, ast.Name))

    add(ast.parse((ROOT / path).read_text(encoding="utf-8")).body, "")
    return found


def test_what_is_named_behind_a_file_stands_in_it() -> None:
    found = named(GUIDE)
    assert len(found) > 60
    assert [(path, name) for path, name in found if name not in names_in(path)] == []


def test_the_profile_schema_is_that_of_its_package_word_for_word() -> None:
    doc = inspect.cleandoc(drivers.profile.__doc__ or "").partition("# Profile schema 1\n")[2]
    deeper = re.sub(r"^(#+ )", r"##\1", doc, flags=re.MULTILINE)
    assert part("Profile schema 1").strip() == deeper.strip()


def test_what_is_called_public_is_what_the_package_offers() -> None:
    told = set(re.findall(r"`daq\.(\w+)`", part("What is public")))
    assert told == set(daq.__all__)


def test_the_folders_of_tests_are_those_that_there_are() -> None:
    told = set(re.findall(r"`(tests/\w+)`", part("Tests")))
    there = {f"tests/{path.name}" for path in (ROOT / "tests").iterdir() if path.is_dir()}
    assert told - {"tests/system/kernel", "tests/system/browser"} == there - {"tests/__pycache__"}


def decisions() -> list[tuple[int, str]]:
    """The decisions: their number, and their text."""
    found = re.split(r"^\*\*D(\d+)\. ", part("Decisions"), flags=re.MULTILINE)[1:]
    return [(int(number), text) for number, text in zip(found[::2], found[1::2], strict=True)]


def test_decisions_are_numbered_in_their_order_and_dated() -> None:
    assert [number for number, _ in decisions()] == list(range(1, len(decisions()) + 1))
    days = re.findall(r"^### (.*)$", part("Decisions"), re.MULTILINE)
    assert days == sorted(days)
    assert all(re.fullmatch(r"20\d\d-\d\d-\d\d", day) for day in days)
    assert part("Decisions").index(f"### {days[0]}") < part("Decisions").index("**D1.")


def test_every_decision_says_what_was_decided_and_what_came_of_it() -> None:
    for number, text in decisions():
        assert "*Decision:*" in text, number
        assert "*Consequence:*" in text.replace("\n", " "), number


def test_a_decision_that_is_pointed_to_is_there_and_a_replacement_is_later() -> None:
    numbers = dict(decisions())
    assert {int(number) for number in re.findall(r"\bD(\d+)\b", GUIDE)} <= set(numbers)
    for number, text in numbers.items():
        for later in re.findall(r"replaced by D(\d+)", text.partition("*Decision:*")[0]):
            assert int(later) > number
            assert re.search(rf"\bD{number}\b", numbers[int(later)]), (
                f"D{later} tells of no D{number}"
            )
