"""Mistakes about which readings count and when they came, each held off in a whole session.

Common practice, no source, where none is named.
"""

from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from daq.export.columns import READINGS
from daq.record.events import Dropped, Held, Setup, StintBegan
from daq.record.state import Status, fates, next_position, status
from daq.rules.commands import Back, Drop, Keep
from daq.services.verify import verify
from drivers.dialects.codec import REPEAT
from drivers.reading import LATE, utc_micros
from tests.builders import MINUTE_US, ONE, Bench, opened, setup, tables_of

STACK = ("59.970", "59.970")
RANGED = (
    'schema = 1\nprofile = "p"\nport = "/dev/x"\nresolution = "0.001 mm"\n'
    'range = ["50 mm", "75 mm"]\n'
)


def measuring(folder: Path, *values: str, with_setup: Setup | None = None) -> Bench:
    """A session of ONE whose gauge is proven: two places, 0 and 90 degrees, wait for a reading."""
    return Bench.new(folder / "s", opened(ONE, with_setup=with_setup)).press(*STACK, *values)


def held_for(bench: Bench) -> str:
    """Why the reading that is asked about is not believed."""
    assert status(bench.state) is Status.ASKING
    held = bench.state.held
    assert held is not None
    return "; ".join(held.event.reasons)


def standing(bench: Bench) -> list[str]:
    """The diameters in mm that stand, in order of the route."""
    names = [each.name for each in READINGS]
    return [row[names.index("diameter_mm")] for row in tables_of(bench)[0].rows]


# Twice and late


@pytest.mark.parametrize("flag", [REPEAT, LATE])
def test_a_doubled_or_late_reading_never_goes_to_the_next_place_by_itself(
    tmp_path: Path, flag: str
) -> None:
    bench = measuring(tmp_path, "59.980").press("59.980", flags=(flag,))
    held_for(bench)
    following = next_position(bench.state)
    assert following is not None
    assert following.angle_deg == 90  # still waits for its own reading
    bench.say(Drop())
    bench.press("59.985", *STACK).close()
    assert standing(bench) == ["59.980", "59.985"]
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"


