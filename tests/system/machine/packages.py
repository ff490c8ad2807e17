"""Debian packages for the guest: chosen and fetched by apt, never installed on this machine."""

import re
import shutil
import subprocess
from pathlib import Path

from tests.system.machine.unavailable import Unavailable

SYSTEM = (
    *(
        "base-files",
        "base-passwd",
        "bash",
        "coreutils",
        "libc-bin",
        "grep",
        "sed",
        "util-linux",
        "mount",
    ),
    *("busybox-static", "kmod", "udev", "libusb-1.0-0", "ser2net"),
)
KERNEL = "linux-image-amd64"

_URI = re.compile(r"^'[^']+' (\S+\.deb) ", re.MULTILINE)


class Apt:
    """apt with lists and packages of its own below `folder`, and nothing taken as installed."""

    def __init__(self, folder: Path, sources: str | None = None) -> None:
        self._archives = folder / "archives"
        self._nothing = folder / "nothing"
        for place in (self._archives, folder / "lists", self._nothing):
            (place / "partial").mkdir(parents=True, exist_ok=True)
        status = folder / "status"
        status.touch()
        options = {
            "Dir::State": folder,
            "Dir::State::status": status,
            "Dir::State::lists": folder / "lists",
            "Dir::Cache": folder,
            "Debug::NoLocking": 1,
            "APT::Sandbox::User": "root",
            "APT::Install-Recommends": "false",
            "Acquire::Languages": "none",
        }
        if sources is not None:
            (folder / "sources.list").write_text(sources)
            options |= {"Dir::Etc::sourcelist": folder / "sources.list"}
            options |= {"Dir::Etc::sourceparts": "-"}
        self._options = [
            word for key, value in options.items() for word in ("-o", f"{key}={value}")
        ]

    def fetch(self, *names: str) -> list[Path]:
        """The newest packages of these names with all that they depend on; raises Unavailable."""
        try:
            return self._fetch(names)
        except subprocess.CalledProcessError:  # old lists, or none yet
            self.update()
        try:
            return self._fetch(names)
        except subprocess.CalledProcessError as error:
            raise _unavailable(names, error) from error

    def update(self) -> None:
        """Fetch the lists; what failed shows when a package is missing."""
        subprocess.run(
            ["apt-get", *self._options, "-qq", "update"], capture_output=True, check=False
        )

    def _fetch(self, names: tuple[str, ...]) -> list[Path]:
        install = ("-y", "-qq", "install", *names)
        nowhere = f"Dir::Cache::archives={self._nothing}"  # what is there already is not printed
        found = _URI.findall(self._get("-o", nowhere, "--print-uris", *install))
        missing = [name for name in found if not (self._archives / name).exists()]
        if missing:
            self._get("--download-only", *install)
        return [self._archives / name for name in found]

    def download(self, name: str) -> Path:
        """One package without what it depends on; raises Unavailable."""
        try:
            return self._download(name)
        except subprocess.CalledProcessError:
            self.update()
        try:
            return self._download(name)
        except subprocess.CalledProcessError as error:
            raise _unavailable((name,), error) from error

    def _download(self, name: str) -> Path:
        names: list[str] = _URI.findall(self._get("--print-uris", "download", name))
        found = self._archives / names[0]
        if not found.exists():
            self._get("-qq", "download", name, cwd=self._archives)
        return found

    def sources(self) -> list[tuple[str, str]]:
        """Address and code name of each of Debian's own sources that this machine uses."""
        form = "$(ORIGIN)|$(IDENTIFIER)|$(REPO_URI)|$(CODENAME)"
        rows = self._get("indextargets", "--format", form).splitlines()
        fields = [row.split("|") for row in rows]
        return [(row[2], row[3]) for row in fields if row[:2] == ["Debian", "Packages"]]

    def _get(self, *words: str, cwd: Path | None = None) -> str:
        if shutil.which("apt-get") is None:
            raise Unavailable("this is not a Debian system: there is no apt-get")
        return subprocess.run(
            ["apt-get", *self._options, *words], check=True, capture_output=True, text=True, cwd=cwd
        ).stdout


def _unavailable(names: tuple[str, ...], error: subprocess.CalledProcessError) -> Unavailable:
    words = " ".join(str(error.stderr or error.stdout or "").split())[:300]
    return Unavailable(f"Debian packages cannot be fetched ({', '.join(names)}): {words}")
