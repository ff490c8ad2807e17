"""Sessions played by scripts that a person can read, and at random, for what the guide tells.

A script is a row of moves with commas between: numbers that the gauge sends (with blanks between),
words of the operator's, and the names below. `PLAN: ` before it names another plan than ONE.
"""

import random
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from daq.errors import Refused
from daq.record.advance import Advance
from daq.record.events import Entry, Setup, Temperatures
from daq.record.evolve import begin
from daq.record.state import State, next_position, phase, status
from daq.rules import commands as ask
from daq.rules.decide import decide, settle
from daq.rules.resume import resume
from tests.builders import (
    MINUTE_US,
    ONE,
    PLAN,
    SECOND_US,
    START_US,
    Bench,
    opened,
    reading,
    setup,
    source,
)

KEEPS = ONE.replace("[check]\n", "[check]\npower_loss_may_lose_zero = false\n")

PLANS: dict[str, tuple[str, Setup]] = {
    "keeps": (KEEPS, setup()),
    "two stacks": (PLAN, setup()),
    "only mains": (PLAN, setup(only=("mains",))),
    "warm": (ONE, setup(temperatures=Temperatures(stack="20"))),
}

RESUMES = {
    "resume": setup(),
    "another gauge": setup("usb-2"),
    "another temperature": setup(temperatures=Temperatures(stack="23")),
    "resume with rods": setup(only=("rods",)),
}
"""Moves that end the run and carry on with another one."""


def played(folder: Path, script: str) -> list[State]:
    """The states before each move and after the last one."""
    name, mark, rest = script.partition(": ")
    plan, run = PLANS[name] if mark else (ONE, setup())
    bench = Bench.new(folder, opened(plan, with_setup=run))
    states = [bench.state]
    for move in moves_in(rest if mark else script):
        bench = _play(bench, move)
        states.append(bench.state)
    bench.close()
    return states


def moves_in(script: str) -> list[str]:
    """The moves of a script, in order."""
    parts = [part.strip() for part in script.split(",") if part.strip()]
    return [move for part in parts for move in (part.split() if part[0].isdigit() else [part])]


def _play(bench: Bench, move: str) -> Bench:
    """One move; a run that carries on is a bench of its own."""
    if move[0].isdigit():
        _send(bench, move)
    elif move == "a long pause":
        bench.now_us += 300 * MINUTE_US
    elif move == "unplugged":
        bench.say(ask.LoseLink("unplugged"))
        bench.say(ask.FindLink(source()))
    elif move in RESUMES:
        bench.close()
        return Bench.again(bench.folder, bench.now_us + MINUTE_US, RESUMES[move])
    else:
        command = ask.parse_line(move)
        assert command is not None
        bench.say(command)
    return bench


def _send(bench: Bench, sent: str) -> None:
    """A number, with the resolution of its last digit, and perhaps a flag behind a `!`."""
    value, _, flag = sent.partition("!")
    step = Decimal(1).scaleb(int(Decimal(value).as_tuple().exponent))
    bench.press(value, resolution=str(step), flags=(flag,) if flag else ())


# At random ---------------------------------------------------------------------------------------


def random_ways(chance: random.Random) -> set[tuple[str, str]]:
    """The ways that one session of up to 40 moves went, from one status to another."""
    names = [status(done.state).value for done in random_steps(chance)]
    return {(before, after) for before, after in pairwise(names) if before != after}


def random_steps(chance: random.Random) -> Iterator[Advance]:
    """One session of up to 40 moves: how it began, and what each move that was taken came to."""
    plan, run = chance.choice([(ONE, setup()), (KEEPS, setup()), (PLAN, setup())])
    runs = [run, setup("usb-2")]
    if plan is PLAN:
        runs += [setup(only=("mains",)), setup(only=("rods",))]
    begun, now_us = _begun(plan, chance.choice(runs)), START_US
    yield begun
    state = begun.state
    for _ in range(chance.randrange(4, 40)):
        now_us += chance.choice([SECOND_US] * 12 + [61 * MINUTE_US, 300 * MINUTE_US])
        try:
            if state.closed is None and chance.random() < 0.05:
                done = resume(state, chance.choice(runs), now_us)
            else:
                done = decide(state, _any_command(state, now_us, chance), now_us)
        except Refused:
            continue
        yield done
        state = done.state


def _begun(plan: str, run: Setup) -> Advance:
    first = Entry(1, START_US, opened(plan, with_setup=run))
    return settle(Advance(begin(first, "the plan"), START_US, (first,)))


def _any_command(state: State, at_us: int, chance: random.Random) -> ask.Command:
    """A good reading as often as not; else an odd one, a word, or something of the link."""

    def sent(off: str = "0", *flags: str, step: str = "0.001", unit: str = "mm") -> ask.Command:
        value = _size_asked(state, off)
        return ask.TakeReading(reading(value, at_us, resolution=step, unit=unit, flags=flags))

    if chance.random() < 0.5:
        return sent()
    odd = [sent("0.005"), sent("1"), sent("0", "zeroed"), sent(step="0.01"), sent(unit="kg")]
    words = "back|retake M1/front/0|skip a|note a|keep|drop|check|zeroed|stop a|later|abandon a"
    said = [command for line in words.split("|") if (command := ask.parse_line(line))]
    link: list[ask.Command] = [
        ask.LoseLink("a"),
        ask.FindLink(source()),
        ask.FindLink(source("usb-2")),
    ]
    rest: list[ask.Command] = [
        ask.GiveUp("a"),
        ask.TimePassed(),
        ask.LinkNote("a"),
        ask.HistoryNote("a"),
    ]
    return chance.choice([*odd, *said, *link, *rest])


def _size_asked(state: State, off: str) -> str:
    """`off` mm away from a good size of what is asked for."""
    following = next_position(state)
    if phase(state) is None and following is not None:
        mm = state.scope.journals[following.journal].limits.low.mm + Decimal("0.010")
    else:
        mm = state.stint.size.mm if state.stint else Decimal("59.970")
    return str(mm + Decimal(off))
