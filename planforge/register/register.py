"""The register of plans: what was issued under which number, and what is current.

A PDF and its row can't be written in one step, so issuing takes two transactions, and a process may be
killed at any instant of them:

1. the row is kept as *pending*, with the SHA-256 of the PDF to come, and committed;
2. in a second transaction, which keeps all others out, the PDF is renamed into place and the row entered.

Whoever opens the register next looks at each pending row's file. If it is the PDF of the row, the plan was
issued, and is entered; if not, it never was, and the row is dropped. A process whose pending row was
dropped in between by another begins again from what the register holds by then. So number and revision
are given once, and after any crash plan and row are both there or both not.

SQLite's locks are only as good as those of the file system. On many network folders they are not: keep the
register on a disk of one machine, or issue from one machine at a time.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from planforge.errors import RefusedError
from planforge.register.database import (
    COLUMNS,
    FILE_NAME,
    WAIT,
    RegisterError,
    begin,
    in_words,
    left_whole,
    look,
    selected,
)
from planforge.register.entry import Entry, Held, Status, current, entered, number_key
from planforge.register.result import read

_TRIES: Final = 20
_SELECT: Final = ", ".join(COLUMNS)
_KINDS: Final = {
    name: {"revision": int, "supersedes": int | None, "approved": dt.date | None}.get(
        name, dt.date if name in ("date", "prepared") else str
    )
    for name in COLUMNS
}
_MARKS: Final = ", ".join("?" * len(COLUMNS))

Prepare = Callable[[tuple[Entry, ...]], tuple[Entry, str] | None]
"""From what the register holds to the row to enter and its merged job; None where there is nothing to enter.

