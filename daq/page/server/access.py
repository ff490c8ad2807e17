"""Who may do what: by Host, by the secret in the path, by Origin, by method. Pure."""

import hmac
from typing import Literal

import msgspec

from daq.page.address import Secrets


class Denied(msgspec.Struct, frozen=True):
    """Why a request is not served: the status, words for a person, and of another method than is
    possible there those that are.
    """

    status: int
    words: str
    methods: str = ""


class Admitted(msgspec.Struct, frozen=True):
    """A request by one of the links: what it asks for below it, and whether it may press."""

    what: str
    may_press: bool
    does: Literal["look", "press"]


class PageGate(msgspec.Struct, frozen=True):
    """Who is let in. `netloc` is HOST:PORT as printed."""

    secrets: Secrets
    netloc: str

    def admit(
        self, method: str, path: str, hosts: list[str], origins: list[str]
    ) -> Admitted | Denied:
        """What a request may do; `hosts` and `origins` are all headers of that name.

        A name that leads here by a trick of name servers is no Host of ours, so a page from there
        cannot read this one. Source: RFC 9110, 7.2; The WHATWG Fetch Standard, "`Origin` header".
        """
        if hosts != [self.netloc]:
            return Denied(400, "This page is not called by that address. Use the printed link.")
        secret, slash, what = path.removeprefix("/").partition("/")
        is_look = _is_same(secret, self.secrets.look)
        is_press = _is_same(secret, self.secrets.press)
        if not slash or not (is_look or is_press):
            return Denied(403, "This link is not right. Use the whole printed link.")
        if origins != [f"http://{self.netloc}"] and (origins or method == "POST"):
            return Denied(403, "A page from elsewhere may not use this one.")
        if method == "POST" and what == "":
            if not is_press:
                return Denied(403, "This link is only to look at. Use the other printed link.")
            return Admitted(what, True, "press")
        if method != "GET":
            may = "GET, POST" if is_press and what == "" else "GET"
            return Denied(405, "That cannot be done with this page.", may)
        return Admitted(what, is_press, "look")


def _is_same(given: str, secret: str) -> bool:
    """In a time that tells nothing of where they differ."""
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), secret.encode())
