"""A session carried on by another run: what counts, and what is asked for again."""

from pathlib import Path

import pytest

from daq.errors import Refused
from daq.record.events import CheckJudged, Dropped, Resumed
from daq.record.state import Status, phase, status
from daq.rules.commands import Later, Retake
from daq.services.verify import verify
from tests.builders import MINUTE_US, ONE, Bench, kind_of, opened, setup


def test_a_check_cut_short_sets_no_unit_for_the_next(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970").close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US)
    assert phase(again.state) == "before"
    # 2.36102 in = 59.969908 mm, 0.000092 mm under the stack: believed, and the stint is in inches.
    again.press("2.36102", "2.36102", unit="in", resolution="0.00005")
    assert again.kinds()[-3:] == ["check_reading", "check_reading", "check_judged"]
    assert again.state.stint is not None
    assert (again.state.stint.unit, again.state.stint.resolution) == ("in", "0.00005")
    judged = again.steps[-1].entries[-1].event
    assert isinstance(judged, CheckJudged)
    assert (judged.passed, judged.readings, judged.check_no) == (True, 2, 2)
    again.close()


def test_a_held_reading_does_not_outlive_its_run(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "65.000").close()
    assert status(bench.state) is Status.ASKING
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US)
    assert [kind_of(entry) for entry in again.steps[0].entries] == ["resumed", "dropped", "note"]
    dropped = again.steps[0].entries[1].event
    assert isinstance(dropped, Dropped)
    assert dropped.held == 6  # opened, stint, two readings, their judgement, then the held one
    assert phase(again.state) == "during"
    again.close()


@pytest.mark.parametrize(
    ("minutes", "device", "same_gauge", "asked"),
    [
        (5, "usb-1", None, "during"),
        (239, "usb-1", None, "during"),
        (241, "usb-1", None, "before"),  # max_age_min is 240 where the plan says nothing
        (5, "usb-2", None, "before"),
        (5, "usb-2", "the other socket", "during"),
    ],
)
def test_a_resume_begins_with_the_check_that_is_due(
    tmp_path: Path, minutes: int, device: str, same_gauge: str | None, asked: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980").close()
    again = Bench.again(bench.folder, bench.now_us + minutes * MINUTE_US, setup(device), same_gauge)
    assert phase(again.state) == asked
    resumed = again.steps[0].entries[0].event
    assert isinstance(resumed, Resumed)
    assert resumed.same_gauge == same_gauge
    assert resumed.setup.source.device == device
    again.close()


def test_a_gauge_once_said_to_be_the_same_stays_the_same(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980").close()
    moved = Bench.again(bench.folder, bench.now_us + MINUTE_US, setup("usb-2"), "other socket")
    moved.close()
    again = Bench.again(bench.folder, moved.now_us + MINUTE_US, setup("usb-2"))
    assert phase(again.state) == "during"
    again.close()
    other = Bench.again(bench.folder, again.now_us + MINUTE_US, setup("usb-3"))
    assert phase(other.state) == "before"
    other.close()


@pytest.mark.parametrize("values", [(), ("59.970",), ("59.975", "59.975")])
def test_later_before_any_check_passed_leaves_the_session_open_at_once(
    tmp_path: Path, values: tuple[str, ...]
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*values)
    bench.say(Later())
    assert bench.manager.is_done
    assert bench.state.closed is None
    bench.close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US)
    assert phase(again.state) == "before"
    again.press("59.970", "59.970", "59.980", "59.981", "59.970", "59.970").close()
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"
    assert verify(again.folder).faults == ()


def test_a_resume_with_no_place_left_begins_with_the_check_after(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980", "59.981")
    bench.close()
    again = Bench.again(bench.folder, bench.now_us + MINUTE_US)
    assert phase(again.state) == "after"
    again.press("59.970", "59.970")
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"
    again.close()


@pytest.mark.parametrize(
    "text",
    [
        "M1/front/        0",
        "M1/front/0000000000000000000000000000000",
        "M1/front/000000000",
        "M1/front/-0",
        "M1/front/\u00b2",
        "M1/front/",
        "M1/front",
        "M1/front/0/1/1",
        "///",
        "",
    ],
)
def test_a_place_oddly_written_is_found_or_refused(tmp_path: Path, text: str) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    if text.endswith(" 0"):
        assert [kind_of(entry) for entry in bench.say(Retake(text)).entries] == ["void"]
    else:
        with pytest.raises(Refused) as caught:
            bench.say(Retake(text))
        assert caught.value.code == "unknown-place"
    bench.close()
