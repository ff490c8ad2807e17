"""`jbridge ports` as rows and as text, `jbridge udev` with its options: without any device."""

import json
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from click.testing import CliRunner, Result
from pytest_mock import MockerFixture

from daq.cli.app import cli
from daq.cli.views.ports import Facts, block, blocks, row
from daq.equipment.gauge import parse_gauge
from daq.services.recognise import gauges_of, known_as
from drivers.attached.discovery import Attached
from drivers.attached.holders import Holder
from drivers.attached.tree import OtherKeyboard, Tree, Tty, UsbDevice, UsbInterface

ADAPTER = Attached(
    port="/dev/ttyUSB0",
    kind="serial",
    looks_like="Acme Bridge",
    identity="usb:1209:0001:A1",
    socket="1-2",
    node="/dev/ttyUSB0",
    link="/dev/gauges/bench1",
    latency_ms=16,
    power="on",
)
CALIPER = Attached(
    port="usb:1209:0002@1-3",
    kind="keyboard",
    looks_like="Caliper",
    identity="usb:1209:0002@1-3",
    socket="1-3",
    node="/dev/bus/usb/001/004",
    trouble="this user may not open it: install the rule",
    power="auto",
)


RADIO = Attached(
    port="typed:", kind="typed", looks_like="Caliper, by Bluetooth", identity="input:0005:1209:0003"
)


def facts(*gauges: str, **more: Any) -> Facts:
    texts = [f'schema = 1\nprofile = "p"\n{text}\n' for text in gauges]
    parsed = [parse_gauge(text, f"g{n}", "test") for n, text in enumerate(texts)]
    return Facts(gauges=parsed, **more)


def test_a_row_has_the_contracts_keys_and_more() -> None:
    told = row(ADAPTER, facts('identity = "usb:1209:0001:A1"'))
    advice = told.pop("advice")
    assert told == {
        "port": "/dev/ttyUSB0",
        "looks_like": "Acme Bridge",
        "identity": "usb:1209:0001:A1",
        "may_open": True,
        "trouble": "",
        "kind": "serial",
        "link": "/dev/gauges/bench1",
        "gauges": ["g0"],
        "profile": "p",
        "held_by": [],
        "latency_ms": 16,
    }
    assert ["16 ms" in text for text in advice] == [True]


def test_a_port_that_somebody_holds_is_told_with_the_name() -> None:
    held = facts(holders={"/dev/ttyUSB0": (Holder(12, "screen"),)})
    assert row(ADAPTER, held)["held_by"] == [{"pid": 12, "command": "screen"}]
    assert "in use    screen (process 12)" in block(ADAPTER, held, 100)


@pytest.mark.parametrize(
    ("text", "adapter", "caliper"),
    [
        ('identity = "usb:1209:0001:A1"', True, False),
        ('identity = "usb:1209:0001:B2"\nport = "/dev/ttyUSB0"', False, False),
        ('port = "/dev/ttyUSB0"', True, False),
        ('port = "/dev/../dev/ttyUSB0"', True, False),
        ('port = "usb:1209:0002"', False, True),
        ('port = "USB:1209:0002@1-3"', False, True),
        ('port = "usb:1209:0002@1-4"', False, False),
        ('port = "usb:1209:0001:A1"', True, False),
        ('port = "usb:1209:0001:a1"', False, False),
        ('port = "socket://h:1"', False, False),
    ],
)
def test_a_gauge_file_knows_its_device(text: str, adapter: bool, caliper: bool) -> None:
    gauges = facts(text).gauges
    assert bool(known_as(ADAPTER, gauges)) is adapter
    assert bool(known_as(CALIPER, gauges)) is caliper


def test_two_gauge_files_with_two_profiles_leave_the_profile_open() -> None:
    gauges = [
        parse_gauge(f'schema = 1\nprofile = "p{n}"\nport = "/dev/ttyUSB0"\n', f"g{n}", "test")
        for n in (1, 2)
    ]
    told = row(ADAPTER, Facts(gauges=gauges))
    assert (told["gauges"], told["profile"]) == (["g1", "g2"], None)


