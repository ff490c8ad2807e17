"""Limits that are wrong in print: each misprint with its source, and tables known to be right."""

from decimal import Decimal

import pytest

from daq.errors import PlanError
from daq.plan.plan import parse_plan
from daq.plan.review import Finding, cross_checks, findings, inch_reach

HEAD = 'schema = 1\npart = "p"\n'


def journal(name: str, low: str, high: str, more: str = "") -> str:
    return f'[[journal]]\nname = "{name}"\nlow = {low}\nhigh = {high}\n{more}\n'


def group(steps: str, more: str = "") -> str:
    return f'[[group]]\nname = "g"\n{more}\n{steps}\n'


def step(name: str, by: str, low: str, high: str, more: str = "") -> str:
    return (
        f'[[group.undersize]]\nname = "{name}"\nby = "{by}"\nlow = "{low}"\nhigh = "{high}"\n'
        f"{more}\n"
    )


def doubts(*pieces: str) -> list[Finding]:
    return list(findings(parse_plan(HEAD + "".join(pieces), "x")))


def kinds(*pieces: str) -> list[tuple[str, str]]:
    return [(one.key, one.kind) for one in doubts(*pieces)]


def refusal(*pieces: str) -> PlanError:
    with pytest.raises(PlanError) as caught:
        parse_plan(HEAD + "".join(pieces), "x")
    return caught.value


IN_GROUP = 'group = "g"\n'

# Misprints


def test_an_out_of_round_limit_of_ten_times_every_other_is_doubted() -> None:
    # US Army TM 5-3805-262-34: mains .005 on p. 4-23, rods .0005 on p. 4-24
    found = doubts(
        journal("main", '"2.998 in"', '"3.000 in"', 'out_of_round = "0.005 in"'),
        journal("rod", '"2.748 in"', '"2.749 in"', 'out_of_round = "0.0005 in"'),
    )
    assert [(one.key, one.kind) for one in found] == [
        ("journal[1].out_of_round", "ten-times"),
        ("journal[1].out_of_round", "wider-than-band"),
    ]
    assert "0.005 in of main is 10 times that of rod (out_of_round = 0.0005 in)" in found[0].words
    # .005 / (3.000 - 2.998)
    assert "2.5 times high - low = 0.0508 mm" in found[1].words


def test_the_same_limit_is_doubted_alone_as_no_journal_within_its_band_can_reach_it() -> None:
    lone = journal("main", '"2.998 in"', '"3.000 in"', 'out_of_round = "0.005 in"')
    assert kinds(lone) == [("journal[1].out_of_round", "wider-than-band")]


def test_a_doubted_limit_stands_as_printed() -> None:
    plan = parse_plan(
        HEAD + journal("main", '"2.998 in"', '"3.000 in"', 'out_of_round = "0.005 in"'), "x"
    )
    assert str(plan.journals[0].limits.out_of_round) == "0.005 in"
    findings(plan)
    assert str(plan.journals[0].limits.out_of_round) == "0.005 in"


def test_an_undersize_low_limit_that_is_off_shows_by_its_cross_check_and_by_its_offset() -> None:
    # US Army TM 5-4320-300-14: main .002 undersize "2.996/2.998 in (76.124/76.149 mm)"; 76.124 mm
    # is 2.997 in. Standard main 2.999 to 3.000 (p. 6-103).
    main = journal("J", '"2.999 in"', '"3.000 in"', IN_GROUP)
    printed = step(".002", "0.002 in", "2.996 in", "2.998 in").replace(
        '"2.996 in"', '["2.996 in", "76.124 mm"]'
    )
    error = refusal(group(printed), main)
    assert error.key == "group[1].undersize[1].low"
    assert "2.996 in is 76.0984 mm, and 76.124 mm is 2.99701 in" in error.reason
    # the same in inches alone: 2.999 - 2.996 = 0.003 in = 0.0762 mm
    (found,) = doubts(group(step(".002", "0.002 in", "2.996 in", "2.998 in")), main)
    assert (found.key, found.kind) == ("group[1].undersize[1].low", "undersize-offset")
    assert "2.999 in - 2.996 in = 0.0762 mm, but the undersize is 0.002 in = 0.0508 mm" in (
        found.words
    )
    assert kinds(group(step(".002", "0.002 in", "2.997 in", "2.998 in")), main) == []


