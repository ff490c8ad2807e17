"""Who is let in, by real sockets on the loopback."""

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest

from daq.page.server import door
from daq.page.server.door import AT_ONCE, MOST_CONNECTIONS, MOST_OF_ONE, Door, lets_in

PATIENCE_S = 20.0
FOR_EVER_S = 1000.0


class Guest(asyncio.Protocol):
    """Greets whoever comes in."""

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Say so."""
        assert isinstance(transport, asyncio.Transport)
        transport.write(b"in")


class House:
    """A door and where it stands; `inside` are the hosts of those that are in."""

    def __init__(self) -> None:
        self.inside: list[str] = []
        self._listening = socket.create_server(("127.0.0.1", 0), backlog=128)
        self.address = self._listening.getsockname()
        self.door = Door(self._listening, Guest, lambda: self.inside)

    async def knock(self, wait_s: float = PATIENCE_S) -> str:
        """What comes of it: `in`, `refused`, or `waits`."""
        try:
            reader, writer = await asyncio.open_connection(*self.address)
        except ConnectionResetError:  # so quickly that it never stood
            return "refused"
        try:
            heard = await asyncio.wait_for(reader.read(2), wait_s)
        except ConnectionResetError:
            return "refused"
        except TimeoutError:
            return "waits"
        finally:
            writer.transport.abort()
        return heard.decode()


@asynccontextmanager
async def house() -> AsyncIterator[House]:
    """Closed at the end."""
    built = House()
    try:
        yield built
    finally:
        built.door.close()
        await asyncio.sleep(0)


def test_so_many_of_one_host_and_no_more() -> None:
    async def tried() -> list[str]:
        async with house() as built:
            found = []
            for number in (0, MOST_OF_ONE - 1, MOST_OF_ONE):
                built.inside = ["127.0.0.1"] * number
                found.append(await built.knock())
            built.inside.pop()  # one has gone
            return [*found, await built.knock()]

    assert asyncio.run(tried()) == ["in", "in", "refused", "in"]


def test_so_many_in_all_and_no_more() -> None:
    others = [f"192.168.1.{number}" for number in range(MOST_CONNECTIONS)]
    assert lets_in("192.168.1.200", others[1:])
    assert not lets_in("192.168.1.200", others)


def test_others_of_one_host_are_no_bound_for_another() -> None:
    others = ["192.168.1.30"] * MOST_OF_ONE
    assert not lets_in("192.168.1.30", others)
    assert lets_in("192.168.1.31", others)


@pytest.mark.parametrize("is_full", [False, True], ids=["let in", "refused"])
def test_a_crowd_waits_after_so_many_at_once(
    monkeypatch: pytest.MonkeyPatch, *, is_full: bool
) -> None:
    monkeypatch.setattr(door, "PAUSE_S", FOR_EVER_S)

    async def tried() -> list[str]:
        async with house() as built:
            built.inside = ["127.0.0.1"] * MOST_OF_ONE if is_full else []
            at_once = [await built.knock() for _ in range(AT_ONCE)]
            return [*at_once, await built.knock(0.05)]

    assert asyncio.run(tried()) == ["refused" if is_full else "in"] * AT_ONCE + ["waits"]


def test_after_the_pause_it_goes_on() -> None:
    async def tried() -> list[str]:
        async with house() as built:
            return [await built.knock() for _ in range(AT_ONCE * 3)]

    assert asyncio.run(tried()) == ["in"] * AT_ONCE * 3


def test_a_system_without_room_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """As when so many files are open that there is none left."""
    monkeypatch.setattr(door, "RETRY_S", 0.0)

    async def tried() -> str:
        loop = asyncio.get_running_loop()
        accept, refusals = loop.sock_accept, [OSError(24, "Too many open files")]

        async def scarce(listening: socket.socket) -> tuple[socket.socket, object]:
            if refusals:
                raise refusals.pop()
            return await accept(listening)

        monkeypatch.setattr(loop, "sock_accept", scarce)
        async with house() as built:
            return await built.knock()

    assert asyncio.run(tried()) == "in"


def test_a_closed_door_takes_nobody() -> None:
    async def tried() -> None:
        async with house() as built:
            built.door.close()
            await asyncio.sleep(0)
            with pytest.raises(ConnectionRefusedError):
                await built.knock()

    asyncio.run(tried())
