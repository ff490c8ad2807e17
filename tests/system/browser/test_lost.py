"""What breaks: the gauge's cable, the page's server, the network, the session itself."""

import os
import signal
from pathlib import Path

from playwright.sync_api import expect

from tests.system.browser.conftest import See
from tests.system.browser.played import GOOD, ROUTE, Bench


def children(pid: int) -> list[int]:
    """The processes that a process started."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            text = stat.read_text(encoding="utf-8")
        except OSError:
            continue
        if int(text.rpartition(")")[2].split()[1]) == pid:
            found.append(int(stat.parent.name))
    return found


def test_a_cable_that_is_pulled_is_told_until_it_is_back(bench: Bench, see: See) -> None:
    program = bench.measure()
    page = see(bench.press)
    bench.check()
    bench.read(GOOD[0])
    page.is_at(ROUTE[1])
    bench.gauge.tell("unplug")
    program.wait_for("link_lost")
    page.is_at("Cable out")
    page.shows("link", "LOST")
    bench.gauge.tell("replug")
    program.wait_for("link_back")
    page.is_at("Stack 1/2")
    expect(page.part("link")).not_to_contain_text("LOST")
    bench.check("59.972", "59.970")
    page.is_at(ROUTE[0])  # no check can prove what was read before: it is measured again


def test_where_the_server_is_killed_the_session_goes_on_and_the_page_comes_back(
    bench: Bench, see: See
) -> None:
    program = bench.measure()
    page = see(bench.press)
    bench.check()
    page.is_at(ROUTE[0])
    page.allow("Failed to load resource", "ERR_")
    (server,) = children(program.process.pid)
    os.kill(server, signal.SIGKILL)
    page.is_stale()
    bench.read(GOOD[0])
    page.is_live()
    page.is_at(ROUTE[1])
    page.press("back")
    program.wait_for("void")
    page.is_at(ROUTE[0])
    bench.read(*GOOD)
    bench.check("59.971", "59.970")
    assert program.end() == 0
    page.shows("answer", "Session accepted")


def test_a_page_whose_network_goes_and_comes_says_so_both_times(bench: Bench, see: See) -> None:
    bench.measure()
    page = see(bench.press)
    page.allow("Failed to load resource", "ERR_")
    bench.check()
    page.is_at(ROUTE[0])
    page.context.set_offline(True)
    page.is_stale()
    bench.read(GOOD[0])
    page.context.set_offline(False)
    page.is_live()
    page.is_at(ROUTE[1])


def test_where_the_session_is_killed_the_page_says_that_it_is_not_live(
    bench: Bench, see: See
) -> None:
    program = bench.measure()
    page = see(bench.press)
    page.allow("Failed to load resource", "ERR_")
    bench.check()
    page.is_at(ROUTE[0])
    (server,) = children(program.process.pid)
    program.process.kill()
    page.is_stale()
    assert page.button("note").is_disabled()
    program.process.wait(20)
    gone = Path(f"/proc/{server}")
    page.until("document.body.classList.contains('stale')")
    bench.resume()  # on another port, with other secrets: the old link stays dead
    again = see(bench.press)
    bench.check("59.972", "59.970")
    again.is_at(ROUTE[0])
    assert not gone.exists() or "Z" in (gone / "stat").read_text().split()[2]
    page.is_stale()