def test_limits_upside_down_whose_units_disagree_too_are_all_told() -> None:
    # US Army TM 9-2815-254-24 p. 3-137: "2.7548 to 2.7533 in (69.920 to 69.632 mm)"; 2.7548 in is
    # 69.97192 mm, 2.7533 in is 69.93382 mm
    text = HEAD + journal("J", '["2.7548 in", "69.920 mm"]', '["2.7533 in", "69.632 mm"]')
    found = cross_checks(text)
    assert [(one.key, one.kind) for one in found] == [
        ("journal[1].low", "inch-mm"),
        ("journal[1].high", "inch-mm"),
    ]
    assert "2.7548 in is 69.97192 mm" in found[0].words
    assert "2.7533 in is 69.93382 mm" in found[1].words
    assert refusal(journal("J", '"2.7548 in"', '"2.7533 in"')).key == "journal[1].low"


def test_a_limit_for_use_above_the_size_when_new_is_refused() -> None:
    # the same manual: its lower limit for use, "2.7560 in (69.95 mm)"; 2.7560 in is 70.0024 mm.
    # The step's own limits are the upside-down pair, put right for this test.
    worn = step(".010", "0.010 in", "2.7533 in", "2.7548 in", 'worn_low = "2.7560 in"')
    error = refusal(group(worn), journal("J", '"2.7633 in"', '"2.7648 in"', IN_GROUP))
    assert error.key == "group[1].undersize[1].worn_low"
    assert "over the low limit of a freshly ground journal" in error.reason
    printed = step(".010", "0.010 in", "2.7533 in", "2.7548 in").replace(
        "\n\n", '\nworn_low = ["2.7560 in", "69.95 mm"]\n'
    )
    assert "70.0024 mm" in refusal(group(printed), journal("J", '"2.77 in"', '"2.78 in"')).reason


def test_a_digit_misprinted_in_the_millimetres_is_refused_with_both_conversions() -> None:
    # US Army TM 5-3805-260-24: "3.4980 in (88.749 mm)"; it is 88.8492 mm
    error = refusal(journal("J", '["3.4980 in", "88.749 mm"]', '"3.5001 in"'))
    assert error.key == "journal[1].low"
    # 88.749 / 25.4 = 3.494055
    assert "3.4980 in is 88.8492 mm, and 88.749 mm is 3.49406 in" in error.reason


def test_a_table_with_digits_exchanged_and_a_band_of_no_width_is_refused() -> None:
    # a stored pick-up truck table: "79.139-79.340 mm (3.1228-3.1236 in)"; 3.1228 in is 79.31912 mm
    error = refusal(journal("J", '["79.139 mm", "3.1228 in"]', '["79.340 mm", "3.1236 in"]'))
    assert (error.key, "79.31912 mm" in error.reason) == ("journal[1].low", True)
    # in mm alone: 79.340 - 79.139 = 201 um, over 3 x 30
    (found,) = doubts(journal("J", '"79.139 mm"', '"79.340 mm"'))
    assert (found.key, found.kind) == ("journal[1].high", "unusual-tolerance")
    assert "201 um on 79.340 mm, is over three times IT7 there, 30 um" in found.words
    # the same table: ".030: 78.577-78.577"
    error = refusal(
        group(step(".030", "0.030 in", "78.577 mm", "78.577 mm")),
        journal("J", '"79.319 mm"', '"79.340 mm"', IN_GROUP),
    )
    assert error.key == "group[1].undersize[1].low"
    assert "upside down" in error.reason


