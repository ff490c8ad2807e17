"""Files on their way into the guest: out of Debian packages, into a cpio archive."""

import stat
import subprocess
import tarfile
from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath
from typing import IO, NamedTuple


class Entry(NamedTuple):
    """One file, folder, link or device: its st_mode, its bytes (of a link: the target), its device
    number as (major, minor).
    """

    mode: int
    data: bytes = b""
    device: tuple[int, int] = (0, 0)


Tree = dict[str, Entry]
"""Entries by path, without a leading slash."""

_MERGED = ("bin", "lib", "lib64", "sbin")
"""Debian keeps these below usr, with links in their place (the merged usr of Debian 12 and on)."""


def folder(mode: int = 0o755) -> Entry:
    """A folder."""
    return Entry(stat.S_IFDIR | mode)


def file(text: str | bytes, mode: int = 0o644) -> Entry:
    """A regular file."""
    return Entry(stat.S_IFREG | mode, text.encode() if isinstance(text, str) else text)


def link(target: str) -> Entry:
    """A symbolic link."""
    return Entry(stat.S_IFLNK | 0o777, target.encode())


def console() -> Entry:
    """/dev/console, which the kernel opens for the first program."""
    return Entry(stat.S_IFCHR | 0o600, device=(5, 1))


def merged(path: str) -> str:
    """The path below usr where it lies since usr was merged."""
    first = path.partition("/")[0]
    return f"usr/{path}" if first in _MERGED else path


def skeleton() -> Tree:
    """The folders and links that no package brings."""
    tree = {name: link(f"usr/{name}") for name in _MERGED}
    tree |= {name: folder() for name in ("dev", "proc", "run", "sys", "etc", "root", "home")}
    return tree | {"dev/console": console(), "tmp": folder(0o1777)}


def unpacked(package: Path, is_wanted: Callable[[str], bool], below: str = "") -> Tree:
    """The wanted files of a Debian package, moved below a folder if one is given.

    `is_wanted` is asked with the path as the package has it, without a leading slash.
    """
    tree: Tree = {}
    for member, content in _members(package):
        path = str(PurePosixPath(member.name))
        if path == "." or not is_wanted(path):
            continue
        place = f"{below}/{path}" if below else merged(path)
        if member.issym():
            tree[place] = link(member.linkname)
        elif member.islnk():
            target = str(PurePosixPath(member.linkname))
            tree[place] = tree[f"{below}/{target}" if below else merged(target)]
        elif member.isfile() and content is not None:
            tree[place] = file(content.read(), member.mode)
        elif member.isdir() and place not in _MERGED:
            tree[place] = folder(member.mode)
    return tree


def _members(package: Path) -> Iterator[tuple[tarfile.TarInfo, IO[bytes] | None]]:
    with subprocess.Popen(
        ["dpkg-deb", "--fsys-tarfile", str(package)], stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        with tarfile.open(fileobj=process.stdout, mode="r|") as archive:
            for member in archive:
                yield member, archive.extractfile(member) if member.isfile() else None
    if process.returncode:
        raise RuntimeError(f"{package} cannot be unpacked: dpkg-deb gave {process.returncode}")


def cpio(tree: Tree) -> bytes:
    """The tree as an archive in the "newc" form, all of it owned by root; missing parents are made.

    Source: the kernel's Documentation/driver-api/early-userspace/buffer-format.rst (from memory).
    """
    whole = dict(tree)
    for path in tree:
        for parent in PurePosixPath(path).parents:
            if str(parent) != ".":
                whole.setdefault(str(parent), folder())
    out = bytearray()
    for inode, path in enumerate(sorted(whole), 1):
        _append(out, inode, path, whole[path])
    _append(out, 0, "TRAILER!!!", Entry(0))
    return bytes(out)


def _append(out: bytearray, inode: int, path: str, entry: Entry) -> None:
    name = path.encode() + b"\0"
    links = 2 if stat.S_ISDIR(entry.mode) else 1
    fields = (inode, entry.mode, 0, 0, links, 0, len(entry.data), 0, 0, *entry.device, len(name), 0)
    out += b"070701" + b"".join(b"%08X" % field for field in fields) + name
    out += b"\0" * (-len(out) % 4) + entry.data
    out += b"\0" * (-len(out) % 4)
