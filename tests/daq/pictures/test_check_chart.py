"""The picture: an SVG that any browser shows, whatever stands in the history."""

from xml.etree import ElementTree

from daq.gauges.history import History
from daq.gauges.overview import overview
from daq.pictures.check_chart import picture
from daq.pictures.svg import PAINTS
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, adjusted, at, daily, near

SVG = "{http://www.w3.org/2000/svg}"
STEADY = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3, 0.8]


def drawn(history: History, permitted_mm: float | None = 0.004) -> ElementTree.Element:
    moment = history.lines[-1].at_us if history.lines else FIRST_US
    return ElementTree.fromstring(picture(overview(history, moment, permitted_mm=permitted_mm)))


def classes(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [each for each in root.iter() if f"pic-{name}" in each.get("class", "").split()]


def words(root: ElementTree.Element) -> str:
    return "\n".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))


def test_every_check_is_drawn_with_its_uncertainty() -> None:
    root = drawn(daily([near(error) for error in STEADY]))
    assert len(classes(root, "good")) == len(STEADY)
    assert len(classes(root, "bar")) == len(STEADY)


def test_a_larger_error_is_drawn_higher() -> None:
    root = drawn(daily([near(0.0), near(2.0)]))
    low, high = classes(root, "good")
    assert float(high.get("cy", "")) < float(low.get("cy", ""))
    assert float(high.get("cx", "")) > float(low.get("cx", ""))


def test_limits_permitted_error_and_rule_are_named() -> None:
    text = words(drawn(daily([near(error) for error in STEADY])))
    assert "permitted +4" in text
    assert "limit +" in text
    assert "e-Handbook 2.3.5" in text
    assert "59.970 mm" in text


def test_out_of_control_is_a_cross_with_a_word_beside_it_and_the_heading_says_so() -> None:
    root = drawn(daily([near(error) for error in [*STEADY[:6], 3.0]]))
    assert len(classes(root, "bad")) == 1
    assert "Out of control at 59.970 mm" in words(root)
    assert "out" in words(root).split("\n")


def test_each_size_has_its_panel() -> None:
    root = drawn(daily([near(0.5), near(0.5, "50.780")]))
    assert [element.text for element in classes(root, "name")] == ["50.780 mm", "59.970 mm"]


def test_an_adjustment_is_drawn_and_limits_begin_with_it() -> None:
    moment = FIRST_US + 20 * DAY_US
    entries = [(FIRST_US + n * DAY_US, near(e)) for n, e in enumerate(STEADY)]
    entries += [(moment + n * DAY_US, near(e)) for n, e in enumerate(STEADY, 1)]
    root = drawn(at(sorted([*entries, (moment, adjusted())], key=lambda entry: entry[0])))
    (line,) = classes(root, "adjusted")
    (band,) = classes(root, "band")
    assert line.get("x1") == band.get("x")


def test_what_lies_in_a_name_cannot_become_markup() -> None:
    history = daily([near(0.5)])
    hostile = History('<script>alert("x")</script>&\x1b', history.path, history.lines)
    text = picture(overview(hostile, FIRST_US))
    assert "<script" not in text
    assert "\x1b" not in text
    ElementTree.fromstring(text)


def test_it_is_drawn_with_the_paints_of_all_drawings_and_without_a_style_sheet() -> None:
    root = drawn(daily([near(error) for error in [*STEADY[:6], 3.0]]))
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
        *("svg", "title", "desc", "g", "text", "tspan"),
        *("rect", "line", "circle", "path", "polygon", "polyline"),
    }
    painted = {element.get(key) for element in root.iter() for key in ("fill", "stroke")}
    assert painted <= {*PAINTS.values(), "none", None}
    assert not [element for element in root.iter() if element.get("style")]


def test_a_name_of_any_length_and_direction_stays_inside() -> None:
    history = daily([near(0.5)])
    for name in ("M" * 500, "\u05e6\u05d9\u05e8" * 100):
        text = picture(overview(History(name, history.path, history.lines), FIRST_US))
        assert '<tspan unicode-bidi="plaintext">' in text
        assert len(text) < 20_000


def test_an_empty_history_makes_a_picture_that_says_so() -> None:
    assert "No check is in this history yet." in words(drawn(daily([])))


def test_everything_lies_within_the_picture() -> None:
    root = drawn(daily([near(error, limit="9") for error in [*STEADY, -900.0, 900.0]]))
    width, height = float(root.get("width", "")), float(root.get("height", ""))
    for element in root.iter():
        for key in ("x", "x1", "x2", "cx"):
            assert 0 <= float(element.get(key, "0")) <= width
        for key in ("y", "y1", "y2", "cy"):
            assert 0 <= float(element.get(key, "0")) <= height
