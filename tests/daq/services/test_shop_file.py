"""HOME/shop.toml and its logo."""

import os
from pathlib import Path

import pytest

from daq.errors import SettingsError
from daq.services.shop_file import letterhead
from tests.daq.sheet.test_letterhead import SHOP, png


def test_a_home_without_the_file_has_no_letterhead(tmp_path: Path) -> None:
    assert letterhead(tmp_path) is None
    assert letterhead(tmp_path / "nowhere") is None


def test_name_address_and_logo_are_read(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(SHOP)
    (tmp_path / "logo.png").write_bytes(png())
    found = letterhead(tmp_path)
    assert found is not None
    assert (found.name, found.address[1]) == ("Harbour Street Crankshafts", "Port Town")
    assert found.logo.startswith("data:image/png;base64,")


@pytest.mark.parametrize("kind", ["absent", "pipe", "folder", "script", "large"])
def test_a_logo_that_cannot_be_used_is_refused_with_file_and_key(tmp_path: Path, kind: str) -> None:
    (tmp_path / "shop.toml").write_text(SHOP)
    logo = tmp_path / "logo.png"
    match kind:
        case "pipe":
            os.mkfifo(logo)
        case "folder":
            logo.mkdir()
        case "script":
            logo.write_text("<svg onload='alert(1)'/>")
        case "large":
            logo.write_bytes(b"\x89PNG\r\n\x1a\n" * 100_000)
        case _:
            pass
    with pytest.raises(SettingsError, match=r"shop\.toml, key logo: ") as caught:
        letterhead(tmp_path)
    assert caught.value.exit_code == 2


def test_what_is_wrong_in_the_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    for text in (b"schema = 1\nname = 7", b"\xff\xfe", b"x" * 100_000):
        path.write_bytes(text)
        with pytest.raises(SettingsError, match=r"shop\.toml"):
            letterhead(tmp_path)
    path.unlink()
    path.symlink_to(tmp_path / "nowhere")
    with pytest.raises(SettingsError, match="cannot be read"):
        letterhead(tmp_path)
