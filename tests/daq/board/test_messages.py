"""What a person is told: one sentence for each line, limits in words."""

from fractions import Fraction
from pathlib import Path

import pytest

from daq.board.asked import value_words
from daq.board.messages import against_limits, limit_words, news
from daq.lengths import parse_length
from daq.record.events import Sent, Setup
from daq.rules.commands import (
    Back,
    CheckNow,
    Command,
    Drop,
    FindLink,
    Keep,
    LinkNote,
    LoseLink,
    Note,
    SetAside,
    Skip,
    TakeReading,
    TakeReject,
)
from drivers.reading import Instant, Reject
from tests.builders import MINUTE_US, ONE, SECOND_US, Bench, opened, reading, source
from tests.judged_builders import journal_plan, limits

STACK = ("59.970", "59.970")
FAILED = ("59.975", "59.975")  # 0.005 over the stack, permitted 0.002


def bench_of(folder: Path, plan: str = ONE, with_setup: Setup | None = None) -> Bench:
    return Bench.new(folder / "s", opened(plan, with_setup=with_setup))


def told(bench: Bench, command: Command | str, resolution: str = "0.001") -> list[str]:
    """What is said of a command, or of pressing send at this size."""
    before = bench.state
    if isinstance(command, str):
        command = TakeReading(reading(command, bench.now_us + SECOND_US, resolution=resolution))
    return news(before, bench.say(command).entries, bench.state, {})


# --- the news ---


