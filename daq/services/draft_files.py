"""Files of a plan that is being made: the plan, the part of it that was answered, former copies."""

import os
from pathlib import Path

import msgspec

from daq.errors import PlanError, UsageError
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.existing import draft_of
from daq.plan.drafting.questions import questions
from daq.plan.drafting.toml_text import MARK
from daq.plan.schema import MOST_FILE_BYTES
from daq.storage.durable import write_whole
from drivers.plain_file import plain_bytes
from drivers.toml_file import WrongKey, text_in

MOST_COPIES = 1000
PART_SUFFIX = ".part"


class Begun(msgspec.Struct, frozen=True):
    """How a draft begins: `is_carried_on` from answers that were kept; `words` say what was found,
    "" for a new plan.
    """

    draft: Draft
    words: str = ""
    is_carried_on: bool = False


def target(path: Path) -> Path:
    """The file itself where `path` is a link to one; raises UsageError where its folder is not
    there or takes no file, before anybody answers anything.
    """
    if not path.parent.is_dir():
        raise UsageError(f"there is no folder {path.parent}. Make it first, or choose another.")
    if not os.access(path.parent, os.W_OK):
        raise UsageError(f"nothing may be written into {path.parent.absolute()}. Choose another.")
    return path.resolve() if path.is_symlink() and path.exists() else path


def begin(path: Path, *, is_asking: bool) -> Begun:
    """The draft for a file: kept answers if there are any, else those of the plan that is there.
    Where nobody is asked, nothing is carried on: a script says all that it means.

    Raises PlanError for a file that is no plan.
    """
    text = existing(path)
    kept = _kept(path) if is_asking else None
    if kept is not None and kept.on_disk == text:
        count = len(kept.asked)
        answers = "1 answer is" if count == 1 else f"{count} answers are"
        return Begun(kept, f"Carrying on: {answers} kept from last time.", is_carried_on=True)
    gone = ""
    if kept is not None:
        gone = f"{path.name} has changed since answers were kept; they are left out. "
    if text is None:
        return Begun(Draft(), gone)
    draft = msgspec.structs.replace(draft_of(text, str(path)), on_disk=text)
    if is_asking:  # all of it is answered: what is to be changed is asked for by its line
        draft = msgspec.structs.replace(draft, blocks="none")
        answered = tuple(one.key for one in questions(draft) if one.default is not None)
        draft = msgspec.structs.replace(draft, asked=answered)
    return Begun(draft, f"{gone}{path.name} is there. This is what it says; change what you like.")


def existing(path: Path) -> str | None:
    """The text of the file, None if there is none; raises PlanError where it cannot be read."""
    if not path.exists() and not path.is_symlink():
        return None
    try:
        return text_in(path, MOST_FILE_BYTES)
    except WrongKey as wrong:
        raise PlanError(path, wrong.key, wrong.reason) from wrong


def part_file(path: Path) -> Path:
    """Where the answers for a plan file are kept."""
    return path.with_name(path.name + PART_SUFFIX)


def _kept(path: Path) -> Draft | None:
    """The answers that were kept; None where there are none that can be read."""
    try:
        return msgspec.json.decode(plain_bytes(part_file(path), 4 * MOST_FILE_BYTES), type=Draft)
    except (OSError, msgspec.DecodeError):
        return None


def keep(path: Path, draft: Draft) -> Path:
    """Keep the answers beside the file; raises OSError."""
    where = part_file(path)
    write_whole(where, msgspec.json.format(msgspec.json.encode(draft), indent=1) + b"\n")
    return where


def forget(path: Path) -> None:
    """The answers are in the plan; raises OSError."""
    part_file(path).unlink(missing_ok=True)


def write_plan(path: Path, text: str, on_disk: str | None) -> Path | None:
    """Write a plan whole; gives the copy of the file that it takes the place of, if there was one.

    Raises UsageError where the file is not `on_disk` any more, and OSError.
    """
    if existing(path) != on_disk:
        raise UsageError(f"{path} was changed by somebody else meanwhile. Begin again.")
    if on_disk == text:
        return None
    copy = None
    if on_disk is not None:
        copy = _free_copy(path)
        write_whole(copy, path.read_bytes())
    write_whole(path, text.encode("utf-8"))
    return copy


def replaceable(path: Path, *, replace: bool) -> str | None:
    """The text of a file that an example may take the place of; None where there is none.

    Raises UsageError for a file that this command did not make, unless `replace`.
    """
    text = existing(path)
    if text is not None and not replace and not text.startswith(MARK):
        raise UsageError(
            f"{path} exists and was not made by this command. Choose another name, or say --replace"
        )
    return text


def _free_copy(path: Path) -> Path:
    """FILE.before-1, or the next number that is free."""
    for number in range(1, MOST_COPIES):
        copy = path.with_name(f"{path.name}.before-{number}")
        if not copy.exists():
            return copy
    raise UsageError(f"{path} has {MOST_COPIES - 1} former copies: move some away.")
