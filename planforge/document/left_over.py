"""The parts of files that a killed process left behind, removed by the next one that writes beside them.

A part is named after the machine and the process that writes it, and the writer holds a lock on it for as
long as it lives. It is removed only by the same machine, where there is no such process any more and nobody
holds the lock: what a living writer has, on this machine or another, stays. A file in use can't be removed
on Windows at all.
"""

from __future__ import annotations

import os
import platform
import re
import sys
from contextlib import suppress
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from typing import Final

if sys.platform != "win32":
    import fcntl

_PART: Final = re.compile(r"\..+\.(?P<machine>[0-9a-f]{8})-(?P<process>[1-9]\d{0,9})\.part", re.DOTALL)


def part_of(path: Path) -> Path:
    """The hidden neighbour in which a file is written before it takes its name."""
    return path.with_name(f".{path.stem[:40]}.{_machine()}-{os.getpid()}.part")


def hold(descriptor: int) -> None:
    """Show that the writer of an open part lives; where a disk knows no locks, its process alone does."""
    if sys.platform != "win32":
        with suppress(OSError):
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


@lru_cache(maxsize=64)
def clear_once(folder: Path) -> None:
    """Remove what killed processes left in a folder, the first time that this process writes there."""
    with suppress(OSError):  # a folder that can't be listed, which writing itself finds out
        with os.scandir(folder) as entries:
            names = [entry.name for entry in entries]
        for name in names:
            match = _PART.fullmatch(name)
            if match and match["machine"] == _machine() and not _runs(int(match["process"])):
                _remove(folder / name)


@lru_cache(maxsize=1)
def _machine() -> str:
    return blake2b(platform.node().encode(), digest_size=4).hexdigest()


def _runs(process: int) -> bool:
    """Whether another process of this number runs; of this one's number the lock decides."""
    if sys.platform == "win32" or process == os.getpid():
        return False
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):  # or a number that no process can have
        return False
    except OSError:  # somebody else's
        return True
    return True


def _remove(part: Path) -> None:
    with suppress(OSError):  # held by its writer, gone, or not ours to remove
        if sys.platform == "win32":
            part.unlink()
            return
        with part.open("rb") as file:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            part.unlink()
