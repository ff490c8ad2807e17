"""Scripts played: which bytes go out, and when."""

from __future__ import annotations

import os
import select
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.answering import Manner
from simulator.clock import WallClock
from simulator.errors import LinkError, ScriptError
from simulator.example import EXAMPLE
from simulator.faults import Fault
from simulator.formats import FORMATS
from simulator.gauge import Micrometer
from simulator.links import PtyLink
from simulator.scenario import (
    Action,
    Pause,
    Played,
    Player,
    SendBytes,
    Unplug,
    parse,
    parse_lines,
    play,
)
from simulator.workpiece import Crankshaft, JournalShape

ROUND = Crankshaft((JournalShape("M1", 50.0, ovality_mm=0.01, taper_mm=0.004),))


class FakeClock:
    """Time that passes only by waiting, plus what each look at it is said to cost."""

    def __init__(self, cost_s: float = 0.0) -> None:
        self.time_s = 1000.0
        self.cost_s = cost_s

    def now_s(self) -> float:
        self.time_s += self.cost_s
        return self.time_s

    def sleep_s(self, seconds: float) -> None:
        assert seconds > 0
        self.time_s += seconds


class FakeLink:
    """Writes down what is sent and when."""

    def __init__(self, clock: FakeClock) -> None:
        self.clock = clock
        self.sent: list[tuple[float, bytes]] = []
        self.plugged = True
        self.names: list[Path | None] = []

    def send(self, data: bytes) -> bool:
        if self.plugged:
            self.sent.append((round(self.clock.time_s - 1000.0, 6), data))
        return self.plugged

    def unplug(self) -> None:
        self.plugged = False

    def replug(self, link_path: Path | None = None) -> None:
        self.plugged = True
        self.names.append(link_path)


def player(
    gauge: Micrometer | None = None,
    name: str = "number-unit-crlf",
    *,
    shaft: Crankshaft = ROUND,
    channel: int = 1,
    press_every_s: float = 0.5,
) -> Player:
    return Player(
        shaft,
        gauge or Micrometer(),
        FORMATS[name],
        channel=channel,
        press_every_s=press_every_s,
    )


def run(script: str, played_by: Player | None = None) -> list[tuple[float, bytes]]:
    """Play a script on a fake link; the frames with the seconds they went out at."""
    clock = FakeClock()
    link = FakeLink(clock)
    play(parse(script), played_by or player(), link, clock)
    return link.sent


def frames(script: str, played_by: Player | None = None) -> list[bytes]:
    return [data for _, data in run(script, played_by)]


def test_places_on_a_journal() -> None:
    script = """
    at M1 middle 0
    press
    at M1 middle 90
    press
    at M1 front 45
    press
    at M1 rear 45
    press
    at M1 0.25 45
    press
    """
    assert frames(script) == [
        b"+50.005 mm\r\n",
        b"+49.995 mm\r\n",
        b"+50.002 mm\r\n",
        b"+49.998 mm\r\n",
        b"+50.001 mm\r\n",
    ]


def test_a_stack_and_its_own_unit() -> None:
    assert frames("stack 59.97 mm\npress\nstack 2 in\npress") == [
        b"+59.970 mm\r\n",
        b"+50.800 mm\r\n",
    ]


def test_a_half_step_stack_rounds_away_from_zero() -> None:
    assert frames("stack 59.9705 mm\npress") == [b"+59.971 mm\r\n"]


def test_unit_changes_once_however_often_it_is_said() -> None:
    script = "stack 25.4 mm\nunit in\nunit in\npress\nunit mm\npress"
    assert frames(script) == [b"+1.00000 in\r\n", b"+25.400 mm\r\n"]


def test_zero_takes_the_bias_away_and_sets_its_flag() -> None:
    script = "bias 0.004\nstack 50 mm\npress\nzero\npress"
    sent = frames(script, player(name="number-unit-status-crlf"))
    assert sent == [b"50.004 mm,00\r\n", b"50.000 mm,02\r\n"]


