"""The picture of the statuses in DEVELOPERS.md against the program: every way in it is played, and
sessions played at random find no other.
"""

import random
import re
from pathlib import Path

import pytest

from daq.record.events import StintBegan
from daq.record.state import Status, status
from tests.house.guide import part, rows
from tests.house.moves import moves_in, played, random_ways

PICTURE = part("Status")
HEAD = ["waiting", "measuring", "checking", "closing", "asking", "over", "closed"]
CELLS = {
    (row[0], to): [cause.strip() for cause in cell.split(";")]
    for row in rows(PICTURE, "from, to")
    for to, cell in zip(HEAD, row[1:], strict=True)
    if cell
}

PROVEN = "59.970 59.970"
DONE = f"{PROVEN} 59.980 59.981"
ZERO = "59.970!zeroed"
OF_MAINS = f"{PROVEN} 59.980 59.981 59.979 59.982"
"""All places of the first of two stacks."""

# Each cause of each cell: a session whose last move goes that way.
WAYS: dict[tuple[str, str], dict[str, list[str]]] = {
    ("waiting", "measuring"): {"before-check passed": [PROVEN]},
    ("waiting", "closing"): {
        "before-check passed, no place left for this stack": [
            f"{PROVEN}, skip a, skip b, unplugged, {PROVEN}"
        ],
    },
    ("waiting", "asking"): {"doubted reading": ["61.000", "0.004"]},
    ("waiting", "over"): {"`later`": ["later"]},
    ("waiting", "closed"): {
        "`stop`": ["stop a"],
        "`abandon`": ["abandon a"],
        "gauge too coarse": ["59.97"],  # steps of 0.01 mm for a tolerance of 0.02 mm
    },
    ("measuring", "waiting"): {
        "new stint": [
            f"{PROVEN}, zeroed",
            f"{PROVEN} {ZERO}",
            f"{PROVEN}, a long pause, 59.980",
            f"{PROVEN}, unplugged",
            f"{PROVEN}, another gauge",
        ]
    },
    ("measuring", "checking"): {
        "`check`": [f"{PROVEN}, check"],
        "link back": [f"keeps: {PROVEN}, unplugged"],
        "resume": [f"{PROVEN}, resume"],
    },
    ("measuring", "closing"): {
        "no place left for this stack": [
            DONE,
            f"two stacks: {OF_MAINS}",
            f"{PROVEN} 59.980, skip a",
        ],
        "`stop`": [f"{PROVEN}, stop a"],
        "`later`": [f"{PROVEN}, later"],
    },
    ("measuring", "asking"): {"doubted reading": [f"{PROVEN} 61.000"]},
    ("measuring", "closed"): {"`abandon`": [f"{PROVEN}, abandon a"]},
    ("checking", "waiting"): {
        "check failed": [f"{PROVEN}, check, 59.980 59.980"],
        "new stint": [
            f"{PROVEN}, check, zeroed",
            f"{PROVEN}, check, {ZERO}",
            f"{PROVEN}, check, unplugged",
        ],
    },
    ("checking", "measuring"): {"check passed": [f"{PROVEN}, check, {PROVEN}"]},
    ("checking", "closing"): {
        "`stop`": [f"{PROVEN}, check, stop a"],
        "`later`": [f"{PROVEN}, check, later"],
    },
    ("checking", "asking"): {"doubted reading": [f"{PROVEN}, check, 61.000"]},
    ("checking", "closed"): {"`abandon`": [f"{PROVEN}, check, abandon a"]},
    ("closing", "waiting"): {
        "check passed, places left for another stack": [f"two stacks: {OF_MAINS} {PROVEN}"],
        "check failed, places left": [f"two stacks: {OF_MAINS} 59.980 59.980"],
        "new stint": [f"{DONE}, zeroed", f"{DONE}, unplugged", f"{DONE}, another gauge"],
    },
    ("closing", "measuring"): {
        "`back`": [f"{DONE}, back"],
        "`retake`": [f"{DONE}, retake M1/front/0"],
    },
    ("closing", "checking"): {"resume": [f"{PROVEN}, stop a, resume"]},
    ("closing", "asking"): {"doubted reading": [f"{DONE} 61.000"]},
    ("closing", "over"): {
        "check judged after `later`": [
            f"{PROVEN}, later, {PROVEN}",
            f"{PROVEN}, later, 59.980 59.980",
        ],
        "check passed, places left that `--only` leaves out": [f"only mains: {OF_MAINS} {PROVEN}"],
        "zero lost after `later`": [f"{PROVEN}, later, {ZERO}", f"{PROVEN}, later, zeroed"],
    },
    ("closing", "closed"): {
        "check passed": [f"{DONE} {PROVEN}", f"{PROVEN}, stop a, {PROVEN}"],
        "check failed": [f"{DONE} 59.980 59.980"],
        "zero lost after `stop`": [f"{PROVEN}, stop a, {ZERO}", f"{PROVEN}, stop a, zeroed"],
        "`abandon`": [f"{DONE}, abandon a"],
    },
    ("asking", "waiting"): {
        "answered": ["61.000, drop", "61.000, keep"],
        "new stint": [f"{PROVEN} 61.000, unplugged", f"{PROVEN} 61.000, another gauge"],
    },
    ("asking", "measuring"): {"answered": [f"{PROVEN} 61.000, drop", f"{PROVEN} 61.000, keep"]},
    ("asking", "checking"): {
        "answered": [f"{PROVEN}, check, 61.000, drop"],
        "resume": [f"{PROVEN} 61.000, resume"],
    },
    ("asking", "closing"): {"answered": [f"{DONE} 61.000, drop", f"{PROVEN} 59.980 61.000, keep"]},
    ("asking", "over"): {"`keep`": [f"{PROVEN}, later, 59.970 61.000, keep"]},
    ("asking", "closed"): {
        "`keep`": [f"{DONE} 59.970 61.000, keep"],
        "`abandon`": [f"{PROVEN} 61.000, abandon a"],
    },
    ("over", "waiting"): {"resume": ["later, resume"]},
    ("over", "closed"): {"`stop`": ["later, stop a"], "`abandon`": ["later, abandon a"]},
}


