"""Plans that are refused: two good ones, what spoils them, and the key and reason named."""

import msgspec

PUMP = """\
schema = 1
part = "pump"

[check]
stack = "59.97 mm"
readings = 5
max_age_min = 240
near = "1 mm"

[[group]]
name = "rods"
stack = "50.80 mm"

[defaults]
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]
repeats = 1
window = "0.5 mm"

[[journal]]
name = "M1"
low = "59.97 mm"
high = "59.99 mm"
"""
"""What any plan may say of its check, its places and its limits."""

GROUND = """\
schema = 1
part = "pump"

[temperature]
part_expansion = "11.5e-6 /K"
part_expansion_limit = "1.2e-6 /K"
thermometer_limit = "0.5 K"
room_limit = "5 K"

[decision]
rule = "guarded"
coverage = 0.9545

[[group]]
name = "mains"
greatest_undersize = "0.50 mm"
clean_up = "0.05 mm"
housing_bore = ["64.000 mm", "64.019 mm"]
shell_wall = ["1.990 mm", "1.995 mm"]

[[group.undersize]]
name = "thin"
by = "0.03 mm"
low = "59.962 mm"
bearing_only = true

[[group.undersize]]
name = "first"
by = "0.25 mm"
low = "59.742 mm"
high = "59.758 mm"
worn_low = "59.732 mm"

[[group.undersize]]
name = "second"
by = "0.50 mm"
low = "59.492 mm"
high = "59.508 mm"

[defaults]
station_at = ["2 mm", "22 mm"]
taper_per = "25.4 mm"

[[journal]]
name = "M1"
group = "mains"
low = "59.992 mm"
high = "60.008 mm"
taper = "0.005 mm"

[[journal]]
name = "M2"
group = "mains"
low = "59.992 mm"
high = "60.008 mm"
"""
"""What a plan may say of temperatures, the rule, undersizes and taper."""


class Refusal(msgspec.Struct, frozen=True):
    """A spoiled plan, the key that is named and a piece of the reason."""

    text: str
    key: str
    reason: str

    @property
    def is_shape(self) -> bool:
        """No record can be built of it, whatever the rules."""
        return any(piece in self.reason for piece in _SHAPE)


REQUIRED = "missing. Write "
LENGTH = "needs its unit: write"
NO_LENGTH = "is no length: write it like"
NUMBER = "needs its unit and quotes: "
WHOLE = "Write a whole number without quotes: "
WHOLES = "Write whole numbers without quotes, in brackets: "
TIME = "is no time with its unit"
EMPTY = "is empty: "
SLASH = "has a /, which stands between journal, station and angle"
UNSEEN = "has characters that nobody can see"
ANOTHER = '[[journal]]\nname = "M2"\nlow = "1 mm"\nhigh = "2 mm"\n'
MANY = ", ".join(f'"s{n}"' for n in range(73))
END = 'name = "M2"'
STUDY = '[study]\noperators = ["A", "B"]\n[[group]]\nname = "other"\n[[group]]\nname = "mains"'
COVERAGE = "coverage = 0.9545"
FIRST_GROUP = '[[group]]\nname = "mains"'
SECOND = 'name = "second"\nby = "0.50 mm"\nlow = "59.492 mm"\nhigh = "59.508 mm"'
TWO = "a list of two"
CHOICE = "is not known here. Write "


def second(by: str, low: str, high: str, name: str = "second") -> str:
    return f'name = "{name}"\nby = "{by}"\nlow = "{low}"\nhigh = "{high}"'


STEP = "group[1].undersize"