def test_drift_runs_on_script_time() -> None:
    script = "stack 50 mm\ndrift 0.036\nwait 100\npress\nwait 99.5\npress\ndrift 0\nwait 900\npress"
    # 0.036 mm an hour is 0.001 mm in 100 s; a press takes half a second.
    assert frames(script) == [b"+50.001 mm\r\n", b"+50.002 mm\r\n", b"+50.002 mm\r\n"]


def test_every_press_is_a_reading_and_takes_its_time() -> None:
    gauge = Micrometer(repeatability_mm=0.003, seed=1)
    sent = run("stack 50 mm\npress 5", player(gauge))
    assert [at_s for at_s, _ in sent] == [0.0, 0.5, 1.0, 1.5, 2.0]
    assert len({data for _, data in sent}) > 1


def test_presses_at_a_spacing_of_their_own_leave_the_next_one_its_usual_time() -> None:
    # 0.16 s within a double press; half a second, a hand's time here, from its second to the next.
    sent = run("stack 50 mm\npress 2 every 0.16\npress")
    assert [round(at_s, 6) for at_s, _ in sent] == [0.0, 0.16, 0.66]


def test_a_bounce_may_come_at_once() -> None:
    assert [at_s for at_s, _ in run("stack 50 mm\npress 3 every 0")] == [0.0, 0.0, 0.0]


def test_a_stream_that_is_left_on_goes_on_through_the_next_steps() -> None:
    sent = run("stack 50 mm\nstream 4\nwait 0.5\nstack 60 mm\nwait 0.5")
    # One each 0.25 s from the start on: two of the stack, two of what was put in after it.
    assert [(at_s, data[:6]) for at_s, data in sent] == [
        *((0.0, b"+50.00"), (0.25, b"+50.00"), (0.5, b"+60.00"), (0.75, b"+60.00")),
    ]


def test_press_three_is_three_times_press() -> None:
    def sent(script: str) -> list[tuple[float, bytes]]:
        return run(script, player(Micrometer(repeatability_mm=0.003, seed=2)))

    assert sent("stack 50 mm\npress 3") == sent("stack 50 mm\npress\npress\npress")


def test_a_press_may_take_no_time() -> None:
    sent = run("stack 50 mm\npress 3", player(press_every_s=0.0))
    assert [at_s for at_s, _ in sent] == [0.0, 0.0, 0.0]


def test_a_held_button_repeats_one_frame() -> None:
    gauge = Micrometer(repeatability_mm=0.003, drift_mm_per_hour=100.0, seed=3)
    sent = run("stack 50 mm\nhold 0.5\nstack 60 mm\npress", player(gauge))
    assert [at_s for at_s, _ in sent] == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5]
    assert len({data for _, data in sent[:5]}) == 1


@pytest.mark.parametrize(
    ("seconds", "count"),
    [
        ("0", 1),
        ("0.05", 1),
        ("0.1", 1),
        ("0.11", 2),
        ("0.3", 3),
        ("0.7", 7),
        ("1", 10),
        ("60", 600),
    ],
)
def test_how_often_a_held_button_repeats(seconds: str, count: int) -> None:
    one = player()
    sent = run(f"stack 50 mm\nhold {seconds}", one)
    assert len(sent) == count
    assert one.now_s == pytest.approx(float(seconds))


def test_raw_bytes_go_out_as_they_are_with_nothing_in_the_gauge() -> None:
    assert frames("raw FF 00 0d0a") == [b"\xff\x00\r\n"]


def test_the_channel_is_sent() -> None:
    one = player(name="channel-number-unit-cr", channel=4)
    assert frames("stack 50 mm\npress", one) == [b"C4 50.000 mm\r"]


def test_actions_carry_script_time() -> None:
    one = player()
    actions = [
        action
        for step in parse("stack 50 mm\npress\nwait 2\nunplug")
        for action in one.perform(step)
    ]
    assert actions == [
        SendBytes(0.0, b"+50.000 mm\r\n", "gauge blocks 50 mm: 50.000 mm"),
        Pause(0.0, 0.5),
        Pause(0.5, 2.0),
        Unplug(2.5),
    ]


