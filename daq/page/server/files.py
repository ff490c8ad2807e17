"""What the page is made of besides its parts: style, script, sounds."""

from importlib.resources import files as packaged

from daq.page.server.app import File

_KINDS = {"page.css": "text/css", "page.js": "text/javascript", "icon.svg": "image/svg+xml"}


def files() -> dict[str, File]:
    """By the name below a link."""
    folder = packaged("daq.page.server") / "static"
    return {name: File(kind, (folder / name).read_bytes()) for name, kind in _KINDS.items()}
