"""Groups of journals with the limits of published manuals, and readings made by hand for them.

Readings are four a journal: front 0 and 90 degrees, rear 0 and 90 degrees.
"""

from decimal import Decimal

from daq.disposition.case import measured
from daq.disposition.next_step import dispose
from daq.lengths import plain, to_mm
from daq.plan.plan import JournalPlan, Plan, parse_plan
from daq.record.results import GroupResult, JournalResult

RODS = """\
schema = 1
part = "compressor engine"
[defaults]
angles_deg = [0, 90]
[[group]]
name = "rods"
[[group.undersize]]
name = ".002"
by = "0.002 in"
low = "2.746 in"
bearing_only = true
[[group.undersize]]
name = ".010"
by = "0.010 in"
low = "2.738 in"
high = "2.739 in"
[[group.undersize]]
name = ".020"
by = "0.020 in"
low = "2.728 in"
high = "2.729 in"
[[group.undersize]]
name = ".030"
by = "0.030 in"
low = "2.718 in"
high = "2.719 in"
"""
"""Source: US Army TM 5-3805-262-34, p. 4-24: journals under 2.748 in take .002 undersize inserts,
worn more than .002 are ground; out-of-round and taper over .0005 are ground; "if one or more are to
be ground, grind all". The page prints 2.748 only: the high limit is the .010 band plus .010."""

ROD = """
[[journal]]
name = "{name}"
group = "rods"
low = "2.748 in"
high = "2.749 in"
out_of_round = "0.0005 in"
taper = "0.0005 in"
"""

FOUR = """\
schema = 1
part = "flat four, model year 2000"
[defaults]
angles_deg = [0, 90]
[[group]]
name = "mains"
greatest_undersize = "0.250 mm"
{extra}
{steps}
[[journal]]
name = "M1"
group = "mains"
low = "59.992 mm"
high = "60.008 mm"
out_of_round = "0.020 mm"
"""
"""Source: a workshop table for a 2.5 l flat four, model year 2000: journal 59.992 to 60.008 mm, out
of round 0.020 mm, undersizes 0.03, 0.05 and 0.25, grinding limit 0.250 mm."""

STEPS = {
    "0.03": ("59.962", "59.978"),
    "0.05": ("59.942", "59.958"),
    "0.25": ("59.742", "59.758"),
}


def rods(*names: str, present: str = "", first: str = "") -> Plan:
    """The rods' plan; `first` goes to the head of the group."""
    head = f'name = "rods"\n{first}\n'
    if present:
        head += f'present_undersize = "{present}"\n'
    text = RODS.replace('name = "rods"\n', head, 1)
    return parse_plan(text + "".join(ROD.format(name=name) for name in names), "x")


def four(*offered: str, extra: str = "") -> Plan:
    steps = "".join(
        f'[[group.undersize]]\nname = "{by}"\nby = "{by} mm"\nlow = "{STEPS[by][0]} mm"\n'
        f'high = "{STEPS[by][1]} mm"\n'
        for by in offered
    )
    return parse_plan(FOUR.format(steps=steps, extra=extra), "x")


def result(
    journal: JournalPlan, *readings: str, unit: str = "in", guard: str = ""
) -> JournalResult:
    """A journal judged by its readings (two stations, two angles), simply unless guarded."""
    values = [to_mm(Decimal(text), unit) for text in readings]
    limits = journal.limits
    band = Decimal(guard or 0)
    size, form = "incomplete", "not-enough-positions"
    assert limits.high is not None
    if values:
        room = min(min(values) - limits.low.mm, limits.high.mm - max(values))
        size = "within" if room >= band else "undecided"
        if room < -band:
            size = "below" if min(values) < limits.low.mm else "above"
    if len(values) == 4:
        a0, a90, b0, b90 = values
        out_of_round = max(abs(a0 - a90), abs(b0 - b90))
        taper = max(abs(a0 - b0), abs(a90 - b90))
        form = "no-limit" if limits.out_of_round is None else "within"
        for found, most in ((out_of_round, limits.out_of_round), (taper, limits.taper)):
            if most is not None and found > most.mm:
                form = "over"
    return JournalResult(
        journal=journal.name,
        group=journal.group,
        positions_planned=4,
        positions_measured=len(values),
        smallest_mm=plain(min(values)) if values else "",
        largest_mm=plain(max(values)) if values else "",
        low_limit_mm=plain(limits.low.mm),
        uncertainty_mm=guard,
        verdict="",
        size_verdict=size,
        form_verdict=form,
        decision_rule="guarded" if guard else "simple",
    )


def disposed(
    plan: Plan, *readings: tuple[str, ...], unit: str = "in", guard: str = ""
) -> GroupResult:
    """The first group of `plan`, one row of readings for each journal."""
    pairs = [
        (journal, measured(result(journal, *row, unit=unit, guard=guard)))
        for journal, row in zip(plan.journals, readings, strict=True)
    ]
    return dispose(plan.groups[0], pairs)


GOOD = ("2.7488", "2.7486", "2.7486", "2.7484")  # out of round .0002, taper .0002
CROSSED = ("2.7485", "2.7489", "2.7489", "2.7485")  # .0004 and .0004, the stations' means equal
OVAL = ("2.7489", "2.7483", "2.7488", "2.7484")  # .0006
TAPERED = ("2.7489", "2.7488", "2.7483", "2.7482")  # .0001 and .0006
WORN = ("2.7475", "2.7472", "2.7474", "2.7471")
WORN_OUT = ("2.7459", "2.7455", "2.7457", "2.7453")
GROUND = ("2.7385", "2.7382", "2.7384", "2.7381")

OUT = ("59.995", "59.974", "59.990", "59.972")
"""Of the four: out of round 0.021 > 0.020, smallest 59.972."""

GUARD = "0.00254"
"""In mm: 0.0001 in."""

BORE = (
    'housing_bore = ["64.000 mm", "64.019 mm"]\nshell_wall = ["1.990 mm", "1.995 mm"]\n'
    'oil_clearance = ["0.010 mm", "0.040 mm"]'
)

UNSAID = """\
schema = 1
part = "p"
[defaults]
angles_deg = [0, 90]
[[group]]
name = "g"
[[group.undersize]]
name = ".010"
by = "0.010 in"
low = "2.7390 in"
high = "2.7402 in"
worn_low = "2.7386 in"
[[group.undersize]]
name = ".020"
by = "0.020 in"
low = "2.7290 in"
high = "2.7302 in"
[[journal]]
name = "J"
group = "g"
low = "2.7490 in"
high = "2.7502 in"
"""
"""Source: US Army TM 5-3805-260-24, rods, as above. The plan does not say that the part was ground
before, and has no limits on form."""