def test_what_is_sent_unplugged_is_lost() -> None:
    clock = FakeClock()
    link = FakeLink(clock)
    played = play(parse("stack 50 mm\npress 2\nunplug\npress 3"), player(), link, clock)
    assert played == Played(sent=2, lost=3)


def test_what_is_sent_plugged_in_again_arrives_again() -> None:
    clock = FakeClock()
    link = FakeLink(clock)
    script = "stack 50 mm\nunplug\npress\nreplug\npress\nunplug\nreplug /tmp/other\npress"
    assert play(parse(script), player(), link, clock) == Played(sent=2, lost=1)
    assert link.names == [None, Path("/tmp/other")]


def test_a_stream_sends_while_time_passes_and_stops() -> None:
    script = "stack 50 mm\nstream 4\nwait 1\nstack 60 mm\nwait 0.5\nstream off\nwait 5\npress"
    sent = run(script)
    assert [at_s for at_s, _ in sent] == [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 6.5]
    assert [data[:3] for _, data in sent] == [b"+50"] * 4 + [b"+60"] * 3


def test_a_stream_sends_every_reading_anew_and_none_while_the_gauge_is_empty() -> None:
    gauge = Micrometer(repeatability_mm=0.003, seed=1)
    sent = run("stream 50\nwait 1\nstack 50 mm\nwait 1\n", player(gauge))
    assert len(sent) == 50
    assert sent[0][0] == 1.0
    assert len({data for _, data in sent}) > 5


def test_a_button_and_a_stream_do_not_hinder_each_other() -> None:
    sent = run("stack 50 mm\nstream 10\nhold 0.25")
    assert [at_s for at_s, _ in sent] == [0.0, 0.0, 0.1, 0.1, 0.2, 0.2]


def test_manner_and_faults_are_kept_for_whoever_needs_them() -> None:
    def after(script: str) -> tuple[Manner, tuple[Fault, ...]]:
        one = player(name="modbus-int32")
        for step in parse(script):
            assert one.perform(step) == ()
        return one.manner, one.faults

    worse = "reply 500\necho on\nanswer exception 6\nfault drop=0.5\nfault split\n"
    assert after(worse) == (
        Manner("on", 6, 0.5, has_echo=True),
        (Fault("drop", 0.5), Fault("split", 1.0)),
    )
    assert after(worse + "answer wrong-crc\necho off\nfault off") == (
        Manner("wrong-crc", None, 0.5),
        (),
    )


def test_what_whoever_asks_is_given() -> None:
    one = player(name="modbus-int32")
    assert one.measured() is None
    one.perform(parse("stack 59.982 mm")[0])
    assert one.measured() == (bytes.fromhex("0000EA4E"), "gauge blocks 59.982 mm: 59.982 mm")
    one.perform(parse("unit in")[0])
    assert one.measured() is None
    text = player(name="ask-number-unit-cr")
    text.perform(parse("stack 59.982 mm")[0])
    assert text.measured() == (b"59.982 mm\r", "gauge blocks 59.982 mm: 59.982 mm")


def test_every_action_is_told() -> None:
    clock = FakeClock()
    told: list[Action] = []
    play(parse("stack 50 mm\npress\nwait 1"), player(), FakeLink(clock), clock, told.append)
    assert [type(action) for action in told] == [SendBytes, Pause, Pause]


def test_a_slow_link_does_not_stretch_a_held_button() -> None:
    clock = FakeClock(cost_s=0.003)
    link = FakeLink(clock)
    play(parse("stack 50 mm\nhold 10"), player(), link, clock)
    times = [at_s for at_s, _ in link.sent]
    assert times == pytest.approx([0.1 * count for count in range(100)], abs=0.02)


def test_a_script_typed_slowly_keeps_its_own_waits() -> None:
    clock = FakeClock()
    link = FakeLink(clock)

    def typed() -> list[str]:
        return ["stack 50 mm", "press", "wait 2", "press"]

    def slowly() -> Iterator[str]:
        for line in typed():
            clock.time_s += 60.0
            yield line

    play(parse_lines(slowly()), player(), link, clock)
    # Four lines a minute apart; the first press takes 0.5 s and the wait 2 s on top.
    assert [at_s for at_s, _ in link.sent] == [120.0, 242.5]


