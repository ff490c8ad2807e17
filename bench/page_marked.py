"""`python -m bench.page_marked FILE measure …`: the program as it is, with the moments of its work
written to a file as they pass. Its page's server writes there, too.

A mark is a line: its name and the time in ns, both processes by the system's clock.
"""

import fcntl
import functools
import os
import sys
import termios
from collections.abc import Callable
from pathlib import Path
from time import time_ns
from typing import Any

TRACE = "JBRIDGE_BENCH_TRACE"
"""The variable that names the file to the server."""

_SERVER = """#!{python}
import sys
sys.path[:0] = {path!r}
from bench.page_marked import server
server()
"""


class Trace:
    """Where the marks go."""

    def __init__(self, file: str) -> None:
        self._fd = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)

    def mark(self, name: str) -> None:
        """This happens now."""
        os.write(self._fd, f"{name} {time_ns()}\n".encode())

    def around(self, owner: object, function: str, name: str) -> None:
        """Mark when a function begins and when it ends; `owner` is a module or a class."""
        inner: Callable[..., Any] = getattr(owner, function)

        @functools.wraps(inner)
        def marked(*args: Any, **named: Any) -> Any:
            self.mark(f"{name}-begins")
            try:
                return inner(*args, **named)
            finally:
                self.mark(f"{name}-ends")

        setattr(owner, function, marked)


def session(file: str) -> None:
    """Mark the measuring process and run it, with a server that is marked as well."""
    from daq.acquisition import session_run  # noqa: PLC0415 - each process loads its own side only
    from daq.acquisition.sources import Sources  # noqa: PLC0415
    from daq.cli.app import main  # noqa: PLC0415
    from daq.page.host import PageHost  # noqa: PLC0415
    from daq.storage.ledger import Ledger  # noqa: PLC0415
    from drivers.reading import Reading  # noqa: PLC0415

    # Its own terminal: else a change of the size is not signalled, and has to be looked for.
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    trace = Trace(file)
    put, start = Sources._put, PageHost.start

    def marked_put(self: Sources, item: Any) -> None:
        if isinstance(item, Reading):
            trace.mark("decoded")
        put(self, item)

    def marked_start(self: PageHost, *args: Any, **named: Any) -> None:
        Path(f"{file}.links").write_text(f"{self.links.board}\n", encoding="utf-8")
        start(self, *args, **named)

    Sources._put = marked_put  # type: ignore[method-assign]
    PageHost.start = marked_start  # type: ignore[method-assign]
    trace.around(Ledger, "append", "disk")
    trace.around(session_run, "next_shown", "judge")

    script = Path(f"{file}.server")
    path = [str(Path(__file__).parents[1])]
    script.write_text(_SERVER.format(python=sys.executable, path=path), encoding="utf-8")
    script.chmod(0o700)
    os.environ[TRACE] = file
    sys.executable = str(script)  # what the page's server is started with
    sys.argv = ["jbridge", *sys.argv[2:]]
    main()


def server() -> None:
    """Mark the page's server and run it."""
    from daq.page.__main__ import main  # noqa: PLC0415
    from daq.page.server.hub import Hub  # noqa: PLC0415
    from daq.page.server.page import Pages  # noqa: PLC0415

    trace = Trace(os.environ[TRACE])
    trace.around(Hub, "take", "take")
    trace.around(Pages, "parts", "render")
    main()


if __name__ == "__main__":
    session(sys.argv[1])
