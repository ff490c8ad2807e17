"""Who may do what."""

import pytest

from daq.page.address import Secrets
from daq.page.server.access import Admitted, Denied, PageGate

GATE = PageGate(Secrets("look-secret", "press-secret"), "127.0.0.1:8080")
HOST, ORIGIN = ["127.0.0.1:8080"], ["http://127.0.0.1:8080"]
LOOK, PRESS = "/look-secret/", "/press-secret/"


@pytest.mark.parametrize("what", ["", "state.json", "events", "page.css", "sounds/kept.wav"])
@pytest.mark.parametrize("origins", [[], ORIGIN])
def test_both_links_may_look(what: str, origins: list[str]) -> None:
    assert GATE.admit("GET", LOOK + what, HOST, origins) == Admitted(what, False, "look")
    assert GATE.admit("GET", PRESS + what, HOST, origins) == Admitted(what, True, "look")


def test_one_link_may_press() -> None:
    assert GATE.admit("POST", PRESS, HOST, ORIGIN) == Admitted("", True, "press")


@pytest.mark.parametrize(
    ("method", "path", "hosts", "origins", "status"),
    [
        ("GET", LOOK, [], [], 400),
        ("GET", LOOK, ["127.0.0.1"], [], 400),
        ("GET", LOOK, ["localhost:8080"], [], 400),
        ("GET", LOOK, ["127.0.0.1:8080", "127.0.0.1:8080"], [], 400),
        ("GET", LOOK, ["evil.example"], [], 400),
        ("GET", LOOK, ["127.0.0.1:8080.evil.example"], [], 400),
        ("POST", PRESS, ["evil.example"], ["http://evil.example"], 400),
        ("GET", "/", HOST, [], 403),
        ("GET", "/look-secret", HOST, [], 403),
        ("GET", "/look-secre/", HOST, [], 403),
        ("GET", "/look-secrett/", HOST, [], 403),
        ("GET", "//look-secret/", HOST, [], 403),
        ("GET", "/LOOK-SECRET/", HOST, [], 403),
        ("GET", "/look-secret\udcff/", HOST, [], 403),
        ("GET", "http://127.0.0.1:8080/look-secret/", HOST, [], 403),
        ("POST", "/other/", HOST, ORIGIN, 403),
        ("GET", LOOK, HOST, ["http://evil.example"], 403),
        ("GET", LOOK, HOST, ["null"], 403),
        ("GET", LOOK, HOST, ["https://127.0.0.1:8080"], 403),
        ("POST", PRESS, HOST, [], 403),
        ("POST", PRESS, HOST, ["null"], 403),
        ("POST", PRESS, HOST, [*ORIGIN, *ORIGIN], 403),
        ("POST", PRESS, HOST, ["http://127.0.0.1:8080/"], 403),
        ("POST", LOOK, HOST, ORIGIN, 403),
        ("POST", PRESS + "state.json", HOST, ORIGIN, 405),
        ("POST", LOOK + "events", HOST, ORIGIN, 405),
        ("HEAD", LOOK, HOST, [], 405),
        ("PUT", PRESS, HOST, ORIGIN, 405),
        ("DELETE", LOOK, HOST, ORIGIN, 405),
        ("OPTIONS", PRESS, HOST, ORIGIN, 405),
        ("get", LOOK, HOST, ORIGIN, 405),
    ],
)
def test_all_else_is_denied(
    method: str, path: str, hosts: list[str], origins: list[str], status: int
) -> None:
    denied = GATE.admit(method, path, hosts, origins)
    assert isinstance(denied, Denied)
    assert denied.status == status
    assert "secret" not in denied.words


def test_of_another_method_the_possible_ones_are_told() -> None:
    denied = [GATE.admit("PUT", path, HOST, []) for path in (LOOK, PRESS, PRESS + "events")]
    assert [each.methods for each in denied if isinstance(each, Denied)] == [
        "GET",
        "GET, POST",
        "GET",
    ]
