"""The guarded input line: what a gauge types into the program's own window, beside the words."""

import fcntl
import os
import select
import struct
import termios

from tests.system.conftest import PATIENCE_S, Call, Program, Shop
from tests.system.launcher import JBRIDGE, Launcher


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


# Read by a person ---------------------------------------------------------------------------------


def by_hand(shop: Shop, *more: str) -> Program:
    program = shop.run(
        *("measure", str(shop.plan), "--port", "typed:", "--session", str(shop.session), *more)
    )
    program.wait_for("stint")
    return program


def test_a_person_types_a_session_without_a_profile_leaves_it_and_carries_on(shop: Shop) -> None:
    program = by_hand(shop)
    program.wait_for_talk("a typing slip that still looks like a size goes unseen")
    type_in(program, "check_reading", "59,970", "970")
    type_in(program, "reading", "59,980", "981")
    type_in(program, "reject", "59.98")
    program.hang_up_keyboard()
    assert program.end() == 2
    assert any("Resume the session to type the rest" in line for line in program.talk)
    program = shop.resume()
    type_in(program, "check_reading", "59.970 mm", ".970")
    type_in(program, "reading", "59.979", "59.980")
    type_in(program, "void", "retake m1 rear 90°")
    type_in(program, "reading", "982")
    type_in(program, "check_reading", "59.970", "59.970")
    assert program.end() == 0
    header, *rows = (shop.session / "readings.csv").read_text().splitlines()
    names = header.split(",")
    read = [dict(zip(names, row.split(","), strict=True)) for row in rows]
    columns = ("value", "unit", "typed", "flags", "raw_hex")
    assert [tuple(row[name] for name in columns) for row in read] == [
        ("59.980", "mm", "true", "", "hex 35 39 2c 39 38 30"),
        ("59.981", "mm", "true", "completed", "hex 39 38 31"),
        ("59.979", "mm", "true", "", "hex 35 39 2e 39 37 39"),
        ("59.982", "mm", "true", "completed", "hex 39 38 32"),
    ]
    assert shop.run("verify", str(shop.session)).end() == 0


def test_a_gauge_is_proven_by_typed_values_and_its_name_keeps_them(shop: Shop) -> None:
    (shop.home / "gauges").mkdir(parents=True)
    (shop.home / "gauges" / "mike.toml").write_text(
        'schema = 1\nprofile = "number-unit-crlf"\nport = "/dev/ttyUSB9"\n'
        'resolution = "0.001 mm"\npermitted_error = "0.004 mm"\n'
    )
    program = shop.run(
        *("prove", "--gauge", "mike", "--port", "typed:", "--stack", "60,00 mm", "--readings", "2")
    )
    program.type("60.00\n60,001\n+1\n002")
    program.hang_up_keyboard()
    assert program.end() == 0
    said = "\n".join(program.talk)
    assert "Type all digits that the gauge shows, like 60.000." in said
    assert "A size has no sign. Type it like 60.000." in said
    assert "2/2  60.002 mm  error +0.002 mm" in said
    assert program.events[-1]["history"].endswith("mike.jsonl")


def test_nobody_can_type_where_stdin_says_nothing(call: Call, shop: Shop) -> None:
    done = call("measure", str(shop.plan), "--port", "typed:")
    assert done.returncode == 2
    assert "There is no keyboard" in done.stderr


def test_on_a_terminal_what_was_completed_is_shown_in_full(shop: Shop, launcher: Launcher) -> None:
    master, slave = os.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    words = ("measure", str(shop.plan), "--port", "typed:", "--session", str(shop.session))
    home = {"JBRIDGE_HOME": str(shop.home), "TERM": "xterm"}
    process = launcher.start(JBRIDGE, *words, streams=(slave, slave, slave), env=home)
    os.close(slave)
    said = b""

    def wait_for(words: bytes) -> None:
        nonlocal said
        while words not in said:
            assert select.select([master], [], [], PATIENCE_S)[0], said
            said += os.read(master, 4096)
        said = b""

    wait_for(b"type the value")
    for line, shown in (("59,970", b"59.970 mm"), ("971", b"59.971 mm"), ("982", b"59.982 mm")):
        os.write(master, line.encode() + b"\r")
        wait_for(shown)
    os.write(master, b"abandon enough\r")
    wait_for(b"? abandon closes the session")
    os.write(master, b"abandon\r")
    wait_for(b"abandoned")
    assert process.wait(PATIENCE_S) == 1
    os.close(master)
