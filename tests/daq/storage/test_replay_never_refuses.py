"""Replay refuses nothing by rule: what a rule of today or tomorrow forbids is a record, if it was
written; only what has not the shape of a record is damage.
"""

import inspect
import pkgutil
import shutil
import sys
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import NoReturn

import msgspec
import pytest

import daq
from daq.equipment.gauge import parse_gauge
from daq.equipment.stacks.stack_file import parse_stack
from daq.errors import LedgerDamaged, PlanError, SettingsError
from daq.plan import plan as plan_module
from daq.plan.plan import load_plan, parse_plan
from daq.plan.scope import make_scope, read_scope
from daq.record.events import Entry, Opened, Resumed, Setup
from daq.record.state import State
from daq.rules.commands import Later
from daq.services.verify import verify
from daq.storage.ledger import scan
from daq.storage.replay import begin_state, evolve_state, load_state
from drivers.toml_file import WrongKey
from tests.builders import (
    MAINS,
    MINUTE_US,
    ONE,
    PLAN,
    RODS,
    START_US,
    Bench,
    accepted,
    forge,
    opened,
    rejected,
    setup,
    still_open,
)
from tests.daq.plan.refused_plans import BY_RULE, BY_SHAPE, Refusal
from tests.golden.make import STACK
from tests.places import ROOT

GOLDEN = sorted(path.parent for path in (ROOT / "tests" / "golden").glob("v*/ledger.jsonl"))
GAUGE = 'schema = 1\nprofile = "bench"\nport = "/dev/ttyUSB0"\nresolution = "0.001 mm"\n'
OWN_STACK = PLAN.replace('stack = "50.780 mm"', 'stack = "rods"')
STUDY = (
    ONE
    + ONE[ONE.index("[[journal]]") :].replace("M1", "M2")
    + '[study]\noperators = ["A", "B"]\ntrials = 2\n'
)


def whole_setup(only: tuple[str, ...] = ()) -> Setup:
    """A run with all texts that a ledger may hold."""
    return msgspec.structs.replace(
        setup(gauge_file=GAUGE, only=only),
        saved_stacks={"rods": "50.7797 mm"},
        stack_files={"rods": STACK},
    )


def with_all_texts(folder: Path) -> Bench:
    """A session of two runs, the second narrowed to the rods, with gauge and stack files."""
    bench = Bench.new(folder, opened(OWN_STACK, with_setup=whole_setup()))
    bench.press("59.970", "59.971", *MAINS)
    bench.say(Later())
    bench.press("59.970", "59.971").close()
    again = Bench.again(folder, bench.now_us + MINUTE_US, whole_setup(("rods",)))
    return again.press("50.780", "50.781", *RODS, "50.780", "50.780").close()


def a_study(folder: Path) -> Bench:
    return Bench.new(folder, opened(STUDY)).press("59.970", "59.971", *MAINS).close()


BUILT: list[Callable[[Path], Bench]] = [accepted, rejected, still_open, with_all_texts, a_study]


