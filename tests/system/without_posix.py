"""The program on a Linux from which everything is taken away that Windows lacks:
`python -m tests.system.without_posix COMMAND …`.

Modules that only POSIX has cannot be imported; names that only POSIX has are gone from os, signal,
select and time; what Windows does in another way is done in that way (see `_as_windows`). msvcrt is
there, and its keys are what comes in on the descriptor in JBRIDGE_KEYS.

What is not changed: sys.platform and os.name. Python's own library (pathlib, subprocess) and click,
rich, pyserial and filelock choose by them, some at each call, to load what only a Windows has
(ctypes.windll), so nothing would run at all. Our own code therefore chooses by what is present.
filelock and pyserial keep their POSIX sides, with what these need: their other ones are theirs.
"""

import errno
import importlib
import os
import select
import signal
import socket
import stat
import sys
import time
from collections.abc import Sequence
from types import ModuleType
from typing import Any

MODULES = "curses fcntl grp posix_ipc pty pwd readline resource spwd syslog termios tty"

# Source: the differences between linux and win32 in typeshed's stubs of Python 3.11's library.
NAMES = {
    "os": (
        "O_ACCMODE O_ASYNC O_CLOEXEC O_DIRECT O_DIRECTORY O_DSYNC O_NDELAY O_NOCTTY O_NOFOLLOW "
        "O_NONBLOCK O_PATH O_SYNC O_TMPFILE WEXITSTATUS WIFEXITED WIFSIGNALED WNOHANG WTERMSIG "
        "chown chroot confstr ctermid fchdir fchmod fchown fdatasync fork forkpty fpathconf "
        "fstatvfs get_blocking getegid geteuid getgid getgrouplist getgroups getloadavg getpgid "
        "getpgrp getpriority getrandom getresgid getresuid getsid getuid getxattr initgroups "
        "killpg lchown listxattr lockf major makedev memfd_create minor mkfifo mknod nice openpty "
        "pathconf pipe2 posix_fadvise posix_fallocate posix_spawn posix_spawnp pread preadv pwrite "
        "pwritev readv register_at_fork removexattr sched_getaffinity sched_setaffinity "
        "sched_yield sendfile set_blocking setegid seteuid setgid setgroups setpgid setpgrp "
        "setpriority setregid setresgid setresuid setreuid setsid setuid setxattr splice statvfs "
        "sync sysconf tcgetpgrp tcsetpgrp ttyname uname wait wait3 wait4 waitid writev"
    ),
    "signal": (
        "SIGALRM SIGBUS SIGCHLD SIGCONT SIGHUP SIGIO SIGKILL SIGPIPE SIGPOLL SIGPROF SIGPWR "
        "SIGQUIT SIGSTOP SIGSYS SIGTRAP SIGTSTP SIGTTIN SIGTTOU SIGURG SIGUSR1 SIGUSR2 SIGVTALRM "
        "SIGWINCH SIGXCPU SIGXFSZ SIG_BLOCK SIG_SETMASK SIG_UNBLOCK alarm getitimer pause "
        "pthread_kill pthread_sigmask setitimer siginterrupt sigpending sigtimedwait sigwait "
        "sigwaitinfo"
    ),
    "select": "POLLERR POLLHUP POLLIN POLLNVAL POLLOUT POLLPRI epoll poll",
    "time": (
        "CLOCK_BOOTTIME CLOCK_MONOTONIC CLOCK_MONOTONIC_RAW CLOCK_REALTIME clock_getres "
        "clock_gettime clock_gettime_ns clock_settime tzset"
    ),
}

LIBRARIES = ("filelock", "serial", "subprocess")
O_BINARY = 0x8000
_NO_SOCKET = 10038  # WSAENOTSOCK


def take_away() -> None:
    """Everything that Windows lacks."""
    for name in LIBRARIES:
        importlib.import_module(name)
    for place in NAMES:
        _keep_for_libraries(importlib.import_module(place))
    _as_windows()
    for name in MODULES.split():
        sys.modules[name] = None  # type: ignore[assignment] # so that its import fails
    for place, names in NAMES.items():
        module = importlib.import_module(place)
        for name in names.split():
            delattr(module, name)