def test_a_broken_gauge_file_hides_no_other(tmp_path: Path) -> None:
    folder = tmp_path / "gauges"
    folder.mkdir()
    (folder / "good.toml").write_text('schema = 1\nprofile = "p"\nport = "/dev/ttyUSB0"\n')
    (folder / "bad.toml").write_text("rubbish")
    gauges, faults = gauges_of(tmp_path)
    assert [gauge.name for gauge in gauges] == ["good"]
    assert len(faults) == 1
    assert "bad.toml" in faults[0]


def test_the_text_is_aligned_and_fits_the_width() -> None:
    text = blocks([ADAPTER, CALIPER], facts('identity = "usb:1209:0001:A1"'), 72)
    lines = text.splitlines()
    assert lines[:5] == [
        "/dev/ttyUSB0  Acme Bridge",
        "  identity  usb:1209:0001:A1",
        "  link      /dev/gauges/bench1",
        "  gauge     g0, profile p",
        "  open      yes",
    ]
    assert "  open      no: this user may not open it: install the rule." in lines
    assert max(len(line) for line in lines if "/sys/" not in line) <= 72
    assert all(line[:12].strip() == "" or line[2] != " " or line == "" for line in lines[1:5])


def test_a_keyboard_is_said_to_be_perhaps_the_machines_own() -> None:
    text = block(CALIPER, facts(), 100)
    assert "keyboard of this machine" in text
    assert "sleep" not in text
    assert "sleep" in block(CALIPER, facts('port = "usb:1209:0002@1-3"'), 100)


def test_a_keyboard_is_not_said_to_be_open_where_it_cannot_be_read() -> None:
    free = msgspec.structs.replace(CALIPER, trouble="")
    assert "open      yes, as far as rights go; whether its keys can be read" in block(
        free, facts(), 100
    )
    missing = facts(keyboards_trouble="the library is missing")
    assert "open      no: the library is missing." in block(free, missing, 100)
    assert row(free, missing)["may_open"] is False
    assert row(CALIPER, missing)["trouble"].endswith("rule. Besides, the library is missing")
    other_form = msgspec.structs.replace(CALIPER, unreadable="other keys")
    assert row(other_form, missing)["trouble"] == "other keys"
    assert row(ADAPTER, missing)["may_open"] is True  # a serial port needs no such library


def test_a_keyboard_that_is_not_on_usb_is_told_its_only_use() -> None:
    text = block(RADIO, facts(), 100)
    assert text.startswith("typed:  Caliper, by Bluetooth\n  types     like a keyboard")
    assert "use `--port typed:` and" in text
    assert "open" not in text


def test_a_hostile_gauge_name_or_port_moves_no_cursor() -> None:
    text = block(
        Attached(port="", kind="candidate", looks_like="x", identity="\x1b[2J"), facts(), 80
    )
    assert all(line.isprintable() for line in text.splitlines())
    assert text.startswith("(no port)  x")


# --- the commands ---

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    def call(*words: str) -> Result:
        return CliRunner().invoke(cli, [*words, "--home", str(tmp_path)], standalone_mode=False)

    return call


@pytest.fixture
def devices(mocker: MockerFixture) -> None:
    unit = UsbDevice(socket="1-2", vendor="1209", product="0001", serial="A1")
    keys = UsbInterface("00", ("03", "01", "01"), "usbhid", is_keyboard=True)
    caliper = UsbDevice(socket="1-3", vendor="1209", product="0002", interfaces=(keys,))
    tty = Tty(node="/dev/ttyUSB0", socket="1-2", interface="00")
    mocker.patch("drivers.attached.discovery.tree_of", return_value=Tree((unit, caliper), (tty,)))
    mocker.patch("drivers.attached.discovery.attached", return_value=(ADAPTER, CALIPER))
    mocker.patch("drivers.attached.discovery.candidates", return_value=())
    mocker.patch("drivers.ports.usb_bus.library_trouble", return_value="")