@pytest.fixture(params=[*GOLDEN, *BUILT], ids=lambda one: getattr(one, "__name__", str(one)))
def session(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A session's folder: each golden ledger, and some that were just made."""
    made: Path | Callable[[Path], Bench] = request.param
    if isinstance(made, Path):
        return shutil.copytree(made, tmp_path / "s")
    return made(tmp_path / "s").folder


def modules_below(*names: str) -> Iterator[ModuleType]:
    for name in names:
        package = import_module(name)
        for found in pkgutil.walk_packages(package.__path__, f"{name}."):
            if not found.name.endswith("__main__"):
                yield import_module(found.name)


ROOMS = ("daq.metrology", "daq.equipment", "daq.plan")
"""Where the texts of people are read and checked."""


def checks() -> dict[str, Callable[..., object]]:
    """Every function there that does nothing but refuse: `check_...` that gives nothing back."""
    return {
        f"{module.__name__}.{name}": function
        for module in modules_below(*ROOMS)
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if name.lstrip("_").startswith("check_")
        and function.__module__ == module.__name__
        and inspect.get_annotations(function, eval_str=True)["return"] is None
    }


def refuse(*_: object, **__: object) -> NoReturn:
    raise WrongKey("", "refused by a rule of tomorrow")


@pytest.fixture
def strict(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on every check refuses, under whatever name a module has imported it."""
    found = set(checks().values())
    for module in [*sys.modules.values()]:
        if module.__name__.partition(".")[0] == daq.__name__:
            for name, value in [*vars(module).items()]:
                if inspect.isfunction(value) and value in found:
                    monkeypatch.setattr(module, name, refuse)


def test_the_checks_of_plan_gauge_stack_and_scope_are_found() -> None:
    names = {name.rpartition(".")[2].lstrip("_") for name in checks()}
    assert {"check_plan", "check_gauge_file", "check_stack", "check_near"} <= names


def test_a_ledger_gives_the_same_state_though_every_check_refuses(
    session: Path, request: pytest.FixtureRequest
) -> None:
    live, _ = load_state(session)
    request.getfixturevalue("strict")
    state, _ = load_state(session)
    assert state == live
    assert verify(session).faults == ()


@pytest.mark.usefixtures("strict")
def test_while_every_check_refuses_nothing_that_people_write_is_accepted() -> None:
    with pytest.raises(PlanError, match="tomorrow"):
        parse_plan(PLAN, "x")
    with pytest.raises(SettingsError, match="tomorrow"):
        parse_gauge(GAUGE, "g", "x")
    with pytest.raises(SettingsError, match="tomorrow"):
        parse_stack(STACK, "s", "x")


def test_the_texts_in_a_ledger_are_the_records_that_were_checked(session: Path) -> None:
    state, found = load_state(session)
    assert state.plan == parse_plan(state.opened.plan, state.plan.source)
    runs = [e.event.setup for e in found.entries if isinstance(e.event, Opened | Resumed)]
    assert len(runs) == len(state.gauges) == len(state.environments)
    for run, gauge, around in zip(runs, state.gauges, state.environments, strict=True):
        if run.gauge_file is not None:
            assert gauge == parse_gauge(run.gauge_file, run.source.gauge, "x")
        assert around.stacks == {
            name: parse_stack(text, name, "x") for name, text in run.stack_files.items()
        }
        asked = (state.plan, run.only, run.stack, run.saved_stacks)
        assert read_scope(*asked) == make_scope(*asked)


# Rules made stricter ------------------------------------------------------------------------------


def test_fewer_positions_than_a_recorded_plan_has_are_no_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    golden = GOLDEN[0]
    live, _ = load_state(golden)  # six positions: four of M1, two of R1
    monkeypatch.setattr(plan_module, "MOST_POSITIONS", 3)
    assert load_state(golden)[0] == live
    path = tmp_path / "crank.toml"
    path.write_bytes(live.opened.plan.encode())
    with pytest.raises(PlanError, match="6 readings in all, at most 3"):
        load_plan(path)  # as `measure` does


def test_no_bound_of_today_is_applied_to_a_ledger(
    session: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    live, _ = load_state(session)
    bounds = 0
    for module in modules_below("daq.equipment", "daq.plan"):
        for name, value in [*vars(module).items()]:
            if name.startswith("MOST_"):
                bounds += 1
                monkeypatch.setattr(module, name, type(value)(0))
    assert bounds > 10
    assert load_state(session)[0] == live


def begun(text: str) -> State:
    """A session's state after a first line with any plan, proven on a stack of 59.97 mm."""
    run = msgspec.structs.replace(setup(), stack="59.97 mm")
    return begin_state(Entry(1, START_US, opened(text, with_setup=run)), Path("session"))


@pytest.mark.parametrize("spoiled", BY_RULE, ids=[f"{one.key}-{one.reason}" for one in BY_RULE])
def test_a_plan_that_a_rule_forbids_today_is_no_damage(spoiled: Refusal) -> None:
    state = begun(spoiled.text)
    assert state.plan.text == spoiled.text
    again = evolve_state(state, Entry(2, START_US + MINUTE_US, resumed()), Path("session"))
    assert len(again.setups) == 2


def resumed() -> Resumed:
    return Resumed(
        program="0.1.0",
        rules=2,
        setup=msgspec.structs.replace(setup(), stack="59.97 mm"),
        same_gauge=None,
        torn_bytes=0,
        torn_file="",
    )


@pytest.mark.parametrize("spoiled", BY_SHAPE, ids=[f"{one.key}-{one.reason}" for one in BY_SHAPE])
def test_what_is_no_plan_at_all_is_damage(spoiled: Refusal) -> None:
    with pytest.raises(LedgerDamaged, match="line 1"):
        begun(spoiled.text)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('resolution = \\"0.001 mm\\"', 'resolution = \\"0.000 mm\\"'),
        ('port = \\"/dev/ttyUSB0\\"\\n', ""),
        ('grade = \\"1\\"', 'grade = \\"4\\"'),
        ('size = \\"50.780 mm\\"', 'size = \\"50.790 mm\\"'),
        ("certificate_due = 2027-06-01", "certificate_due = 2025-06-01"),
        ("certificate_due = 2027-06-01", "colour = 7"),
        ('uncertainty = \\"0.10 um\\"', 'uncertainty = \\"-0.10 um\\"'),
        ('expansion = \\"10.8e-6 /K\\"', 'expansion = \\"10.8 /K\\"'),
    ],
)
def test_gauge_and_stack_files_that_a_rule_forbids_today_are_no_damage(
    tmp_path: Path, old: str, new: str
) -> None:
    folder = with_all_texts(tmp_path / "s").folder
    live, _ = load_state(folder)
    forge(folder, old.encode(), new.encode())
    state, _ = load_state(folder)
    assert state.closed == live.closed
    assert len(state.readings) == len(live.readings)


@pytest.mark.parametrize(
    "old",
    ['resolution = \\"0.001 mm\\"', 'size = \\"50.780 mm\\"', 'deviation = \\"+0.10 um\\"'],
)
def test_gauge_and_stack_files_that_are_none_are_damage(tmp_path: Path, old: str) -> None:
    folder = with_all_texts(tmp_path / "s").folder
    forge(folder, old.encode(), (old.partition(" = ")[0] + ' = \\"x\\"').encode(), line=1)
    with pytest.raises(LedgerDamaged, match="line 1"):
        load_state(folder)


def test_a_ledger_without_a_stack_to_prove_on_is_damage() -> None:
    first = opened(ONE.replace('stack = "59.970 mm"\n', ""))
    with pytest.raises(LedgerDamaged, match="no stack to prove the gauge"):
        begin_state(Entry(1, START_US, first), Path("session"))


def test_the_golden_ledgers_are_there() -> None:
    assert [path.name for path in GOLDEN][:3] == ["v0.1.0", "v0.2.0", "v0.3.0"]
    assert all(len(scan(path).entries) > 40 for path in GOLDEN)