def test_each_word_is_answered_in_a_sentence(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    assert told(bench, "59.980") == ["M1 front 0°: 59.980 mm"]
    assert told(bench, Back()) == ["M1 front 0° (59.980 mm) taken back. Measure it again."]
    assert told(bench, Note("the light is poor")) == ["Noted: the light is poor"]
    assert told(bench, LinkNote("rollover")) == ["The link: rollover"]
    assert told(bench, Skip("oil hole")) == ["Skipped M1 front 0°: oil hole"]
    assert told(bench, CheckNow()) == [], "the prompt says it"
    bench.close()


def test_each_reading_of_a_check_and_its_judgement_are_told(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert told(bench, "59.970") == ["Stack: 59.970 mm"]
    assert told(bench, "59.971") == [
        "Stack: 59.971 mm",
        "Check before measuring passed: mean error +0.0005 mm, spread 0.0010 mm.",
    ]
    told(bench, CheckNow())
    told(bench, "59.975")
    stack, judged = told(bench, "59.975")
    assert stack == "Stack: 59.975 mm"
    # Errors 0.005 now, 0.0005 before.
    assert judged.startswith("Check in between FAILED: drift +0.0045 mm, permitted 0.0020 mm")
    assert judged.endswith(
        "Wipe anvils and stack, press 2 times again. Still off? Set zero and type zeroed."
    )
    bench.close()


def test_a_beginning_is_told_only_where_its_reason_is_news(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert news(bench.state, bench.steps[0].entries, bench.state, {}) == [], "the prompt says it"
    bench.press(*STACK)
    assert told(bench, LoseLink("unplugged")) != []
    assert told(bench, FindLink(source()))[1] == (
        "The cable was out, and without power the gauge may have lost its zero."
    )
    bench.close()


def test_a_question_and_its_answers_are_told(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    (held,) = told(bench, "61.000")
    assert held == "Held: 61.000 mm: it lies more than 0.5 mm outside the limits of M1."
    assert told(bench, Drop("a slip")) == ["Not used: a slip."]
    told(bench, "61.000")
    assert told(bench, Drop()) == ["Dropped."]
    many = SetAside(reading("59.980"), "too many", 2, reading("59.980"))
    assert told(bench, many) == ["Not used (2 in a row): too many."]
    told(bench, "61.000")
    kept, over = told(bench, Keep())
    assert kept == "Kept."
    assert over.startswith("M1 front 0°: 61.000 mm is 1.010 mm over the high limit 59.990 mm.")
    bench.close()


def test_several_reasons_of_one_question_stand_in_one_sentence(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    (held,) = told(bench, "61.00", resolution="0.01")
    assert held == (
        "Held: 61.00 mm: its last digit is 0.01, before it was 0.001: a digit may be lost; "
        "it lies more than 0.5 mm outside the limits of M1."
    )
    bench.close()


def test_what_is_taken_back_is_named_with_its_value_and_a_way_on(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press("59.970")
    assert told(bench, Back()) == ["Stack reading 59.970 mm taken back. Read the stack again."]
    bench.press(*STACK)
    bench.say(Skip("oil hole"))
    assert told(bench, Back()) == ["M1 front 0° is on the route again."]
    bench.close()


@pytest.mark.parametrize(("count", "many"), [(1, ""), (2, " (2 in a row)")])
def test_bytes_that_are_no_reading_are_told_by_their_code(
    tmp_path: Path, count: int, many: str
) -> None:
    bench = bench_of(tmp_path)
    reject = TakeReject(Reject("syntax", "not a number", b"x", Instant(0, 0)), count)
    assert told(bench, reject) == [f"No reading, syntax{many}: not a number"]
    bench.close()


def test_a_link_lost_and_found_is_told(tmp_path: Path) -> None:
    bench = bench_of(tmp_path)
    assert told(bench, LoseLink("unplugged")) == ["Cable out. Plug it in; nothing stored is lost."]
    assert told(bench, FindLink(source())) == ["The gauge is back."]
    bench.close()


def test_a_half_line_that_a_resume_found_is_told(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press("59.970").close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US).close()
    assert news(again.state, again.steps[0].entries, again.state, {}) == []
    with (bench.folder / "ledger.jsonl").open("ab") as ledger:
        ledger.write(b'{"seq":9,')
    torn = Bench.again(bench.folder, again.now_us + MINUTE_US).close()
    (said,) = news(torn.state, torn.steps[0].entries, torn.state, {})
    (file,) = bench.folder.glob("torn-*.bin")
    assert said == (
        "The record ended in half a line (9 bytes) that was never acknowledged. It is kept in "
        f"{file.name}."
    )


def test_a_reading_outside_its_limits_is_told_with_the_way_to_take_it_again(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    assert told(bench, "59.969") == [
        "M1 front 0°: 59.969 mm",
        "M1 front 0°: 59.969 mm is 0.001 mm under the low limit 59.970 mm. To take the same place "
        "again, type back.",
    ]
    assert told(bench, "59.970") == ["M1 front 90°: 59.970 mm"]
    bench.close()


def test_a_kept_reading_outside_its_limits_is_told_though_others_were_taken_since(
    tmp_path: Path,
) -> None:
    bench = bench_of(tmp_path).press(*STACK, "59.969")
    told(bench, "61.000")
    assert told(bench, Keep())[1].startswith("M1 front 90°: 61.000 mm is 1.010 mm over")
    bench.close()


def test_a_journal_below_for_certain_is_told_with_whose_decision_it_is(tmp_path: Path) -> None:
    bench = bench_of(tmp_path).press(*STACK)
    before = bench.state
    step = bench.say(TakeReading(reading("59.980", bench.now_us + SECOND_US)))
    assert news(before, step.entries, bench.state, {"M9": "M9 is below"}) == [
        "M1 front 0°: 59.980 mm"
    ]
    assert news(before, step.entries, bench.state, {"M1": "M1 is below"})[1:] == [
        "M1 is below. Finish the route, or type stop REASON. The maker's manual and a licensed "
        "practice decide; this is evidence, not permission."
    ]
    bench.close()


# --- values and limits ---


def sent(value: str, unit: str = "mm", resolution: str = "0.001") -> Sent:
    return Sent(value, unit, resolution, None, (), "")


def test_a_value_is_shown_as_the_gauge_showed_it() -> None:
    assert value_words(sent("59.980")) == "59.980 mm"
    assert value_words(sent("59.980", unit="")) == "59.980"


@pytest.mark.parametrize(
    ("limit", "unit", "resolution", "is_low", "words"),
    [
        ("59.970 mm", "mm", "0.001", True, "59.970 mm"),
        ("59.970 mm", "kg", "0.001", True, "59.970 mm"),
        # 59.970 / 25.4 = 2.361023..., so inward is up for a low limit and down for a high one
        ("59.970 mm", "in", "0.0001", True, "59.970 mm = 2.3611 in rounded inward"),
        ("59.970 mm", "in", "0.0001", False, "59.970 mm = 2.3610 in rounded inward"),
        ("2.3610 in", "mm", "0.0001", True, "2.3610 in = 59.9694 mm"),
    ],
)
def test_a_limit_is_told_in_the_gauges_unit_and_never_wider(
    limit: str, unit: str, resolution: str, is_low: bool, words: str
) -> None:
    assert limit_words(parse_length(limit), unit, resolution, is_low=is_low) == words


@pytest.mark.parametrize(
    ("value", "unit", "estimate", "words"),
    [
        ("59.970", "mm", "59.970", ""),
        ("59.990", "mm", "59.990", ""),
        ("59.969", "mm", "59.969", "59.969 mm is 0.001 mm under the low limit 59.970 mm"),
        ("59.991", "mm", "59.991", "59.991 mm is 0.001 mm over the high limit 59.990 mm"),
        # What counts is the estimate.
        (
            *("59.971", "mm", "59.9695"),
            "59.971 mm, corrected to 59.96950 mm, is 0.00050 mm under the low",
        ),
        ("59.969", "mm", "59.9705", ""),
        # 2.3610 in = 59.9694 mm: 0.0006 mm under; 59.970 mm is 2.3611 in, rounded inward
        (
            *("2.3610", "in", "59.9694"),
            "2.3610 in is 0.0006 mm under the low limit 59.970 mm = 2.3611 in rounded inward",
        ),
        # 2.3619 in = 59.99226 mm: 0.00226 mm over
        (
            "2.3619",
            "in",
            "59.99226",
            "2.3619 in is 0.00226 mm over the high limit 59.990 mm = 2.3618 in rounded inward",
        ),
    ],
)
def test_how_far_a_reading_lies_outside_is_told_in_the_limits_own_unit_where_it_can(
    value: str, unit: str, estimate: str, words: str
) -> None:
    journal = journal_plan(limits())
    said = against_limits(journal, sent(value, unit, "0.0001"), Fraction(estimate))
    assert said == words if not words else said.startswith(words)


def test_without_a_high_limit_nothing_is_too_large() -> None:
    journal = journal_plan(limits(high=None))
    assert against_limits(journal, sent("99.000"), Fraction(99)) == ""


def test_a_limit_in_inches_is_compared_in_inches_with_a_gauge_that_shows_them() -> None:
    journal = journal_plan(limits(low="2.3610 in", high="2.3620 in"))
    # 2.3608 in = 59.96432 mm; 0.0002 in under, in the digits of both
    assert against_limits(journal, sent("2.3608", "in", "0.0001"), Fraction("59.96432")) == (
        "2.3608 in is 0.0002 in under the low limit 2.3610 in"
    )
