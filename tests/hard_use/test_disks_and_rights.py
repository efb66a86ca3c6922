"""A real disk that is full, a limit on a file's size, and rights that are lacking."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from planforge import cli
from planforge.document.finish import write_whole
from planforge.errors import JobFileError, RefusedError
from planforge.job.loading import load
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.register import Register
from tests.cad.plans import ROOT
from tests.register.processes import enter, entry

from .folders import POSIX, state

pytestmark = POSIX


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 2 MB, where one may be made."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    made = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], capture_output=True, check=False
    )
    if not made or made.returncode:
        pytest.skip("no disk can be made here")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_fills_up_at_any_point(small_disk: Path) -> None:
    """With ever less room, the plan is issued whole with its row, or not at all, and the former stays."""
    outcomes = set()
    for left in (900, 500, 420, 404, 400, 396, 200, 64, 32, 16, 8, 4, 0):
        folder = small_disk / "plans"
        shutil.rmtree(folder, ignore_errors=True)
        (small_disk / "filler").unlink(missing_ok=True)
        folder.mkdir()
        register = Register(folder / FILE_NAME)
        enter(register, entry(0))
        free = os.statvfs(small_disk)
        room = free.f_bavail * free.f_frsize - (left << 10)
        (small_disk / "filler").write_bytes(b"x" * max(room, 0))
        data = b"y" * (400 << 10)
        try:
            enter(register, entry(1, data), data)
        except RefusedError as error:
            assert "disk" in str(error) or "No space" in str(error)
        (small_disk / "filler").unlink()
        made = [(e.revision, e.status.value) for e in register.entries()]
        whole = (folder / "AF-1-r1.pdf").exists()
        assert made == ([(0, "superseded"), (1, "issued")] if whole else [(0, "issued")]), left
        assert not whole or (folder / "AF-1-r1.pdf").read_bytes() == data
        assert (folder / "AF-1-r0.pdf").read_bytes() == b"plan"
        assert not list(folder.glob(".*part"))
        outcomes.add(whole)
    assert outcomes == {True, False}


def test_a_limit_on_a_file_s_size(tmp_path: Path) -> None:
    """In a process of its own, without the superuser's help: the limit is the system's."""
    resource = pytest.importorskip("resource")
    target = tmp_path / "lot_21.yaml"
    done = subprocess.run(
        [sys.executable, "-m", "planforge", "new", str(target)],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100)),
    )
    assert done.returncode == cli.BAD_INPUT
    assert done.stderr == f"{target} can't be written: File too large. Nothing was changed.\n"
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def plain_user() -> Iterator[Path]:
    """A folder of a user who is not the superuser, and the test as that user."""
    place = Path(tempfile.mkdtemp(prefix="planforge-test-"))
    user = 65534 if os.geteuid() == 0 else os.geteuid()
    os.chmod(place, 0o755)  # noqa: PTH101 - as the shell would
    if os.geteuid() == 0:
        os.chown(place, user, -1)
        os.seteuid(user)
    try:
        yield place
    finally:
        if os.geteuid() != os.getuid():
            os.seteuid(os.getuid())
        for path in [place, *(p for p in place.rglob("*") if p.is_dir())]:
            path.chmod(0o755)
        shutil.rmtree(place)


def test_a_folder_and_files_that_may_not_be_written(plain_user: Path) -> None:
    register = Register(plain_user / FILE_NAME)
    enter(register, entry(0))
    before = state(plain_user)
    plain_user.chmod(0o555)
    with pytest.raises(RefusedError, match=r"can't be written: Permission denied\. Nothing was changed"):
        write_whole(plain_user / "new.yaml", b"x")
    with pytest.raises(RegisterError, match=r"read-only|can't be opened"):
        enter(register, entry(1))
    assert register.entries() == (entry(0),)
    plain_user.chmod(0o755)
    register.path.chmod(0o444)
    with pytest.raises(RegisterError, match="read-only"):
        enter(register, entry(1))
    register.path.chmod(0o644)
    assert state(plain_user) == before
    (plain_user / "AF-1-r1.pdf").write_bytes(b"older")
    (plain_user / "AF-1-r1.pdf").chmod(0o444)
    enter(register, entry(1))  # a rename needs no leave to write the file that it takes the place of
    assert (plain_user / "AF-1-r1.pdf").read_bytes() == b"plan"


def test_files_that_may_not_be_read(plain_user: Path) -> None:
    job, plan = plain_user / "job.yaml", plain_user / "plan.pdf"
    for path in (job, plan):
        path.write_bytes(b"%PDF-1.7")
        path.chmod(0)
    with pytest.raises(JobFileError, match="Permission denied"):
        load(job)
    for command in (["verify", str(plan)], ["compare", str(plan), str(job)]):
        with pytest.raises(SystemExit) as stopped:
            cli.main(command)
        assert stopped.value.code == cli.BAD_INPUT