def test_a_taper_per_a_length_in_metres_is_refused() -> None:
    # US Army TM 5-3805-281-24-2, as stored: taper 0.0025 mm "per 25.4 m"
    error = refusal(
        journal(
            "J",
            '"95.201 mm"',
            '"95.227 mm"',
            'taper = "0.0025 mm"\ntaper_per = "25.4 m"\nstation_at = ["5 mm", "30 mm"]',
        )
    )
    assert error.key == "journal[1].taper_per"


# Slips of the hand (common practice, no source)


def test_an_undersize_written_for_the_radius_is_told_so() -> None:
    found = doubts(
        group(step("0.25", "0.125 mm", "59.742 mm", "59.758 mm")),
        journal("J", '"59.992 mm"', '"60.008 mm"', IN_GROUP),
    )
    assert [one.kind for one in found] == ["undersize-offset"]
    assert "on the diameter, not on the radius" in found[0].words


def test_an_undersize_in_other_units_may_be_off_by_one_of_the_last_digit() -> None:
    # 2.7480 in - 69.545 mm = 0.2542 mm, 0.0002 over 0.010 in; the last digit is 0.001 in
    main = journal("J", '"2.7480 in"', '"2.7490 in"', IN_GROUP)
    assert kinds(group(step(".010", "0.010 in", "69.545 mm", "69.570 mm")), main) == []
    off = step(".010", "0.010 in", "69.518 mm", "69.570 mm")  # 0.2812 - 0.254 > 0.0254
    assert kinds(group(off), main) == [("group[1].undersize[1].low", "undersize-offset")]


def test_one_journal_unlike_all_others_of_its_group_is_doubted() -> None:
    rows = [journal(f"M{n}", '"59.970 mm"', '"59.990 mm"', IN_GROUP) for n in range(3)]
    odd = journal("M9", '"59.907 mm"', '"59.990 mm"', IN_GROUP)
    (found,) = doubts(*rows, odd)
    assert (found.key, found.kind) == ("journal[4].low", "odd-one-out")
    assert "0.063 mm apart" in found.words
    assert doubts(rows[0], odd) == []  # of two nobody is the odd one


def test_a_tolerance_ten_times_the_others_is_doubted() -> None:
    found = doubts(
        journal("A", '"59.970 mm"', '"59.990 mm"'), journal("B", '"49.79 mm"', '"49.99 mm"')
    )
    assert [(one.key, one.kind) for one in found] == [
        ("journal[2].high", "ten-times"),
        ("journal[2].high", "unusual-tolerance"),
    ]


def test_out_of_round_and_taper_ten_times_apart_are_doubted_unless_taper_is_per_length() -> None:
    more = 'out_of_round = "0.025 mm"\ntaper = "0.0025 mm"\n'
    main = ('"95.201 mm"', '"95.227 mm"')
    assert kinds(journal("J", *main, more)) == [("journal[1].out_of_round", "ten-times")]
    # US Army TM 5-3805-281-24-2: 0.025 mm, and 0.0025 mm per 25.4 mm
    per = 'taper_per = "25.4 mm"\nstation_at = ["5 mm", "30 mm"]\n'
    assert kinds(journal("J", *main, more + per)) == []


def test_a_clearance_that_bore_wall_and_journal_do_not_give_is_doubted() -> None:
    bore = 'housing_bore = ["64.000 mm", "64.019 mm"]\noil_clearance = ["0.010 mm", "0.060 mm"]\n'
    main = journal("J", '"59.992 mm"', '"60.000 mm"', IN_GROUP)
    # 64.000 - 3.990 - 60.000 = 0.010; 64.019 - 3.980 - 59.992 = 0.047
    good = bore + 'shell_wall = ["1.990 mm", "1.995 mm"]'
    assert kinds(group("", good), main) == []
    slipped = bore + 'shell_wall = ["1.900 mm", "1.995 mm"]'
    (found,) = doubts(group("", slipped), main)
    assert (found.key, found.kind) == ("group[1].oil_clearance", "clearance")
    assert "0.010 to 0.227 mm" in found.words  # 64.019 - 3.800 - 59.992


