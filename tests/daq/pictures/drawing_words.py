"""What stands in a drawing: its elements, its texts, and where they lie."""

from collections.abc import Iterator
from xml.etree import ElementTree

import msgspec

from daq.pictures.lettering import text_width

SVG = "{http://www.w3.org/2000/svg}"
ELEMENTS = {
    *("svg", "title", "desc", "g", "rect", "line", "circle", "polygon", "polyline", "path"),
    *("text", "tspan"),
}
ATTRIBUTES = {
    *("viewBox", "width", "height", "role", "class", "font-family", "font-size", "font-weight"),
    *("text-anchor", "unicode-bidi", "fill", "stroke", "stroke-width", "stroke-dasharray"),
    *("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "d", "points"),
}


def tree(drawing: str) -> ElementTree.Element:
    """The drawing read as XML; fails where it is none."""
    return ElementTree.fromstring(drawing)


def is_only_shapes_and_words(drawing: str) -> bool:
    """Nothing but the elements and attributes above: no style, script, id or address."""
    return all(
        str(one.tag).removeprefix(SVG) in ELEMENTS and set(one.attrib) <= ATTRIBUTES
        for one in tree(drawing).iter()
    )


def words(drawing: str) -> list[str]:
    """The texts of a drawing, in their order."""
    return ["".join(one.itertext()) for one in tree(drawing).iter(f"{SVG}text")]


def about(drawing: str) -> str:
    """What is read aloud instead of it."""
    found = tree(drawing).find(f"{SVG}desc")
    assert found is not None
    return found.text or ""


def of_class(drawing: str, name: str) -> list[ElementTree.Element]:
    """The elements of a class."""
    return [one for one in tree(drawing).iter() if name in one.get("class", "").split()]


class TextBox(msgspec.Struct, frozen=True):
    """Where a text lies at most."""

    words: str
    left: float
    right: float
    top: float
    bottom: float

    def overlaps(self, other: "TextBox") -> bool:
        """The two share some of the drawing."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def text_boxes(drawing: str) -> Iterator[TextBox]:
    """Where each text lies: as wide as a wide font draws it, as high as its capitals."""
    for one in tree(drawing).iter(f"{SVG}text"):
        said = "".join(one.itertext())
        size = float(one.get("font-size", "0"))
        wide = text_width(said, size, is_bold=one.get("font-weight") == "bold")
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[one.get("text-anchor", "start")]
        left, base = float(one.get("x", "0")) - share * wide, float(one.get("y", "0"))
        yield TextBox(said, left, left + wide, base - 0.75 * size, base)


def overlapping(drawing: str) -> list[tuple[str, str]]:
    """The texts that lie on one another."""
    boxes = list(text_boxes(drawing))
    return [
        (one.words, other.words)
        for at, one in enumerate(boxes)
        for other in boxes[at + 1 :]
        if one.overlaps(other)
    ]


def outside(drawing: str) -> list[str]:
    """The texts that reach over the edge."""
    _, _, wide, high = map(float, tree(drawing).get("viewBox", "").split())
    return [
        box.words
        for box in text_boxes(drawing)
        if box.left < 0 or box.right > wide or box.top < 0 or box.bottom > high
    ]
