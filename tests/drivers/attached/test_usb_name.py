"""Names of USB devices, there and back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.attached.usb_name import UsbName, is_usb_name, parse_usb_name, usable_serial
from drivers.errors import PortNameError
from drivers.ports import check_port_name


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("usb:1209:0002", UsbName(0x1209, 2)),
        ("usb:1209:00AB", UsbName(0x1209, 0xAB)),
        ("USB:1209:00ab", UsbName(0x1209, 0xAB)),
        ("usb:1209:0002:KB1", UsbName(0x1209, 2, "KB1")),
        ("usb:1209:0002:a:b@c 1-2", UsbName(0x1209, 2, "a:b@c 1-2")),
        ("usb:1209:0002:x://y", UsbName(0x1209, 2, "x://y")),
        ("usb:1209:0002@1-2", UsbName(0x1209, 2, None, "1-2")),
        ("usb:1209:0002@10-2.3.14", UsbName(0x1209, 2, None, "10-2.3.14")),
    ],
)
def test_a_name_is_read(text: str, expected: UsbName) -> None:
    assert parse_usb_name(text) == expected
    check_port_name(text)


@pytest.mark.parametrize(
    "text",
    [
        "usb:",
        "usb:1209",
        "usb:1209:",
        "usb:1209:2",
        "usb:12g9:0002",
        "usb:1209:00022",
        "usb:1209:0002:",
        "usb:1209:0002: ",
        "usb:1209:0002:KB1 ",
        "usb:1209:0002:" + "9" * 127,
        "usb:1209:0002@",
        "usb:1209:0002@1",
        "usb:1209:0002@1-",
        "usb:1209:0002@1-2.3.4.5.6.7.8.9",
        "usb:1209:0002@../../etc",
        "usb:\uff11209:0002",  # a full-width digit
        "usb://1209:0002",
        "usb:1209:0002:K\x1b[2J",
        "usb:1209:0002:K\n",
    ],
)
def test_a_wrong_name_is_refused_with_the_right_forms(text: str) -> None:
    assert is_usb_name(text)
    with pytest.raises(PortNameError) as caught:
        parse_usb_name(text)
    assert "usb:VVVV:PPPP, usb:VVVV:PPPP:SERIAL or usb:VVVV:PPPP@BUS-PORT.PORT" in str(caught.value)
    assert str(caught.value).isprintable()
    with pytest.raises(PortNameError):
        check_port_name(text)


@pytest.mark.parametrize("text", ["/dev/ttyUSB0", "socket://usb:1", "u", ""])
def test_other_names_are_not_of_this_kind(text: str) -> None:
    assert not is_usb_name(text)


IDS = st.integers(0, 0xFFFF)
SOCKETS = st.from_regex(r"\A[1-9][0-9]?-[1-9](\.[1-9]){0,6}\Z")
SERIALS = st.text(max_size=130).map(usable_serial)


@given(IDS, IDS, st.tuples(SERIALS, st.none()) | st.tuples(st.none(), SOCKETS))
def test_every_name_is_read_as_it_was_written(
    vendor: int, product: int, which: tuple[str | None, str | None]
) -> None:
    name = UsbName(vendor, product, *which)
    assert parse_usb_name(str(name)) == name
    assert name.is_explicit is (which != (None, None))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (None, None),
        ("", None),
        ("  \t ", None),
        (" KB1 ", "KB1"),
        ("KB\n1", None),
        ("KB\x1b[31m", None),
        ("9" * 126, "9" * 126),
        ("9" * 127, None),
        ("Ä1", "Ä1"),
        ("\u202e1", None),  # turns the text on a terminal round
    ],
)
def test_a_serial_number_counts_if_it_can_stand_in_a_name(
    text: str | None, expected: str | None
) -> None:
    assert usable_serial(text) == expected
