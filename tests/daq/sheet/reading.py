"""A page as a browser would take it: what could run, what would be fetched, what is read."""

from html.parser import HTMLParser

HOSTILE = (
    "</title></style></script><script>alert(1)</script><img src=x onerror=alert(1)>"
    "\"'><svg onload=alert(1)> {{ 7 * 7 }} &lt;b&gt; \u202eabc\u2066 \x1b[31m\x00 ציר 第一 😀"
)


class Page(HTMLParser):
    """Tags, attributes and addresses of a page."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.handlers: list[str] = []
        self.addresses: list[str] = []
        self.policy = ""
        self.shown = ""
        self._depth_hidden = 0
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._depth_hidden += tag == "style"
        of = dict(attrs)
        self.handlers += [name for name in of if name.startswith("on") or name == "style"]
        fetched = ("src", "href", "xlink:href", "action", "data", "poster", "srcset")
        self.addresses += [str(of[name]) for name in fetched if name in of]
        if of.get("http-equiv") == "Content-Security-Policy":
            self.policy = str(of["content"])

    def handle_endtag(self, tag: str) -> None:
        self._depth_hidden -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._depth_hidden:
            self.shown += data
