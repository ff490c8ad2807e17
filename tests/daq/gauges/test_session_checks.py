"""The checks of a session in the history of the gauge that made them."""

from decimal import Decimal
from pathlib import Path

from daq.gauges.history import history_name
from daq.gauges.session_checks import checks_of
from daq.record.events import Temperatures
from daq.rules.commands import FindLink, LoseLink, parse_line
from daq.services.keep_checks import record_session_checks
from daq.storage.history_file import read
from tests.builders import ONE, SESSION, START_US, Bench, accepted, opened, setup, source

FILE = 'schema = 1\nprofile = "bench"\nport = "/dev/ttyUSB0"\nresolution = "0.001 mm"\n'


def test_every_judged_check_of_a_session_goes_to_its_gauges_history(tmp_path: Path) -> None:
    state = accepted(tmp_path / "s", opened(with_setup=setup(gauge_file=FILE))).state
    assert record_session_checks(state, tmp_path) == len(state.judged) == 4
    history = read("mic-50-75", tmp_path)
    assert [check.phase for _, check in history.checks] == ["before", "after", "before", "after"]
    assert [at for at, _ in history.checks] == [judged.at_us for judged in state.judged]
    for (_, check), judged in zip(history.checks, state.judged, strict=True):
        assert check.source == SESSION
        assert check.errors == judged.errors
        assert check.mean_error_mm == judged.event.mean_error_mm
        assert check.passed == judged.event.passed
        assert check.resolution_mm == "0.001"


def test_handing_a_session_in_again_adds_only_what_is_new(tmp_path: Path) -> None:
    first = opened(plan=ONE, with_setup=setup(gauge_file=FILE))
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.971")
    assert record_session_checks(bench.state, tmp_path) == 1
    assert record_session_checks(bench.state, tmp_path) == 0
    bench.press("59.980", "59.981").press("59.971", "59.971")
    assert record_session_checks(bench.state, tmp_path) == 1
    assert len(read("mic-50-75", tmp_path).checks) == 2
    bench.close()


def test_a_failed_check_is_kept_as_well_as_a_passed_one(tmp_path: Path) -> None:
    first = opened(plan=ONE, with_setup=setup(gauge_file=FILE))
    bench = Bench.new(tmp_path / "s", first).press("59.975", "59.976")
    record_session_checks(bench.close().state, tmp_path)
    ((_, check),) = read("mic-50-75", tmp_path).checks
    assert not check.passed
    # Error = indication - true size: (0.005 + 0.006) / 2 = +0.0055 mm.
    assert check.mean_error_mm == "0.00550"
    assert check.readings == ("59.975", "59.976")


def test_a_reading_taken_back_is_not_in_the_history(tmp_path: Path) -> None:
    first = opened(plan=ONE, with_setup=setup(gauge_file=FILE))
    bench = Bench.new(tmp_path / "s", first).press("59.975")
    back = parse_line("back")
    assert back is not None
    bench.say(back)
    bench.press("59.970", "59.971").close()
    ((_, _, check),) = checks_of(bench.state)
    assert check.readings == ("59.970", "59.971")


def test_a_gauge_without_a_file_is_known_by_its_port(tmp_path: Path) -> None:
    state = accepted(tmp_path / "s").state
    record_session_checks(state, tmp_path)
    assert len(read(history_name(None, "usb-1"), tmp_path).checks) == 4


def test_a_swapped_gauges_checks_do_not_go_to_the_first_ones_history(tmp_path: Path) -> None:
    first = opened(plan=ONE, with_setup=setup(gauge_file=FILE))
    bench = Bench.new(tmp_path / "s", first).press("59.970", "59.971")
    bench.say(LoseLink("unplugged"))
    bench.say(FindLink(source(device="usb-2", gauge="usb-2")))
    bench.press("59.972", "59.972").close()
    assert [(name, check.device) for name, _, check in checks_of(bench.state)] == [
        ("mic-50-75", "usb-1"),
        (history_name(None, "usb-2"), "usb-2"),
    ]


def test_temperatures_and_coefficients_travel_with_the_check(tmp_path: Path) -> None:
    warm = setup(gauge_file=FILE, temperatures=Temperatures(gauge="21.5", stack="23"))
    bench = Bench.new(tmp_path / "s", opened(plan=ONE, with_setup=warm)).press("59.970", "59.971")
    ((_, _, check),) = checks_of(bench.close().state)
    assert (check.gauge_temp_c, check.stack_temp_c) == ("21.5", "23")
    assert Decimal(check.gauge_per_k) > 0
    assert Decimal(check.stack_per_k) > 0
    assert float(check.stack_u_mm) > 0
    assert check.stack_u_basis == "assumed"


def test_the_moments_are_those_of_the_ledger(tmp_path: Path) -> None:
    first = opened(plan=ONE, with_setup=setup(gauge_file=FILE))
    bench = Bench.new(tmp_path / "s", first, now_us=START_US).press("59.970", "59.971").close()
    ((_, at_us, _),) = checks_of(bench.state)
    assert at_us == START_US + 2_000_000
