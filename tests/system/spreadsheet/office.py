"""The distribution's LibreOffice, set to a country, turning one file into another."""

import shutil
import subprocess
from pathlib import Path

SOFFICE = shutil.which("soffice")
LOCALES = ("en-US", "de")

_SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>{locale}</value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooLocale" oor:op="fuse">
<value>{locale}</value></prop></item>
</oor:items>
"""


class Office:
    """One set to `locale`, with a folder of its own for what it keeps."""

    def __init__(self, folder: Path, locale: str) -> None:
        self._profile = folder / f"profile-{locale}"
        settings = self._profile / "user" / "registrymodifications.xcu"
        settings.parent.mkdir(parents=True)
        text = _SETTINGS.format(locale=locale).replace(">\n<value>", "><value>")
        settings.write_text(text, encoding="utf-8")

    def convert(self, path: Path, to: Path, kind: str, *, read_as: str = "") -> None:
        """Make a file of `kind` in the folder `to`; `read_as` says how a CSV is opened."""
        assert SOFFICE is not None
        done = subprocess.run(
            [
                SOFFICE,
                f"-env:UserInstallation=file://{self._profile}",
                "--headless",
                *([f"--infilter=Text - txt - csv (StarCalc):{read_as}"] if read_as else []),
                "--convert-to",
                kind,
                "--outdir",
                str(to),
                str(path),
            ],
            capture_output=True,
            text=True,
            timeout=100,
            check=False,
        )
        assert done.returncode == 0, done.stderr