# (text to replace, its replacement, the key named, a piece of the reason). An empty first text adds
# the second one at the end, that is, inside the journal.
_OF_PUMP = [
    # the file as a whole
    ("schema = 1", "", "schema", "reads schema 1"),
    ("schema = 1", "schema = 2", "schema", "reads schema 1"),
    ("schema = 1", "schema = true", "schema", "reads schema 1"),
    ("schema = 1", 'schema = "1"', "schema", "reads schema 1"),
    ("schema = 1", "schema = 1.0", "schema", "1.0 is not known here. Write schema = 1"),
    ("schema = 1", "schema = nan", "schema", "reads schema 1"),
    ("schema = 1", "schema = [1]", "schema", "reads schema 1"),
    ('part = "pump"', "", "part", REQUIRED),
    ('part = "pump"', "part = 7", "part", '7 needs quotes: part = "7"'),
    ('part = "pump"', "part = 2026-01-01", "part", "a date or a time does not fit here"),
    ('part = "pump"', f'part = "{"p" * 201}"', "part", "has 201 characters, at most 200"),
    # unknown keys at every level
    ("schema = 1", "schema = 1\ncolour = 1", "colour", "unknown key. Known here: part, "),
    ("readings = 5", "reading = 5", "check.reading", "unknown key. Did you mean readings?"),
    (
        'name = "rods"',
        'name = "rods"\nsize = 1',
        "group[1].size",
        "unknown key. Known here: name, stack, ",
    ),
    ("repeats = 1", "repeat = 1", "defaults.repeat", "unknown key. Did you mean repeats?"),
    ("", "lo = 1", "journal[1].lo", "unknown key. Did you mean low?"),
    ("", ANOTHER + "hi = 1", "journal[2].hi", "unknown key. Did you mean high?"),
    # wrong kinds of values
    ("readings = 5", 'readings = "5"', "check.readings", f"{WHOLE}readings = 5"),
    ("readings = 5", "readings = 5.0", "check.readings", f"{WHOLE}readings = 5"),
    ("readings = 5", "readings = true", "check.readings", f"{WHOLE}readings = 5"),
    ('near = "1 mm"', "near = 1", "check.near", f'{NUMBER}near = "1 mm"'),
    ('near = "1 mm"', 'near = ["1 mm", "0.04 in"]', "check.near", "one value, not a list"),
    (
        "max_age_min = 240",
        'max_age_min = "240"',
        "check.max_age_min",
        "Write a number without quotes: max_age_min = 240",
    ),
    (
        "max_age_min = 240",
        "least_interval = 0",
        "check.least_interval",
        f'0 {NUMBER}least_interval = "0 s"',
    ),
    (
        "",
        'least_interval = "1 s"',
        "journal[1].least_interval",
        "unknown key here. It stands in [defaults]",
    ),
    *(
        ("repeats = 1", f'least_interval = "{text}"', "defaults.least_interval", TIME)
        for text in ("0.7", "-1 s", "1 min", "1e3 ms", "nan s", "", "\u0663 s", f"{'9' * 400} s")
    ),
    ('low = "59.97 mm"', "low = 59.97", "journal[1].low", f'59.97 {NUMBER}low = "59.97 mm"'),
    ('name = "M1"', "name = 1", "journal[1].name", '1 needs quotes: name = "1"'),
    ("[0, 45, 90, 135]", "0", "defaults.angles_deg", WHOLES),
    (
        "[0, 45, 90, 135]",
        "[0, 45.0]",
        "defaults.angles_deg[2]",
        f"45.0 does not fit here. {WHOLES}",
    ),
    ("[0, 45, 90, 135]", "[0.5]", "defaults.angles_deg[1]", WHOLES),
    ("[0, 45, 90, 135]", '["0"]', "defaults.angles_deg[1]", WHOLES),
    ("[0, 45, 90, 135]", "[false]", "defaults.angles_deg[1]", WHOLES),
    ('["front", "rear"]', '"front"', "defaults.stations", "Write texts in quotes, in brackets: "),
    ('["front", "rear"]', "[1]", "defaults.stations[1]", '1 needs quotes: "1"'),
    (
        "",
        'access = "stripped"',
        "journal[1].access",
        '"stripped" is not known here. Write access = "after-strip" or ',
    ),
    (
        "",
        'kind = "cam"',
        "journal[1].kind",
        '"cam" is not known here. Write kind = "main" or kind = "other" or ',
    ),
    ("", "group = 1", "journal[1].group", '1 needs quotes: group = "1"'),
    # missing
    ('name = "M1"', "", "journal[1].name", REQUIRED),
    ('low = "59.97 mm"', "", "journal[1].low", REQUIRED),
    ('name = "rods"', "", "group[1].name", REQUIRED),
    # lengths
    ('low = "59.97 mm"', 'low = "59.97"', "journal[1].low", LENGTH),
    (
        'low = "59.97 mm"',
        'low = "59,97 mm"',
        "journal[1].low",
        'has a comma: write a point, "59.97 mm"',
    ),
    ('low = "59.97 mm"', 'low = "nan mm"', "journal[1].low", NO_LENGTH),
    ('low = "59.97 mm"', 'low = "0 mm"', "journal[1].low", "is not above zero"),
    ('low = "59.97 mm"', 'low = "-59.97 mm"', "journal[1].low", "is not above zero"),
    ('high = "59.99 mm"', 'high = "0.000 in"', "journal[1].high", "is not above zero"),
    ("", 'out_of_round = "0 mm"', "journal[1].out_of_round", "is not above zero"),
    ("", 'taper = "-1 um"', "journal[1].taper", "is not above zero"),
    ("", 'window = "0 mm"', "journal[1].window", "is not above zero"),
    ("", 'window = ""', "journal[1].window", "is empty: write a length"),
    ('window = "0.5 mm"', 'window = "half"', "defaults.window", NO_LENGTH),
    ('window = "0.5 mm"', 'window = "0 mm"', "defaults.window", "is not above zero"),
    ('near = "1 mm"', 'near = "0 mm"', "check.near", "is not above zero"),
    ("readings = 5", 'max_error = "0 mm"', "check.max_error", "is not above zero"),
    ("readings = 5", 'max_spread = "2"', "check.max_spread", LENGTH),
    ("readings = 5", 'max_drift = "-1 um"', "check.max_drift", "is not above zero"),
    # limits
    ('high = "59.99 mm"', 'high = "59.96 mm"', "journal[1].low", "upside down"),
    ('high = "59.99 mm"', 'high = "59.970 mm"', "journal[1].low", "upside down"),
    ('high = "59.99 mm"', 'high = "2.3610 in"', "journal[1].low", "upside down"),  # 59.9694 mm
    (
        '"59.97 mm"\nhigh',
        "[]\nhigh",
        "journal[1].low",
        "a list of two stands here: the limit, then",
    ),
    (
        '"59.97 mm"\nhigh',
        '["59.97 mm"]\nhigh',
        "journal[1].low",
        "a list of two stands here: the limit, then",
    ),
    (
        '"59.97 mm"\nhigh',
        '["59.97 mm", "2.3610 in", "2.3610 in"]\nhigh',
        "journal[1].low",
        "a list of two stands here: the limit, then",
    ),
    (
        '"59.97 mm"\nhigh',
        '["59.97 mm", "59970 um"]\nhigh',
        "journal[1].low",
        "59.97 mm and 59970 um are both in mm",
    ),
    (
        '"59.97 mm"\nhigh',
        '["2.3610 in", "2.361 in"]\nhigh',
        "journal[1].low",
        "are both in inches",
    ),
    ('"59.97 mm"\nhigh', '["59.97 mm", "2.361"]\nhigh', "journal[1].low", LENGTH),
    ('"59.97 mm"\nhigh', '["59.97 mm", 2.361]\nhigh', "journal[1].low[2]", f'{NUMBER}"2.361 in"'),
    # a plan without a high limit has nothing to derive the limits of the check from
    ('high = "59.99 mm"', "", "check.max_error", "M1 has no high limit"),
    # angles
    ("[0, 45, 90, 135]", "[0, 180]", "defaults.angles_deg", "180 is not between 0 and 179"),
    ("[0, 45, 90, 135]", "[-1]", "defaults.angles_deg", "-1 is not between 0 and 179"),
    ("[0, 45, 90, 135]", "[0, 90, 0]", "defaults.angles_deg", "the same place twice"),
    ("[0, 45, 90, 135]", "[]", "defaults.angles_deg", "an empty list"),
    ("", "angles_deg = [0, 180]", "journal[1].angles_deg", "180 is not between"),
    ("", "angles_deg = [45, 45]", "journal[1].angles_deg", "the same place twice"),
    ("", "angles_deg = []", "journal[1].angles_deg", "an empty list"),
    ("", f"angles_deg = [{'9' * 400}]", "journal[1].angles_deg", "is not between 0 and 179"),
    # names
    ('name = "M1"', 'name = ""', "journal[1].name", EMPTY),
    ('name = "M1"', 'name = "M/1"', "journal[1].name", SLASH),
    ('name = "M1"', 'name = "M\\u00001"', "journal[1].name", UNSEEN),
    ('name = "M1"', 'name = "M\\n1"', "journal[1].name", UNSEEN),
    ('name = "M1"', 'name = "M\\u001b[31m"', "journal[1].name", UNSEEN),
    ('name = "M1"', 'name = "M\\u0085"', "journal[1].name", UNSEEN),
    ('name = "M1"', 'name = "M\\u202e1"', "journal[1].name", UNSEEN),  # turns the text round
    ('name = "M1"', f'name = "{"M" * 81}"', "journal[1].name", "has 81 characters, at most 80"),
    ('name = "rods"', 'name = "a/b"', "group[1].name", SLASH),
    ("", 'group = ""', "journal[1].group", EMPTY),
    ("", 'group = "../rods"', "journal[1].group", SLASH),
    ('["front", "rear"]', '["front", ""]', "defaults.stations", EMPTY),
    ('["front", "rear"]', '["fr/ont"]', "defaults.stations", SLASH),
    ('["front", "rear"]', "[]", "defaults.stations", "an empty list"),
    ('["front", "rear"]', '["front", "front"]', "defaults.stations", "the same place twice"),
    ("", "stations = []", "journal[1].stations", "an empty list"),
    ("", ANOTHER.replace("M2", "M1"), "journal[2].name", 'a second journal called "M1"'),
    ("", '[[group]]\nname = "rods"\n', "group[2].name", 'a second group called "rods"'),
    # several journals alike, and keys of the group or the defaults
    ('name = "M1"', 'name = "M1"\nnames = ["M2"]', "journal[1].names", "not both"),
    ('name = "M1"', "names = []", "journal[1].names", "an empty list"),
    ('name = "M1"', 'names = ["A", "A"]', "journal[1].names[2]", "a second journal called"),
    ('name = "M1"', 'names = ["A", ""]', "journal[1].names[2]", EMPTY),
    ('name = "rods"', 'name = "rods"\nrepeats = 0', "group[1].repeats", "0 is not between 1"),
    ('name = "rods"', 'name = "rods"\nlow = "0 mm"', "group[1].low", "is not above zero"),
    ("repeats = 1", 'high = "-1 mm"', "defaults.high", "is not above zero"),
    ("repeats = 1", 'group = "a/b"', "defaults.group", SLASH),
    ("repeats = 1", 'typed = "thrice"', "defaults.typed", CHOICE),
    ("repeats = 1", "held = false", "defaults.held", CHOICE),
    ("", 'typed = "twice"', "journal[1].typed", "unknown key here. It stands in [defaults]"),
    # groups that look like one
    ("", 'group = "rod"', "journal[1].group", 'group "rod" looks like group "rods"'),
    ("repeats = 1", 'group = "Rods"', "defaults.group", 'group "Rods" looks like group "rods"'),
    ("", '[[group]]\nname = "rdos"\n', "group[2].name", 'group "rdos" looks like group "rods"'),
    # counts
    (
        "readings = 5",
        "readings = 0",
        "check.readings",
        "0 is not between 1 and 100: write a number from 1 to 100",
    ),
    ("readings = 5", "readings = 101", "check.readings", "101 is not between 1 and 100"),
    ("readings = 5", f"readings = -{'9' * 400}", "check.readings", "is not between 1 and 100"),
    (
        "repeats = 1",
        "repeats = 0",
        "defaults.repeats",
        "0 is not between 1 and 100: write a number from 1 to 100",
    ),
    ("", "repeats = 101", "journal[1].repeats", "101 is not between 1 and 100"),
    (
        "max_age_min = 240",
        'least_interval = "61 s"',
        "check.least_interval",
        "61 s is more than 60 s",
    ),
    (
        "repeats = 1",
        'least_interval = "60001 ms"',
        "defaults.least_interval",
        "60001 ms is more than 60 s",
    ),
    ("max_age_min = 240", "max_age_min = 0", "check.max_age_min", "0 is not over 0"),
    ("max_age_min = 240", "max_age_min = -1", "check.max_age_min", "-1 is not over 0"),
    (
        "max_age_min = 240",
        "max_age_min = nan",
        "check.max_age_min",
        "nan is not over 0 and at most 100000",
    ),
    (
        "max_age_min = 240",
        "max_age_min = inf",
        "check.max_age_min",
        "inf is not over 0 and at most 100000",
    ),
    (
        # 73 x 137 = 10 001
        "",
        f"stations = [{MANY}]\nangles_deg = {list(range(137))}",
        "journal",
        "10001 readings in all, at most 10000",
    ),
]

