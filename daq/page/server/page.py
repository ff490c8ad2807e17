"""The page as HTML, whole and part by part, from templates that escape all that they are given."""

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from daq.page.server.drawings import DRAWINGS, drawings
from daq.page.server.hub import is_for
from daq.page.server.moment import Moment
from daq.page.server.seen import NOT_BEGUN, seen
from daq.pictures.layout import CrankLayout

PARTS = (
    *("head", "place", "value", "answer", "warnings", "news", "keys", "progress", "journals"),
    *("check", "link"),
)
SHEETS = ("skip", "note", "retake", "stop", "abandon")
"""Words that something must follow: each has a form of its own."""


class Pages:
    """Of one run; `layout` is what is drawn."""

    def __init__(self, layout: CrankLayout | None, *, is_speaking: bool = False) -> None:
        self._layout = layout
        self._is_speaking = is_speaking
        environment = Environment(
            loader=PackageLoader("daq.page.server"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._page = environment.get_template("page.html")
        self._parts = {name: environment.get_template(f"{name}.html") for name in PARTS}
        self._sheet = environment.get_template("sheet.html")

    def parts(self, moment: Moment) -> dict[str, str]:
        """The HTML of each part but drawings by its name; empty where there is nothing to show."""
        sheets = [f"keys-{word}" for word in SHEETS]
        if moment.board is None:
            return {**dict.fromkeys((*PARTS, *sheets), ""), "place": NOT_BEGUN}
        view = seen(moment, self._layout)
        parts = {name: template.render(view=view).strip() for name, template in self._parts.items()}
        for word in SHEETS:
            sheet = view.sheets.get(word)
            parts[f"keys-{word}"] = "" if sheet is None else self._sheet.render(sheet=sheet).strip()
        return parts

    def drawings(self, moment: Moment) -> dict[str, str]:
        """The drawings as SVG by the name of their part."""
        if moment.board is None:
            return dict.fromkeys(DRAWINGS, "")
        return drawings(self._layout, moment.board)

    def page(self, parts: dict[str, str], may_press: bool, step: int) -> str:
        """The whole page of one link."""
        shown = {name: Markup(html) for name, html in parts.items() if is_for(name, may_press)}
        return self._page.render(
            parts=shown,
            may_press=may_press,
            step=step,
            is_speaking=self._is_speaking,
            sheets=[f"keys-{word}" for word in SHEETS],
        )
