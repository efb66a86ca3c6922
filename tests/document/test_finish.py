"""Writing the file whole or not at all."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from planforge.document import left_over
from planforge.document.finish import write_whole
from planforge.errors import RefusedError


def test_writes_and_replaces(tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    write_whole(target, b"one")
    write_whole(target, b"two")
    assert target.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [target]


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="is not a folder; make it first"):
        write_whole(tmp_path / "absent" / "plan.pdf", b"x")


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_no_remains(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """As a full disk or a locked target would fail."""
    target = tmp_path / "plan.pdf"
    target.write_bytes(b"old")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(RefusedError, match=r"No space left on device\. Nothing was changed"):
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_in_the_targets_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plan.pdf").mkdir()
    with pytest.raises(RefusedError, match="can't be written"):
        write_whole(tmp_path / "plan.pdf", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["plan.pdf"]


# ---- what killed processes leave

WRITES = """
import os, sys, time
from pathlib import Path
from planforge.document import finish
def never_ends(_):
    print("half", flush=True)
    time.sleep(60)
os.fsync = never_ends
finish.write_whole(Path(sys.argv[1]), b"x" * 1000)
"""


@contextmanager
def writer(target: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that has written all of a part, and has not renamed it."""
    command = [sys.executable, "-c", WRITES, str(target)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None and process.stdout.readline() == "half\n"
            yield process
        finally:
            process.kill()


@pytest.fixture(autouse=True)
def _new_process() -> None:
    left_over.clear_once.cache_clear()


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_what_a_killed_process_left_is_removed_and_what_a_living_one_holds_stays(tmp_path: Path) -> None:
    with writer(tmp_path / "plan.pdf") as process:
        (part,) = tmp_path.iterdir()
        assert part.name.startswith(".plan.") and part.suffix == ".part"
        write_whole(tmp_path / "other.pdf", b"one")
        assert part.exists(), "its writer lives"
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert part.exists(), "killed, and nobody has written since"
    left_over.clear_once.cache_clear()
    write_whole(tmp_path / "other.pdf", b"two")
    assert [path.name for path in tmp_path.iterdir()] == ["other.pdf"]


def test_only_this_machine_s_own_parts_are_removed(tmp_path: Path) -> None:
    gone = 4_000_000_000  # no system gives a process this number
    own = left_over.part_of(tmp_path / "a.pdf").name.replace(f"-{os.getpid()}.", f"-{gone}.")
    others = [
        own.replace(own.split(".")[-2], f"0000000a-{gone}"),  # another machine's
        own.replace(str(gone), "1"),  # a process that runs
        f".a.pdf.{gone}.part",
        own[1:],  # a file of the user's
        own + ".pdf",
    ]
    for name in (own, *others):
        (tmp_path / name).write_bytes(b"x")
    write_whole(tmp_path / "plan.pdf", b"x")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*others, "plan.pdf"])


def test_of_this_process_s_own_number_the_lock_decides(tmp_path: Path) -> None:
    """In a container every process may have the number of the one that was killed."""
    left, held = left_over.part_of(tmp_path / "left.pdf"), left_over.part_of(tmp_path / "held.pdf")
    left.write_bytes(b"x")
    with held.open("wb") as file:
        left_over.hold(file.fileno())
        write_whole(tmp_path / "plan.pdf", b"x")
        assert held.exists() and not left.exists()


def test_a_folder_is_looked_through_once_by_a_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[object] = []
    real = os.scandir
    monkeypatch.setattr(os, "scandir", lambda folder: seen.append(folder) or real(folder))
    for number in range(3):
        write_whole(tmp_path / f"{number}.pdf", b"x")
    assert seen == [tmp_path.resolve()]
