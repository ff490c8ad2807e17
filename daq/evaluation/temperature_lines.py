"""What temperatures and coefficients of expansion add to the uncertainty of a diameter. Pure.

The terms of D = R (1 + a_s (T_s - 20)) / (1 + a_p (T_p - 20)), R the size that the gauge shows, a
and T the coefficients and temperatures of stack and part. Lengths in mm, temperatures in degrees
Celsius.
"""

import math
from decimal import Decimal
from typing import Protocol

from daq.lengths import plain
from daq.metrology.expansion import REFERENCE_C, Coefficient
from daq.metrology.uncertainty.components import Component, product_term, rectangular
from daq.record.environment import Reference

SECOND_ORDER = "second order: the product of both uncertainties"


class Warmth(Protocol):
    """A diameter of about `size_mm`, and what is known of temperatures and coefficients: those of
    the part, None if not known, and of the reference, and the limits of error in kelvin.
    """

    @property
    def size_mm(self) -> Decimal: ...
    @property
    def part_c(self) -> Decimal | None: ...
    @property
    def part(self) -> Coefficient: ...
    @property
    def reference(self) -> Reference: ...
    @property
    def thermometer_limit_k(self) -> Decimal: ...
    @property
    def room_limit_k(self) -> Decimal: ...
    @property
    def difference_limit_k(self) -> Decimal: ...


def temperature_components(about: Warmth) -> list[Component]:
    """What temperatures and coefficients contribute, by what is known of them."""
    beside, part_c = _stack_against_gauge(about), about.part_c
    if part_c is None:
        return [*beside, *_part_as_warm(about)]
    return [*_of_part(about, part_c), *beside, *_of_reference(about, part_c)]


def _part_as_warm(about: Warmth) -> list[Component]:
    """A part of unknown temperature is taken to be as warm as the reference, which may be unknown
    too: what counts is how far they differ.
    """
    size, part, reference = float(about.size_mm), about.part, about.reference
    is_known = reference.celsius is not None
    celsius = REFERENCE_C if reference.celsius is None else reference.celsius
    u_celsius = rectangular(float(about.thermometer_limit_k if is_known else about.room_limit_k))
    u_apart = rectangular(float(about.difference_limit_k))
    a_p, a_r = float(part.value), float(reference.coefficient.value)
    u_coefficients = math.hypot(
        part.standard_uncertainty, reference.coefficient.standard_uncertainty
    )
    return [
        flat(
            f"part against {reference.name}, temperature",
            "0 K",
            u_apart,
            "K",
            size * a_p,
            f"not measured: within {plain(about.difference_limit_k)} K of each other",
        ),
        flat(
            "common temperature, unlike coefficients",
            f"{plain(celsius)} °C",
            u_celsius,
            "K",
            size * abs(a_r - a_p),
            "thermometer" if is_known else "not measured",
        ),
        flat(
            "coefficients",
            "0 /K",
            u_coefficients,
            "/K",
            size * abs(float(celsius - REFERENCE_C)),
            "difference of the two",
        ),
        product_term("coefficients x temperature", u_coefficients, u_celsius, size, SECOND_ORDER),
    ]


def _of_part(about: Warmth, part_c: Decimal) -> list[Component]:
    """The expansion of a part of known temperature."""
    limit_k = about.thermometer_limit_k
    return _expansion(about, "part", about.part, part_c, limit_k, _thermometer(limit_k))


def _of_reference(about: Warmth, part_c: Decimal) -> list[Component]:
    """The expansion of the reference, beside a part of known temperature."""
    reference, limit_k = about.reference, about.thermometer_limit_k
    if reference.celsius is not None:
        return _expansion(
            about,
            reference.name,
            reference.coefficient,
            reference.celsius,
            limit_k,
            _thermometer(limit_k),
        )
    # A stack that nobody measured may be as warm as the part is.
    widest = max(about.room_limit_k, abs(part_c - REFERENCE_C))
    words = f"not measured: {plain(REFERENCE_C)} °C within {plain(widest)} K"
    return _expansion(about, reference.name, reference.coefficient, REFERENCE_C, widest, words)


def _thermometer(limit_k: Decimal) -> str:
    return f"thermometer within {plain(limit_k)} K"


def _expansion(
    about: Warmth,
    name: str,
    coefficient: Coefficient,
    celsius: Decimal,
    limit_k: Decimal,
    note: str,
) -> list[Component]:
    """Of one thing with a temperature of its own, `celsius` +- `limit_k`: temperature, coefficient,
    and the product of both.
    """
    size, per_k = float(about.size_mm), float(coefficient.value)
    u_celsius, u_per_k = rectangular(float(limit_k)), coefficient.standard_uncertainty
    away = abs(float(celsius - REFERENCE_C))
    return [
        flat(f"{name} temperature", f"{plain(celsius)} °C", u_celsius, "K", size * per_k, note),
        flat(
            f"{name} coefficient",
            f"{per_k * 1e6:.1f}e-6 /K",
            u_per_k,
            "/K",
            size * away,
            coefficient.source,
        ),
        product_term(f"{name} coefficient x temperature", u_per_k, u_celsius, size, SECOND_ORDER),
    ]


def _stack_against_gauge(about: Warmth) -> list[Component]:
    """Where only the gauge's temperature is known, the stack is taken to have the same."""
    if about.reference.name != "gauge":
        return []
    limit_k = about.difference_limit_k
    return [
        flat(
            "stack against gauge, temperature",
            "0 K",
            rectangular(float(limit_k)),
            "K",
            float(about.size_mm) * float(about.reference.coefficient.value),
            f"the stack's was not measured: taken as the gauge's, within {plain(limit_k)} K",
        )
    ]


def flat(name: str, estimate: str, u: float, unit: str, sensitivity: float, note: str) -> Component:
    """Of an input that lies anywhere between limits."""
    return Component(
        name=name,
        estimate=estimate,
        u=u,
        unit=unit,
        sensitivity=sensitivity,
        distribution="rectangular",
        note=note,
    )
