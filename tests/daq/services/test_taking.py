"""Options of taking put together: which keys of a button device go with which gauge."""

from pathlib import Path

import pytest

from daq.acquisition.inputs import TakingMode
from daq.errors import UsageError
from daq.services.choose import choose
from daq.services.run_wanted import Attendance, TriggerOptions
from daq.services.taking import taking_of, trigger_words

PAD = "usb:1209:0003"
ANSWERS = f"{PAD}=69:back,6A:keep,6B:drop"
NOBODY = Attendance(has_keyboard=False, is_terminal=False)
THERE = Attendance(has_keyboard=True, is_terminal=True)
OWN_BUTTON, ASKED = "number-unit-crlf", "ask-number-unit-cr"


class _Pad:
    """A device that nobody presses."""

    report_id = None

    def close(self) -> None:
        """Nothing to give back."""


@pytest.fixture(autouse=True)
def pads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the devices that were opened."""
    opened: list[str] = []

    def open_keyboard(name: str) -> _Pad:
        opened.append(name)
        return _Pad()

    monkeypatch.setattr("drivers.ports.usb_interface.open_keyboard", open_keyboard)
    return opened


def taking(
    home: Path,
    profile: str | None,
    send_key: str | None,
    there: Attendance = THERE,
    port: str = "/dev/ttyUSB0",
    *,
    continuous: bool = False,
) -> TakingMode:
    chosen = choose(port, profile, None, home)
    return taking_of(TriggerOptions(continuous=continuous, send_key=send_key), chosen, there)


def test_keys_that_do_more_than_send_go_with_a_gauge_that_has_its_own_button(
    tmp_path: Path, pads: list[str]
) -> None:
    mode = taking(tmp_path, OWN_BUTTON, ANSWERS)
    assert pads == [PAD]
    assert not mode.has_trigger
    assert not mode.has_send_key
    assert trigger_words(mode) == ["send key: F14 (69) takes back, F15 (6A) keeps, F16 (6B) drops"]


@pytest.mark.parametrize("send_key", [PAD, f"{PAD}=68:send", f"{PAD}=68:send,69:send"])
def test_keys_that_only_send_do_not_and_it_is_said_what_would(
    tmp_path: Path, pads: list[str], send_key: str
) -> None:
    with pytest.raises(UsageError) as caught:
        taking(tmp_path, OWN_BUTTON, send_key)
    assert str(caught.value) == (
        "--send-key is for a gauge that is asked or that sends without end (--continuous). This "
        "one (profile number-unit-crlf) sends when its own button is pressed: leave it out, or "
        "give its keys other words, like usb:1209:0003=68:send,69:back,6A:keep,6B:drop."
    )
    assert pads == []


def test_a_key_that_would_send_beside_others_is_said_to_do_nothing_there(tmp_path: Path) -> None:
    assert trigger_words(taking(tmp_path, OWN_BUTTON, f"{PAD}=68:send,69:back")) == [
        "send key: F13 (68) sends, F14 (69) takes back",
        "this gauge sends by its own button: a key that sends does nothing here",
    ]


def test_where_values_are_typed_keys_that_do_more_are_taken_too(tmp_path: Path) -> None:
    mode = taking(tmp_path, None, ANSWERS, port="typed:")
    assert (mode.is_typed, mode.answers, mode.needs_press) == (True, True, True)


@pytest.mark.parametrize("send_key", [PAD, f"{PAD}=68:send"])
def test_where_values_are_typed_keys_that_only_send_are_refused(
    tmp_path: Path, send_key: str
) -> None:
    with pytest.raises(UsageError, match="--send-key is for a gauge on a port"):
        taking(tmp_path, None, send_key, port="typed:")


@pytest.mark.parametrize(
    ("send_key", "answers"),
    [
        (None, False),
        (PAD, False),
        (f"{PAD}=68:send,6A:keep", False),
        (f"{PAD}=68:send,6B:drop", False),
        (f"{PAD}=68:send,6A:keep,6B:drop", True),
    ],
)
def test_only_keys_for_keep_and_for_drop_can_answer(
    tmp_path: Path, send_key: str | None, answers: bool
) -> None:
    assert taking(tmp_path, ASKED, send_key).answers is answers


def test_a_stream_without_a_keyboard_needs_a_key_that_sends(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nobody could ask for a reading"):
        taking(tmp_path, OWN_BUTTON, ANSWERS, NOBODY, continuous=True)
    mode = taking(tmp_path, OWN_BUTTON, f"{ANSWERS},68:send", NOBODY, continuous=True)
    assert (mode.needs_press, mode.has_send_key, mode.answers) == (False, True, True)
    assert trigger_words(mode)[-1].startswith("send key: F14 (69) takes back, ")


def test_every_key_that_sends_is_told_as_ever(tmp_path: Path) -> None:
    assert trigger_words(taking(tmp_path, ASKED, PAD)) == [
        "the gauge is asked for each reading: press Enter or the space bar, or the send key"
    ]
    words = trigger_words(taking(tmp_path, ASKED, f"{PAD}=6A:keep"))
    assert words[0].endswith("press Enter or the space bar")


def test_keys_badly_written_are_refused_before_any_device_is_opened(
    tmp_path: Path, pads: list[str]
) -> None:
    with pytest.raises(UsageError, match="'stop' is no word for a key"):
        taking(tmp_path, ASKED, f"{PAD}=68:stop")
    assert pads == []
