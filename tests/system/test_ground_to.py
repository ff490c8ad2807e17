"""A ground part inspected against its undersize, by the real program on a pty."""

import csv
import json

import pytest

from tests.system.conftest import Call, Shop

UNDERSIZES = """
[[group]]
name = "mains"
[[group.undersize]]
name = "thin"
by = "0.03 mm"
low = "59.950 mm"
bearing_only = true
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
"""


def shop_with_undersizes(shop: Shop) -> Shop:
    shop.plan.write_text(shop.plan.read_text() + UNDERSIZES)
    return shop


@pytest.mark.parametrize("word", ["0.25", "mains=0.25"])
def test_the_tables_have_the_limits_of_the_undersize(shop: Shop, call: Call, word: str) -> None:
    shop = shop_with_undersizes(shop)
    program = shop.measure("--ground-to", word, has_keyboard=False)
    assert program.wait_for_talk("inspected as ground to 0.25, 59.720 mm to 59.740 mm")
    shop.check(program)
    shop.press(program, "59.730 mm", "59.731 mm", "59.730 mm", "59.731 mm")
    shop.check(program)
    assert program.end() == 0
    with (shop.session / "journals.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["low_limit_mm"], row["high_limit_mm"]) == ("59.720", "59.740")
    assert row["verdict"] == "within"
    with (shop.session / "groups.csv").open(encoding="utf-8", newline="") as file:
        (group,) = csv.DictReader(file)
    assert group["step"] == "serve-as-is"
    assert call("verify", str(shop.session)).returncode == 0


def test_a_resume_inspects_against_the_same_limits(shop: Shop) -> None:
    shop = shop_with_undersizes(shop)
    program = shop.measure("--ground-to", "0.25", "--step", "0.001 mm")
    shop.check(program)
    shop.press(program, "59.730 mm")
    program.type("later")
    program.wait_for("note", about="later")
    shop.check(program)
    assert program.end() == 0
    program = shop.resume(has_keyboard=False)
    shop.check(program)
    shop.press(program, "59.731 mm", "59.730 mm", "59.731 mm")
    shop.check(program)
    assert program.end() == 0
    (journal,) = closed_of(shop)["journals"]
    assert (journal["low_limit_mm"], journal["high_limit_mm"]) == ("59.720", "59.740")
    lines = [json.loads(line) for line in (shop.session / "ledger.jsonl").read_bytes().splitlines()]
    setups = [line["setup"] for line in lines if "setup" in line]
    assert [(one["ground_to"], one["step"]) for one in setups] == [(["0.25"], "0.001 mm")] * 2


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("0.50", "'0.50' is no undersize of this plan (there are: mains=0.25)"),
        ("rods=0.25", "'rods=0.25' is no undersize of this plan"),
        ("thin", "thin of mains is for bearings only: nothing is ground to it"),
    ],
)
def test_what_cannot_be_inspected_against_is_2_and_named(
    shop: Shop, call: Call, word: str, said: str
) -> None:
    shop = shop_with_undersizes(shop)
    done = call(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile)),
        *("--session", str(shop.session), "--ground-to", word),
    )
    assert done.returncode == 2
    assert "--ground-to" in done.stderr
    assert said in done.stderr.replace("\n", " ")
    assert not shop.session.exists()


def closed_of(shop: Shop) -> dict[str, list[dict[str, str]]]:
    """The closing line."""
    last = (shop.session / "ledger.jsonl").read_text(encoding="utf-8").splitlines()[-1]
    found: dict[str, list[dict[str, str]]] = json.loads(last)
    return found
