"""What `history` does: find the file, add a note, show it, draw it."""

import contextlib
import shutil
import sys
from pathlib import Path

import click
import msgspec

from daq.cli.options import Context
from daq.cli.views.history import history_lines
from daq.cli.views.history_json import history_json
from daq.equipment.gauge import Gauge
from daq.errors import SettingsError
from daq.gauges.due import USUAL_DAYS, day_in
from daq.gauges.history import DUE, NoteRecord, history_name
from daq.gauges.overview import Overview, overview
from daq.gauges.series import SAME_SIZE_MM
from daq.gauges.words import size_words
from daq.lengths import EXACT, parse_typed_length
from daq.pictures.check_chart import MARK, picture
from daq.services.home import load_gauge
from daq.services.own_files import write_own
from daq.storage.history_file import FOLDER, append_note, history_path, read
from daq.version import __version__
from drivers.clock import Clock
from drivers.printable import printable


def run(
    context: Context,
    word: str,
    target: Path | None,
    size: str | None,
    interval: int | None,
    words: dict[str, str],
    home: Path,
    *,
    replace: bool = False,
) -> int:
    """Show the history that `word` means; 1 if the gauge is out of control or lines are damaged."""
    name, gauge = find(word, home)
    now_us = Clock().now().utc_us
    for about, text in words.items():
        _add(name, home, now_us, about, text)
    history = read(name, home)
    whole = overview(
        history,
        now_us,
        certificate_due=gauge.due if gauge is not None else None,
        permitted_mm=float(gauge.permitted_error.mm)
        if gauge is not None and gauge.permitted_error is not None
        else None,
        usual_days=interval or USUAL_DAYS,
    )
    found = _narrowed(whole, size)
    if target is not None:
        write_own(target, picture(found), mark=MARK, option="--picture", replace=replace)
        print(f"The picture is in {printable(str(target))}", file=sys.stderr)
    if context.as_json:
        print(history_json(found, history))
    else:
        columns = shutil.get_terminal_size((100, 24)).columns
        lines = history_lines(found, history.notes, width=columns - 1, is_ascii=_is_ascii())
        print("\n".join(lines))
    return 1 if found.faults or history.faults else 0


def find(word: str, home: Path) -> tuple[str, Gauge | None]:
    """The history and the gauge file that a word means; raises SettingsError."""
    gauge = None
    with contextlib.suppress(SettingsError):
        gauge = load_gauge(word, home)
    for name in dict.fromkeys((history_name(word, ""), history_name(None, word))):
        if name and (history_path(name, home).exists() or (gauge is not None and name == word)):
            return name, gauge
    if (home / "gauges" / f"{word}.toml").is_file():
        load_gauge(word, home)  # says what is wrong with it
    known = ", ".join(sorted(path.stem for path in (home / FOLDER).glob("*.jsonl"))) or "none yet"
    raise SettingsError(
        f"There is no history of {word[:80]!r} in {home / FOLDER} (known: {known}). A "
        "session or jbridge prove begins one."
    )


def _add(name: str, home: Path, now_us: int, about: str, text: str) -> None:
    if not text.strip():
        raise click.BadParameter("say something", param_hint=f"--{about}")
    if about == DUE and day_in(text.strip()) is None:
        raise click.BadParameter(f"{text!r} is not a day like 2026-11-25", param_hint="--due")
    append_note(name, home, now_us, NoteRecord(about=about, text=text.strip(), program=__version__))


def _narrowed(found: Overview, size: str | None) -> Overview:
    """Only one size is shown; what holds for the gauge is still said of all."""
    if size is None:
        return found
    try:
        wanted = parse_typed_length(size).mm
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--size") from error
    near = tuple(
        report
        for report in found.sizes
        if EXACT.subtract(report.series.size_mm, wanted).copy_abs() <= SAME_SIZE_MM
    )
    if not near:
        known = ", ".join(size_words(report.series) for report in found.sizes) or "none"
        raise SettingsError(f"No check at {size} is in the history (sizes: {known}).")
    return msgspec.structs.replace(found, sizes=near)


def _is_ascii() -> bool:
    """The terminal's encoding has no box lines."""
    try:
        "─●°".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return True
    return False