def test_every_status_stands_in_the_picture() -> None:
    assert list(Status) == HEAD
    assert [row[0] for row in rows(PICTURE, "from, to")] == HEAD[:-1]  # no way leads from closed
    assert f"| from, to | {' | '.join(HEAD)} |" in PICTURE


def test_the_picture_has_every_cause_that_is_played_and_no_other() -> None:
    assert {way: list(causes) for way, causes in WAYS.items()} == CELLS


@pytest.mark.parametrize("way", WAYS, ids=" to ".join)
def test_the_program_goes_every_way_of_the_picture(tmp_path: Path, way: tuple[str, str]) -> None:
    scripts = [script for scripts in WAYS[way].values() for script in scripts]
    for number, script in enumerate(scripts):
        states = played(tmp_path / f"s{number}", script)
        assert [status(state).value for state in states[-2:]] == list(way), script


def test_no_session_goes_a_way_that_the_picture_lacks() -> None:
    chance = random.Random(20261128)
    found: set[tuple[str, str]] = set()
    for _ in range(300):
        found |= random_ways(chance)
    assert found <= CELLS.keys()
    assert len(found) > 0.8 * len(CELLS)  # so many that one more would have been met


def test_the_usual_way_is_a_part_of_the_picture() -> None:
    (drawing,) = re.findall(r"```\n(.*?)```", PICTURE, re.DOTALL)
    seen = set()
    for line in drawing.splitlines():
        names = re.split(r" --.*?--> ", line)
        causes = re.findall(r" --(.*?)--> ", line)
        for here, cause, there in zip(names, causes, names[1:], strict=False):
            assert cause in [each.replace("`", "") for each in CELLS[here, there]], line
        seen.update(names)
    assert seen == set(HEAD)


CAUSES = {
    "first": "",
    "over": f"{PROVEN}, zeroed",
    "stack": f"two stacks: {PROVEN}, resume with rods",
    "check-failed": f"{PROVEN}, check, 59.980 59.980",
    "age": f"{PROVEN}, a long pause, 59.980",
    "swapped": f"{PROVEN}, another gauge",
    "power-loss": f"{PROVEN}, unplugged",
    "temperature": f"warm: {PROVEN}, another temperature",
}


@pytest.mark.parametrize("cause", CAUSES)
def test_a_stint_begins_by_every_cause_that_is_told(tmp_path: Path, cause: str) -> None:
    stint = played(tmp_path / "s", CAUSES[cause])[-1].stint
    assert stint is not None
    assert stint.event.cause == cause


def test_the_causes_that_are_told_are_those_of_the_record() -> None:
    told = [row[0].strip("`") for row in rows(PICTURE, "cause")]
    in_the_record = (StintBegan.__doc__ or "").partition("one of")[2]
    assert told == list(CAUSES)
    assert sorted(told) == sorted(re.findall(r"[\w-]+", in_the_record))


def test_a_script_is_taken_apart_as_it_is_written() -> None:
    assert moves_in("59.970 59.971, a long pause, 61.000, stop a") == [
        *("59.970", "59.971", "a long pause", "61.000", "stop a")
    ]
    assert moves_in("") == []
