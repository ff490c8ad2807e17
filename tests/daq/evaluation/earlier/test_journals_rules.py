"""A journal judged by each rule of decision: guards of size and form, taper per length, chances."""

from decimal import Decimal
from typing import Literal

import msgspec
import pytest

from daq.evaluation.earlier.journals import Certainty, evaluate
from daq.lengths import Limits, parse_length
from daq.plan.route import Stop, positions
from tests.judged_builders import guarded, journal_plan, journal_readings, judged, limits

FOUR = {
    "front": {0: "59.984", 90: "59.980"},
    "rear": {0: "59.979", 90: "59.982"},
}


MIDDLE = Decimal("59.980")

# The rule of decision: guarded acceptance is the default, simple acceptance has no guard and so no
# grey zone (ILAC-G8:09/2019, 4.2.1 and 4.2.2).


@pytest.mark.parametrize(
    ("size", "verdict"),
    [
        ("59.969999", "below"),
        ("59.970", "within"),
        ("59.990", "within"),
        ("59.990001", "above"),
    ],
)
def test_simple_acceptance_decides_at_the_limits_themselves(size: str, verdict: str) -> None:
    proof = Certainty("simple", Decimal("0.002"), Decimal("0.002"), 0.001)
    found = judged({"a": {0: size}}, limits(), proof)
    assert (found.size_verdict, found.verdict) == (verdict, verdict)
    assert found.decision_rule == "simple acceptance: no guard, the limits themselves decide"
    assert found.uncertainty_mm == "0.002"  # said all the same


@pytest.mark.parametrize(
    ("limit", "rule", "form"),
    [
        # out-of-round 0.004 known to 0.001: within from a limit of 0.005 on, over up to under 0.003
        ("0.005 mm", "guarded", "within"),
        ("0.0049999 mm", "guarded", "undecided"),
        ("0.003 mm", "guarded", "undecided"),
        ("0.0029999 mm", "guarded", "over"),
        ("0.004 mm", "simple", "within"),
        ("0.0039999 mm", "simple", "over"),
    ],
)
def test_a_form_value_is_guarded_by_the_uncertainty_of_a_difference(
    limit: str, rule: Literal["guarded", "simple"], form: str
) -> None:
    proof = Certainty(rule, Decimal("0.003"), Decimal("0.001"), 0.0015)
    found = judged(FOUR, limits(out_of_round=limit), proof, "0.0001")
    assert found.form_verdict == form
    verdicts = {"within": "within", "undecided": "undecided", "over": "out-of-form"}
    assert found.verdict == verdicts[form]


@pytest.mark.parametrize(
    ("limit", "form"),
    [("0.004 mm", "over"), ("0.0040001 mm", "within")],  # the out-of-round is 0.004
)
def test_a_manual_that_says_less_than_refuses_the_limit_itself(limit: str, form: str) -> None:
    judge = msgspec.structs.replace(limits(out_of_round=limit), is_form_equal_allowed=False)
    assert judged(FOUR, judge, guarded("0"), "0.0001").form_verdict == form


# Taper per length: 0.0025 mm per 25.4 mm (US Army TM 5-3805-281-24-2), readings 20 mm apart:
# 0.0025 x 20 / 25.4 = 0.0019685...; FOUR tapers by 0.005.


def per_length(taper: str) -> Limits:
    return msgspec.structs.replace(limits(taper=taper), taper_per=parse_length("25.4 mm"))


def test_taper_per_length_is_judged_over_the_length_that_was_measured() -> None:
    table = {"front": {0: "59.982", 90: "59.980"}, "rear": {0: "59.980", 90: "59.980"}}
    found = judged(table, per_length("0.0025 mm"), guarded("0"), "0.0001", ("2 mm", "22 mm"))
    # as an absolute limit 0.0025 would let 0.002 pass
    assert (found.taper_mm, found.taper_limit_mm) == ("0.002", "0.0019685")
    assert (found.form_verdict, found.verdict) == ("over", "out-of-form")


def test_a_taper_limit_that_comes_to_nothing_is_still_the_limit() -> None:
    # stations 0.0001 mm apart: 0.0025 x 0.0001 / 25.4 = 9.8e-9 mm, rounded down to 0
    found = judged(
        {"front": {0: "59.982"}, "rear": {0: "59.980"}},
        per_length("0.0025 mm"),
        guarded("0"),
        None,
        ("2 mm", "2.0001 mm"),
    )
    assert Decimal(found.taper_limit_mm) == 0
    assert found.form_verdict == "over"


