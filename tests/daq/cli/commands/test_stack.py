"""`jbridge stack` as a person and as a program meet it."""

import json
from pathlib import Path
from typing import Any

import pytest

from daq.cli.app import run
from daq.services.home import load_stack

PLAN = """schema = 1
part = "crank"
[defaults]
stations = ["front"]
angles_deg = [0, 90]
[[journal]]
name = "M1"
group = "mains"
low = "57.982 mm"
high = "58.000 mm"
[[journal]]
name = "M2"
group = "mains"
low = "59.982 mm"
high = "60.000 mm"
"""


class Told:
    """One call of the command."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def rows(self) -> list[dict[str, Any]]:
        found = json.loads(self.out)
        assert isinstance(found, list)
        return found


class Bench:
    """The command with a home folder of its own."""

    def __init__(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.home, self._capsys = home, capsys

    def __call__(self, *words: str) -> Told:
        code = run(["stack", "--home", str(self.home), *words])
        told = self._capsys.readouterr()
        return Told(code, told.out, told.err)


@pytest.fixture
def stack(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Bench:
    return Bench(tmp_path, capsys)


def test_a_size_is_told_with_blocks_limit_joints_and_uncertainty(stack: Bench) -> None:
    told = stack("57.982 mm", "--grade", "1", "--alternatives", "1")
    # grade 1: 0.20 x 3 + 0.40 = 1 um; U = 2 sqrt((3 x 0.04 + 0.16) / 3 + 3 x 0.012^2) = 0.6124 um
    assert told.code == 0
    assert told.out == (
        "57.982 mm from M112 (112 pieces, steps of 0.0005 mm), grade 1:\n"
        "1.002 + 1.48 + 5.5 + 50 mm   4 blocks, 3 joints\n"
        "  size 57.982 mm as engraved: no certified deviation is known\n"
        "  limit of error, all blocks of grade 1: ±1 µm\n"
        "  uncertainty U = 0.62 µm, k = 2 (standard uncertainty: blocks 0.306 µm, wringing "
        "0.021 µm);\n"
        "    limits of grade 1, rectangular, 4 blocks in quadrature\n"
    )


def test_a_size_may_come_as_two_words(stack: Bench) -> None:
    assert stack("57.982", "mm").out == stack("57.982 mm").out


def test_an_unreachable_size_is_a_no_with_the_nearest(stack: Bench) -> None:
    told = stack("63.4746 mm", "--set", "M88")
    assert told.code == 1
    assert told.out.startswith("There is no stack of 63.4746 mm: no 5 blocks or fewer of M88")
    assert "Nearest under it: 63.4745 mm, 0.1 µm under:" in told.out
    assert "Nearest over it: 63.475 mm, 0.4 µm over:" in told.out


def test_as_json_the_answer_is_one_document(stack: Bench) -> None:
    told = stack("63.4746 mm", "2.0005 mm", "--set", "M88", "--json")
    assert told.code == 1
    (row,) = told.rows
    assert row["asked"] == "63.4746 mm"
    assert [near["nominal"] for near in row["none"]["nearest"]] == ["63.4745 mm", "63.475 mm"]
    good = stack("2.0005 mm", "--set", "M88", "--json").rows[0]["stacks"][0]
    assert [block["nominal"] for block in good["blocks"]] == ["1 mm", "1.0005 mm"]
    assert (good["size_mm"], good["joints"], good["uncertainty"]["basis"]) == (
        "2.0005",
        1,
        "assumed",
    )


def test_several_sizes_share_no_block(stack: Bench) -> None:
    rows = stack("57.970 mm", "58.000 mm", "--json").rows
    used = [block["nominal"] for row in rows for block in row["stacks"][0]["blocks"]]
    assert [row["asked"] for row in rows] == ["57.970 mm", "58.000 mm"]
    assert len(set(used)) == len(used)
    told = stack("50.0005 mm", "50.0015 mm")
    assert told.code == 1
    assert "two of them need the block\n1.0005 mm" in told.out


def test_a_saved_stack_can_be_called_and_its_blocks_are_in_use(stack: Bench) -> None:
    told = stack("57.97 mm", "--grade", "0", "--save", "mains")
    assert "Saved as mains" in told.err
    kept = load_stack("mains", stack.home)
    assert kept is not None
    assert (kept[0].grade, len(kept[0].blocks)) == ("0", 3)
    other = stack("57.97 mm", "--without", "mains", "--json").rows[0]["stacks"][0]
    assert {str(one.nominal) for one in kept[0].blocks}.isdisjoint(
        {block["nominal"] for block in other["blocks"]}
    )
    again = stack("57.97 mm", "--save", "mains")
    assert (again.code, "say --replace" in again.err) == (2, True)
    assert stack("57.97 mm", "--save", "mains", "--replace").code == 0


def test_nothing_is_saved_where_there_is_no_stack(stack: Bench) -> None:
    told = stack("0.75 mm", "--save", "x")
    assert (told.code, "Nothing is saved" in told.err) == (1, True)
    assert load_stack("x", stack.home) is None


def test_protectors_of_a_set_are_not_on_two_stacks(stack: Bench) -> None:
    pair = '[[block]]\nnominal = "2 mm"\nprotector = true\n' * 2
    (stack.home / "blocks").mkdir()
    own = stack.home / "blocks" / "bench.toml"
    own.write_text(f'schema = 1\nlike = "M88"\n{pair}', encoding="utf-8")
    told = stack("57.982 mm", "--protectors", "set", "--save", "mains")
    assert (
        "\n[2] + 1.002 + 1.48 + 1.5 + 50 + [2] mm   6 blocks, 5 joints, [ ] protectors" in told.out
    )
    again = stack("57.982 mm", "--protectors", "set", "--without", "mains")
    assert (again.code, "are on the stack mains" in again.err) == (2, True)
    # the set's own 2 mm block is another one and still free
    assert stack("2 mm", "--without", "mains").out.splitlines()[1] == "2 mm   1 block, 0 joints"


def test_a_plan_gets_a_stack_for_each_group_and_for_journals_far_apart(stack: Bench) -> None:
    path = stack.home / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    told = stack("--plan", str(path))
    assert told.code == 0
    assert 'a [[group]] of their own for M1 with stack = "57.982 mm"' in told.out
    rows = stack("--plan", str(path), "--json").rows
    assert [(row["journals"], row["stack"]["size"]) for row in rows] == [
        (["M1"], "57.982 mm"),
        (["M2"], "59.982 mm"),
    ]


def test_many_journals_of_a_group_are_told_in_short(stack: Bench) -> None:
    many = ", ".join(f'"M{number}"' for number in range(1, 21))
    path = stack.home / "plan.toml"
    path.write_text(
        f"""schema = 1
