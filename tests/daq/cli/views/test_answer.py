"""What is printed when a session ends: the kept texts, and what holds for any session and width."""

import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.board.shown_lengths import ShownIn
from daq.cli.views.answer import answer, answer_sentences, said_again
from daq.cli.views.answer_table import table_lines
from daq.cli.views.ended import SessionEnd, ended
from daq.cli.views.paragraphs import columns, plain_lines
from daq.record.state import State
from daq.storage.replay import load_state
from tests.builders import forge
from tests.daq.cli.views import closing_sessions
from tests.daq.cli.views.closing_sessions import (
    CASES,
    KEPT,
    begun,
    crank,
    drive,
    said,
    sized,
)

NUMBER = re.compile(r"\d+\.\d+")
UNKNOWN_WORDS = re.compile(
    r"\b(stint|standing|tainted|ledger|guard\w*|coverage|limits kept|settle\w*|frames?)\b", re.I
)
ODD_NAMES = (
    "M" * 80,
    "[red]main[/red]",
    "第一軸頸",
    "ציר 1",
    "the journal beside the flywheel of the engine",
    "0.25",
)


@cache
def state_of(name: str) -> State:
    with TemporaryDirectory() as folder:
        return CASES[name][0](Path(folder) / "s")


@cache
def odd() -> State:
    """Journals with names of all kinds, one of them worn."""
    plan = crank(len(ODD_NAMES), 0)
    for number, name in enumerate(ODD_NAMES, 1):
        plan = plan.replace(f'name = "M{number}"', f'name = "{name}"')
    with TemporaryDirectory() as folder:
        return drive(begun(Path(folder) / "s", plan), sized({"0.25": "59.961"})).close().state


@cache
def end_of(name: str) -> SessionEnd:
    return ended(odd() if name == "odd" else state_of(name))


@pytest.mark.parametrize("name", CASES)
def test_the_answer_is_the_kept_text(name: str) -> None:
    _, width, show, details = CASES[name]
    lines = said(state_of(name), width, show, details=details)
    assert "\n".join(lines) + "\n" == (KEPT / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", CASES)
def test_the_answer_in_sentences_is_what_is_printed_without_its_table(name: str) -> None:
    printed = " ".join(" ".join(plain_lines(answer(end_of(name), 4000))).split())
    for sentence in answer_sentences(end_of(name)):
        assert " ".join(sentence.split()) in printed


def test_every_kept_text_is_compared() -> None:
    assert {path.stem for path in KEPT.iterdir()} == set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_no_word_is_left_that_a_machinist_does_not_know(name: str) -> None:
    assert UNKNOWN_WORDS.findall(" ".join(said(state_of(name), 80, details=True))) == []


def test_twelve_journals_and_their_answer_fit_a_terminal_of_24_lines() -> None:
    lines = said(state_of("twelve"), 80)
    assert len(lines) <= 23  # the folder of the tables is the last line
    assert lines[1].startswith("MAINS: GRIND ALL to 0.25 (M3 is 0.009 mm under)")


@settings(max_examples=50)
@given(
    width=st.integers(40, 200),
    name=st.sampled_from(["odd", "worn", "undecided", "ground-to", "open"]),
    show=st.sampled_from([None, ShownIn.MM, ShownIn.INCH, ShownIn.BOTH]),
)
def test_at_any_width_nothing_is_over_it_no_number_is_cut_and_each_journal_stands_once(
    width: int, name: str, show: ShownIn | None
) -> None:
    end = msgspec.structs.replace(end_of(name), show=show)
    assert max(map(columns, plain_lines(answer(end, width)))) <= width
    table = [line.text for line in table_lines(end, width)]
    wide = [line.text for line in table_lines(end, 400)]
    assert set(NUMBER.findall("\n".join(table))) == set(NUMBER.findall("\n".join(wide)))
    words = "".join(table).replace(" ", "")
    for result in end.results:
        if name == "odd" and result.journal != "0.25":
            assert words.count(result.journal.replace(" ", "")) <= 1
        elif name != "odd":
            rows = [line for line in table if re.match(rf"{result.journal}[: ]", line)]
            assert len(rows) == 1, result.journal


def test_each_of_250_journals_has_one_row() -> None:
    rows = [line.split()[0] for line in said(state_of("many"), 80) if re.match(r"M\d+ ", line)]
    assert rows == [f"M{number}" for number in range(1, 251)]


def test_on_a_terminal_that_is_too_low_the_groups_are_said_again_at_the_end() -> None:
    end = end_of("undecided")
    assert said_again(end, 80, 23, 24) == []
    assert plain_lines(said_again(end, 80, 24, 24)) == [
        "MAINS: undecided (M1, M2 and M3 are too near a limit to say).",
        "RODS: undecided (R2 is too near a limit to say).",
    ]


def test_what_is_shown_can_be_subtracted_by_hand() -> None:
    for line in said(state_of("worn"), 80):
        row = re.match(r"[MR]\d +\w+ +(\S+) +(\S+) +\S+ +\S+ +([\d.]+)-", line)
        if row:
            smallest, over, low = (round(float(text) * 10_000) for text in row.groups())
            assert smallest - low == over


def test_the_answer_is_the_same_for_a_session_that_an_earlier_version_closed() -> None:

    for version in ("v0.1.0", "v0.2.0", "v0.3.0", "v0.4.0"):
        state, _ = load_state(Path(closing_sessions.__file__).parents[3] / "golden" / version)
        lines = said(state, 80, details=True)
        assert max(map(columns, lines)) <= 80
        assert any(line.startswith("Measurement good (accepted)") for line in lines)
        assert any(re.match(r"R1 +below", line) for line in lines)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"verdict":"within"', b'"verdict":"splendid"'),
        (b'"step":"serve-as-is"', b'"step":"sell it"'),
        (b'"journal":"M1","group"', b'"journal":"M9","group"'),
    ],
)
def test_a_closing_line_of_unknown_words_is_shown_all_the_same(
    tmp_path: Path, old: bytes, new: bytes
) -> None:
    CASES["all-good"][0](tmp_path / "s")
    forge(tmp_path / "s", old, new)
    lines = said(load_state(tmp_path / "s")[0], 80, details=True)
    assert any(line.startswith("Measurement good (accepted)") for line in lines)
