"""Where a plan goes: its file, the register it is entered in, and what may stand there already."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from pathlib import Path

from planforge.document.finish import write_whole
from planforge.errors import PlanforgeError, RefusedError
from planforge.register.database import FILE_NAME
from planforge.register.entry import Entry
from planforge.register.issued import Standing, standing_plan
from planforge.register.pdf import read_bounded
from planforge.register.register import Register, register_path


@dataclass(frozen=True, slots=True)
class Place:
    """The file of a plan and the register that it is entered in."""

    target: Path
    book: Register


def place_of(output: Path, file_name: str, register: Path | None = None) -> Place:
    """The place of a plan in a folder, made where it does not exist; or a PDF that the caller names.

    ``register`` is a file or its folder, by default in the plan's folder.
    """
    target = output if output.suffix.lower() == ".pdf" else _folder(output) / file_name
    return Place(target, Register(register_path(register) if register else target.parent / FILE_NAME))


def _folder(output: Path) -> Path:
    try:
        output.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise RefusedError(f"{output} can't be made a folder: {reason}. Nothing was written.") from error
    return output


def has_bytes(path: Path, sha256: str) -> bool:
    """True where a file of just these bytes stands at ``path`` and can be read."""
    try:
        return hashlib.sha256(read_bounded(path)).hexdigest() == sha256
    except PlanforgeError:
        return False


def stands(path: Path, entry: Entry) -> bool:
    """True where the plan's file is as it was issued; False where it is gone.

    Raises :class:`RefusedError` where another stands in its place.
    """
    if has_bytes(path, entry.sha256):
        return True
    if standing_plan(path) is None:
        return False
    raise RefusedError(
        f"{entry.name} was issued on {entry.date}, and {path} was filled in, signed or changed since. "
        f"It is left as it is; planforge verify {path} says what was done to it. Nothing was written."
    )


def restore(path: Path, entry: Entry, pdf: bytes) -> None:
    """Write an issued plan again whose file is gone, if it comes out to the byte as it was issued."""
    if hashlib.sha256(pdf).hexdigest() != entry.sha256:
        raise RefusedError(
            f"{entry.name} was issued on {entry.date}, its file {path} is gone, and this machine's libraries "
            "would write other bytes. Put back a copy of the file, or raise plan.revision. Nothing "
            "was written."
        )
    write_whole(path, pdf)


def begun(place: Place) -> list[str]:
    """A note where a register begins beside plans that are not in it: it may have been lost."""
    book, target = place.book, place.target
    if book.path.exists() and book.path.stat().st_size:
        return []
    others = [path for path in target.parent.glob("*.pdf") if path != target]
    if not others:
        return []
    return [
        f"{book.path} begins with this plan; {len(others)} other PDF file(s) beside it are not in it. If "
        "there was a register, put it back; else issue the current plans again to enter them"
    ]


def overwritable(target: Path, name: str, fingerprint: str, *, draft: bool) -> Standing | None:
    """What stands at the target, if the plan ``name`` (number and revision) may take its place.

    An issued plan gives way to itself alone, while nobody has written in it; a draft gives way.
    """
    standing = standing_plan(target)
    if standing is None:
        return None
    if not standing.untouched:
        raise RefusedError(
            f"{target} was filled in, signed or changed since planforge wrote it. Move it away, or choose "
            "another folder with --output. Nothing was written."
        )
    if standing.draft:
        return standing
    if draft:
        raise RefusedError(
            f"{target} holds an issued plan; a draft does not replace it. Choose another place with "
            "--output. Nothing was written."
        )
    if standing.fingerprint != fingerprint:
        raise RefusedError(
            f"{target} already holds another plan under number {name}. Raise plan.revision with a line in "
            "plan.history, or choose another folder with --output. Nothing was written."
        )
    return standing


def kept_date(target: Path, name: str, fingerprint: str, day: dt.date, *, draft: bool) -> dt.date:
    """The date to print: an issued plan that no register knows keeps the date that its file bears.

    Raises :class:`RefusedError` where something else stands at the target.
    """
    standing = overwritable(target, name, fingerprint, draft=draft)
    return standing.date if standing and not standing.draft and standing.date else day
