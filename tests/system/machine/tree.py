"""The guest's system: Debian packages unpacked into one archive, a few files of our own beside."""

import fcntl
import hashlib
import platform
import re
from pathlib import Path

from tests.system.machine import environment, kernel, packages
from tests.system.machine.archive import Tree, cpio, file, folder, link, skeleton, unpacked
from tests.system.machine.unavailable import Unavailable

USER = "operator"
"""The ordinary user of the guest, in no group but its own."""

_USER_ID = 1000
_UDEV_GROUPS = ("input", "kvm", "render", "sgx")
"""Made by udev's installation script; its rules name them."""

_NEWER_UDEV = "opt/udev"
_VERIFY_SINCE = 254
_UNUSED_PACKAGES = re.compile(
    r"(perl|libperl|lib.*-perl|usrmerge|initramfs|klibc|libklibc|linux-base|debconf|dpkg|cpio"
    r"|logsave|media-types|adduser|tar|libdb5|libgdbm|mawk)[^/]*_"
)
_UNUSED_FILES = re.compile(
    r"usr/share/(doc|man|locale|zoneinfo|info)/|usr/lib/[^/]*/gconv/|.*/hwdb\.d/"
    r"|.*/libsystemd-core-"
)
_PYTHON = re.compile(r"(lib)?python3")


class System:
    """What QEMU is given: the kernel and the guest's files, both kept in `folder`."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.kernel = folder / "kernel"
        self.files = folder / "files"

    def prepare(self) -> None:
        """Fetch and unpack what has changed since the last time; raises Unavailable."""
        self._folder.mkdir(parents=True, exist_ok=True)
        with (self._folder / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)  # one at a time, where several are started
            self._prepare()

    def _prepare(self) -> None:
        apt = packages.Apt(self._folder / "apt")
        debs = apt.fetch(*packages.SYSTEM, packages.KERNEL, *environment.packages())
        seat = apt.download("systemd")
        newer = _newer_udev(debs, apt, self._folder / "apt-newer")
        stamp = self._folder / "stamp"
        wanted = _digest([*debs, seat, *newer])
        if stamp.exists() and stamp.read_text() == wanted:
            return
        stamp.unlink(missing_ok=True)
        kernels = [deb for deb in debs if deb.name.startswith("linux-image-")]
        image: Tree = {}
        for deb in kernels:
            image |= unpacked(deb, _is_of_kernel)
        tree = skeleton() | kernel.with_dependencies(kernel.MODULES, image)
        for deb in debs:
            if deb not in kernels and _is_used(deb):
                tree |= unpacked(deb, _is_file_used)
        tree |= unpacked(seat, _is_rule)
        for deb in newer:
            tree |= unpacked(deb, _is_program, _NEWER_UDEV)
        tree |= _our_files(tree, has_newer=bool(newer))
        for place, data in ((self.kernel, kernel.image(image)), (self.files, cpio(tree))):
            part = place.with_suffix(".part")
            part.write_bytes(data)
            part.replace(place)  # whole for whoever boots from it meanwhile
        stamp.write_text(wanted)


def _newer_udev(debs: list[Path], apt: packages.Apt, folder: Path) -> list[Path]:
    """The packages of a udev that can verify rules, from backports; none if ours can."""
    own = next(deb.name for deb in debs if deb.name.startswith("udev_"))
    if int(re.findall(r"_(\d+)", own)[0]) >= _VERIFY_SINCE:
        return []
    release = platform.freedesktop_os_release().get("VERSION_CODENAME", "")
    address = next((address for address, name in apt.sources() if name == release), None)
    if address is None:
        raise Unavailable("apt does not know where Debian's own packages come from")
    key = Path("/usr/share/keyrings/debian-archive-keyring.gpg")
    signed = f"[signed-by={key}] " if key.exists() else ""
    newer = packages.Apt(folder, f"deb {signed}{address} {release}-backports main\n")
    return [newer.download("udev"), newer.download("libsystemd-shared")]


def _is_of_kernel(path: str) -> bool:
    return path.startswith(("boot/vmlinuz-", "lib/modules/", "usr/lib/modules/"))


def _is_used(deb: Path) -> bool:
    """Is this package needed? Many are dependencies of what installing alone needs."""
    if _PYTHON.match(deb.name):
        return environment.is_debians_own()
    return not _UNUSED_PACKAGES.match(deb.name)


def _is_file_used(path: str) -> bool:
    return not _UNUSED_FILES.match(path)


def _is_rule(path: str) -> bool:
    """systemd itself does not run there, but some of its rules are looked at by our tests."""
    return "/udev/rules.d/" in path


def _is_program(path: str) -> bool:
    return path.endswith("bin/udevadm") or "/libsystemd-shared-" in path


def _digest(debs: list[Path]) -> str:
    """Of everything that the files in `folder` are made from."""
    ours = sorted(Path(__file__).parent.rglob("*"))
    digest = hashlib.sha256(repr(sorted(deb.name for deb in debs)).encode())
    for path in ours:
        if path.is_file() and path.suffix != ".pyc":
            digest.update(path.read_bytes())
    return digest.hexdigest()


def _our_files(tree: Tree, has_newer: bool) -> Tree:
    guest = Path(__file__).parent / "guest"
    masters = "usr/share/base-passwd"
    people = tree[f"{masters}/passwd.master"].data.decode()
    groups = tree[f"{masters}/group.master"].data.decode()
    people += f"{USER}:x:{_USER_ID}:{_USER_ID}::/home/{USER}:/bin/bash\n"
    groups += f"{USER}:x:{_USER_ID}:\n"
    for number, name in enumerate(_UDEV_GROUPS, 900):
        groups += f"{name}:x:{number}:\n"
    newer = f"LD_LIBRARY_PATH=/{_NEWER_UDEV}/usr/lib/x86_64-linux-gnu/systemd /{_NEWER_UDEV}/bin/"
    return {
        "init": file((guest / "init").read_text(), 0o755),
        "etc/passwd": file(people),
        "etc/group": file(groups),
        "etc/hosts": file("127.0.0.1 localhost guest\n"),
        f"home/{USER}": folder(0o777),
        "root": folder(),  # Python may lie below it, and others run it too
        "usr/bin/sh": link("bash"),
        "usr/bin/verify-rules": file(
            f'#!/bin/sh\n{newer if has_newer else ""}udevadm verify "$@"\n', 0o755
        ),
    }