part = "long crankshaft"
[[group]]
name = "mains"
low = "59.970 mm"
high = "59.990 mm"
[[journal]]
names = [{many}]
group = "mains"
""",
        encoding="utf-8",
    )
    assert "M11, M12 and 8 more: low limit 59.970 mm" in stack("--plan", str(path)).out


def test_a_range_gets_sizes_that_catch_a_periodic_error(stack: Bench) -> None:
    told = stack("--check-range", "50 mm", "75 mm")
    assert told.code == 0
    assert "62.9 mm  288°" in told.out
    assert "permitted ±5 µm (DIN 863-1)" in told.out
    rows = stack("--check-range", "0 in", "1 in", "--json").rows
    assert [row["size"] for row in rows][:2] == ["0.1 in", "0.205 in"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["57.982"], "'57.982' is not a length with its unit"),
        (["0 mm"], "0 mm is not above zero"),
        (["60 furlongs"], "is not a length"),
        ([], "say a SIZE, or --plan, or --check-range"),
        (["1 mm", "--plan", "x"], "say a SIZE"),
        (["1 mm", "--set", "M99"], "There is no block set 'M99'"),
        (["1 mm", "--grade", "3"], "'3' is not one of K, 0, 1, 2, AS-1, AS-2"),
        (["1 mm", "--without", "foo"], "neither a block"),
        (["1 mm", "--without", "51 mm"], "no block of 51 mm in M112"),
        (["1 mm", "--protectors", "set"], "M112 has 0 protectors, not a pair"),
        (["9 mm", "8 mm", "--protectors", "2 mm"], "one pair of protectors"),
        (["1 mm", "--pitch", "0.5 mm"], "--pitch goes with --check-range"),
        (["1 mm", "--replace"], "--replace with --save"),
        (["--plan", "none.toml"], "none.toml"),
        (["1 mm", "--save", "60mm"], "cannot be called"),
        (["--check-range", "25 mm", "0 mm"], "the first must be under the second"),
        (["--check-range", "0 mm", "1 in"], "both in mm, or both in inches"),
        (["--check-range", "0 mm", "25 mm", "--pitch", "0.025 in"], "not in mm"),
    ],
)
def test_bad_words_are_refused_saying_which(stack: Bench, words: list[str], said: str) -> None:
    told = stack(*words)
    assert told.code == 2
    assert said in told.err
    assert "Traceback" not in told.err


def test_how_far_the_nearest_lie_is_exact_text(stack: Bench) -> None:
    found = stack("0.75 mm", "--set", "M88", "--json")
    assert found.code == 1
    (row,) = found.rows
    assert [near["away_um"] for near in row["none"]["nearest"]] == ["-250", "250"]


def test_several_sizes_cannot_be_saved_under_one_name(stack: Bench) -> None:
    found = stack("59.97 mm", "50.78 mm", "--save", "bench")
    assert found.code == 2
    assert "one SIZE" in found.err
    assert not found.out
