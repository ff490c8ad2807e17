"""Processes of the program without the seconds that starting Python takes on an emulated processor.

A server imports the program's modules once and forks a child for each request: a process of its
own, with its own user, standard streams, signals and end. It has touched no device before.
Sessions are started in the ordinary way, by `tests.system.conftest`.
"""

import atexit
import importlib
import json
import os
import pwd
import signal
import socket
import subprocess
import sys
import traceback
from types import TracebackType
from typing import Any, NamedTuple, NoReturn, Self

from tests.places import ROOT

_MODULES = (
    *("daq.cli.commands.listen", "daq.cli.commands.ports", "daq.cli.commands.udev"),
    *("daq.services.recognise", "daq.cli.listening", "daq.cli.views.ports", "daq.cli.run_session"),
    *(
        "drivers.attached.sysfs",
        "drivers.attached.discovery",
        "drivers.profile.file",
        "drivers.ports.returning",
    ),
    *("drivers.ports.serial_port", "drivers.ports.usb_keyboard", "drivers.ports.usb_release"),
    *("drivers.udev.targets", "platformdirs.unix"),
)
"""What the commands import when they run."""

_REQUEST_BYTES = 65536


class Done(NamedTuple):
    """How a process ended; a negative code is the signal that killed it."""

    code: int
    stdout: str
    stderr: str


class Child:
    """One running process; the end of a with-block waits for its end."""

    def __init__(self, pid: int, streams: tuple[int, int, int], status: int) -> None:
        self.pid = pid
        self._status = status
        self.stdin = os.fdopen(streams[0], "w")
        self.stdout = os.fdopen(streams[1])
        self.stderr = os.fdopen(streams[2])

    def send_signal(self, number: int) -> None:
        """Send a signal."""
        os.kill(self.pid, number)

    def finish(self, typed: str = "") -> Done:
        """Type something, close stdin, and wait for the end."""
        if typed:
            self.stdin.write(typed)
        self.stdin.close()
        out, err = self.stdout.read(), self.stderr.read()
        return Done(int(os.read(self._status, 16)), out, err)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is not None:
            os.kill(self.pid, signal.SIGKILL)
        for stream in (self.stdin, self.stdout, self.stderr):
            stream.close()
        os.read(self._status, 16)  # empty where `finish` has read it already
        os.close(self._status)


class Server:
    """The client's side: start processes, close the server in the end."""

    def __init__(self) -> None:
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "tests.system.kernel.forking", str(theirs.fileno())],
                cwd=ROOT,
                pass_fds=(theirs.fileno(),),
            )

    def start(self, code: str, *arguments: str, **options: Any) -> Child:
        """Run Python code in a child; `user`, `groups` and `env` (more of it) as options."""
        ends = [os.pipe() for _ in range(4)]
        theirs = [ends[0][0], *(write for _, write in ends[1:])]
        request = {"code": code, "arguments": arguments, **options}
        socket.send_fds(self._ours, [json.dumps(request).encode()], theirs)
        for end in theirs:
            os.close(end)
        pid = int(self._ours.recv(16))
        return Child(pid, (ends[0][1], ends[1][0], ends[2][0]), ends[3][0])

    def close(self) -> None:
        """End the server; children that still run go on."""
        self._ours.close()
        self._process.wait()


def _serve(line: socket.socket) -> None:
    for name in _MODULES:
        importlib.import_module(name)
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody asks for the minders' ends
    while True:
        data, ends, _, _ = socket.recv_fds(line, _REQUEST_BYTES, 4)
        if not data:
            return
        if os.fork() == 0:
            _mind(line, json.loads(data), list(ends))
        for end in ends:
            os.close(end)


def _mind(line: socket.socket, request: dict[str, Any], ends: list[int]) -> NoReturn:
    """Start the child, tell its number, wait for its end, and tell that on the fourth pipe."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    child = os.fork()
    if child == 0:
        line.close()
        os.close(ends.pop())
        _become(request, ends)
    line.send(str(child).encode())
    for end in ends[:3]:
        os.close(end)
    _, status = os.waitpid(child, 0)
    os.write(ends[3], str(os.waitstatus_to_exitcode(status)).encode())
    os._exit(0)


def _become(request: dict[str, Any], ends: list[int]) -> NoReturn:
    for number, end in enumerate(ends):
        os.dup2(end, number)
        os.close(end)
    if "user" in request:
        user = pwd.getpwnam(request["user"])
        os.initgroups(user.pw_name, user.pw_gid)
        os.setgroups([*os.getgroups(), *request.get("groups", ())])
        os.setgid(user.pw_gid)
        os.setuid(user.pw_uid)
    os.environ.update(request.get("env", {}))
    sys.argv = ["jbridge", *request["arguments"]]
    code = 0
    try:
        exec(request["code"], {"__name__": "__main__"})
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
        code = 1
    atexit._run_exitfuncs()  # as the interpreter does at its end
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


if __name__ == "__main__":
    _serve(socket.socket(fileno=int(sys.argv[1])))
