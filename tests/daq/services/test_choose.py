"""Which gauge a run has, where its values are typed: by a person, or by a gauge that types."""

from pathlib import Path

import msgspec
import pytest

from daq.acquisition.typed_port import BY_HAND_TEXT, TypedPort
from daq.equipment.gauge import BY_HAND, TYPED_PORT
from daq.errors import UsageError
from daq.record.events import GaugeSource, Setup, is_by_hand
from daq.services.choose import Chosen, cannot_be_seen, choose, choose_again, refuse_other
from daq.services.run_wanted import Attendance, TriggerOptions
from daq.services.taking import taking_of
from drivers.profile.file import parse_profile
from drivers.profile.profile import SHIPPED
from tests.builders import setup

THERE = Attendance(has_keyboard=True, is_terminal=True)
SERIAL = (SHIPPED / "number-unit-crlf.toml").read_text(encoding="utf-8")
TYPES = (SHIPPED / "keyboard-number-enter.toml").read_text(encoding="utf-8")


def gauge(home: Path, profile: str, where: str) -> None:
    (home / "gauges").mkdir()
    (home / "gauges" / "mike.toml").write_text(
        f'schema = 1\nprofile = "{profile}"\n{where}\nresolution = "0.001 mm"\n'
        'permitted_error = "0.004 mm"\n'
    )


def last(profile: str, port: str = TYPED_PORT) -> Setup:
    source = GaugeSource("mike", port, None, port)
    return msgspec.structs.replace(setup(), source=source, profile=profile)


def typed(home: Path, profile: str | None = None) -> Chosen:
    return choose(TYPED_PORT, profile, None, home)


def test_typed_needs_no_profile_and_is_by_hand_then(tmp_path: Path) -> None:
    chosen = typed(tmp_path)
    assert (chosen.port, chosen.profile.id, chosen.gauge) == (TYPED_PORT, BY_HAND, None)
    assert chosen.is_by_hand
    assert chosen.profile.units() == ("in", "mm")


def test_its_profile_is_a_whole_one_that_a_record_is_known_by() -> None:
    assert parse_profile(BY_HAND_TEXT, "x").id == BY_HAND
    assert is_by_hand(last(BY_HAND_TEXT))
    assert not is_by_hand(last(BY_HAND_TEXT, "/dev/ttyUSB0"))
    assert not is_by_hand(last(TYPES))


def test_a_profile_given_is_that_of_a_gauge_that_types(tmp_path: Path) -> None:
    assert not typed(tmp_path, "keyboard-number-enter").is_by_hand


def test_without_port_it_is_told_how_values_are_typed(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="or --port typed: to type each value"):
        choose(None, None, None, tmp_path)


@pytest.mark.parametrize(
    ("profile", "where", "is_hand"),
    [
        ("number-unit-crlf", 'port = "/dev/ttyUSB0"', True),  # its cable is not at hand
        ("number-unit-crlf", 'identity = "usb:1209:0001:A1"', True),
        ("typed-by-hand", 'port = "typed:"', True),
        ("keyboard-number-enter", 'identity = "usb:1209:0002"', False),
        ("number-crlf", 'port = "typed:"', False),  # a gauge that types, as its file says
    ],
)
def test_a_gauge_whose_values_are_typed_keeps_its_name_and_file(
    tmp_path: Path, profile: str, where: str, is_hand: bool
) -> None:
    gauge(tmp_path, profile, where)
    chosen = choose(TYPED_PORT, None, "mike", tmp_path)
    assert chosen.is_by_hand is is_hand
    assert chosen.gauge is not None
    assert str(chosen.gauge.permitted_error) == "0.004 mm"
    refuse_other(chosen, TypedPort())  # its own identity cannot be seen there
    assert taking_of(TriggerOptions(), chosen, THERE).is_typed


def test_a_gauge_of_a_cable_is_no_stream_where_its_values_are_typed(tmp_path: Path) -> None:
    gauge(tmp_path, "number-unit-crlf", 'port = "/dev/ttyUSB0"\ncontinuous = true')
    chosen = choose(TYPED_PORT, None, "mike", tmp_path)
    assert not taking_of(TriggerOptions(), chosen, THERE).is_stream