def test_what_is_in_the_gauge_is_described() -> None:
    one = player()
    assert one.describe() == "nothing"
    for script, expected in [
        ("at M1 middle 90", "M1 at middle, 90 deg, truly 49.9950 mm"),
        ("at M1 0.25 45.5", "M1 at 0.25 of its length, 45.5 deg, truly 50.0009 mm"),
        ("stack 2 in", "gauge blocks 2 in, truly 50.8000 mm"),
    ]:
        one.perform(parse(script)[0])
        assert one.describe() == expected


@pytest.mark.parametrize(
    ("script", "line", "reason"),
    [
        ("press", 1, "nothing is in the gauge; expected `at` or `stack`"),
        ("# x\nhold 1", 2, "nothing is in the gauge"),
        ("\n\nzero", 3, "nothing is in the gauge"),
        ("at M1 front 0\nat M9 front 0", 2, "no journal 'M9' on this crankshaft; known: M1"),
        ("answer wrong-crc", 1, "only a Modbus gauge can answer so"),
        ("answer exception 2", 1, "only a Modbus gauge can answer so"),
        ("stack 50 mm\nbias -100000\npress", 3, "the gauge cannot send this: -99950,000 does not"),
    ],
)
def test_steps_that_cannot_be_taken(script: str, line: int, reason: str) -> None:
    with pytest.raises(ScriptError) as caught:
        run(script, player(name="comma-number-unit-lf"))
    assert caught.value.line == line
    assert reason in caught.value.reason


def test_players_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="from 1"):
        player(channel=0)
    with pytest.raises(ValueError, match="never negative"):
        player(press_every_s=-1.0)


def test_a_link_that_fails_ends_the_play() -> None:
    class Stuck(FakeLink):
        def send(self, data: bytes) -> bool:
            raise LinkError("stuck")

    clock = FakeClock()
    with pytest.raises(LinkError, match="stuck"):
        play(parse("stack 50 mm\npress"), player(), Stuck(clock), clock)


MILLIMETRES_OR_INCHES = sorted(name for name, one in FORMATS.items() if one.registers is None)

SESSION = """
stack 59.97 mm
press 3
zero
drift 0.02
at M1 front 0
press 5
hold 0.7
wait 30
unit in
at R2 middle 45
press 5
raw 0D0A
"""


@given(seed=st.integers(0, 2**32), name=st.sampled_from(MILLIMETRES_OR_INCHES))
def test_same_seed_and_script_same_bytes(seed: int, name: str) -> None:
    def sent() -> list[tuple[float, bytes]]:
        gauge = Micrometer(bias_mm=0.002, repeatability_mm=0.001, seed=seed)
        return run(SESSION, player(gauge, name, shaft=EXAMPLE))

    assert sent() == sent()


def test_another_seed_other_bytes() -> None:
    def sent(seed: int) -> list[bytes]:
        gauge = Micrometer(repeatability_mm=0.001, seed=seed)
        return frames(SESSION, player(gauge, shaft=EXAMPLE))

    assert sent(1) != sent(2)


def test_a_script_through_a_real_terminal_on_the_real_clock() -> None:
    script = parse("stack 50 mm\npress 2\nwait 0.01\nunplug")
    with PtyLink() as link:
        reader = os.open(link.port, os.O_RDWR | os.O_NOCTTY)
        try:
            # The hang-up would take unread bytes with it, so they are read before the last step.
            one = player(press_every_s=0.0)
            played = play(script[:-1], one, link, WallClock())
            assert played == Played(sent=2, lost=0)
            expected = b"+50.000 mm\r\n" * 2
            got = b""
            while len(got) < len(expected) and select.select([reader], [], [], 5.0)[0]:
                got += os.read(reader, 100)
            assert got == expected
            play(script[-1:], one, link, WallClock())
            assert link.send(b"x") is False
        finally:
            os.close(reader)
