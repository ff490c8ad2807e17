"""A sheet as one HTML page: from a template that escapes all that it is given, nothing fetched.
Pure.
"""

import re
from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from daq.pictures.svg import size_of
from daq.sheet.code import code_of
from daq.sheet.content import SheetContent
from daq.sheet.letterhead import Letterhead
from daq.sheet.seal import MARK, UNSEALED, sealed
from drivers.printable import shown

_GROUND = re.compile(r'<rect [^<>]*class="pic-ground[^<>]*/>\n?')

ONE_ROW = 260
"""How high a drawing of a crank in one row is at most."""

MOST_SENTENCE, MOST_TITLE, MOST_CELL = 1500, 300, 120
"""Characters of a sentence, of the part's name and of a cell; longer ones end in an ellipsis."""

_LONG_WORD = 14
"""Characters of words that are broken where a table is too wide for the paper."""


def page(content: SheetContent, letterhead: Letterhead | None) -> str:
    """The page with its digest; `letterhead` is the shop's, None where there is none."""
    html = _template().render(
        mark=Markup(MARK),
        digest=UNSEALED,
        sheet=content,
        shop=letterhead,
        crank=Markup(_on_paper(content.crank)),
        has_rows=bool(content.crank) and size_of(content.crank)[1] > ONE_ROW,
        around=[Markup(_on_paper(one)) for one in content.around],
        around_key=Markup(_on_paper(content.around_key)),
        code=Markup(code_of(f"{shown(content.session, MOST_CELL)} {content.chain}")),
    )
    return sealed("\n".join(line.rstrip() for line in html.split("\n") if line.strip()) + "\n")


def _on_paper(drawing: str) -> str:
    """A drawing without its own ground: the paper is."""
    return _GROUND.sub("", drawing, count=1)


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("daq.sheet"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["said"] = lambda text: shown(text, MOST_SENTENCE)
    environment.filters["name"] = lambda text: shown(text, MOST_TITLE)
    environment.filters["cell"] = lambda text: shown(text, MOST_CELL)
    environment.filters["breaks"] = _breaks
    return environment.get_template("sheet.html")


def _breaks(cell: Sequence[str]) -> str:
    """How a cell of words may be broken: `short` where numbers stand in two lines beside it,
    `words` between its words, `long` anywhere.
    """
    if any(len(word) > _LONG_WORD for line in cell for word in line.split()):
        return "long"
    return "words" if any(len(line) > _LONG_WORD for line in cell) else "short"