It may raise :class:`planforge.errors.RefusedError`; then nothing is written.
"""


def register_path(place: Path) -> Path:
    """A register by its file, or by the folder it stands in."""
    return place / FILE_NAME if place.is_dir() else place


def register_of(plan: Path) -> Path:
    """The register to judge a plan by: beside it, else that of the folder where plans go by default."""
    beside, usual = plan.parent / FILE_NAME, Path("output") / FILE_NAME
    return usual if usual.exists() and not beside.exists() else beside


@dataclass(frozen=True, slots=True)
class Register:
    """The register in one file; the file is made when the first plan is entered."""

    path: Path
    wait: float = WAIT

    def entries(self) -> tuple[Entry, ...]:
        """Every plan as a crash left it, settled; nothing is written. Raises :class:`RegisterError`."""
        with in_words(self.path), contextlib.ExitStack() as stack:
            connection = look(self.path, self.wait)
            if connection is None:
                return ()
            stack.enter_context(contextlib.closing(connection))
            return self._settled(connection)

    def held(self, number: str, revision: int) -> Held:
        """What it holds of one number, at a cost that does not grow with the register.

        With the merged jobs of the current plan and of ``revision``. Raises :class:`RegisterError`.
        """
        with in_words(self.path), contextlib.ExitStack() as stack:
            connection = look(self.path, self.wait, again=False)
            if connection is None:
                return Held()
            stack.enter_context(contextlib.closing(connection))
            entries = self._settled(connection, number_key(number))
            now = current(entries, number)
            asked = [e for e in entries if e.status is not Status.DRAFT and e.revision == revision]
            wanted = [*asked, *([now] if now else [])]
            return Held(entries, {e.sha256: _job(connection, e) for e in wanted})

    def numbers(self) -> frozenset[str]:
        """Every number that it holds a plan or a draft of, as :func:`number_key` writes it."""
        return frozenset(number_key(entry.number) for entry in self.entries())

    def job(self, entry: Entry) -> str:
        """The merged job that a plan was made from, as YAML; empty where the register holds none."""
        with in_words(self.path), contextlib.ExitStack() as stack:
            connection = look(self.path, self.wait)
            if connection is None:
                return ""
            stack.enter_context(contextlib.closing(connection))
            return _job(connection, entry)

    def enter(
        self, prepare: Prepare, write: Callable[[], None], *, number: str | None = None
    ) -> Entry | None:
        """Enter one plan: ``prepare`` says which, ``write`` puts its PDF in place with one rename.

        Returns the row; None where ``prepare`` found nothing to enter. ``prepare`` may be called again,
        with what other processes entered meanwhile. What either raises leaves register and PDF as they were.
        With ``number`` it is given the plans of that number alone, which is all it needs for a plan of that
        number, and costs the same in a large register as in a small one.
        """
        key = None if number is None else number_key(number)
        entry = self._entered(prepare, write, key)
        left_whole(self.path)
        return entry

    def _entered(self, prepare: Prepare, write: Callable[[], None], key: str | None) -> Entry | None:
        with in_words(self.path), contextlib.closing(begin(self.path, self.wait)) as connection:
            for _ in range(_TRIES):
                with _transaction(connection):
                    self._settle(connection)
                    prepared = prepare(self._plans(connection, key))
                    if prepared is None:
                        return None
                    entry, job = prepared
                    self._refuse_twice(connection, entry)
                    ticket = _keep_pending(connection, entry, job)
                if self._complete(connection, ticket, entry, write):
                    return entry
        raise RegisterError(
            f"{self.path} changed {_TRIES} times while this plan was being entered. Nothing was written. "
            "Wait until the other plans are issued, and try again."
        )

    def locate(self, entry: Entry) -> Path:
        """Where the PDF of a plan stands."""
        return self.path.parent / entry.file

    def relative(self, target: Path) -> str:
        """A PDF's path from the register's folder; its full path where there is no such way."""
        target, folder = target.resolve(), self.path.parent.resolve()
        try:
            return Path(os.path.relpath(target, folder)).as_posix()
        except ValueError:  # another drive
            return target.as_posix()

    def _complete(
        self, connection: sqlite3.Connection, ticket: int, entry: Entry, write: Callable[[], None]
    ) -> bool:
        """Write the PDF and enter its pending row; False where another process dropped the row."""
        written = False
        try:
            with _transaction(connection):
                held = connection.execute("SELECT sha256 FROM pending WHERE id = ?", (ticket,)).fetchone()
                if held is None:
                    return False
                write()
                written = True
                self._enter(connection, ticket, entry)
        except BaseException as error:
            settled = self._settled_after(connection)
            if not written or not isinstance(error, sqlite3.Error):
                raise
            if not settled:
                raise RegisterError(
                    f"{entry.name} is written to {self.locate(entry)}, but {self.path} could not be closed "
                    f"({error}). Make room on its disk, or see that it can be written; then issue the plan "
                    "again: it is entered as it stands."
                ) from error
        return True

    def _settled_after(self, connection: sqlite3.Connection) -> bool:
        """Settle after a failure, if that can be done now; else whoever comes next does."""
        try:
            with _transaction(connection):
                self._settle(connection)
        except (sqlite3.Error, RegisterError):
            return False
        return True

    def _refuse_twice(self, connection: sqlite3.Connection, entry: Entry) -> None:
        """Whoever calls has looked already; this keeps a number and revision from being given twice."""
        plans = self._plans(connection, number_key(entry.number))
        held = {other.key for other in plans if other.status is not Status.DRAFT}
        if entry.key in held:
            raise RefusedError(f"{entry.name} is in the register already. Nothing was written.")

    def _settle(self, connection: sqlite3.Connection) -> None:
        """Enter each pending plan whose PDF stands in its place, and drop the others."""
        for ticket, entry in self._pending(connection):
            if self._holds(entry):
                self._enter(connection, ticket, entry)
            else:
                connection.execute("DELETE FROM pending WHERE id = ?", (ticket,))

    def _enter(self, connection: sqlite3.Connection, ticket: int, entry: Entry) -> None:
        """Turn a pending row into a plan; what :func:`entered` changes in the others is written too."""
        before = self._plans(connection, number_key(entry.number))
        after = entered(before, entry)
        kept = {other.key: other for other in after}
        for other in before:
            now = kept.get(other.key)
            where = "WHERE number_key = ? AND revision = ? AND (status = 'draft') = ?"
            if other.status is Status.DRAFT and (now is None or now is entry):
                connection.execute(f"DELETE FROM plans {where}", other.key)
            elif now is not None and now.status != other.status:
                connection.execute(f"UPDATE plans SET status = ? {where}", (now.status, *other.key))
        connection.execute(
            f"INSERT INTO plans (number_key, {_SELECT}, job) "
            f"SELECT ?, {_SELECT}, job FROM pending WHERE id = ?",
            (number_key(entry.number), ticket),
        )
        connection.execute("DELETE FROM pending WHERE id = ?", (ticket,))

    def _settled(self, connection: sqlite3.Connection, key: str | None = None) -> tuple[Entry, ...]:
        """The plans, of one number or all, with each pending one whose PDF stands in its place."""
        held = self._plans(connection, key)
        for _, entry in self._pending(connection):
            if key in (None, number_key(entry.number)) and self._holds(entry):
                held = entered(held, entry)
        return held

    def _plans(self, connection: sqlite3.Connection, key: str | None = None) -> tuple[Entry, ...]:
        """The plans of a number, found by the index over numbers; without one all."""
        columns = selected(connection)
        if key is None:
            rows = connection.execute(f"SELECT {columns} FROM plans ORDER BY id")
        else:
            rows = connection.execute(f"SELECT {columns} FROM plans WHERE number_key = ? ORDER BY id", (key,))
        return tuple(self._entry(row) for row in rows)

    def _pending(self, connection: sqlite3.Connection) -> list[tuple[int, Entry]]:
        rows = connection.execute(f"SELECT id, {selected(connection)} FROM pending ORDER BY id")
        return [(row[0], self._entry(row[1:])) for row in rows]

    def _entry(self, row: tuple[Any, ...]) -> Entry:
        values = dict(zip(COLUMNS, row, strict=True))
        try:
            values["status"] = Status(values["status"])
            for name in ("date", "prepared", "approved"):
                values[name] = None if values[name] is None else dt.date.fromisoformat(values[name])
            if not all(isinstance(values[name], kind) for name, kind in _KINDS.items()):
                raise TypeError("a value of another kind")
            read(values["result"])
            return Entry(**values)
        except (ValueError, TypeError) as error:
            raise sqlite3.DatabaseError(f"a row of it can't be read: {error}") from error

    def _holds(self, entry: Entry) -> bool:
        """True where the PDF of a pending row stands in its place: it was written before the crash."""
        path = self.locate(entry)
        if not path.parent.is_dir():
            raise RegisterError(
                f"planforge was stopped while it issued {entry.name} to {path}, and that folder can't be "
                "found now. Bring it back; or, if the plan was never used, make an empty folder of that name."
            )
        try:
            with path.open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest() == entry.sha256
        except FileNotFoundError:
            return False
        except OSError as error:
            raise RegisterError(
                f"planforge was stopped while it issued {entry.name} to {path}, and that file can't be read "
                f"now: {error.strerror}. Give yourself leave to read it, and try again."
            ) from error


def _job(connection: sqlite3.Connection, entry: Entry) -> str:
    """The merged job beside a row; empty where there is none."""
    key = (entry.sha256, entry.fingerprint)
    for query, values in (
        ("plans WHERE number_key = ? AND sha256 = ? AND fingerprint = ?", (number_key(entry.number), *key)),
        ("pending WHERE sha256 = ? AND fingerprint = ?", key),
    ):
        found = connection.execute(f"SELECT job FROM {query}", values).fetchone()
        if found is not None:
            return str(found[0])
    return ""


def _keep_pending(connection: sqlite3.Connection, entry: Entry, job: str) -> int:
    values = [getattr(entry, name) for name in COLUMNS]
    cells = [value.isoformat() if isinstance(value, dt.date) else value for value in values]
    statement = f"INSERT INTO pending ({_SELECT}, job) VALUES ({_MARKS}, ?)"
    ticket = connection.execute(statement, (*cells, job)).lastrowid
    assert ticket is not None  # an insert has a row
    return ticket


@contextlib.contextmanager
def _transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that keeps other writers out; undone whole where anything is raised."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise
