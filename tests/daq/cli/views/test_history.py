"""A gauge's history in words: each statement names its numbers, its rule and its source."""

import json

from daq.cli.views.history import history_lines
from daq.cli.views.history_json import history_json
from daq.gauges.history import History, NoteRecord
from daq.gauges.overview import overview
from tests.daq.gauges.history_builders import DAY_US, adjusted, check, daily, near

STEADY = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3, 0.8]


def shown(history: History, width: int = 100, *, is_ascii: bool = False) -> str:
    found = overview(history, history.lines[-1].at_us if history.lines else 0, permitted_mm=0.004)
    return "\n".join(history_lines(found, history.notes, width=width, is_ascii=is_ascii))


def flat(text: str) -> str:
    return " ".join(text.split())


def test_a_steady_gauge_is_said_to_be_in_control_with_rule_and_source() -> None:
    text = flat(shown(daily([near(error) for error in STEADY])))
    assert "Gauge mic-50-75: 7 checks at 1 size, 2026-01-05 to 2026-01-11" in text
    assert "Nothing is out of control." in text
    assert "59.970 mm: in control; 7 checks on 7 occasions" in text
    assert "error +0.00080 mm lies within -0.00055 to +0.00155 mm" in text
    for source in ("2.3.5.2", "2.3.5.1", "6.3.2.2", "2.4.4"):
        assert f"NIST/SEMATECH e-Handbook {source}" in text
    assert "Next check due 2026-02-10: 30 days after the last check." in text


def test_out_of_control_stands_at_the_top_and_at_its_size_and_in_the_table() -> None:
    text = shown(daily([near(error) for error in [*STEADY[:6], 3.0]]))
    assert "OUT OF CONTROL at 59.970 mm on 2026-01-11, error +0.00300 mm lies outside" in flat(text)
    assert "59.970 mm: OUT OF CONTROL; 7 checks on 7 occasions" in text
    assert "passed, out of control" in text
    assert "Next check due today, 2026-01-11: it is out of control." in text


def test_too_few_checks_say_how_many_it_takes() -> None:
    text = flat(shown(daily([near(0.5)])))
    assert "59.970 mm: too few checks; 1 check on 1 occasion" in text
    assert "six passed occasions" in text
    assert "Drift: not known yet; it takes five occasions over two weeks" in text


def test_the_table_gives_each_error_with_its_uncertainty() -> None:
    """Five readings 59.970 59.971 59.970 59.971 59.970: mean error 0.4 um, s = sqrt(1.2/4) =
    0.54772 um; s/sqrt(5) = 0.24495 um; step 1 um / sqrt(12) = 0.28868 um; stack 0.45 um. Together
    0.58805 um; 8 checks give 32 degrees of freedom, so nu_eff = 32 * (0.58805/0.24495)^4 = 1063
    and t(0.97725, 1063) = 2.0023: U = 1.1775 um.
    """
    values = ("59.970", "59.971", "59.970", "59.971", "59.970")
    text = shown(daily([check(*values) for _ in range(8)]))
    assert "+0.00040  0.00118  0.00055  passed" in text


def test_notes_and_damage_are_told() -> None:
    history = daily(
        [near(0.5), adjusted("new anvils"), NoteRecord(about="note", text="oil\x1b[2J")]
    )
    harmed = History(history.name, history.path, history.lines, ("line 2 is damaged: it is not",))
    text = shown(harmed)
    assert "2026-01-06  adjusted: new anvils" in text
    assert "oil?[2J" in text
    assert "line 2 is damaged" in text
    assert "nothing of it was changed" in text


def test_an_empty_history_says_what_to_do() -> None:
    assert "no check yet. Make the first with jbridge prove" in shown(daily([]))


def test_lines_stay_within_the_terminal() -> None:
    for width in (60, 80, 100):
        text = shown(daily([near(error) for error in STEADY]), width)
        prose = [line for line in text.splitlines() if "UTC" not in line and "passed" not in line]
        assert max(map(len, prose)) <= width


def test_ascii_for_a_terminal_that_has_no_more() -> None:
    assert shown(daily([near(error) for error in STEADY]), is_ascii=True).isascii()


def test_json_holds_every_check_with_its_judgement() -> None:
    history = daily([near(error) for error in [*STEADY[:6], 3.0]])
    found = overview(history, history.lines[-1].at_us + DAY_US, permitted_mm=0.004)
    document = json.loads(history_json(found, history))
    (size,) = document["sizes"]
    assert [row["in_control"] for row in size["checks"]] == [None] * 6 + [False]
    assert size["checks"][-1]["mean_error_mm"] == "0.00300"
    assert size["checks"][-1]["expanded_mm"] > 0
    assert size["state"] == "out of control"
    assert document["out_of_control"][0]["size_mm"] == "59.970"
    assert document["due"]["why"] == "it is out of control"


def test_a_failed_check_without_a_baseline_is_told_and_not_called_out_of_control() -> None:
    text = flat(shown(daily([near(0.4), near(9.0)])))
    assert "Nothing is out of control." in text
    assert "The last check of the gauge mic-50-75 at 59.970 mm on 2026-01-06 failed" in text
    assert "the check before measuring decides" in text
