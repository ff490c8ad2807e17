"""The guarded input line: what a gauge types into the program's own window, beside the words."""

from tests.system.conftest import Program, Shop


def measure(shop: Shop) -> Program:
    shop.profile.write_text(shop.profile.read_text().replace('"\\r\\n"', '"\\n"'))
    program = shop.run(
        *("measure", str(shop.plan), "--port", "typed:", "--profile", str(shop.profile)),
        *("--session", str(shop.session)),
    )
    program.wait_for("stint")
    return program


def type_in(program: Program, kind: str, *lines: str) -> None:
    for line in lines:
        program.type(line)
        program.wait_for(kind)


def test_a_whole_session_typed_by_the_gauge_and_marked_so(shop: Shop) -> None:
    program = measure(shop)
    type_in(program, "check_reading", "59.970 mm", "59.970 mm")
    type_in(program, "reading", "59.980 mm", "59.981 mm")
    type_in(program, "note", "note both ways through one keyboard")
    type_in(program, "reject", "59.98O mm")
    type_in(program, "reading", "59.979 mm", "59.980 mm")
    type_in(program, "check_reading", "59.970 mm", "59.970 mm")
    assert program.end() == 0
    header, *rows = (shop.session / "readings.csv").read_text().splitlines()
    typed = header.split(",").index("typed")
    assert [row.split(",")[typed] for row in rows] == ["true"] * 4
    assert any("marked as typed" in line for line in program.talk)


def test_a_word_with_a_slip_is_no_reading_and_is_told(shop: Shop) -> None:
    program = measure(shop)
    program.type("nte something")
    assert program.wait_for("reject")["code"] == "syntax"
