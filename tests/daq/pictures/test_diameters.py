"""Which diameters are drawn, and on what scale."""

from decimal import Decimal
from fractions import Fraction

import pytest
from msgspec.structs import replace

from daq.board.board import PlaceShown
from daq.lengths import Length
from daq.pictures.diameters import DiameterDrawn, RadialScale, diameters, scale_of, smallest_of
from tests.daq.pictures.drawn_sessions import between, journal, row

M1 = journal(between(), "M1")  # 59.970 to 59.990 mm


def test_a_radius_lies_on_the_scale_and_beyond_it() -> None:
    scale = RadialScale(low=59.97, high=59.99, step=0.005, inner=46, outer=150)
    # 104 for 0.02 mm: 5.2 for a um
    assert scale.radius(59.97) == pytest.approx(46)
    assert scale.radius(59.98) == pytest.approx(98)
    assert scale.radius(59.99) == pytest.approx(150)
    assert scale.radius(59.969) == pytest.approx(40.8)
    assert scale.rings == pytest.approx([46, 72, 98, 124, 150])


def test_how_many_times_larger_deviations_are_drawn() -> None:
    scale = RadialScale(low=59.97, high=59.99, step=0.005, inner=46, outer=150)
    # The circle of 59.98 mm is drawn with a radius of 98: 98 / 29.99 = 3.2678 a mm of radius. A
    # diameter greater by 0.02 mm is a radius greater by 0.01 mm, true to scale 0.032678; it is
    # drawn 104 greater, and 104 / 0.032678 = 3183.
    assert scale.magnification == pytest.approx(3183, abs=0.6)


def test_the_scale_holds_the_limits_and_what_lies_outside_them() -> None:
    low = scale_of(M1, [], 46, 150)
    assert (low.low, low.high, low.step) == pytest.approx((59.97, 59.99, 0.005))
    worn = scale_of(M1, [DiameterDrawn("front", 0, Fraction("59.958"))], 46, 150)
    assert worn.low <= 59.958
    assert worn.high >= 59.99


def test_the_scale_of_a_journal_in_inches_is_in_inches() -> None:
    inch = replace(M1, low=Length(Decimal("2.3610"), "in"), high=None, unit="in")
    found = scale_of(inch, [DiameterDrawn("front", 0, Fraction("59.9948"))], 46, 150)
    # 59.9948 / 25.4 = 2.3620
    assert (found.low, found.high) == pytest.approx((2.3610, 2.3620))


def test_a_diameter_is_the_exact_mean_of_its_repeats() -> None:
    found = row(between(), "M1")
    places = (
        PlaceShown("front", 0, 1, "proven", "1", "mm", "59.98000"),
        PlaceShown("front", 0, 2, "measured", "1", "mm", "59.98100"),
        PlaceShown("front", 0, 3, "skipped"),
        PlaceShown("front", 90, 1, "again", "1", "mm", "59.90000"),
        PlaceShown("rear", 0, 1, "proven", "1", "mm", "59.98050"),
        PlaceShown("rear", 90, 1),
    )
    # (59.98 + 59.981) / 2 = 59.9805; what must be measured again does not stand
    assert diameters(replace(found, places=places)) == [
        DiameterDrawn("front", 0, Fraction("59.9805")),
        DiameterDrawn("rear", 0, Fraction("59.9805")),
    ]


def test_of_equal_diameters_the_first_on_the_route_is_the_smallest() -> None:
    one, other = (DiameterDrawn(name, 0, Fraction("59.98")) for name in ("front", "rear"))
    more = DiameterDrawn("front", 45, Fraction("59.981"))
    assert smallest_of([more, one, other]) is one
    assert smallest_of([]) is None
    assert diameters(None) == []
