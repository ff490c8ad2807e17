"""Which readings count when a gauge is proven outside a session, and what is made of them."""

import json
from decimal import Decimal

import msgspec
import pytest

from daq.equipment.gauge import parse_gauge
from daq.equipment.stacks.stack_file import assumed_stack
from daq.gauges.check_result import CheckResult, prove, result_json, result_lines
from daq.gauges.check_rules import CheckWanted, Said, StackReadings, is_near, take
from daq.gauges.history import PROVE
from daq.lengths import parse_length
from daq.record.events import Temperatures
from daq.rules.commands import Why
from daq.rules.interval import STREAMS, UNASKED
from drivers.reading import LATE, Reading
from tests.builders import SECOND_US, START_US, reading

GAUGE = parse_gauge(
    'schema = 1\nprofile = "bench"\nport = "/dev/ttyUSB0"\nrange = ["50 mm", "60 mm"]\n',
    "mic",
    "test",
)


def wanted(size: str = "59.970 mm", *, with_range: bool = False) -> CheckWanted:
    return CheckWanted(
        stack=assumed_stack(parse_length(size)),
        stack_word=size,
        readings=3,
        max_error=parse_length("0.002 mm"),
        max_spread=parse_length("0.002 mm"),
        gauge=GAUGE if with_range else None,
    )


def words_of(*readings: Reading, with_range: bool = False) -> str:
    """What is said of the last of them."""
    taken, words = StackReadings(), ""
    for each in readings:
        said = take(taken, each, wanted(with_range=with_range))
        taken, words = said.taken, said.words
    return words


def test_readings_of_the_stack_count_in_order() -> None:
    taken = StackReadings()
    for second, value in enumerate(("59.970", "59.971")):
        taken = take(taken, reading(value, START_US + second * SECOND_US), wanted()).taken
    assert [each.value for each in taken.readings] == [Decimal("59.970"), Decimal("59.971")]


@pytest.mark.parametrize(
    ("odd", "why"),
    [
        (reading("2.3610", unit="in", resolution="0.0001"), "The gauge is on inch"),
        (reading("59.97", resolution="0.01"), "a digit may be lost"),
        (reading("59.970", channel="2"), "another device"),
        (reading("59.970", flags=("repeat",)), "button may have been held"),
        (reading("59.970", flags=("late",)), "earlier press"),
        (reading("59.970", flags=("hold",)), "an old value"),
        (reading("0.002"), "looks like a deviation"),
        (reading("58.9"), "more than 0.5 mm from the stack of 59.970 mm"),
        (reading("59.970", unit="deg"), "is not a length"),
    ],
)
def test_a_reading_that_is_not_believed_does_not_count(odd: Reading, why: str) -> None:
    first = reading("59.970")
    assert why in words_of(first, odd)
    said = take(StackReadings((first,)), odd, wanted())
    assert said.taken.readings == (first,)
    assert said.taken.doubted == 1


def test_a_reading_outside_the_gauges_range_does_not_count() -> None:
    assert "outside the gauge's range of 50 mm to 60 mm" in words_of(
        reading("60.001"), with_range=True
    )


def test_a_reading_that_counts_ends_a_row_of_doubted_ones() -> None:
    taken = take(StackReadings(doubted=9), reading("59.970"), wanted()).taken
    assert taken.doubted == 0


def test_a_lost_zero_begins_the_check_again() -> None:
    said = take(StackReadings((reading("59.970"),)), reading("59.970", flags=("zeroed",)), wanted())
    assert said.taken.readings == ()
    assert "it lost its zero" in said.words


def test_a_status_that_was_there_from_the_first_reading_is_no_news() -> None:
    preset = reading("59.970", flags=("preset",))
    assert len(take(StackReadings((preset,)), preset, wanted()).taken.readings) == 2


def test_near_is_within_half_a_millimetre() -> None:
    assert is_near(reading("60.470"), wanted())
    assert not is_near(reading("60.471"), wanted())
    assert not is_near(reading("59.970", unit="deg"), wanted())


