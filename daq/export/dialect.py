"""How tables are written as CSV: for programs, or for a spreadsheet with a decimal comma. Pure."""

import msgspec

from daq.export.column import ColumnKind


class Dialect(msgspec.Struct, frozen=True):
    """What parts the cells of a row, the decimal sign, and whether the file begins with the mark by
    which spreadsheets know UTF-8.
    """

    delimiter: str = ","
    decimal: str = "."
    has_mark: bool = False


PLAIN = Dialect()
"""RFC 4180, as the tables beside a ledger are."""

COMMA = Dialect(";", ",", has_mark=True)
"""What a spreadsheet set to a decimal comma opens: it would read 59.982 as 59982."""

DIALECTS = {"plain": PLAIN, "comma": COMMA}
"""By the word that asks for it."""

WITH_DECIMALS = (ColumnKind.LENGTH, ColumnKind.NUMBER)
"""What has a decimal sign."""
