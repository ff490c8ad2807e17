"""HOME/shop.toml and the logo beside it, for the head of a sheet."""

from pathlib import Path

from daq.errors import SettingsError
from daq.services.home import MOST_FILE_BYTES
from daq.sheet.letterhead import MOST_LOGO_BYTES, Letterhead, logo_address, parse_shop
from drivers.plain_file import plain_bytes
from drivers.toml_file import WrongKey, text_in

SHOP = "shop.toml"


def letterhead(home: Path) -> Letterhead | None:
    """The shop's name, address and logo; None where there is no such file. Raises SettingsError for
    a file or a logo that cannot be used.
    """
    path = home / SHOP
    if not path.exists() and not path.is_symlink():
        return None
    try:
        shop = parse_shop(text_in(path, MOST_FILE_BYTES))
        logo = "" if shop.logo is None else logo_address(_logo(home / shop.logo))
    except WrongKey as wrong:
        key = f", key {wrong.key}" if wrong.key else ""
        raise SettingsError(f"{path}{key}: {wrong.reason}.") from wrong
    return Letterhead(shop.name, shop.address, logo, shop.paper)


def _logo(path: Path) -> bytes:
    try:
        return plain_bytes(path, MOST_LOGO_BYTES)
    except OSError as error:
        raise WrongKey("logo", f"{path} cannot be read: {error.strerror}") from error