def test_a_grinding_limit_ten_times_the_undersizes_is_doubted() -> None:
    steps = step("0.25", "0.25 mm", "59.742 mm", "59.758 mm")
    main = journal("J", '"59.992 mm"', '"60.008 mm"', IN_GROUP)
    assert kinds(group(steps, 'greatest_undersize = "0.250 mm"'), main) == []
    assert kinds(group(steps, 'greatest_undersize = "2.50 mm"'), main) == [
        ("group[1].greatest_undersize", "ten-times")
    ]


def test_a_wear_limit_that_reaches_into_the_next_undersize_is_doubted() -> None:
    steps = step("0.03", "0.03 mm", "59.962 mm", "59.978 mm", 'worn_low = "59.958 mm"')
    steps += step("0.05", "0.05 mm", "59.942 mm", "59.958 mm")
    main = journal("J", '"59.992 mm"', '"60.008 mm"', IN_GROUP)
    assert kinds(group(steps), main) == [("group[1].undersize[1].worn_low", "overlap")]
    low_for_wear = journal("J", '"59.978 mm"', '"60.008 mm"', IN_GROUP)
    assert ("group[1].undersize[1].high", "overlap") in kinds(group(steps), low_for_wear)


def test_a_bearing_for_journals_that_need_none_is_doubted() -> None:
    only = step(".002", "0.002 in", "2.748 in", "2.7485 in", "bearing_only = true")
    found = kinds(group(only), journal("J", '"2.748 in"', '"2.749 in"', IN_GROUP))
    assert found == [
        ("group[1].undersize[1].low", "overlap"),
        ("group[1].undersize[1].high", "overlap"),
    ]


# ISO 286-1, as two stored tables quote it: half of IT5 is tight, three times IT7 is wide


@pytest.mark.parametrize(
    ("high_mm", "it5", "it7"),
    [
        (Decimal(30), 9, 21),
        (Decimal("30.001"), 11, 25),
        (Decimal(50), 11, 25),  # 50 mm belongs to the band of 30 to 50
        (Decimal(80), 13, 30),
        (Decimal(120), 15, 35),
        (Decimal(180), 18, 40),
    ],
)
def test_a_tolerance_far_from_the_usual_grades_is_told(
    high_mm: Decimal, it5: int, it7: int
) -> None:
    for tolerance_um, is_odd in (
        (Decimal(it5) / 2, False),
        (Decimal(it5) / 2 - Decimal("0.1"), True),
        (Decimal(it7 * 3), False),
        (Decimal(it7 * 3) + Decimal("0.1"), True),
    ):
        low = high_mm - tolerance_um / 1000
        found = kinds(journal("J", f'"{low} mm"', f'"{high_mm} mm"'))
        assert found == ([("journal[1].high", "unusual-tolerance")] if is_odd else [])


def test_outside_the_table_no_grade_is_guessed() -> None:
    assert kinds(journal("J", '"17.9 mm"', '"18.0 mm"')) == []
    assert kinds(journal("J", '"199 mm"', '"200 mm"')) == []


# Tables that are right give no doubt


RIGHT = [
    # US Army TM 5-3805-262-34 p. 4-23, mains without their out-of-round; the band to grind to is
    # narrower than the standard one
    (("2.998 in", "3.000 in"), ("0.010 in", "2.988 in", "2.989 in")),
    # the same, p. 3-485
    (
        ("1.1230 in", "1.1235 in"),
        ("0.010 in", "1.1130 in", "1.1135 in"),
        ("0.020 in", "1.1030 in", "1.1035 in"),
        ("0.030 in", "1.0930 in", "1.0935 in"),
    ),
    # US Army TM 5-4320-300-14 p. 6-103
    (
        ("2.499 in", "2.500 in"),
        ("0.010 in", "2.489 in", "2.490 in"),
        ("0.020 in", "2.479 in", "2.480 in"),
        ("0.030 in", "2.469 in", "2.470 in"),
    ),
    # a workshop table for a 2.5 l flat four, model year 2000
    (
        ("59.992 mm", "60.008 mm"),
        ("0.03 mm", "59.962 mm", "59.978 mm"),
        ("0.05 mm", "59.942 mm", "59.958 mm"),
        ("0.25 mm", "59.742 mm", "59.758 mm"),
    ),
]


