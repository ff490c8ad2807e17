"""Whether USB can be used at all on this machine."""

import pytest
import usb.backend.libusb1  # type: ignore[import-untyped]  # pyusb has no types
from pytest_mock import MockerFixture

from drivers.ports.usb_bus import library_trouble


@pytest.mark.parametrize(
    ("system", "backend", "words"),
    [
        ("linux", object(), ""),
        ("linux", None, "Install the package libusb-1.0-0"),
        ("win32", object(), "--port typed:"),
    ],
)
def test_the_trouble_says_what_to_do(
    mocker: MockerFixture, system: str, backend: object, words: str
) -> None:
    mocker.patch("drivers.ports.usb_bus.sys.platform", system)
    mocker.patch.object(usb.backend.libusb1, "get_backend", return_value=backend)
    told = library_trouble()
    assert words in told
    assert bool(told) is bool(words)
