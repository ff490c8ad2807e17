"""How far blocks expand, as a block set or stack file states it. Pure."""

import msgspec

from daq.metrology.expansion import (
    MATERIALS,
    Coefficient,
    check_coefficient,
    read_coefficient,
)
from drivers.toml_file import WrongKey


def read_stated(text: str | None, limit_text: str | None) -> Coefficient | None:
    """`expansion` (a coefficient or a material by name) and `expansion_limit`, its half width.

    None where there is none; raises WrongKey for what is neither.
    """
    if text is None:
        return None
    found = MATERIALS.get(text) or _read(text, "expansion", _OR_A_MATERIAL)
    if limit_text is None:
        return found
    half_width = _read(limit_text, "expansion_limit").value
    return msgspec.structs.replace(found, half_width=half_width)


def check_stated(text: str | None, limit_text: str | None) -> None:
    """Refuse a coefficient that no material has, and a half width that is none; raises WrongKey."""
    if text is None:
        if limit_text is not None:
            raise WrongKey("expansion_limit", "a limit without its expansion: write that too")
        return
    if text not in MATERIALS:
        _check(text, "expansion", _OR_A_MATERIAL)
    if limit_text is None:
        return
    _check(limit_text, "expansion_limit")
    found = read_stated(text, None)
    if found is not None and _read(limit_text, "expansion_limit").value >= found.value:
        raise WrongKey(
            "expansion_limit", f"{limit_text} is not under the coefficient itself, {found}"
        )


_OR_A_MATERIAL = f", or one of {', '.join(MATERIALS)}"


def _read(text: str, key: str, more: str = "") -> Coefficient:
    try:
        return read_coefficient(text)
    except ValueError as error:
        raise WrongKey(key, f"{error}{more}") from error


def _check(text: str, key: str, more: str = "") -> None:
    try:
        check_coefficient(read_coefficient(text), text)
    except ValueError as error:
        raise WrongKey(key, f"{error}{more}") from error