@pytest.mark.parametrize("table", RIGHT)
def test_published_undersizes_give_no_doubt(
    table: tuple[tuple[str, str], *tuple[tuple[str, str, str], ...]],
) -> None:
    (low, high), *rows = table
    steps = "".join(step(by, by, step_low, step_high) for by, step_low, step_high in rows)
    assert kinds(group(steps), journal("J", f'"{low}"', f'"{high}"', IN_GROUP)) == []


@pytest.mark.parametrize(
    ("low", "high", "more"),
    [
        # US Army TM 5-2815-241-34&P p. 2-215 and 2-216
        ('["3.122 in", "79.298 mm"]', '"3.125 in"', ("0.002 in", "0.0005 in")),
        ('"4.4975 in"', '"4.500 in"', ("0.002 in", "0.0005 in")),
        # the flat four's out-of-round is a little over its own tolerance, and meant so
        ('"59.992 mm"', '"60.008 mm"', ("0.020 mm", "0.010 mm")),
        # workshop pages, small cars; IT6 at 50 to 80 mm is 19 um, the band is 18
        ('["57.982 mm", "2.2828 in"]', '["58.000 mm", "2.2834 in"]', ("0.01 mm", "0.01 mm")),
    ],
)
def test_published_limits_give_no_doubt(low: str, high: str, more: tuple[str, str]) -> None:
    form = f'out_of_round = "{more[0]}"\ntaper = "{more[1]}"'
    assert kinds(journal("J", low, high, form)) == []


def test_a_text_that_is_no_plan_has_no_cross_checks() -> None:
    assert cross_checks("schema = 1\n[[") == ()
    assert cross_checks("schema = 1") == ()


def test_a_high_limit_ten_times_the_low_one_is_told() -> None:
    # 27.49 in for 2.749 in: a decimal point one place on
    for low, high in (("2.748 in", "27.49 in"), ("59.992 mm", "600.08 mm")):
        text = (
            f'schema = 1\npart = "p"\n[check]\nmax_error = "0.001 mm"\n[[journal]]\nname = "J"\n'
            f'low = "{low}"\nhigh = "{high}"\n'
        )
        found = [one.kind for one in findings(parse_plan(text, "x"))]
        assert "ten-times" in found


def test_a_bore_in_which_no_journal_could_turn_is_told() -> None:
    text = (
        'schema = 1\npart = "p"\n[[group]]\nname = "g"\nhousing_bore = ["60.000 mm", "60.019 mm"]\n'
        'shell_wall = ["1.990 mm", "1.995 mm"]\n[[journal]]\nname = "J"\ngroup = "g"\n'
        'low = "59.970 mm"\nhigh = "59.990 mm"\n'
    )
    # 60.000 - 2*1.995 - 59.990 = -3.980
    (found,) = [one for one in findings(parse_plan(text, "x")) if one.kind == "clearance"]
    assert "-3.980" in found.words


@pytest.mark.parametrize("confidence", ["", "confidence = 0.9"])
def test_a_coverage_that_is_written_is_said_to_do_nothing(confidence: str) -> None:
    text = f"[decision]\ncoverage = 0.99\n{confidence}\n"
    (found,) = doubts(text, journal("M1", '"59.980 mm"', '"60.000 mm"'))
    assert (found.key, found.kind) == ("decision.coverage", "no-effect")
    held = "0.9" if confidence else "0.95"
    assert f"coverage = 0.99 does nothing any more: a verdict is held to confidence = {held}" in (
        found.words
    )


