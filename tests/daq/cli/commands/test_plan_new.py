"""`jbridge plan new`: by options, from an example, and on a terminal, left and found again."""

import json
import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from daq.cli.app import run
from daq.plan.plan import load_plan
from tests.daq.plan.drafting.talk import FOUR
from tests.places import ROOT

PUMP = (
    *("--part", "pump engine, crankshaft", "--mains", "3", "--rods", "2"),
    *("--limits", "mains=59.970 59.990 mm", "--limits", "RODS=50,780 50,800"),
    *("--undersizes", "0.25 0.50", "--form", "0.005 0.005"),
)


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JBRIDGE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)


def test_options_make_a_whole_plan_and_the_next_command_stands_alone(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "new", *PUMP]) == 0
    out, err = capsys.readouterr()
    assert out == "Written: plan.toml\njbridge measure plan.toml --port typed:\n"
    assert "mains stack        59.970 mm" in err
    assert "Next:\n" in err
    plan = load_plan(Path("plan.toml"))
    assert [journal.name for journal in plan.journals] == ["M1", "M2", "M3", "R1", "R2"]
    assert run(["plan", "check", "plan.toml", "--resolution", "0.001 mm"]) == 0
    assert "Nothing looks out of place" in capsys.readouterr().out


def test_a_missing_answer_is_exit_2_with_the_option_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "new", *PUMP[:6]]) == 2
    assert '--limits mains="59.970 59.990 mm" is missing' in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--limits", "cams=1 2"), "no 'cams limits'"),
        (("--angles", "0 200"), "200° is the same diameter as 20°"),
        (("--like", "none"), "there are inline-four"),
        (("--replace",), "--replace goes with --like"),
        (("--stack", "mains=70 mm"), "from the low limit 59.970 mm"),
        (("--blocks", "M99"), "no block set 'M99'"),
    ],
)
def test_a_wrong_option_is_exit_2(
    options: tuple[str, ...], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "new", *PUMP, *options]) == 2
    assert words in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_an_existing_plan_is_changed_and_the_former_file_kept(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "new", *PUMP]) == 0
    former = Path("plan.toml").read_bytes()
    assert run(["plan", "new", "--strip", "M2"]) == 0
    assert "kept as plan.toml.before-1" in capsys.readouterr().err
    assert Path("plan.toml.before-1").read_bytes() == former
    late = [one.name for one in load_plan(Path("plan.toml")).journals if one.is_after_strip]
    assert late == ["M2"]
    assert run(["plan", "new"]) == 0
    assert "Nothing was changed in plan.toml" in capsys.readouterr().out


def test_limits_in_inches_make_a_plan_in_inches_and_a_cross_check_one_in_both() -> None:
    options = (
        *("--part", "x", "--mains", "2", "--rods", "0", "--undersizes", ".010", "--form", ".0005"),
        *("--limits", "mains=2.3610 2.3618 in", "--cross-check", "59.970 59.990"),
    )
    assert run(["plan", "new", *options]) == 0
    text = Path("plan.toml").read_text(encoding="utf-8")
    assert 'low = ["2.3610 in", "59.970 mm"]' in text
    assert 'by = "0.010 in"' in text
    assert 'stack = "2.3610 in"' in text


def test_a_plan_whose_limits_change_gets_another_stack_and_else_keeps_what_it_has() -> None:
    assert run(["plan", "new", *PUMP, "--blocks", "none"]) == 0
    assert run(["plan", "new", "--part", "another"]) == 0
    assert "stack" not in Path("plan.toml").read_text(encoding="utf-8").partition("part =")[2]
    assert run(["plan", "new", "--stack", "mains=59.97 mm", "--blocks", "M88"]) == 0
    assert run(["plan", "new", "--limits", "mains=60.01 60.03"]) == 0
    assert load_plan(Path("plan.toml")).group("mains").stack == "60.01 mm"


def test_a_file_that_is_no_plan_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    Path("letter.txt").write_text("Dear Sir", encoding="utf-8")
    assert run(["plan", "new", "letter.txt", *PUMP]) == 2
    assert "letter.txt: line 1, Dear Sir" in capsys.readouterr().err
    assert Path("letter.txt").read_text(encoding="utf-8") == "Dear Sir"


