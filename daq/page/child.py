"""The page's server as a process: started with the listening socket, told what to show, heard."""

import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import IO

from msgspec.structs import replace

from daq.page.messages import LONGEST_LINE, Hello, ToServer, line_of


class Child:
    """A server process. Raises OSError where none can be started."""

    def __init__(self, sock: socket.socket) -> None:
        # The same program, whatever lies in the folder that it runs in.
        command = [sys.executable, "-P", "-m", "daq.page"]
        self._process: subprocess.Popen[bytes]
        if sys.platform == "win32":
            flags = subprocess.CREATE_NEW_PROCESS_GROUP | subprocess.CREATE_NO_WINDOW
            self._process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=_environment(),
                creationflags=flags,
            )
            self._descriptor, self._share = -1, sock.share(self._process.pid)
        else:
            self._process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=_environment(),
                pass_fds=(sock.fileno(),),
                start_new_session=True,  # Ctrl-C at the terminal is not for it
            )
            self._descriptor, self._share = sock.fileno(), b""

    @property
    def pid(self) -> int:
        """The process."""
        return self._process.pid

    def greet(self, hello: Hello) -> None:
        """The first line, the socket added. Raises OSError where nobody reads it."""
        self.send([replace(hello, descriptor=self._descriptor, share=self._share)])

    def send(self, messages: list[ToServer]) -> None:
        """Waits until it reads; raises OSError once it is gone."""
        pipe = _given(self._process.stdin)
        for message in messages:
            pipe.write(line_of(message))
        pipe.flush()

    def hear(self) -> bytes:
        """The next line; empty once it is gone, or talks nonsense."""
        line = _given(self._process.stdout).readline(LONGEST_LINE)
        return line if line.endswith(b"\n") else b""

    def kill(self) -> None:
        """End it at once."""
        self._process.kill()

    def bury(self) -> None:
        """It is over: give back what it held."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            try:
                _given(pipe).close()
            except OSError:
                continue  # what was still to be written has no reader


def _given(pipe: IO[bytes] | None) -> IO[bytes]:
    assert pipe is not None
    return pipe


def _environment() -> dict[str, str]:
    root = str(Path(__file__).parents[2])
    before = os.environ.get("PYTHONPATH")
    return {**os.environ, "PYTHONPATH": os.pathsep.join([root, before]) if before else root}