def test_a_coverage_left_out_is_not_spoken_of() -> None:
    assert not doubts("[decision]\nconfidence = 0.9\n", journal("M", '"59.98 mm"', '"60.00 mm"'))


# Inches beside mm


def reach(*pieces: str) -> list[tuple[str, str]]:
    return [(one.key, one.words) for one in inch_reach(HEAD + "".join(pieces))]


def test_inch_limits_that_reach_outside_the_mm_ones_are_told_with_both_values() -> None:
    # 3.7480 x 25.4 = 95.1992, under 95.201 by 0.0018; 3.7491 x 25.4 = 95.22714, over 95.227
    found = reach(journal("M1", '["95.201 mm", "3.7480 in"]', '["95.227 mm", "3.7491 in"]'))
    assert found == [
        (
            "journal[1].low",
            "low = 3.7480 in is 95.1992 mm, which reaches 0.0018 mm outside the 95.201 mm that is "
            "printed with it. What counts is the first of the two, 95.201 mm",
        ),
        (
            "journal[1].high",
            "high = 3.7491 in is 95.22714 mm, which reaches 0.00014 mm outside the 95.227 mm that "
            "is printed with it. What counts is the first of the two, 95.227 mm",
        ),
    ]


def test_inch_limits_that_stand_first_are_told_too() -> None:
    ((key, words),) = reach(journal("M1", '["3.7480 in", "95.201 mm"]', '"3.7490 in"'))
    assert key == "journal[1].low"
    assert words.endswith("What counts is the first of the two, 3.7480 in")


@pytest.mark.parametrize(
    ("low", "high"),
    [
        # 3.7481 x 25.4 = 95.20174; 3.7490 x 25.4 = 95.2246: both inside
        ('["95.201 mm", "3.7481 in"]', '["95.227 mm", "3.7490 in"]'),
        # 2.5 in is 63.5 mm, 2.6 in 66.04 mm: the same
        ('["63.500 mm", "2.5000 in"]', '["66.040 mm", "2.6000 in"]'),
        ('"95.201 mm"', '"95.227 mm"'),
    ],
)
def test_inch_limits_inside_the_mm_ones_are_not_spoken_of(low: str, high: str) -> None:
    assert reach(journal("M1", low, high)) == []


def test_limits_that_are_the_same_are_told_once() -> None:
    alike = [
        journal(name, '["95.201 mm", "3.7480 in"]', '"95.227 mm"') for name in ("M1", "M2", "M3")
    ]
    assert [key for key, _ in reach(*alike)] == ["journal[1].low"]


def test_a_limit_on_form_reaches_outside_above() -> None:
    # 0.0002 in is 0.00508 mm
    form = 'out_of_round = ["0.005 mm", "0.0002 in"]'
    ((key, words),) = reach(journal("M1", '"59.980 mm"', '"60.000 mm"', form))
    assert key == "journal[1].out_of_round"
    assert "0.0002 in is 0.00508 mm, which reaches 0.00008 mm outside" in words


def test_an_undersize_is_looked_at_and_how_much_is_ground_off_is_not() -> None:
    # 2.3500 x 25.4 = 59.69, under 59.691; a step `by` has no outside: 0.0100 in is 0.254 mm
    steps = (
        '[[group.undersize]]\nname = "s"\nby = ["0.25 mm", "0.0100 in"]\n'
        'low = ["59.691 mm", "2.3500 in"]\nhigh = "59.710 mm"\n'
    )
    assert [key for key, _ in reach(group(steps))] == []  # a plan without a journal is none
    found = reach(group(steps), journal("J", '"59.941 mm"', '"59.960 mm"', IN_GROUP))
    assert [key for key, _ in found] == ["group[1].undersize[1].low"]