@pytest.mark.parametrize(
    ("wanted", "option"),
    [
        (TriggerOptions(continuous=True), "--continuous"),
        (TriggerOptions(stable_s=1.0), "--stable"),
        (TriggerOptions(send_key="usb:1209:0003"), "--send-key"),
    ],
)
def test_options_of_a_gauge_on_a_port_are_refused(
    tmp_path: Path, wanted: TriggerOptions, option: str
) -> None:
    with pytest.raises(UsageError, match=f"{option} is for a gauge on a port"):
        taking_of(wanted, typed(tmp_path), THERE)


@pytest.mark.parametrize("profile", [None, "keyboard-number-enter"])
def test_nothing_can_be_typed_without_a_keyboard(tmp_path: Path, profile: str | None) -> None:
    nobody = Attendance(has_keyboard=False, is_terminal=False)
    with pytest.raises(
        UsageError, match=r"^There is no keyboard, so nobody could ask for a reading\.$"
    ):
        taking_of(TriggerOptions(), typed(tmp_path, profile), nobody)
    assert taking_of(TriggerOptions(), typed(tmp_path, profile), THERE).needs_press


def test_it_is_said_how_to_type_and_nothing_of_frames(tmp_path: Path) -> None:
    how, error = cannot_be_seen(typed(tmp_path), TypedPort())
    assert how.startswith("type each value as the gauge shows it, then Enter")
    assert error.startswith("the permitted error of the gauge is not known")


# Carried on ---------------------------------------------------------------------------------------


def again(home: Path, before: Setup, port: str | None) -> str:
    return choose_again(before, port, None, None, home).profile.id


def test_what_was_typed_is_typed_on(tmp_path: Path) -> None:
    chosen = choose_again(last(BY_HAND_TEXT), None, None, None, tmp_path)
    assert chosen.is_by_hand


@pytest.mark.parametrize(
    ("before", "port", "profile"),
    [
        (last(SERIAL, "/dev/ttyUSB0"), "typed:", BY_HAND),  # the cable is broken
        (last(SERIAL, "/dev/ttyUSB0"), "/dev/ttyUSB1", "number-unit-crlf"),
        (last(SERIAL, "/dev/ttyUSB0"), None, "number-unit-crlf"),
        (last(TYPES), "usb:1209:0002", "keyboard-number-enter"),
        (last(TYPES, "usb:1209:0002"), "typed:", "keyboard-number-enter"),
    ],
)
def test_another_port_changes_the_profile_only_where_the_old_one_is_of_no_use(
    tmp_path: Path, before: Setup, port: str | None, profile: str
) -> None:
    assert again(tmp_path, before, port) == profile


def test_from_typing_to_a_cable_its_profile_must_be_said(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="--profile is missing: so far the values were typed"):
        again(tmp_path, last(BY_HAND_TEXT), "/dev/ttyUSB0")


def test_a_gauge_whose_file_says_that_a_person_types_has_no_profile_on_a_port(
    tmp_path: Path,
) -> None:
    gauge(tmp_path, BY_HAND, 'port = "typed:"')
    assert choose(None, None, "mike", tmp_path).is_by_hand
    with pytest.raises(UsageError, match="--profile is missing"):
        choose("/dev/ttyUSB0", None, "mike", tmp_path)
    assert not choose("/dev/ttyUSB0", "number-crlf", "mike", tmp_path).is_by_hand


def test_from_typing_to_the_gauge_s_own_cable_its_file_says_it(tmp_path: Path) -> None:
    gauge(tmp_path, "number-unit-crlf", 'port = "/dev/ttyUSB0"')
    text = (tmp_path / "gauges" / "mike.toml").read_text()
    before = msgspec.structs.replace(last(BY_HAND_TEXT), gauge_file=text)
    assert again(tmp_path, before, "/dev/ttyUSB0") == "number-unit-crlf"