@pytest.mark.usefixtures("devices")
def test_ports_prints_one_json_document(run: Run) -> None:
    rows = json.loads(run("ports", "--json").stdout)
    assert [(row["port"], row["may_open"]) for row in rows] == [
        ("/dev/ttyUSB0", True),
        ("usb:1209:0002@1-3", False),
    ]


def test_nothing_attached_is_an_empty_list_and_a_word(run: Run, mocker: MockerFixture) -> None:
    mocker.patch("drivers.attached.discovery.tree_of", return_value=Tree())
    result = run("ports", "--json")
    assert json.loads(result.stdout) == []
    result = run("ports")
    assert result.stdout == ""
    assert "Plug the gauge in" in result.stderr


def test_beside_a_keyboard_that_can_only_type_the_gauge_is_still_missed(
    run: Run, mocker: MockerFixture
) -> None:
    radio = OtherKeyboard(title="Caliper", by="Bluetooth", ids="0005:1209:0003")
    mocker.patch("drivers.attached.discovery.tree_of", return_value=Tree(others=(radio,)))
    result = run("ports")
    assert "typed:  Caliper, by Bluetooth" in result.stdout
    assert "Plug the gauge in" in result.stderr


def test_watch_and_release_exclude_each_other(run: Run) -> None:
    assert "do not go together" in str(run("ports", "--watch", "--release").exception)


def test_watch_tells_of_a_port_that_is_taken_away(run: Run, mocker: MockerFixture) -> None:
    looks = [(), (ADAPTER,), (ADAPTER,), ()]
    mocker.patch("drivers.attached.discovery.attached", side_effect=[*looks, KeyboardInterrupt])
    mocker.patch("drivers.attached.discovery.candidates", return_value=())
    mocker.patch("drivers.attached.discovery.typing_only", return_value=())
    mocker.patch("drivers.attached.services.grabbers", return_value=frozenset({"brltty"}))
    mocker.patch("daq.cli.commands.ports.time.sleep")
    result = run("ports", "--watch", "--json")
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    assert [row["event"] for row in rows] == ["arrived", "left"]
    assert all(row["at"].endswith("Z") for row in rows)
    assert "blind people" in rows[1]["advice"][0]


@pytest.mark.parametrize(
    ("happened", "code"),
    [("released", 0), ("in use", 0), ("not permitted", 1), ("failed", 1)],
)
def test_release_tells_what_became_of_each(
    run: Run, mocker: MockerFixture, happened: Any, code: int
) -> None:
    from drivers.ports.usb_release import Released

    done = (Released("usb:1209:0002@1-3", "Caliper", happened, "EBUSY"),)
    mocker.patch("drivers.ports.usb_release.release_keyboards", return_value=done)
    result = run("ports", "--release", "--json")
    assert result.return_value == code
    assert json.loads(result.stdout)[0]["happened"] == happened
    assert run("ports", "--release").stdout.startswith("usb:1209:0002@1-3  Caliper: ")


@pytest.mark.usefixtures("devices")
def test_udev_prints_the_file_and_says_how_to_install_it(run: Run) -> None:
    result = run("udev")
    assert result.stdout.startswith("# Made by `jbridge udev`")
    assert 'SYMLINK+="gauges/1209-0001-A1"' in result.stdout
    assert "0002" not in result.stdout
    assert "usb:1209:0002@1-3 types like a keyboard" in result.stderr
    assert "Nothing is installed yet" in result.stderr
    assert "sudo install -m 644" in result.stderr
    assert "unplug the gauge and plug it in again" in result.stderr


@pytest.mark.usefixtures("devices")
def test_udev_as_json_is_one_document(run: Run) -> None:
    told = json.loads(run("udev", "--json", "--for", "/dev/ttyUSB0", "--name", "bench1").stdout)
    assert told["install_as"] == "70-journalbridge-bench1.rules"
    assert len(told["commands"]) == 3
    assert 'SYMLINK+="gauges/bench1"' in told["text"]
    assert told["file"] is None


