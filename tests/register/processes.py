"""What the tests run in processes of their own: entering plans at once, being killed at a named instant."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from planforge.document.finish import write_whole
from planforge.errors import RefusedError
from planforge.register.entry import Entry, Status, of_number
from planforge.register.register import Register

ROOT = Path(__file__).resolve().parent.parent.parent
INSTANTS = ("pending kept", "renaming", "half written", "renamed", "entered", "committed")
"""Where a process is killed, in the order in which they are passed."""


def entry(revision: int, data: bytes = b"plan", **changes: Any) -> Entry:
    """A row of the register for a made-up plan."""
    values: dict[str, Any] = {
        "number": "AF-1",
        "revision": revision,
        "status": Status.ISSUED,
        "date": dt.date(2026, 11, 25),
        "fingerprint": f"{revision:064d}",
        "sha256": hashlib.sha256(data).hexdigest(),
        "file": f"AF-1-r{revision}.pdf",
        "version": "0.1.0",
        "templates": "0" * 64,
        "project": "Warbler Hollow (invented)",
        "lot": "Lot 7",
        "prepared": dt.date(2026, 11, 24),
        "prepared_by": "Juniper Siskin",
        "approved": None,
        "approved_by": "",
        "supersedes": revision - 1 if revision else None,
        "changes": "",
    }
    return Entry(**(values | changes))


def enter(register: Register, made: Entry, data: bytes = b"plan") -> Entry | None:
    """Enter a made-up plan with its file."""
    return register.enter(lambda _: (made, "job: 1\n"), lambda: write_whole(register.locate(made), data))


def run(function: Callable[..., None], *arguments: object) -> subprocess.Popen[bytes]:
    """Start a function of this module in a process of its own."""
    code = f"import sys\nfrom tests.register.processes import *\n{function.__name__}(*sys.argv[1:])"
    return subprocess.Popen([sys.executable, "-c", code, *map(str, arguments)], cwd=ROOT)


def enter_many(path: str, name: str, count: str) -> None:
    """Enter so many plans, each under the next revision that is free."""
    register = Register(Path(path))
    for number in range(int(count)):
        data = f"{name} {number}".encode()
        made: list[Entry] = []

        def prepare(entries: tuple[Entry, ...], data: bytes = data, made: list[Entry] = made) -> Any:
            issued = of_number(entries, "AF-1")
            made[:] = [entry(issued[-1].revision + 1 if issued else 0, data)]
            return made[0], data.decode()

        register.enter(prepare, lambda d=data, m=made: write_whole(register.locate(m[0]), d))  # type: ignore[misc]


def killed_at(path: str, instant: str) -> None:
    """Enter revision 1 and be killed at one of INSTANTS."""
    register = Register(Path(path))
    made, data = entry(1, b"new"), b"new"

    def die() -> None:
        os.kill(os.getpid(), signal.SIGKILL)

    def write() -> None:
        if instant == "renaming":
            die()
        if instant == "half written":
            os.fsync = lambda _: die()
        write_whole(register.locate(made), data)
        if instant == "renamed":
            die()

    complete, enters = Register._complete, Register._enter

    def completes(self: Register, *arguments: Any) -> bool:
        if instant == "pending kept":
            die()
        return complete(self, *arguments)

    def entering(self: Register, *arguments: Any) -> None:
        enters(self, *arguments)
        if instant == "entered":
            die()

    Register._complete = completes  # type: ignore[method-assign]
    Register._enter = entering  # type: ignore[method-assign]
    register.enter(lambda _: (made, "job: 2\n"), write)
    if instant == "committed":
        die()


def issue_one(job: str, folder: str) -> None:
    """Issue one job; the exit code is 1 where it is refused."""
    from planforge.register.issuing import issue  # noqa: PLC0415 - the other processes start sooner

    try:
        issue(job, folder, date=dt.date(2026, 11, 25))
    except RefusedError:
        sys.exit(1)


def hold(path: str, ready: str) -> None:
    """Keep the register locked until killed."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    Path(ready).touch()
    time.sleep(60)
