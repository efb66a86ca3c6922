"""The register's SQLite file: open or begin one, and say in words why one can't be used.

The journal is SQLite's plain rollback journal, so that a register is one file to copy and a crash is
undone by whoever opens it next. ``application_id`` tells a register from another program's database,
``user_version`` its form.

A register is looked through as a whole once by each process, and again whenever somebody else wrote to its
file since; what this process wrote itself it need not check. So entering one more plan costs the same in a
register of ten plans and of two thousand. SQLite still refuses each damaged page that it comes upon.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Final
from urllib.parse import quote

from planforge.errors import RefusedError
from planforge.register.entry import Entry

FILE_NAME: Final = "planforge-register.sqlite"
SCHEMA: Final = 2
"""The form of the register that this version of planforge writes; form 1 had no ``result``."""
APPLICATION: Final = 0x706C6E66  # "plnf"
WAIT: Final = 30.0
"""How long a process waits for another that is issuing, seconds."""

COLUMNS: Final = tuple(field.name for field in fields(Entry))
_TYPES: Final = {
    "revision": "INTEGER NOT NULL",
    "supersedes": "INTEGER",
    "approved": "TEXT",
    "result": "TEXT NOT NULL DEFAULT ''",
}
_DEFINED: Final = ", ".join(f"{name} {_TYPES.get(name, 'TEXT NOT NULL')}" for name in COLUMNS)
_SCHEMA: Final = (
    f"CREATE TABLE plans (id INTEGER PRIMARY KEY, number_key TEXT NOT NULL, {_DEFINED}, job TEXT NOT NULL)",
    "CREATE UNIQUE INDEX one_plan ON plans (number_key, revision, status = 'draft')",
    "CREATE UNIQUE INDEX one_current ON plans (number_key) WHERE status = 'issued'",
    f"CREATE TABLE pending (id INTEGER PRIMARY KEY AUTOINCREMENT, {_DEFINED}, job TEXT NOT NULL)",
    f"PRAGMA application_id = {APPLICATION}",
    f"PRAGMA user_version = {SCHEMA}",
)
_FROM_1: Final = (
    *(f"ALTER TABLE {table} ADD COLUMN result {_TYPES['result']}" for table in ("plans", "pending")),
    f"PRAGMA user_version = {SCHEMA}",
)

_FileState = tuple[int, int, int, int]
_whole: Final[dict[Path, _FileState]] = {}
"""The state of each register's file in which this process found or left it whole."""


class RegisterError(RefusedError):
    """A register that can't be used: locked, read-only, damaged, of a newer planforge, or no register."""


def begin(path: Path, wait: float = WAIT) -> sqlite3.Connection:
    """Open the register for writing; one that does not exist is begun."""
    connection = _connect(path, "rwc", wait)
    try:
        connection.execute("BEGIN IMMEDIATE")
        if _is_blank(connection, path):
            for statement in _SCHEMA:
                connection.execute(statement)
        if _recognise(connection, path, again=False) < SCHEMA:
            for statement in _FROM_1:
                connection.execute(statement)
        connection.execute("COMMIT")
    except BaseException:
        connection.close()
        raise
    return connection


def look(path: Path, wait: float = WAIT, *, again: bool = True) -> sqlite3.Connection | None:
    """Open the register for reading, in one transaction; None where there is none yet.

    ``again`` looks through all of it even where this process did so before.
    """
    try:
        if not path.exists():
            return None
    except OSError as error:
        raise RegisterError(f"{path} can't be looked at: {error.strerror}.") from error
    connection = _connect(path, "rw", wait)  # a crash may have left a journal to undo
    try:
        connection.execute("BEGIN")
        if _is_blank(connection, path):
            connection.close()
            return None
        _recognise(connection, path, again=again)
    except BaseException:
        connection.close()
        raise
    return connection


def _connect(path: Path, mode: str, wait: float) -> sqlite3.Connection:
    place = quote(path.absolute().as_posix(), "/:")
    slashes = "//" if place.startswith("/") else "///"  # a network share's path begins with two of its own
    uri = f"file:{slashes}{place}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA synchronous = EXTRA")  # a commit outlives a power cut
        connection.execute("PRAGMA cell_size_check = ON")  # each page is looked at as it is read
    except BaseException:
        connection.close()
        raise
    return connection