_OF_GROUND = [
    # temperatures
    ('"11.5e-6 /K"', '"-11.5e-6 /K"', "temperature.part_expansion", "not over zero"),
    ('"11.5e-6 /K"', '"0 /K"', "temperature.part_expansion", "not over zero"),
    ('"11.5e-6 /K"', '"11.5"', "temperature.part_expansion", "no unit"),
    ('"11.5e-6 /K"', '"11.5 /K"', "temperature.part_expansion", "the millionths are missing"),
    ('"11.5e-6 /K"', '"11.5 ppm"', "temperature.part_expansion", "not a coefficient"),
    (
        '"11.5e-6 /K"',
        "11.5e-6",
        "temperature.part_expansion",
        f'11.5e-6 {NUMBER}part_expansion = "11.5e-6 /K"',
    ),
    ('"1.2e-6 /K"', '"1.2"', "temperature.part_expansion_limit", "no unit"),
    ('"1.2e-6 /K"', '"11.5e-6 /K"', "temperature.part_expansion_limit", "is not under"),
    (
        'part_expansion = "11.5e-6 /K"\n',
        "",
        "temperature.part_expansion_limit",
        "a limit without part_expansion",
    ),
    (
        "thermometer_limit",
        'gauge_expansion_limit = "1e-6 /K"\nthermometer_limit',
        "temperature.gauge_expansion_limit",
        "a limit without gauge_expansion",
    ),
    (
        "thermometer_limit",
        'part_material = "steel"\nthermometer_limit',
        "temperature.part_material",
        "one of the two",
    ),
    (
        'part_expansion = "11.5e-6 /K"',
        'part_material = "unobtainium"',
        "temperature.part_material",
        "not a material that is known here: write one of steel, ",
    ),
    ('"0.5 K"', '"0.5"', "temperature.thermometer_limit", "not a temperature difference"),
    ('"0.5 K"', '"-0.5 K"', "temperature.thermometer_limit", "not a temperature difference"),
    ('"0.5 K"', '"0 K"', "temperature.thermometer_limit", "is not over 0 K"),
    ('"0.5 K"', '"5.1 K"', "temperature.thermometer_limit", "at most 5 K"),
    ('"5 K"', '"nan K"', "temperature.room_limit", "not a temperature difference"),
    ('"5 K"', '"21 K"', "temperature.room_limit", "at most 20 K"),
    ('"5 K"', '"40 °F"', "temperature.room_limit", "at most 20 K"),
    ("room_limit", "rom_limit", "temperature.rom_limit", "unknown key. Did you mean room_limit?"),
    # the rule
    (
        '"guarded"',
        '"strict"',
        "decision.rule",
        f'"strict" {CHOICE}rule = "guarded" or rule = "simple"',
    ),
    ("0.9545", "95.45", "decision.coverage", "95.45 is not between 0.5 and 0.9999"),
    ("0.9545", "1", "decision.coverage", "1 is not between"),
    ("0.9545", "nan", "decision.coverage", "nan is not between"),
    ("0.9545", '"95 %"', "decision.coverage", "Write a number without quotes"),
    (COVERAGE, "confidence = 0.5", "decision.confidence", "0.5 is not over 0.5 and at most 0.9999"),
    (COVERAGE, "confidence = 0.99991", "decision.confidence", "at most 0.9999"),
    (COVERAGE, "confidence = 95", "decision.confidence", "95 is not over 0.5"),
    (COVERAGE, "confidence = nan", "decision.confidence", "nan is not over 0.5"),
    (COVERAGE, 'confidence = "95 %"', "decision.confidence", "Write a number without quotes"),
    (COVERAGE, 'state = "worn"', "decision.state", CHOICE),
    # a study
    (FIRST_GROUP, STUDY.replace('"A", "B"', '"A"'), "study.operators", "needs 2 to 10"),
    (FIRST_GROUP, STUDY.replace('"A", "B"', '"A", "A"'), "study.operators", "twice"),
    (FIRST_GROUP, STUDY.replace('"A"', '"A/B"'), "study.operators", SLASH),
    (FIRST_GROUP, STUDY.replace("[[", "trials = 1\n[[", 1), "study.trials", "between 2 and 10"),
    (FIRST_GROUP, STUDY.replace("[[", "order_seed = -1\n[[", 1), "study.order_seed", "between 0"),
    # form
    ('taper_per = "25.4 mm"', 'form_limit = "exceeds"', "defaults.form_limit", CHOICE),
    ('taper_per = "25.4 mm"', 'taper_per = "0 mm"', "defaults.taper_per", "not above zero"),
    (END, f'{END}\ntaper_per = "1 in"', "journal[2].taper_per", "no limit on taper"),
    ('["2 mm", "22 mm"]', '["2 mm"]', "defaults.station_at", "1 distances for 2 stations"),
    ('["2 mm", "22 mm"]', '["2 mm", "2000 um"]', "defaults.station_at", "same distance"),
    ('["2 mm", "22 mm"]', '["2 mm", "-2 mm"]', "defaults.station_at", "below zero"),
    ('["2 mm", "22 mm"]', '["2 mm", "22"]', "defaults.station_at", LENGTH),
    ('["2 mm", "22 mm"]', "[2, 22]", "defaults.station_at[1]", f'2 {NUMBER}"2 mm"'),
    (
        'station_at = ["2 mm", "22 mm"]\n',
        "",
        "journal[1].station_at",
        "Where taper is limited per length",
    ),
    (
        'taper = "0.005 mm"',
        'taper = "0.005 mm"\nstations = ["a", "b"]',
        "journal[1].station_at",
        "Where taper is limited per length",
    ),
    (
        'taper = "0.005 mm"',
        'taper = "0.005 mm"\nstation_at = ["1 mm", "2 mm", "3 mm"]',
        "journal[1].station_at",
        "3 distances for 2 stations",
    ),
    # undersizes
    ('"0.03 mm"', '"-0.03 mm"', f"{STEP}[1].by", "not above zero"),
    ('"0.25 mm"', '"59.758 mm"', f"{STEP}[2].by", "the finished diameter goes into low and high"),
    ('"0.25 mm"', '["0.25 mm", "0.012 in"]', f"{STEP}[2].by", "differ by"),
    (
        'high = "59.758 mm"\n',
        "",
        f"{STEP}[2].high",
        "Where journals are to be ground both limits are needed",
    ),
    ('"59.758 mm"', '"59.742 mm"', f"{STEP}[2].low", "upside down"),
    ('"59.732 mm"', '"59.743 mm"', f"{STEP}[2].worn_low", "over the low limit of a freshly ground"),
    (
        "bearing_only = true",
        'bearing_only = true\nworn_low = "59.95 mm"',
        f"{STEP}[1].worn_low",
        "one low limit",
    ),
    (SECOND, second("0.25 mm", "59.492 mm", "59.508 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.20 mm", "59.492 mm", "59.508 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.50 mm", "59.742 mm", "59.758 mm"), f"{STEP}[3].by", "out of order"),
    (SECOND, second("0.50 mm", "59.730 mm", "59.745 mm"), f"{STEP}[3].high", "undersizes overlap"),
    (SECOND, second("0.50 mm", "59.730 mm", "59.742 mm"), f"{STEP}[3].high", "undersizes overlap"),
    (SECOND, second("0.50 mm", "59.492 mm", "59.508 mm", "first"), f"{STEP}[3].name", "a second"),
    (SECOND, second("0.50 mm", "59.492 mm", "59.508 mm", "thin"), f"{STEP}[3].name", "a second"),
    ('name = "second"', 'name = "se/cond"', f"{STEP}[3].name", SLASH),
    ('"59.758 mm"', '"59.963 mm"', f"{STEP}[2].high", "undersizes overlap"),
    ('low = "59.962 mm"', 'low = "60.010 mm"', f"{STEP}[1].low", "standard high limit 60.008 mm"),
    (
        "bearing_only = true",
        'high = "60.008 mm"\nbearing_only = true',
        f"{STEP}[1].high",
        "not under the standard high limit",
    ),
    ('"0.50 mm"\nclean', '"0.40 mm"\nclean', f"{STEP}[3].by", "beyond greatest_undersize"),
    (
        "clean_up",
        'present_undersize = "third"\nclean_up',
        "group[1].present_undersize",
        '"third" is no undersize of this group: write "thin" or "first" or "second"',
    ),
    ("clean_up", 'present_undersize = ""\nclean_up', "group[1].present_undersize", "no undersize"),
    ("clean_up", 'present_undersize = "thin"\nclean_up', "group[1].present_undersize", "no high"),
    ('"0.05 mm"', '"0 mm"', "group[1].clean_up", "not above zero"),
    ('["64.000 mm", "64.019 mm"]', '["64.000 mm"]', "group[1].housing_bore", TWO),
    ('["64.000 mm", "64.019 mm"]', '["64.1 mm", "64 mm"]', "group[1].housing_bore", "upside down"),
    (
        '["64.000 mm", "64.019 mm"]',
        '"64 mm"',
        "group[1].housing_bore",
        "Write texts in quotes, in brackets",
    ),
    ('["1.990 mm", "1.995 mm"]', '["1.990 mm", "32 mm"]', "group[1].shell_wall", "half shell"),
    (
        "bearing_only = true",
        "bearing_only = 1",
        f"{STEP}[1].bearing_only",
        "Write true or false without quotes: bearing_only = true",
    ),
    (
        "bearing_only = true",
        "bearing = true",
        f"{STEP}[1].bearing",
        "unknown key. Did you mean bearing_only?",
    ),
    ("clean_up", "cleanup", "group[1].cleanup", "unknown key. Did you mean clean_up?"),
    (
        'low = "59.992 mm"\nhigh = "60.008 mm"\ntaper',
        'low = "59.982 mm"\nhigh = "60.008 mm"\ntaper',
        "journal[2].low",
        "need the same limits: low of M2 is 59.992 mm, of M1 59.982 mm",
    ),
]