def test_an_example_is_written_word_for_word_and_only_over_one_made_here(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "new", "a.toml", "--like", "single-inch"]) == 0
    shipped = (ROOT / "daq/plan/shipped/single-inch.toml").read_bytes()
    assert Path("a.toml").read_bytes() == shipped
    assert run(["plan", "new", "a.toml", "--like", "inline-four"]) == 0
    assert Path("a.toml.before-1").read_bytes() == shipped
    Path("b.toml").write_text("# mine\n", encoding="utf-8")
    assert run(["plan", "new", "b.toml", "--like", "inline-four"]) == 2
    assert "was not made by this command" in capsys.readouterr().err
    assert run(["plan", "new", "b.toml", "--like", "inline-four", "--replace"]) == 0
    assert Path("b.toml.before-1").read_text(encoding="utf-8") == "# mine\n"


def test_an_example_takes_other_numbers_from_options() -> None:
    options = ("--like", "inline-four", "--rods", "6", "--limits", "rods=47.98 48.00 mm")
    assert run(["plan", "new", *options]) == 0
    plan = load_plan(Path("plan.toml"))
    assert sum(journal.group == "rods" for journal in plan.journals) == 6
    # Its undersizes were worked out, so they go along: 47.98 - 0.25 = 47.73.
    assert str(plan.group("rods").undersizes[0].low) == "47.73 mm"


def test_the_examples_are_listed_a_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "new", "--list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == [
        *("inline-four", "single-inch", "three-throw-pump", "v6-shared-pins")
    ]
    assert run(["plan", "new", "--list", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["name"] for row in rows] == [line.split()[0] for line in lines]


def test_json_is_one_document(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "new", *PUMP, "--blocks", "none", "--json"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == {
        "plan": "plan.toml",
        "former": None,
        "findings": [],
        "next": "jbridge stack --plan plan.toml",
    }
    assert err == ""


def test_the_shops_only_gauge_stands_in_the_next_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "home" / "gauges").mkdir(parents=True)
    (tmp_path / "home" / "gauges" / "mic-2.toml").write_text("schema = 1\n", encoding="utf-8")
    assert run(["plan", "new", "my plan.toml", *PUMP]) == 0
    assert "jbridge measure 'my plan.toml' --gauge mic-2\n" in capsys.readouterr().out


# On a terminal ------------------------------------------------------------------------------------


class Terminal:
    """The command on a pseudo-terminal."""

    def __init__(self, folder: Path) -> None:
        self._master, slave = pty.openpty()
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "daq", "plan", "new"],
            cwd=folder,
            env=environment,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
        )
        os.close(slave)
        self.shown = ""

    def until(self, words: str, wait_s: float = 20.0) -> None:
        """Read until these words are shown."""
        end = time.monotonic() + wait_s
        while words not in self.shown:
            assert select.select([self._master], [], [], end - time.monotonic())[0], self.shown
            try:
                self.shown += os.read(self._master, 4096).decode()
            except OSError:  # nobody is at the other end any more
                break
        assert words in self.shown, self.shown
        self.shown = self.shown.partition(words)[2]

    def interrupt_until(self, words: str) -> None:
        """Ctrl-C until these words are shown: one that comes while Python is about to wait for a
        line is heard at the next key only.
        """
        for _ in range(10):
            self.process.send_signal(signal.SIGINT)
            if select.select([self._master], [], [], 2.0)[0]:
                break
        self.until(words)

    def type(self, text: str) -> None:
        os.write(self._master, text.encode())

    def close(self) -> int:
        code = self.process.wait(timeout=20)
        os.close(self._master)
        return code


def test_a_talk_is_left_by_ctrl_c_carried_on_left_by_the_end_of_file_and_finished(
    tmp_path: Path,
) -> None:
    terminal = Terminal(tmp_path)
    for line in FOUR[:3]:
        terminal.until("> ")
        terminal.type(f"{line}\n")
    terminal.until("rod journals")
    terminal.until("> ")
    terminal.interrupt_until("Carry on with:")
    assert terminal.close() == 130

    terminal = Terminal(tmp_path)
    terminal.until("Carrying on: 3 answers are kept")
    for line in FOUR[3:8]:
        terminal.until("> ")
        terminal.type(f"{line}\n")
    terminal.until("RODS: low and high limit")
    terminal.until("> ")
    terminal.type("\x04")
    terminal.until("jbridge plan new plan.toml")
    assert terminal.close() == 0
    assert not (tmp_path / "plan.toml").exists()

    terminal = Terminal(tmp_path)
    terminal.until("Carrying on: 8 answers are kept")
    for line in (*FOUR[8:], "yes"):
        terminal.until("> ")
        terminal.type(f"{line}\n")
    terminal.until("jbridge stack --plan plan.toml")
    assert terminal.close() == 0
    assert len(load_plan(tmp_path / "plan.toml").journals) == 9
    assert not (tmp_path / "plan.toml.part").exists()
