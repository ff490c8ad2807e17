"""`jbridge plan check` and `plan show`: what they print, and their exit codes."""

import json
from importlib.resources import files
from pathlib import Path

import pytest

from daq.cli.app import run

DOUBTFUL = """\
schema = 1
part = "compressor engine"
[[group]]
name = "rods"
present_undersize = ".010"
[[group.undersize]]
name = ".010"
by = "0.010 in"
low = "2.738 in"
high = "2.739 in"
worn_low = "2.737 in"
[[journal]]
name = "M1"
low = "2.998 in"
high = "3.000 in"
out_of_round = "0.005 in"
[[journal]]
name = "R1"
group = "rods"
low = "2.748 in"
high = "2.749 in"
out_of_round = "0.0005 in"
taper = "0.0005 in"
form_limit = "under"
"""
"""Source: US Army TM 5-3805-262-34, pp. 4-23 and 4-24, with its misprinted .005; `worn_low` and
`form_limit` are ours."""


@pytest.fixture
def doubtful(tmp_path: Path) -> Path:
    path = tmp_path / "plan.toml"
    path.write_text(DOUBTFUL, encoding="utf-8")
    return path


def test_doubts_are_told_with_their_keys_and_are_no_refusal(
    doubtful: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "check", str(doubtful)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("journal 1 (M1): out_of_round = 0.005 in of M1 is 10 times")
    assert "2 doubts; nothing was changed" in out
    assert err == ""
    assert doubtful.read_text(encoding="utf-8") == DOUBTFUL


def test_doubts_as_json(doubtful: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "check", str(doubtful), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["usable"]
    assert [(one["key"], one["kind"]) for one in found["findings"]] == [
        ("journal[1].out_of_round", "ten-times"),
        ("journal[1].out_of_round", "wider-than-band"),
    ]


def test_a_plan_without_doubts_is_not_called_right(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "demo.toml"
    text = files("daq.cli").joinpath("demo_plan.toml").read_text(encoding="utf-8")
    plain = text.replace('["59.970 mm", "2.3610 in"]', '"59.970 mm"')
    path.write_text(plain, encoding="utf-8")
    assert run(["plan", "check", str(path)]) == 0
    assert "does not prove the limits right" in capsys.readouterr().out


def test_a_refused_plan_is_exit_2_and_every_other_misprint_is_told_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "plan.toml"
    text = DOUBTFUL.replace('"2.739 in"', '["2.739 in", "69.751 mm"]')
    path.write_text(text.replace('"2.748 in"', '["2.748 in", "69.977 mm"]'), encoding="utf-8")
    assert run(["plan", "check", str(path)]) == 2
    out, err = capsys.readouterr()
    assert "group 1 (rods), undersize 1 (.010), high: 2.739 in and its cross-check 69.751 mm" in err
    assert out.startswith("journal 2 (R1), low: 2.748 in and its cross-check 69.977 mm")
    assert "1 doubt; nothing was changed" in out
    assert run(["plan", "check", "--json", str(path)]) == 2
    found = json.loads(capsys.readouterr().out)
    assert not found["usable"]
    assert [one["key"] for one in found["findings"]] == [
        "journal[2].low",
        "group[1].undersize[1].high",
    ]


@pytest.mark.parametrize("word", ["check", "show"])
def test_a_plan_that_is_not_there_is_exit_2_with_its_name(
    word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "none.toml"
    assert run(["plan", word, str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "none.toml: cannot be read: No such file" in err


def test_a_plan_is_shown_with_the_limits_of_the_part_as_it_is(
    doubtful: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "show", str(doubtful)]) == 0
    out = capsys.readouterr().out
    assert "R1 (rods): 2.737 to 2.739 in; out of round under 0.0005 in" in out
    assert "as undersize .010; standard 2.748 to 2.749 in" in out
    assert "undersize .010 (by 0.010 in): ground to 2.738 to 2.739 in, may wear to 2.737 in" in (
        out
    )


def test_a_plan_as_json_has_lengths_as_written_and_exact_mm(
    doubtful: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "show", "--json", str(doubtful)]) == 0
    found = json.loads(capsys.readouterr().out)
    # 2.737 x 25.4 = 69.5198
    assert found["journals"][1]["low"] == {"stated": "2.737 in", "mm": "69.5198"}
    assert found["journals"][1]["form_limit"] == "under"
    assert found["groups"][0]["present_undersize"] == ".010"


def test_texts_of_a_plan_cannot_steer_a_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(DOUBTFUL.replace("compressor", "\\u001b[31mred"), encoding="utf-8")
    assert run(["plan", "show", str(path)]) == 0
    assert "\x1b" not in capsys.readouterr().out


def test_a_stack_that_measure_would_refuse_is_told_before(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(
        'schema = 1\npart = "p"\n[check]\nstack = "50 mm"\n[[journal]]\nname = "J"\n'
        'low = "59.970 mm"\nhigh = "59.990 mm"\n'
    )
    assert run(["plan", "check", str(plan), "--home", str(tmp_path), "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["findings"]
    assert found["kind"] == "measure-refuses"
    assert "9.970 mm from the low limit" in found["words"]


FORM = """\
schema = 1
part = "p"
[check]
stack = "59.970 mm"
[[journal]]
name = "M1"
low = "59.970 mm"
high = "59.990 mm"
out_of_round = "0.003 mm"
"""


@pytest.fixture
def form(tmp_path: Path) -> Path:
    path = tmp_path / "form.toml"
    path.write_text(FORM, encoding="utf-8")
    return path


def kinds(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return [one["kind"] for one in json.loads(capsys.readouterr().out)["findings"]]


def test_what_a_gauge_of_a_step_cannot_decide_is_told(
    form: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "check", str(form), "--resolution", "0.001 mm"]) == 0
    out = capsys.readouterr().out
    assert "journal 1 (M1): out_of_round = 0.003 mm is under four steps" in out
    assert "A gauge with a step of at most 0.00075 mm could" in out
    for step, found in (("0.0007 mm", []), ("0.00005 in", ["cannot-be-decided"])):
        assert run(["plan", "check", str(form), "--json", "--resolution", step]) == 0
        assert kinds(capsys) == found
    assert run(["plan", "check", str(form), "--json"]) == 0
    assert kinds(capsys) == []


def test_what_a_gauge_of_the_shop_cannot_decide_is_told_by_its_file(
    form: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "gauges").mkdir()
    file = tmp_path / "gauges" / "mic.toml"
    text = 'schema = 1\nprofile = "number-unit-crlf"\nport = "/dev/ttyUSB0"\n'
    words = ["plan", "check", str(form), "--home", str(tmp_path), "--json", "--gauge", "mic"]
    file.write_text(text + 'resolution = "0.001 mm"\n', encoding="utf-8")
    assert run(words) == 0
    assert kinds(capsys) == ["cannot-be-decided"]
    file.write_text(text, encoding="utf-8")
    assert run(words) == 2
    assert "tells its step: write resolution into the gauge file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--gauge", "mic", "--resolution", "0.001 mm"], "not both"),
        (["--resolution", "0.001"], "is not a length with its unit"),
        (["--resolution", "0 mm"], "0 mm is not above zero"),
        (["--gauge", "nobody"], "There is no gauge 'nobody'"),
    ],
)
def test_a_gauge_that_is_not_told_right_is_exit_2(
    form: Path,
    tmp_path: Path,
    options: list[str],
    said: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "check", str(form), "--home", str(tmp_path), *options]) == 2
    assert said in capsys.readouterr().err


def test_inch_limits_outside_the_mm_ones_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "plan.toml"
    text = FORM.replace('"59.970 mm"\nhigh', '["59.970 mm", "2.3610 in"]\nhigh')
    path.write_text(text, encoding="utf-8")
    assert run(["plan", "check", str(path), "--home", str(tmp_path), "--json"]) == 0
    # 2.3610 x 25.4 = 59.9694
    assert kinds(capsys) == ["inch-outside"]


def test_a_plan_is_shown_with_how_it_is_judged(
    form: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    form.write_text(FORM + '[decision]\nconfidence = 0.9\nstate = "ground"\n', encoding="utf-8")
    assert run(["plan", "show", str(form)]) == 0
    assert "so that a verdict is 90 % sure; a part just ground" in capsys.readouterr().out
    assert run(["plan", "show", "--json", str(form)]) == 0
    decision = json.loads(capsys.readouterr().out)["decision"]
    assert decision == {"rule": "guarded", "confidence": 0.9, "state": "ground"}


def test_show_writes_a_picture_beside_what_it_says(
    doubtful: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "show", str(doubtful)]) == 0
    said = capsys.readouterr().out
    target = tmp_path / "plan.svg"
    for _ in range(2):  # its own picture it writes over
        assert run(["plan", "show", str(doubtful), "--picture", str(target)]) == 0
        out, err = capsys.readouterr()
        assert out == said
        assert err == f"The picture is in {target}\n"
    text = target.read_text(encoding="utf-8")
    assert text.startswith("<!-- made by jbridge plan show -->\n<svg ")
    assert "compressor engine" in text


def test_show_writes_over_no_file_of_anybody_else(
    doubtful: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "plan.svg"
    target.write_text("mine", encoding="utf-8")
    words = ["plan", "show", str(doubtful), "--json", "--picture", str(target)]
    assert run(words) == 2
    assert "exists and was not made by this command" in capsys.readouterr().err
    assert target.read_text(encoding="utf-8") == "mine"
    assert run([*words, "--replace"]) == 0
    assert json.loads(capsys.readouterr().out)["part"] == "compressor engine"
    assert "<svg" in target.read_text(encoding="utf-8")