def proof_of(
    *values: str,
    unit: str = "mm",
    resolution: str = "0.001",
    temperatures: Temperatures | None = None,
) -> CheckResult:
    readings = tuple(reading(value, unit=unit, resolution=resolution) for value in values)
    return prove(readings, wanted(), temperatures or Temperatures(), "mic", "usb-1", "Ada")


def test_a_gauge_that_shows_too_much_has_a_positive_error() -> None:
    """Error = indication - true size; (2 + 3 + 1) / 3 = +2 um, equal to the limit: passed."""
    proof = proof_of("59.972", "59.973", "59.971")
    assert proof.check.mean_error_mm == "0.00200"
    assert proof.check.passed
    assert proof.check.spread_mm == "0.002"
    assert proof.check.sd_mm == "0.0010000"
    assert (proof.check.source, proof.check.phase) == (PROVE, PROVE)


def test_limits_are_exact_in_inches_too() -> None:
    """2.3611 in = 59.97194 mm, 1.94 um over the stack; 2.3612 in = 59.97448 mm, 4.48 um."""
    assert proof_of("2.3611", unit="in", resolution="0.0001").check.passed
    assert not proof_of("2.3612", unit="in", resolution="0.0001").check.passed


def test_a_spread_over_its_limit_fails() -> None:
    proof = proof_of("59.969", "59.972")
    assert not proof.check.passed
    assert "spread 0.0030 mm, permitted 0.0020 mm" in proof.check.reason


def test_the_judgement_is_at_20_degrees_where_both_temperatures_are_given() -> None:
    warm = Temperatures(gauge="20", stack="24")
    # 59.970 mm * 11.5e-6 /K * 4 K = 0.00275862 mm: the stack is so much longer.
    good = proof_of("59.973", "59.973", temperatures=warm)  # 3 um read - 2.75862 um
    assert good.check.passed
    assert good.check.mean_error_mm == "0.00024"
    assert any("mean error +0.00024 mm" in remark for remark in good.remarks)
    assert any("as read it would be +0.0030 mm" in remark for remark in good.remarks)
    # As read it is right, and truly 2.75862 um too short, over the permitted 2 um.
    assert not proof_of("59.970", "59.970", temperatures=warm).check.passed
    same = Temperatures(gauge="28", stack="28")
    assert proof_of("59.970", "59.970", temperatures=same).check.mean_error_mm == "0.00000"


def test_one_temperature_alone_is_said_to_correct_nothing() -> None:
    proof = proof_of("59.972", temperatures=Temperatures(stack="24"))
    assert "only one temperature is given, so nothing is corrected" in proof.remarks


def test_a_limit_that_the_gauge_cannot_show_is_said() -> None:
    proof = proof_of("59.97", resolution="0.01")
    assert any("under the gauge's step of 0.01 mm" in remark for remark in proof.remarks)


def test_result_and_json_give_the_same_numbers() -> None:
    proof = proof_of("59.972", "59.973", "59.971")
    text = "\n".join(result_lines(proof, wanted(), None))
    assert "mic on the stack of 59.970 mm: PASSED" in text
    assert "mean error +0.0020 mm, permitted 0.002 mm (3 readings" in text
    document = json.loads(result_json(proof, None, "/shop/history/mic.jsonl", ""))
    assert document["mean_error_mm"] == "0.00200"
    assert document["readings"] == ["59.972", "59.973", "59.971"]
    assert document["passed"] is True
    assert document["trouble"] is None


def test_a_reading_that_cannot_be_of_the_step_told_does_not_count() -> None:
    told = msgspec.structs.replace(wanted(), step=parse_length("0.0005 mm"))
    said = take(StackReadings(), reading("59.970"), told)
    assert (said.taken.readings, said.taken.doubted) == ((), 1)
    assert "the step 0.0005 mm is no multiple of the gauge's last digit, 0.001 mm" in said.words
    told = msgspec.structs.replace(wanted(), step=parse_length("0.005 mm"))
    assert take(StackReadings(), reading("59.970"), told).taken.readings == (reading("59.970"),)