@pytest.mark.usefixtures("devices")
def test_a_gauge_file_gives_the_name(run: Run, tmp_path: Path) -> None:
    (tmp_path / "gauges").mkdir()
    text = 'schema = 1\nprofile = "p"\nidentity = "usb:1209:0001:A1"\n'
    (tmp_path / "gauges" / "bench.7.toml").write_text(text)
    assert 'SYMLINK+="gauges/bench-7"' in run("udev").stdout


@pytest.mark.usefixtures("devices")
def test_output_writes_that_file_only(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "mine.rules"
    result = run("udev", "--output", str(file))
    assert result.return_value == 0
    assert result.stdout == ""
    assert file.read_text().startswith("# Made by `jbridge udev`")
    assert not stat.S_IMODE(file.stat().st_mode) & 0o111
    assert run("udev", "--output", str(file), "--group", "dialout").return_value == 0
    file.write_text("somebody's own\n")
    result = run("udev", "--output", str(file))
    assert "was not made by this command" in str(result.exception)
    assert "--replace" in str(result.exception)
    assert file.read_text() == "somebody's own\n"
    assert run("udev", "--output", str(file), "--replace").return_value == 0
    assert file.read_text().startswith("# Made by `jbridge udev`")


@pytest.mark.usefixtures("devices")
def test_output_writes_through_no_link_that_points_nowhere(run: Run, tmp_path: Path) -> None:
    target, link = tmp_path / "theirs", tmp_path / "mine.rules"
    link.symlink_to(target)
    assert "no plain file" in str(run("udev", "--output", str(link)).exception)
    assert not target.exists()


@pytest.mark.usefixtures("devices")
def test_output_that_the_machine_refuses_ends_in_4(run: Run, tmp_path: Path) -> None:
    refused = run("udev", "--output", str(tmp_path / "gone" / "x.rules")).exception
    assert refused is not None
    assert getattr(refused, "exit_code", None) == 4
    assert "There is no such folder" in str(refused)


@pytest.mark.usefixtures("devices")
def test_replace_goes_with_output(run: Run) -> None:
    assert "goes with --output" in str(run("udev", "--replace").exception)


@pytest.mark.usefixtures("devices")
@pytest.mark.parametrize(
    "folder", ["/etc/udev/rules.d", "/usr/lib/udev/rules.d", "/lib", "/run/udev/rules.d", "/etc/.."]
)
def test_output_never_goes_into_the_systems_folders(run: Run, folder: str, tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to("/etc")
    names = (f"{folder}/x.rules", f"{link}/x.rules") if folder != "/etc/.." else (f"{link}/x",)
    for name in names:
        result = run("udev", "--output", name)
        assert "folder of the system" in str(result.exception)
        assert not Path(name).exists()


@pytest.mark.usefixtures("devices")
@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("--name", "a b"), "cannot be a gauge's name"),
        (("--group", "a b"), "name of a group"),
        (("--for", "usb:1209"), "not the name of a USB device"),
        (("--for", "/dev/ttyS9"), "no USB port that is attached"),
        (("--check", "--name", "x"), "--check takes no"),
        (("--for", "usb:1209:0002@1-3", "--name", "x"), "leave --name out"),
    ],
)
def test_what_cannot_be_is_refused_with_the_reason(
    run: Run, words: tuple[str, ...], reason: str
) -> None:
    assert reason in str(run("udev", *words).exception)


@pytest.mark.usefixtures("devices")
def test_check_says_what_is_in_force(run: Run, mocker: MockerFixture) -> None:
    ids = 'ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0001"'
    files = mocker.patch("drivers.udev.installed.installed_files", return_value={})
    result = run("udev", "--check", "--json")
    assert result.return_value == 0  # it may be opened, by whatever right
    assert json.loads(result.stdout)[0]["rules"] == []
    files.return_value = {"/etc/udev/rules.d/99-x.rules": f'{ids}, TAG+="uaccess"\n'}
    result = run("udev", "--check")
    assert result.return_value == 1
    assert "no effect /etc/udev/rules.d/99-x.rules: it comes after 73" in result.stdout
    result = run("udev", "--check", "--for", "usb:1209:0002@1-3")
    assert result.return_value == 1
    assert "may NOT be opened" in result.stdout
    assert "why       this user may not open it" in result.stdout