@pytest.mark.parametrize(("guard", "answer"), [("0.004", "undecided"), ("0.003", "over")])
def test_a_taper_limit_per_length_under_four_steps_can_only_be_proven_over(
    guard: str, answer: str
) -> None:
    # 0.0019685 mm is less than four steps of 0.001; the taper is 0.005
    found = judged(FOUR, per_length("0.0025 mm"), guarded("0", guard), "0.001", ("2 mm", "22 mm"))
    assert found.form_verdict == answer
    said = "steepest taper 0.005 mm at 0 between front and rear, 0.0019685 mm allowed there"
    assert said in found.remarks


THREE = ("0 mm", "10 mm", "100 mm")


@pytest.mark.parametrize(
    ("sizes", "answer", "limit_mm"),
    [
        # 0.5 times what 10 mm allow, and 0.6 of what 100 mm do: by neither over
        (("60.0000", "60.0005", "60.0060"), "within", "0.0100000"),
        # between the near ones five times what is allowed, proven; over all of it 0.6
        (("60.0000", "60.0050", "60.0060"), "over", "0.0010000"),
        # nobody can prove the near ones, 1.1 times, but over all of it there is 1.2 times
        (("60.0000", "60.0011", "60.0120"), "over", "0.0100000"),
    ],
)
def test_of_a_taper_per_length_every_pair_of_stations_is_judged(
    sizes: tuple[str, str, str], answer: str, limit_mm: str
) -> None:
    table = {name: {0: size} for name, size in zip("abc", sizes, strict=True)}
    judge = msgspec.structs.replace(
        limits("59.9 mm", "60.1 mm", taper="0.001 mm"), taper_per=parse_length("10 mm")
    )
    found = judged(table, judge, guarded("0", "0.0003"), "0.001", THREE)
    assert found.form_verdict == answer
    # The table's taper is the one of its definition, with the limit of its own distance.
    assert Decimal(found.taper_limit_mm) == Decimal("0.01")
    assert f"{limit_mm} mm allowed there" in found.remarks


# How probable it is that a journal keeps its limits: normal distribution (JCGM 106:2012, 7, from
# memory), the lesser of the two extremes.


@pytest.mark.parametrize(
    ("smallest", "bias", "probable"),
    [
        ("59.970", 0.0, "0.50000"),
        ("59.971", 0.0, "0.84134"),  # one u inside: Phi(1)
        ("59.969", 0.0, "0.15866"),  # one u outside
        ("59.9719599640", 0.0, "0.97500"),  # Phi(1.959964)
        ("59.971", 0.001, "0.50000"),  # the gauge reads 0.001 too large
        ("59.971", -0.001, "0.97725"),  # Phi(2)
    ],
)
def test_the_probability_of_conformance_is_that_of_the_worse_extreme(
    smallest: str, bias: float, probable: str
) -> None:
    proof = Certainty("guarded", Decimal("0.002"), parts={(1, 0): (0.001, bias)})
    found = judged({"a": {0: "59.980", 90: smallest}}, limits(), proof)
    assert found.conformance_probability == probable


# What would settle an undecided size.


@pytest.mark.parametrize(
    ("sizes", "needed"),
    [
        (("59.9711", "59.980"), "0.0011"),  # over the low limit by so much
        (("59.9695", "59.980"), "0.0005"),  # under it
        (("59.980", "59.9888"), "0.0012"),  # under the high limit
        (("59.9712", "59.9892"), "0.0008"),  # the nearer of both
    ],
)
def test_an_undecided_size_says_how_well_it_would_have_to_be_known(
    sizes: tuple[str, str], needed: str
) -> None:
    journal = journal_plan(limits(), ("front",), (0, 90))
    at = dict(zip(positions(Stop("M1", "", ("front",), (0, 90), 1, False)), sizes, strict=True))
    readings = journal_readings(journal, {place: Decimal(size) for place, size in at.items()})
    found = evaluate(journal, readings, guarded("0.002"), None, lambda mm: f"U at most {mm:f}")
    assert found.size_verdict == "undecided"
    assert found.settled_by == f"U at most {needed}"


def test_a_decided_size_needs_nothing_to_settle_it() -> None:
    journal = journal_plan(limits(), ("front",), (0,))
    readings = journal_readings(
        journal, dict.fromkeys(positions(Stop("M1", "", ("front",), (0,), 1, False)), MIDDLE)
    )
    found = evaluate(journal, readings, guarded("0.002"), None, lambda mm: "more")
    assert (found.size_verdict, found.settled_by) == ("within", "")
