"""How far blocks expand, as a block set or stack file states it. Pure."""

import msgspec

from daq.metrology.expansion import MATERIALS, Coefficient, parse_coefficient
from drivers.toml_file import WrongKey


def stated_coefficient(text: str | None, limit_text: str | None) -> Coefficient | None:
    """`expansion` (a coefficient or a material by name) and `expansion_limit`, its half width.

    None where there is none; raises WrongKey.
    """
    if text is None:
        if limit_text is not None:
            raise WrongKey("expansion_limit", "a limit without the expansion that it is for")
        return None
    try:
        found = MATERIALS.get(text) or parse_coefficient(text)
    except ValueError as error:
        raise WrongKey("expansion", f"{error}, or one of {', '.join(MATERIALS)}") from error
    if limit_text is None:
        return found
    try:
        half_width = parse_coefficient(limit_text).value
    except ValueError as error:
        raise WrongKey("expansion_limit", str(error)) from error
    if half_width >= found.value:
        raise WrongKey(
            "expansion_limit", f"{limit_text} is not under the coefficient itself, {found}"
        )
    return msgspec.structs.replace(found, half_width=half_width)
