"""Sessions of several runs: each reading is judged by the gauge and the setup that took it."""

from pathlib import Path

import msgspec
import pytest

from daq.board.messages import news
from daq.evaluation.verdict import confirmed_below
from daq.record.events import CheckRead, Dropped, Setup, StintBegan, Zeroed
from daq.record.results import JournalResult
from daq.record.state import Status, status
from daq.rules.commands import Drop, Later, StopHere, TakeReading
from daq.rules.unattended import unattended
from daq.services.verify import verify
from tests.builders import MINUTE_US, ONE, Bench, opened, reading, setup, tables_of

TWO = (
    ONE.replace('name = "M1"', 'name = "M1"\nout_of_round = "0.008 mm"')
    + '\n[[journal]]\nname = "M2"\nlow = "59.970 mm"\nhigh = "60.010 mm"\n'
)
FINE = 'schema = 1\nprofile = "p"\nport = "/dev/x"\nresolution = "0.001 mm"\n'
COARSE = FINE.replace("0.001 mm", "0.005 mm")
STACK = ("59.970", "59.970")


def with_gauge(text: str, only: str, device: str) -> Setup:
    return setup(device, gauge=device, gauge_file=text, only=(only,))


def result(bench: Bench, journal: str) -> JournalResult:
    closed = bench.state.closed
    assert closed is not None
    return next(found for found in closed.journals if found.journal == journal)


@pytest.mark.parametrize(
    ("first", "second", "form"),
    [
        # 0.008 mm is over four steps of 0.001 mm, and under four of 0.005 mm
        (FINE, COARSE, "within"),
        (COARSE, FINE, "undecided"),
    ],
)
def test_a_journal_is_judged_by_the_resolution_of_the_gauge_that_measured_it(
    tmp_path: Path, first: str, second: str, form: str
) -> None:
    # four angles: two see no oval for certain
    plan = TWO.replace("out_of_round", "angles_deg = [0, 45, 90, 135]\nout_of_round")
    bench = Bench.new(tmp_path / "s", opened(plan, with_setup=with_gauge(first, "M1", "mic-1")))
    bench.press(*STACK, *["59.980", "59.981"] * 2, *STACK).close()
    again = Bench.again(bench.folder, bench.now_us, with_gauge(second, "M2", "mic-2"))
    again.press(*STACK, "59.990", "59.991", *STACK).close()
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"
    assert result(again, "M1").form_verdict == form


def test_a_coarse_gauge_is_refused_when_a_resume_widens_its_work(tmp_path: Path) -> None:
    # Alone, M2's tolerance of 0.040 mm takes a step of 0.010 mm; M1's of 0.020 mm does not. The
    # written check limits fit both.
    plan = TWO.replace("0.008 mm", "0.019 mm")
    bench = Bench.new(tmp_path / "s", opened(plan, with_setup=setup(only=("M2",))))
    bench.press("59.97", "59.97", "59.99", resolution="0.01").close()
    again = Bench.again(bench.folder, bench.now_us, setup(only=("M1", "M2")))
    assert status(again.state) is Status.CHECKING
    again.press("59.97", resolution="0.01").close()
    assert again.state.closed is not None
    assert again.state.closed.verdict == "rejected"
    assert "too coarse" in again.state.closed.reasons[0]
    again.close()
    assert verify(again.folder).faults == ()  # its reading was open, and is tainted by the end


def test_a_gauge_found_wrong_condemns_no_part(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK, "59.960", "59.961")
    journal = bench.state.plan.journals[0]
    assert confirmed_below(bench.state, journal)
    bench.press("59.950", "59.950").close()  # it reads 0.020 mm too small
    assert confirmed_below(bench.state, journal) is None


def test_a_new_zero_within_the_before_check_begins_it_anew(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970")
    bench.press("59.970", flags=("zeroed",))
    kinds = [type(entry.event) for entry in bench.steps[-1].entries]
    assert kinds[1:] == [Dropped, Zeroed, StintBegan]
    bench.press("59.970", "59.970", flags=("zeroed",))  # from its first reading on: no news
    assert status(bench.state) is Status.MEASURING
    bench.close()


def test_a_deviation_is_refused_also_where_the_gauge_has_a_range(tmp_path: Path) -> None:
    ranged = FINE + 'range = ["50 mm", "75 mm"]\n'
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=setup(gauge_file=ranged)))
    bench.press("0.003")
    held = bench.state.held
    assert held is not None
    assert any("range" in reason for reason in held.event.reasons)
    assert any("deviation" in reason for reason in held.event.reasons)
    bench.close()


def test_a_resume_after_too_long_begins_anew_also_without_a_keyboard(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press(*STACK, "59.980").close()
    again = Bench.again(bench.folder, bench.now_us + 61 * MINUTE_US)
    began = again.steps[0].entries[-1].event
    assert isinstance(began, StintBegan)
    assert began.cause == "age"
    assert unattended(again.state, ()) is None
    assert status(again.state) is Status.WAITING
    again.close()


def test_drops_of_an_earlier_run_do_not_count(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK)
    for _ in range(10):
        bench.press("61.000").say(Drop())
    assert bench.state.drops_in_row == 10
    bench.close()
    assert Bench.again(bench.folder, bench.now_us).close().state.drops_in_row == 0


def test_a_reading_that_came_just_before_a_check_was_judged_is_taken(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK)
    earlier = bench.now_us - 50
    step = bench.manager.submit(TakeReading(reading("59.980", earlier)), earlier)
    assert [type(entry.event).__name__ for entry in step.entries] == ["Read"]
    bench.close()


def test_stopping_with_nothing_measured_says_so_first(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK)
    bench.say(StopHere("tea"))
    bench.press(*STACK).close()
    assert bench.state.closed is not None
    assert bench.state.closed.reasons[:2] == ("stopped: tea", "nothing of the part was measured")


def test_a_changed_rule_does_not_make_an_old_record_unreadable(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK, "59.980", "59.981", *STACK).close()
    monkeypatch.setattr(
        "daq.metrology.gauge_check.MOST_SHARE", 40
    )  # every limit of this plan is over it now
    assert verify(bench.folder).verdict == "accepted"


def test_later_is_told_and_the_offset_is_that_of_the_run(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press(*STACK, "59.980")
    before = bench.state
    step = bench.say(Later())
    assert news(before, step.entries, bench.state, {}) == []
    bench.press(*STACK).close()
    winter = msgspec.structs.replace(setup(), local_offset="+00:00")
    again = Bench.again(bench.folder, bench.now_us, winter).press(*STACK, "59.981", *STACK).close()
    from daq.export.columns import READINGS

    place = [column.name for column in READINGS].index("local_offset")
    rows = tables_of(again)[0].rows
    assert [row[place] for row in rows] == ["+01:00", "+00:00"]
    assert any(isinstance(entry.event, CheckRead) for entry in again.steps[1].entries)