def _spoiled(plan: str, old: str, new: str) -> str:
    assert not old or plan.count(old) == 1, old
    return plan.replace(old, new) if old else f"{plan}\n{new}\n"


REFUSED = [
    Refusal(_spoiled(plan, old, new), key, reason)
    for plan, table in ((PUMP, _OF_PUMP), (GROUND, _OF_GROUND))
    for old, new, key, reason in table
]
REFUSED.append(
    Refusal(
        PUMP.replace("readings = 5", 'max_error = "1 um"\nmax_drift = "1 um"')
        .replace('name = "M1"', 'name = "M2"')
        .replace('high = "59.99 mm"', ""),
        "check.max_spread",
        "M2 has no high limit",
    )
)

_SHAPE = (
    *(REQUIRED, "Where taper is limited per length", "reads schema 1", "needs quotes"),
    *(LENGTH, NO_LENGTH, NUMBER, TIME, TWO, CHOICE, "does not fit here", "has a comma"),
    *(
        "without quotes",
        "Write texts in quotes",
        "is empty: write a length",
        "one value, not a list",
        "distances for 2 stations",
    ),
    *("no unit", "not a coefficient", "not a temperature difference", "not a material"),
    *("nan is not over 0 and at most 100000", "inf is not over 0 and at most 100000"),
)
"""What is said where a text has not the shape of a plan; every other reason is a rule."""

BY_RULE = [one for one in REFUSED if not one.is_shape]
BY_SHAPE = [one for one in REFUSED if one.is_shape]