def _pragma(connection: sqlite3.Connection, name: str) -> str:
    return str(connection.execute(f"PRAGMA {name}").fetchone()[0])


def _is_blank(connection: sqlite3.Connection, path: Path) -> bool:
    """True for a file that holds nothing: new, or left by a process that was killed while it began one.

    SQLite takes the stump of a register for an empty database; here it is none, so that no loss is silent.
    """
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    return tables == 0 and path.stat().st_size == 0


def selected(connection: sqlite3.Connection) -> str:
    """The columns of a row for a query; what an older form lacks comes back empty."""
    if int(_pragma(connection, "user_version")) < SCHEMA:
        return ", ".join("'' AS result" if name == "result" else name for name in COLUMNS)
    return ", ".join(COLUMNS)


def left_whole(path: Path) -> None:
    """Keep in mind that this process just closed the register in good order."""
    with contextlib.suppress(OSError):
        _whole[path] = _state(path)


def _state(path: Path) -> _FileState:
    told = path.stat()
    return told.st_dev, told.st_ino, told.st_size, told.st_mtime_ns


def _recognise(connection: sqlite3.Connection, path: Path, *, again: bool) -> int:
    """The form of a register that can be used; it is looked through unless that was done in this state."""
    if _pragma(connection, "application_id") != str(APPLICATION):
        raise RegisterError(
            f"{path} is no register of plans: another program's database, or what is left of one. "
            "Nothing was written. Name the register's own file with --register."
        )
    schema = int(_pragma(connection, "user_version"))
    if schema > SCHEMA:
        raise RegisterError(
            f"{path} was written by a newer planforge (register form {schema}; this version knows {SCHEMA}). "
            "Nothing was written. Use that version, or bring this one up to date."
        )
    if schema < 1:
        raise _damaged(path, "its contents do not hold together")
    # A transaction is open: nobody else writes between this look at the file and the check.
    state = _state(path)
    if again or _whole.get(path) != state:
        if _pragma(connection, "quick_check(1)") != "ok":
            raise _damaged(path, "its contents do not hold together")
        _whole[path] = state
    return schema


@contextlib.contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn what SQLite raises into a :class:`RegisterError` that says what to do."""
    try:
        yield
    except UnicodeDecodeError as error:  # sqlite3 stumbles over what it would quote from a damaged file
        raise _damaged(path, "its text is garbled") from error
    except sqlite3.Error as error:
        raise _refusal(path, error) from error


def _damaged(path: Path, reason: str) -> RegisterError:
    return RegisterError(
        f"{path} is damaged as a register ({reason}). Nothing was written. Put back the newest copy of it. "
        "Without a copy, move it away and issue the current plans again: a new register begins, and plans "
        "issued before are unknown to it."
    )


def _refusal(path: Path, error: sqlite3.Error) -> RegisterError:
    match getattr(error, "sqlite_errorcode", 0) & 0xFF:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return RegisterError(
                f"{path} is in use by another program and did not come free. Nothing was written. Wait until "
                "the other plan is issued, close programs that hold the register open, and try again."
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM | sqlite3.SQLITE_AUTH:
            return RegisterError(
                f"{path} can't be written: it or its folder is read-only. Nothing was written. Give yourself "
                "leave to write there, or name another register with --register."
            )
        case sqlite3.SQLITE_CANTOPEN:
            return RegisterError(
                f"{path} can't be opened: its folder is missing, or it can't be read or written. Nothing was "
                "written. Make the folder, or name another register with --register."
            )
        case sqlite3.SQLITE_FULL:
            return RegisterError(
                f"{path} can't be written: the disk is full. Nothing was written. Make room, and try again."
            )
        case sqlite3.SQLITE_IOERR:
            return RegisterError(
                f"{path} can't be read or written: the disk or the network failed ({error}). Try again; keep "
                "the register on a disk of this machine."
            )
    return _damaged(path, str(error))