@pytest.mark.parametrize("flag", [REPEAT, LATE])
def test_a_doubled_or_late_reading_of_the_stack_is_not_counted_twice(
    tmp_path: Path, flag: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970")
    bench.press("59.970", flags=(flag,))
    held_for(bench)
    bench.say(Drop())
    assert bench.state.check is not None
    assert len(bench.state.check.readings) == 1  # a check of two is not over yet
    assert status(bench.state) is Status.WAITING
    bench.press("59.971").close()
    assert [judged.event.readings for judged in bench.state.judged] == [2]


def test_what_is_sent_again_while_a_question_is_open_counts_once(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("60.800").press("60.800")
    second = [type(entry.event) for entry in bench.steps[-1].entries]
    assert second == [Held, Dropped]
    bench.say(Keep())
    assert standing(bench) == ["60.800"]
    bench.press("59.981", *STACK).close()
    assert [taken.mm for taken in bench.state.readings] == [Decimal("60.800"), Decimal("59.981")]


def test_a_place_measured_again_has_one_reading_and_the_old_one_is_not_averaged_in(
    tmp_path: Path,
) -> None:
    bench = measuring(tmp_path, "59.989")
    bench.say(Back())
    bench.press("59.981", "59.983", *STACK).close()
    assert standing(bench) == ["59.981", "59.983"]
    assert bench.state.closed is not None
    (journal,) = bench.state.closed.journals
    assert (journal.positions_measured, journal.largest_mm) == (2, "59.98300")


def test_a_reading_of_the_stack_that_was_taken_back_counts_for_nothing(tmp_path: Path) -> None:
    # With the slip of 59.974 in it the mean would be 0.0020, and its spread 0.0040
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.974")
    bench.say(Back())
    bench.press("59.970", "59.970").close()
    (judged,) = (each.event for each in bench.state.judged)
    assert (judged.readings, judged.mean_error_mm, judged.passed) == (2, "0.00000", True)


# The other unit


def test_a_reading_in_the_other_unit_is_never_stored_as_mm(tmp_path: Path) -> None:
    # The gauge's unit switch is turned in mid-session: 2.3615 in, and 2.3615 x 25.4 = 59.9821 mm
    bench = measuring(tmp_path, "59.980").press("2.3615", unit="in", resolution="0.0001")
    assert "The gauge is on inch. Set it to mm" in held_for(bench)
    bench.say(Keep())
    assert standing(bench) == ["59.980", "59.98210"]
    assert '"value":"2.3615","unit":"in"' in (bench.folder / "ledger.jsonl").read_text()
    bench.close()


def test_a_reading_in_mm_is_never_stored_as_inches(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press("2.36102", "2.36102", unit="in", resolution="0.00001")  # 59.969908 mm
    assert status(bench.state) is Status.MEASURING
    bench.press("59.980")
    assert "The gauge is on mm. Set it to inch" in held_for(bench)
    bench.say(Keep())
    assert standing(bench) == ["59.980"]
    bench.close()


def test_inches_that_a_gauge_calls_mm_are_not_believed(tmp_path: Path) -> None:
    bench = measuring(tmp_path).press("2.3615")
    assert "outside the limits of M1" in held_for(bench)
    bench.close()


def test_a_stack_read_in_the_other_unit_passes_only_by_its_size(tmp_path: Path) -> None:
    # 2.3611 x 25.4 = 59.97194, an error of 0.00194; 2.3612 in is 0.00448 too large
    for inches, passed in (("2.3611", True), ("2.3612", False)):
        bench = Bench.new(tmp_path / inches, opened(ONE))
        bench.press(inches, inches, unit="in", resolution="0.0001").close()
        assert [judged.event.passed for judged in bench.state.judged] == [passed]


# What the gauge cannot mean


@pytest.mark.parametrize("value", ["49.900", "75.100"])
def test_a_reading_outside_the_gauges_range_is_not_believed(tmp_path: Path, value: str) -> None:
    # A micrometer of 50 to 75 mm cannot measure 49.9
    plan = ONE.replace('low = "59.970 mm"', 'low = "59.970 mm"\nwindow = "20 mm"')
    first = opened(plan, with_setup=setup(gauge_file=RANGED))
    bench = Bench.new(tmp_path / "s", first).press(*STACK, value)
    assert held_for(bench) == "it lies outside the gauge's range of 50 mm to 75 mm"
    assert standing(bench) == []
    bench.close()


@pytest.mark.parametrize("value", ["50.000", "75.000"])
def test_the_ends_of_the_range_belong_to_it(tmp_path: Path, value: str) -> None:
    plan = ONE.replace('low = "59.970 mm"', 'low = "59.970 mm"\nwindow = "20 mm"')
    first = opened(plan, with_setup=setup(gauge_file=RANGED))
    bench = Bench.new(tmp_path / "s", first).press(*STACK, value).close()
    assert standing(bench) == [value]


@pytest.mark.parametrize("flag", ["preset", "zeroed", "power-lost"])
def test_a_gauge_that_says_its_zero_was_moved_is_not_measured_with(
    tmp_path: Path, flag: str
) -> None:
    bench = measuring(tmp_path, "59.980").press("59.981", flags=(flag,))
    assert status(bench.state) is Status.WAITING  # for a check of the new zero
    assert "59.981" not in [taken.sent.value for taken in bench.state.standing.values()]
    assert set(fates(bench.state).values()) == {"tainted"}
    bench.close()


# Clocks

NIGHT = (
    # The clocks of much of Europe (Directive 2000/84/EC, from memory): back at 01:00 UTC on the
    # last Sunday of October, on at 01:00 UTC on the last Sunday of March.
    ("2026-10-25T00:57:00.000000Z", "+02:00", "+01:00"),
    ("2027-03-28T00:57:00.000000Z", "+01:00", "+02:00"),
)


@pytest.mark.parametrize(("begins", "before", "after"), NIGHT)
def test_an_hour_of_the_wall_clock_makes_no_check_older_or_younger(
    tmp_path: Path, begins: str, before: str, after: str
) -> None:
    # Checks may be 30 minutes old. Six minutes pass; on the wall an hour more, or 54 minutes back.
    plan = ONE.replace("readings = 2", "readings = 2\nmax_age_min = 30")
    first = opened(plan, with_setup=msgspec.structs.replace(setup(), local_offset=before))
    bench = Bench.new(tmp_path / "s", first, utc_micros(begins)).press(*STACK, "59.980").close()
    changed = msgspec.structs.replace(setup(), local_offset=after)
    again = Bench.again(bench.folder, bench.now_us + 6 * MINUTE_US, changed)
    assert len(again.state.stints) == 1  # the check before still holds
    again.press(*STACK, "59.981", *STACK).close()
    assert [judged.event.passed for judged in again.state.judged] == [True, True, True]
    assert set(fates(again.state).values()) == {"proven"}
    assert verify(again.folder).faults == ()


def test_the_check_after_comes_after_the_readings_whatever_the_wall_clock_says(
    tmp_path: Path,
) -> None:
    begins, before, after = NIGHT[0]
    first = opened(ONE, with_setup=msgspec.structs.replace(setup(), local_offset=before))
    bench = Bench.new(tmp_path / "s", first, utc_micros(begins)).press(*STACK, "59.980").close()
    changed = msgspec.structs.replace(setup(), local_offset=after)
    again = Bench.again(bench.folder, bench.now_us + 6 * MINUTE_US, changed)
    again.press(*STACK, "59.981", *STACK).close()
    names = [each.name for each in READINGS]
    rows = tables_of(again)[0].rows
    at = [row[names.index("taken_at")] for row in rows]
    assert at == ["2026-10-25T00:57:03.000000Z", "2026-10-25T01:03:06.000000Z"]
    assert [row[names.index("local_offset")] for row in rows] == [before, after]
    # by the wall clock the first came at 02:57:03 and the second at 02:03:06
    wall = [
        utc_micros(text) + hours * 60 * MINUTE_US for text, hours in zip(at, (2, 1), strict=True)
    ]
    assert wall == sorted(wall, reverse=True)
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"


def test_a_clock_set_back_between_two_runs_makes_no_check_younger_than_the_readings(
    tmp_path: Path,
) -> None:
    # By their stamps the readings come after both checks; the order of the lines decides, and the
    # age of the first check is not known any more: what it had begun is not proven.
    bench = measuring(tmp_path, "59.980").close()
    again = Bench.again(bench.folder, bench.now_us - 10 * MINUTE_US)
    began = again.steps[0].entries[-1].event
    assert isinstance(began, StintBegan)
    assert (began.cause, "clock went back" in began.why) == ("age", True)
    assert set(fates(again.state).values()) == {"tainted"}
    again.press(*STACK, "59.982", "59.983", *STACK).close()
    assert standing(again) == ["59.982", "59.983"]


@pytest.mark.parametrize(("value", "fate"), [("59.970", "proven"), ("59.975", "tainted")])
def test_a_check_after_speaks_of_the_readings_before_it_also_where_its_stamp_is_earlier(
    tmp_path: Path, value: str, fate: str
) -> None:
    # The clock is put back by five minutes between the readings and the check: the order of the
    # lines is the order of the work.
    bench = measuring(tmp_path)
    bench.now_us += 10 * MINUTE_US
    bench.press("59.980", "59.981")
    bench.now_us -= 5 * MINUTE_US
    bench.press(value, value).close()
    stamps = [taken.at_us for taken in bench.state.standing.values()]
    assert min(stamps) > bench.state.judged[-1].at_us
    assert set(fates(bench.state).values()) == {fate}
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == ("accepted" if fate == "proven" else "rejected")
