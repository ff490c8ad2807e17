"""Processes of the program without the time that starting Python and reading its modules takes.

A server imports the program's modules once and forks a child for each request: a process of its
own, with its own user, standard streams, signals and end. It has run nothing of the program and
touched no device before; the child ends as any interpreter does.
"""

import gc
import importlib
import json
import os
import pkgutil
import pwd
import resource
import select
import signal
import socket
import subprocess
import sys
import tempfile
from types import TracebackType
from typing import Any, NamedTuple, NoReturn, Self

from tests.places import ROOT

JBRIDGE = 'import runpy; runpy.run_module("daq", run_name="__main__", alter_sys=True)'
"""`python -m daq`, as code for a child."""

_PACKAGES = ("daq", "drivers", "simulator")


class Process:
    """One running process, as `subprocess.Popen` shows it."""

    def __init__(self, pid: int, status: int) -> None:
        self.pid = pid
        self.returncode: int | None = None
        self._status = status

    def poll(self) -> int | None:
        """The exit code once it has ended; a negative one is the signal that killed it."""
        try:
            return self.wait(0.0)
        except subprocess.TimeoutExpired:
            return None

    def wait(self, timeout_s: float | None = None) -> int:
        """Wait for the end; the exit code. Raises subprocess.TimeoutExpired."""
        if self.returncode is None:
            if not select.select([self._status], [], [], timeout_s)[0]:
                raise subprocess.TimeoutExpired("child", timeout_s or 0.0)
            self.returncode = int(os.read(self._status, 16))
            os.close(self._status)
        return self.returncode

    def send_signal(self, number: int) -> None:
        """Send a signal, to a process that has not ended."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        """End it at once."""
        self.send_signal(signal.SIGKILL)


class Done(NamedTuple):
    """How a process ended; a negative code is the signal that killed it."""

    code: int
    stdout: str
    stderr: str


class Child(Process):
    """One running process with pipes as its streams; a with-block waits for its end."""

    def __init__(self, process: Process, streams: tuple[int, int, int]) -> None:
        super().__init__(process.pid, process._status)
        self.stdin = os.fdopen(streams[0], "w")
        self.stdout = os.fdopen(streams[1])
        self.stderr = os.fdopen(streams[2])

    def finish(self, typed: str = "") -> Done:
        """Type something, close stdin, and wait for the end."""
        if typed:
            self.stdin.write(typed)
        self.stdin.close()
        out, err = self.stdout.read(), self.stderr.read()
        return Done(self.wait(), out, err)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is not None:
            self.kill()
        for stream in (self.stdin, self.stdout, self.stderr):
            stream.close()
        self.wait()


class Launcher:
    """The client's side: start processes, close the server in the end."""

    def __init__(self) -> None:
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "tests.system.launcher", str(theirs.fileno())],
                cwd=ROOT,
                pass_fds=(theirs.fileno(),),
                start_new_session=True,  # Ctrl-C at the tests' terminal is not for it
            )

    def start(
        self,
        code: str,
        *arguments: str,
        streams: tuple[int, int, int],
        env: dict[str, str] | None = None,
        **options: Any,
    ) -> Process:
        """Run Python code in a child with these descriptors as its standard streams.

        `env` is added to this process's own. Options: `user` and `groups`, `own_session`, and
        `file_bytes`, which no file may outgrow.
        """
        request = {"code": code, "arguments": arguments, "env": {**os.environ, **(env or {})}}
        status, theirs = os.pipe()
        with tempfile.TemporaryFile() as asked:  # arguments may be larger than any message
            asked.write(json.dumps(request | options).encode())
            asked.seek(0)
            socket.send_fds(self._ours, [b"start"], [*streams, theirs, asked.fileno()])
        os.close(theirs)
        return Process(int(self._ours.recv(16)), status)

    def piped(self, code: str, *arguments: str, **options: Any) -> Child:
        """Run Python code in a child with pipes as its standard streams."""
        (stdin, typed), (out, stdout), (err, stderr) = (os.pipe() for _ in range(3))
        process = self.start(code, *arguments, streams=(stdin, stdout, stderr), **options)
        for end in (stdin, stdout, stderr):
            os.close(end)
        return Child(process, (typed, out, err))

    def close(self) -> None:
        """End the server; children that still run go on."""
        self._ours.close()
        self._process.wait()


def _import_all() -> None:
    for top in _PACKAGES:
        package = importlib.import_module(top)
        for module in pkgutil.walk_packages(package.__path__, f"{top}."):
            if not module.name.endswith(".__main__"):
                importlib.import_module(module.name)


def _serve(line: socket.socket) -> dict[str, Any]:
    """Fork for each request. Returns in the child only, with what is asked of it."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody asks for the minders' ends
    while True:
        data, ends, _, _ = socket.recv_fds(line, 16, 5)
        if not data:
            sys.exit()
        with os.fdopen(ends.pop(), "rb") as asked:
            request = asked.read()
        if os.fork() == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            child = os.fork()
            if child != 0:
                _mind(line, child, ends)
            line.close()
            os.close(ends.pop())
            for number, end in enumerate(ends):
                os.dup2(end, number)
                os.close(end)
            return dict(json.loads(request))
        for end in ends:
            os.close(end)


def _mind(line: socket.socket, child: int, ends: list[int]) -> NoReturn:
    """Tell the child's number, wait for its end, and tell that on the fourth descriptor."""
    line.send(str(child).encode())
    for end in ends[:3]:
        os.close(end)
    _, status = os.waitpid(child, 0)
    os.write(ends[3], str(os.waitstatus_to_exitcode(status)).encode())
    os._exit(0)


def _become(request: dict[str, Any]) -> None:
    """Take on what was asked for: session, limit, user, environment, arguments, streams."""
    if request.get("own_session"):
        os.setsid()
    if "file_bytes" in request:
        most = request["file_bytes"]
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    if "user" in request:
        user = pwd.getpwnam(request["user"])
        os.initgroups(user.pw_name, user.pw_gid)
        os.setgroups([*os.getgroups(), *request.get("groups", ())])
        os.setgid(user.pw_gid)
        os.setuid(user.pw_uid)
    os.environ.clear()
    os.environ.update(request["env"])
    sys.argv = ["jbridge", *request["arguments"]]
    # Opened anew: whether they buffer by lines depends on what the descriptors are now.
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        old = getattr(sys, name)
        buffering = 1 if name == "stderr" else -1
        new = open(  # noqa: SIM115 - it stays open to the end
            old.fileno(), mode, buffering, old.encoding, old.errors, closefd=False
        )
        setattr(sys, name, new)
        setattr(sys, f"__{name}__", new)


if __name__ == "__main__":
    _import_all()
    gc.freeze()  # a child that ends would copy every page of what was imported, to look for circles
    asked = _serve(socket.socket(fileno=int(sys.argv[1])))
    _become(asked)
    exec(asked["code"], {"__name__": "__main__"})