def _keep_for_libraries(module: ModuleType) -> None:
    """The libraries that are there get a copy of the module as it is now."""
    copy = ModuleType(module.__name__)
    vars(copy).update(vars(module))
    for name, user in list(sys.modules.items()):
        if name.partition(".")[0] in LIBRARIES:
            names = [key for key, value in vars(user).items() if value is module]
            vars(user).update(dict.fromkeys(names, copy))


def _as_windows() -> None:
    """What Windows has as well, done in its way: select waits for sockets only, which in turn are
    no descriptors; folders cannot be opened; files are text unless O_BINARY says otherwise; only
    six signals can be handled; a name that is taken cannot be given by os.rename.
    """
    open_, read, write = os.open, os.read, os.write
    select_, signal_, rename = select.select, signal.signal, os.rename
    text: set[int] = set()

    def opened(path: Any, flags: int, mode: int = 0o777, **more: Any) -> int:
        if os.path.isdir(path):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)
        fd = open_(path, flags & ~O_BINARY, mode, **more)
        (text.discard if flags & O_BINARY else text.add)(fd)
        return fd

    def readable(fd: int, size: int) -> bytes:
        _refuse_socket(fd)
        return read(fd, size)

    def written(fd: int, data: bytes) -> int:
        _refuse_socket(fd)
        if fd in text:
            write(fd, bytes(data).replace(b"\n", b"\r\n"))
            return len(data)
        return write(fd, data)

    def waited(*wanted: Any) -> Any:
        if not any(wanted[:3]) or not all(_is_socket(one) for some in wanted[:3] for one in some):
            raise OSError(_NO_SOCKET, "an operation was attempted on something that is no socket")
        return select_(*wanted)

    def handled(number: int, handler: Any) -> Any:
        if number not in (2, 4, 6, 8, 11, 15):  # INT, ILL, ABRT, FPE, SEGV, TERM
            raise ValueError("invalid signal value")
        return signal_(number, handler)

    def renamed(source: Any, target: Any, **more: Any) -> None:
        if os.path.exists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), target)
        rename(source, target, **more)

    for module, name, stand_in in (
        (os, "open", opened),
        (os, "read", readable),
        (os, "write", written),
        (os, "rename", renamed),
        (os, "O_BINARY", O_BINARY),
        (select, "select", waited),
        (signal, "signal", handled),
    ):
        setattr(module, name, stand_in)


def _refuse_socket(fd: int) -> None:
    if _is_socket(fd):
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))


def _is_socket(one: Any) -> bool:
    fd = one if isinstance(one, int) else one.fileno()
    return stat.S_ISSOCK(os.fstat(fd).st_mode)


def msvcrt(keys: socket.socket) -> ModuleType:
    """What is used of it; its keys are the characters that come in."""
    wait = select.select  # sockets may be waited for
    module = ModuleType("msvcrt")
    pressed: list[str] = []

    def kbhit() -> bool:
        if not pressed and wait([keys], [], [], 0)[0]:
            pressed.extend(keys.recv(4096).decode("utf-8"))
        return bool(pressed)

    def getwch() -> str:
        while not kbhit():
            time.sleep(0.01)
        return pressed.pop(0)

    vars(module).update(kbhit=kbhit, getwch=getwch)
    return module


def main(arguments: Sequence[str]) -> None:
    """Run the program as it would run there; ends the process."""
    take_away()
    keys = os.environ.get("JBRIDGE_KEYS")
    sys.modules["msvcrt"] = msvcrt(socket.socket(fileno=int(keys))) if keys else ModuleType("none")
    assert not any(name.partition(".")[0] in ("daq", "drivers") for name in sys.modules)
    from daq.cli.app import main as program

    sys.argv = ["jbridge", *arguments]
    program()


if __name__ == "__main__":
    main(sys.argv[1:])
