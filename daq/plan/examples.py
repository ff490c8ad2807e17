"""For every key of a plan how it may be written, for messages that say what to write. Pure."""

from drivers.toml_file import WrongKey

_LIMIT = '"59.970 mm"'
EXAMPLES = {
    "schema": "1",
    "part": '"pump engine, crankshaft"',
    "check.stack": '"59.97 mm"',
    "check.readings": "5",
    "check.max_error": '"0.002 mm"',
    "check.max_spread": '"0.002 mm"',
    "check.max_drift": '"0.002 mm"',
    "check.max_age_min": "240",
    "check.near": '"1 mm"',
    "check.least_interval": '"0.3 s"',
    "check.power_loss_may_lose_zero": "true",
    "temperature.part_material": '"steel"',
    "temperature.part_expansion": '"11.5e-6 /K"',
    "temperature.part_expansion_limit": '"1.2e-6 /K"',
    "temperature.gauge_expansion": '"11.5e-6 /K"',
    "temperature.gauge_expansion_limit": '"1.2e-6 /K"',
    "temperature.stack_expansion": '"11.5e-6 /K"',
    "temperature.stack_expansion_limit": '"1.2e-6 /K"',
    "temperature.thermometer_limit": '"0.5 K"',
    "temperature.room_limit": '"5 K"',
    "temperature.difference_limit": '"1 K"',
    "decision.rule": '"guarded"',
    "decision.confidence": "0.95",
    "decision.state": '"used"',
    "decision.coverage": "0.9545",
    "study.operators": '["A", "B"]',
    "study.trials": "3",
    "study.order_seed": "1",
    "group.name": '"mains"',
    "group.stack": '"59.97 mm"',
    "group.greatest_undersize": '"0.50 mm"',
    "group.present_undersize": '"0.25"',
    "group.clean_up": '"0.05 mm"',
    "group.housing_bore": '["64.000 mm", "64.019 mm"]',
    "group.shell_wall": '["1.990 mm", "1.995 mm"]',
    "group.oil_clearance": '["0.010 mm", "0.060 mm"]',
    "group.undersize.name": '"0.25"',
    "group.undersize.by": '"0.25 mm"',
    "group.undersize.low": '"59.720 mm"',
    "group.undersize.high": '"59.740 mm"',
    "group.undersize.worn_low": '"59.710 mm"',
    "group.undersize.bearing_only": "true",
    "defaults.least_interval": '"0.7 s"',
    "defaults.typed": '"twice"',
    "defaults.held": '"ask"',
    "journal.name": '"M1"',
    "journal.names": '["M1", "M2"]',
    # in the table of a journal, of a group, or in [defaults]
    "group": '"mains"',
    "low": _LIMIT,
    "high": '"59.990 mm"',
    "out_of_round": '"0.005 mm"',
    "taper": '"0.005 mm"',
    "taper_per": '"25.4 mm"',
    "form_limit": '"not-over"',
    "access": '"after-strip"',
    "kind": '"main"',
    "stations": '["front", "rear"]',
    "station_at": '["2 mm", "22 mm"]',
    "angles_deg": "[0, 45, 90, 135]",
    "repeats": "3",
    "window": '"0.5 mm"',
}


def written(path: str) -> str:
    """A key, by the names of its tables and its own, as a line of a plan: `low = "59.970 mm"`."""
    word = path.rpartition(".")[2]
    return f"{word} = {EXAMPLES.get(path) or EXAMPLES[word]}"


def is_known(path: str) -> bool:
    """Whether there is an example for a key."""
    return path in EXAMPLES or path.rpartition(".")[2] in EXAMPLES


def missing(key: str, path: str) -> WrongKey:
    """What is said of a key that must be there and is not."""
    if path == "journal":
        return WrongKey(key, "missing. A plan needs at least one [[journal]]")
    said = f"missing. Write {written(path)}"
    if path == "journal.name":
        said += f", or for several alike {written('journal.names')}"
    if path == "journal.low":
        said += " here, in its [[group]] or in [defaults]"
    return WrongKey(key, said)