# How soon after another ---------------------------------------------------------------------------


def after(taken: StackReadings, ms: int, value: str = "59.970", why: Why = "sent") -> Said:
    """One more reading, so long after the last one."""
    last = max((each.at_us for each in taken.arrivals.values()), default=START_US)
    return take(taken, reading(value, last + ms * 1000), wanted(), why)


def test_a_reading_of_the_stack_needs_three_tenths_of_a_second_the_first_one_seven() -> None:
    first = after(StackReadings(), 0).taken
    assert after(first, 300).words == ""
    said = after(first, 299)
    question = "that came 299 ms after the stack: pressed twice?"
    assert said.words == f"59.970 mm does not count: {question}"
    assert len(said.taken.readings) == 1
    far = after(StackReadings(), 0, "65.000").taken  # it does not count, but it came
    assert "0.5 s after the stack" in after(far, 500).words
    assert after(far, 700).words == ""


@pytest.mark.parametrize("why", ["pressed", "rested", "typed"])
def test_presses_here_rested_and_typed_values_are_exempt(why: Why) -> None:
    assert after(after(StackReadings(), 0).taken, 1, why=why).words == ""


def test_what_came_before_it_was_asked_for_or_unasked_does_not_count() -> None:
    said = take(StackReadings(), reading("59.970"), wanted(), "sent", "it came before")
    assert said.words == "59.970 mm does not count: it came before"
    assert said.taken.readings == ()
    assert UNASKED in after(StackReadings(), 0, why="unasked").words


def test_two_in_one_read_are_pressed_twice_and_a_clock_set_back_doubts_nothing() -> None:
    first = after(StackReadings(), 0).taken
    assert "less than 0.1 s after the stack: pressed twice?" in after(first, 0).words
    assert after(first, -1).words == ""


def test_what_an_asked_gauge_sends_unasked_may_be_too_soon_besides_or_an_answer_too_late() -> None:
    first = after(StackReadings(), 0).taken
    said = after(first, 100, why="unasked").words
    assert said.endswith(f"that came 0.1 s after the stack: pressed twice?; {UNASKED}")
    late = reading("59.970", START_US + SECOND_US, flags=(LATE,))
    said = take(first, late, wanted(), "unasked").words
    assert "earlier press" in said
    assert UNASKED not in said


def test_the_interval_runs_from_the_reading_that_lost_its_zero_too() -> None:
    first = after(StackReadings(), 0).taken
    lost = reading("59.970", START_US + SECOND_US, flags=("zeroed",))
    begun = take(first, lost, wanted()).taken
    assert begun.readings == ()
    assert "0.5 s after the stack" in after(begun, 500).words


def test_what_is_aside_is_told_for_that_alone() -> None:
    first = after(StackReadings(), 0).taken
    soon = reading("61.000", START_US + 1000)
    said = take(first, soon, wanted(), "sent", "it came before")
    assert said.words == "61.000 mm does not count: it came before"


@pytest.mark.parametrize(("soon", "is_stream"), [(4, False), (5, True)])
def test_five_that_came_too_soon_last_are_a_stream(soon: int, is_stream: bool) -> None:
    taken = after(StackReadings(), 0).taken
    for _ in range(soon):
        taken = after(taken, 100).taken
    assert taken.is_stream is is_stream


def test_a_stream_on_the_stack_names_continuous_from_the_fifth_on() -> None:
    taken, said = after(StackReadings(), 0).taken, list[str]()
    for _ in range(6):
        one = after(taken, 100)
        taken = one.taken
        said.append(one.words)
    assert [STREAMS in words for words in said] == [False] * 4 + [True] * 2
    assert (len(taken.readings), taken.doubted, taken.is_stream) == (1, 6, True)


def test_taken_back_or_begun_again_the_time_of_the_last_stays_known() -> None:
    taken = after(StackReadings(), 0).taken.without(1)
    assert taken.readings == ()
    assert "0.6 s after the stack" in after(taken, 600).words
