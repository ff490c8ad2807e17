"""The Python that runs here, as the guest shall have it: shared folders, Debian packages."""

import platform
import re
import subprocess
import sys
from pathlib import Path

from tests.system.machine.unavailable import Unavailable

ROOT = Path(__file__).resolve().parents[3]

_LIBRARY = re.compile(r"=> (/\S+)")


def is_debians_own() -> bool:
    """Is this Debian's own Python, in or out of a virtual environment?"""
    return sys.base_prefix == "/usr"


def shared_folders() -> list[Path]:
    """The checkout, the virtual environment and the Python that it was made from, none twice."""
    folders = [ROOT, Path(sys.prefix)]
    if not is_debians_own():
        folders.append(Path(sys.base_prefix))
    folders = [folder.resolve() for folder in folders if folder != Path("/usr")]
    for folder in folders:
        if folder.parent == folder:
            raise Unavailable("Python or the checkout lies in /, which is not shared")
    return [
        folder
        for number, folder in enumerate(folders)
        if not any(folder.is_relative_to(other) for other in folders[:number])
    ]


def packages() -> tuple[str, ...]:
    """The Debian packages that this Python and its extension modules need."""
    version = f"python{sys.version_info.major}.{sys.version_info.minor}"
    # The second has the link python3, which an environment made from Debian's own Python points to.
    own = (version, "python3-minimal") if is_debians_own() else ()
    return (*own, *sorted(_owners(_libraries())))


def _libraries() -> set[str]:
    modules = [Path(sys.executable).resolve(), *Path(sys.prefix).rglob("*.so")]
    for place in sys.path:
        if place.endswith("lib-dynload"):
            modules += Path(place).glob("*.so")
    modules = [module for module in modules if "tkinter" not in module.name]  # no screen there
    found = subprocess.run(
        ["ldd", *map(str, modules)], capture_output=True, text=True, check=False
    ).stdout
    inside = tuple(f"{folder}/" for folder in shared_folders())
    return {path for path in _LIBRARY.findall(found) if not path.startswith(inside)}


def _owners(libraries: set[str]) -> set[str]:
    """The packages that own these files, under the name before or after usr was merged."""
    names = {
        name for path in libraries for name in (path, f"/usr{path}", path.removeprefix("/usr"))
    }
    found = subprocess.run(
        ["dpkg", "-S", *sorted(names)], capture_output=True, text=True, check=False
    ).stdout
    return {
        line.partition(":")[0] for line in found.splitlines() if not line.startswith("diversion")
    }


def architecture() -> str:
    """The machine's kind; raises Unavailable for one that the guest is not made for."""
    if sys.platform != "linux" or platform.machine() != "x86_64":
        raise Unavailable(f"the guest is made for Linux on x86_64, not {platform.machine()}")
    return "x86_64"
