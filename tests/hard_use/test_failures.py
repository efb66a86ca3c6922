"""Disks, clocks, locks and names that fail: nothing lost, nothing half-written, a sentence that says so.

``tests/register`` holds the register's own: killed at each instant, full, locked, read-only, two at once.
"""

from __future__ import annotations

import ast
import datetime as dt
import errno
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import planforge
from planforge import cli
from planforge.document.finish import write_whole
from planforge.errors import JobFileError, RefusedError
from planforge.job.loading import load, merged_text
from planforge.job.model import Job
from planforge.proposal import offer
from planforge.register import issuing
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.register import Register
from planforge.register.result import Result
from tests.cad.plans import ROOT, write_dxf, write_job
from tests.cad.test_import import FOOTPRINT, HOLES, TENDONS, on, outline
from tests.register.certificates import PASSPHRASE, holder
from tests.register.conftest import MENDED, next_revision
from tests.register.processes import enter, entry

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX signals, links and rights")
DATE = dt.date(2026, 11, 25)
Cli = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Cli:
    def command(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as stopped:
            cli.main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return int(stopped.value.code or 0), out, err

    return command


@pytest.fixture(scope="module")
def issued(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one issued plan and its register, not to be changed."""
    folder = tmp_path_factory.mktemp("issued")
    issuing.issue(MENDED, folder, date=DATE)
    return folder


@pytest.fixture
def shelf(issued: Path, tmp_path: Path) -> Path:
    """A copy of it that a test may change."""
    return shutil.copytree(issued, tmp_path / "shelf")


def plan_of(shelf: Path) -> Path:
    (plan,) = shelf.glob("*.pdf")
    return plan


def state(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by name."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def drawn_job(folder: Path) -> Path:
    def draw(_: object, space: Any) -> None:
        outline(space)
        space.add_circle((20, 25), 1, dxfattribs=on("HOLES"))
        space.add_line((1, 25), (43, 25), dxfattribs=on("TENDON"))

    write_dxf(folder, draw)
    return write_job(folder, {"file": "plan.dxf", "layers": [FOOTPRINT, HOLES, TENDONS]})


def writing_commands(folder: Path) -> list[tuple[object, ...]]:
    """Each command that writes a new file, ready to run in a folder."""
    job = drawn_job(folder)
    return [
        ("new", folder / "lot_21.yaml"),
        ("propose", ROOT / "demo_jobs" / "heron_lot_17.yaml", "-o", folder / "proposed.yaml"),
        ("import", job, "-o", folder / "part.yaml"),
        ("draw", ROOT / "demo_jobs" / "heron_lot_17.yaml", "--dxf", folder / "lot.dxf"),
    ]


@pytest.fixture
def quick_offer(monkeypatch: pytest.MonkeyPatch) -> None:
    """A proposal at once; what is tested is how it is written."""
    made = SimpleNamespace(lines=["L-1"], data={"a": 1}, text="a: 1\n", good=True, nothing_to_guard=False)
    monkeypatch.setattr(offer, "offer", lambda *_, **__: made)


@pytest.fixture
def quick_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan at once; what is tested is how it is written and entered."""

    def assessed(job: Job) -> Any:
        return SimpleNamespace(job=job, draft=False)

    monkeypatch.setattr(issuing, "assess", assessed)
    monkeypatch.setattr(issuing, "figure_set", lambda _: {})
    monkeypatch.setattr(issuing, "result_of", lambda *_: Result({}, (), 0, {}, 1))
    monkeypatch.setattr(issuing, "packet", lambda *_, **__: b"%PDF-1.7 /Type /Page made up")


# -- every write ----------------------------------------------------------------------------------

WRITERS = {
    "document/finish.py",  # write_whole, which every command uses
    "document/templating.py",  # compiled templates: a part, then a rename; done without where it fails
    "register/jobs.py",  # a job of a plan, in a temporary folder
    "cad/__init__.py",  # a font list, in a temporary folder
    "cad/importing.py",  # a part to try, in a temporary folder
}
_WRITING = {"write_text", "write_bytes", "writelines", "savefig", "saveas", "mkstemp", "NamedTemporaryFile"}


def test_only_these_modules_write_files() -> None:
    """A new way to write a file has to keep what is tested here, or to go through ``write_whole``."""
    package = Path(planforge.__file__).parent
    found = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            modes = [a.value for a in node.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            if name in _WRITING or (
                name == "open" and any(set("wax+") & set(m) and len(m) < 4 for m in modes)
            ):
                found.add(path.relative_to(package).as_posix())
    assert found == WRITERS


class _Fails:
    """Makes one step of writing fail with an error of the system, as often as it is reached."""

    def __init__(self, patch: pytest.MonkeyPatch, step: str, code: int) -> None:
        error = OSError(code, os.strerror(code))

        def fail(*_: object, **__: object) -> Any:
            raise error

        if step == "fsync":
            patch.setattr(os, "fsync", fail)
        elif step == "rename":
            patch.setattr(Path, "replace", fail)
        else:
            opens = Path.open

            def opening(path: Path, mode: str = "r", *rest: Any, **more: Any) -> Any:
                if mode != "wb" or not path.name.endswith(".part"):
                    return opens(path, mode, *rest, **more)
                if step == "open":
                    fail()
                file = opens(path, mode, *rest, **more)
                file.write(b"half")
                file.flush()
                return _Full(file, fail)

            patch.setattr(Path, "open", opening)


class _Full:
    def __init__(self, file: Any, fail: Callable[..., Any]) -> None:
        self._file, self.write, self.fileno = file, fail, file.fileno

    def __enter__(self) -> _Full:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()


STEPS = [("open", errno.EACCES), ("write", errno.ENOSPC), ("fsync", errno.EIO), ("rename", errno.EROFS)]


@pytest.mark.parametrize(("step", "code"), STEPS)
@pytest.mark.usefixtures("quick_offer")
def test_each_command_at_each_step_of_a_failing_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Cli, step: str, code: int
) -> None:
    commands = writing_commands(tmp_path)
    before = state(tmp_path)
    for command in commands if step == "write" else commands[:3]:
        with monkeypatch.context() as patch:
            _Fails(patch, step, code)
            ended, out, err = run(*command)
        assert ended == cli.BAD_INPUT, command
        assert f"can't be written: {os.strerror(code)}. Nothing was changed." in err
        assert "written" not in out
        assert state(tmp_path) == before


@pytest.mark.parametrize(("step", "code"), STEPS)
@pytest.mark.usefixtures("quick_pages")
def test_issuing_at_each_step_of_a_failing_disk(
    shelf: Path, monkeypatch: pytest.MonkeyPatch, step: str, code: int
) -> None:
    """The old plan stays current; the new one is issued as soon as the disk is well."""
    job, day = shelf.parent / "job.yaml", dt.date(2026, 11, 27)
    job.write_text(next_revision(), "utf-8")
    before = state(shelf)
    register = Register(shelf / FILE_NAME)
    with monkeypatch.context() as patch:
        _Fails(patch, step, code)
        with pytest.raises(RefusedError, match="can't be written"):
            issuing.issue(job, shelf, date=day)
    after = state(shelf)
    assert before.keys() == after.keys()
    assert [name for name in after if after[name] != before[name]] in ([], [FILE_NAME])
    assert [e.status.value for e in register.entries()] == ["issued"]
    issuing.issue(job, shelf, date=day)
    assert [e.status.value for e in register.entries()] == ["superseded", "issued"]


@pytest.mark.parametrize(("step", "code"), STEPS)
def test_signing_at_each_step_of_a_failing_disk(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, code: int
) -> None:
    signing = pytest.importorskip("planforge.register.signing")
    plan, own = plan_of(shelf), holder("Aspen Dunlin").p12(tmp_path)
    monkeypatch.setattr(signing, "_appended", lambda data, *_: data + b"signed")
    monkeypatch.setattr(signing, "_check", lambda *_: None)
    before = state(shelf)
    _Fails(monkeypatch, step, code)
    with pytest.raises(RefusedError, match="can't be written"):
        signing.sign(plan, "Competent person", own, PASSPHRASE, Register(shelf / FILE_NAME))
    assert state(shelf) == before


def test_the_second_of_two_files_that_fails_takes_the_first_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Cli
) -> None:
    """A layout without the tendons that stand in the lot's part must not be left as if it were all."""
    job = drawn_job(tmp_path)
    before = state(tmp_path)
    replace, renamed = Path.replace, []

    def once(path: Path, target: Path) -> Path:
        renamed.append(target.name)
        if len(renamed) > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", once)
    code, out, err = run("import", job, "-o", tmp_path / "part.yaml")
    assert renamed == ["part_lot.yaml", "part.yaml"]
    assert (code, "written:" in out, "No space left" in err) == (cli.BAD_INPUT, False, True)
    assert state(tmp_path) == before


def test_a_stop_from_the_keyboard_leaves_no_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "plan.pdf", b"x")
    assert state(tmp_path) == {}


# -- a real disk that is full, and rights ------------------------------------------------------------


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


# -- a process that is killed ------------------------------------------------------------------------

_KILLED = """
import os, signal, sys
from pathlib import Path
def die(*_): os.kill(os.getpid(), signal.SIGKILL)
instant, count = sys.argv[1], int(sys.argv[2])
seen = []
def at(real):
    def call(*a):
        seen.append(1)
        if instant != "renamed" and len(seen) > count: die()
        done = real(*a)
        if instant == "renamed" and len(seen) > count: die()
        return done
    return call
if instant == "half written": os.fsync = at(os.fsync)
else: Path.replace = at(Path.replace)
from planforge.cli import main
main(sys.argv[3:])
"""


def killed(instant: str, count: int, *command: object) -> None:
    """Run a command that is killed at one of its writes; ``count`` writes pass first."""
    words = [sys.executable, "-B", "-c", _KILLED, instant, str(count), *map(str, command)]
    done = subprocess.run(words, capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == -signal.SIGKILL, done.stderr


def test_commands_killed_at_each_instant_of_a_write(tmp_path: Path, run: Cli) -> None:
    """The file is there whole or not at all; after that the same command goes through, or says why not."""
    job = drawn_job(tmp_path)
    new, part, lot = (tmp_path / name for name in ("lot_21.yaml", "part.yaml", "part_lot.yaml"))
    for instant in ("half written", "renaming", "renamed"):
        killed(instant, 0, "new", new)
        assert new.exists() == (instant == "renamed")
    assert load(new).model
    for instant, count in (("half written", 1), ("renamed", 1)):
        killed(instant, count, "import", job, "-o", part)
        assert lot.exists()
        assert part.exists() == (instant == "renamed")
        if not part.exists():
            lot.unlink()
    assert run("import", job, "-o", part)[0] == cli.BAD_INPUT  # never over another
    assert {p.name for p in tmp_path.iterdir() if not p.name.startswith(".")} == {
        "lot.yaml",
        "plan.dxf",
        "lot_21.yaml",
        "part.yaml",
        "part_lot.yaml",
    }


def test_signing_killed_while_it_writes(shelf: Path, tmp_path: Path) -> None:
    pytest.importorskip("planforge.register.signing")
    plan, own = plan_of(shelf), holder("Aspen Dunlin").p12(tmp_path)
    (tmp_path / "secret").write_text(PASSPHRASE)
    before = plan.read_bytes()
    words = ("sign", plan, "--role", "Competent person", "--certificate", own)
    killed("half written", 0, *words, "--passphrase-file", tmp_path / "secret")
    assert plan.read_bytes() == before


# -- clocks ----------------------------------------------------------------------------------------


def _clock(patch: pytest.MonkeyPatch, day: dt.date) -> None:
    class Day(dt.date):
        @classmethod
        def today(cls) -> Day:
            return cls(day.year, day.month, day.day)

    patch.setattr(issuing, "dt", SimpleNamespace(date=Day))


def test_a_clock_before_the_job_s_own_dates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer whose battery ran out says 1970: no plan bears that date."""
    _clock(monkeypatch, dt.date(1970, 1, 1))
    with pytest.raises(RefusedError, match="a plan dated 1970-01-01 can't rest on what is done after it"):
        issuing.issue(MENDED, tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("quick_pages")
def test_a_clock_that_went_back_between_two_issues(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What supersedes a plan is not dated before it: who holds both would take the other for the newer."""
    job, later = tmp_path / "job.yaml", tmp_path / "later.yaml"
    job.write_text(next_revision(), "utf-8")
    note = "  - {revision: '3', dated: '2026-11-26', change: Gate, approved_by: kestrel}\nsite:\n"
    text = job.read_text("utf-8").replace("  revision: '2'\n", "  revision: '3'\n", 1)
    later.write_text(text.replace("site:\n", note, 1), "utf-8")
    issuing.issue(job, shelf, date=dt.date(2026, 12, 3))
    before = state(shelf)
    with monkeypatch.context() as patch:
        _clock(patch, dt.date(2026, 11, 30))
        with pytest.raises(RefusedError) as refused:
            issuing.issue(later, shelf)
    (kept,) = (e for e in Register(shelf / FILE_NAME).entries() if e.status.value == "issued")
    assert str(refused.value) == (
        f"{kept.name} was issued on 2026-12-03; what supersedes it can't be dated 2026-11-30. Look at this "
        "machine's clock, or issue with --date 2026-12-03 or later. Nothing was written."
    )
    assert state(shelf) == before
    assert issuing.issue(later, shelf, date=dt.date(2026, 12, 3)).supersedes == 2


# -- places and names --------------------------------------------------------------------------------


@pytest.mark.usefixtures("quick_pages")
def test_a_folder_that_vanishes_while_the_pages_are_set(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def vanish(*_: object, **__: object) -> bytes:
        shelf.rename(tmp_path / "away")
        return b"%PDF-1.7 /Type /Page made up"

    before = state(shelf)
    monkeypatch.setattr(issuing, "packet", vanish)
    job = tmp_path / "job.yaml"
    job.write_text(next_revision(), "utf-8")
    with pytest.raises(RegisterError, match="its folder is missing"):
        issuing.issue(job, shelf, date=dt.date(2026, 11, 27))
    assert state(tmp_path / "away") == before
    assert not shelf.exists()


@pytest.mark.parametrize("name", ["x" * 300, "x/" * 3000 + "y"])
def test_names_too_long_for_the_system_are_sentences(tmp_path: Path, run: Cli, name: str) -> None:
    path, lot = tmp_path / name, ROOT / "demo_jobs" / "heron_lot_17.yaml"
    for command in (
        ("check", path),
        ("issue", lot, "-o", path),
        ("issue", lot, "-o", f"{path}.pdf"),
        ("verify", path),
        ("compare", path, lot),
        ("compare", lot, path),
        ("register", path),
        ("new", path),
        ("draw", lot, "--dxf", path),
        ("propose", lot, "-o", path),
        ("import", path),
        ("sign", path, "--role", "x", "--certificate", path, "--passphrase-file", path),
    ):
        code, out, err = run(*command)
        assert (code, out) == (cli.BAD_INPUT, ""), command
        assert err.strip().endswith((".", ")", "folder.", "lot.yaml")) and "on its own account" not in err
    assert state(tmp_path) == {}


def test_spaces_and_letters_of_any_alphabet_in_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Cli
) -> None:
    folder = tmp_path / "Łot 7 – 屋根 'x' #1 %20 [a] $HOME"
    folder.mkdir()
    job = folder / "jöb file.yaml"
    job.write_text(merged_text(load(MENDED)), "utf-8")
    code, out, _ = run("issue", job, "-o", folder / "Pläne", "--date", "2026-11-25")
    assert code == 0
    plan = plan_of(folder / "Pläne")
    assert f"plan written: {plan} (" in out
    assert run("verify", plan)[0] == 0
    assert run("compare", plan, job)[0] == 0
    monkeypatch.chdir(folder)  # from another place, by a name without a folder
    assert run("compare", plan.relative_to(folder), "jöb file.yaml")[0] == 0
    link = tmp_path / "link"
    link.symlink_to(folder / "Pläne")
    assert run("verify", link / plan.name)[0] == 0
    code, out, _ = run("issue", "jöb file.yaml", "-o", link)
    assert (code, "plan stands" in out) == (0, True)


def test_the_job_is_the_same_from_every_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also what a lot on a mirrored design tells of the design's file."""
    name = "heron_lot_15.yaml"
    texts = set()
    for place, path in (
        (ROOT, f"demo_jobs/{name}"),
        (ROOT / "demo_jobs", name),
        (ROOT / "tests", f"../demo_jobs/{name}"),
    ):
        monkeypatch.chdir(place)
        texts.add(merged_text(load(path)))
    assert len(texts) == 1


def test_through_a_link_a_plan_is_one_plan(tmp_path: Path) -> None:
    """Entered by a linked folder, it is found in the true one; a link at the file's place gives way alone."""
    (tmp_path / "true").mkdir()
    (tmp_path / "linked").symlink_to("true")
    made = entry(0, file="AF-1-r0.pdf")
    enter(Register(tmp_path / "linked" / FILE_NAME), made)
    register = Register(tmp_path / "true" / FILE_NAME)
    assert register.entries() == (made,)
    assert register.relative(tmp_path / "linked" / "AF-1-r0.pdf") == "AF-1-r0.pdf"
    other = tmp_path / "other.txt"
    other.write_bytes(b"somebody's")
    (tmp_path / "true" / "AF-1-r1.pdf").symlink_to(other)
    enter(register, entry(1))
    assert other.read_bytes() == b"somebody's"
    assert (tmp_path / "true" / "AF-1-r1.pdf").read_bytes() == b"plan"


def test_a_link_that_leads_nowhere_is_not_replaced(tmp_path: Path, run: Cli) -> None:
    (tmp_path / "lot.yaml").symlink_to("absent.yaml")
    code, _, err = run("new", tmp_path / "lot.yaml")
    assert (code, "exists already" in err) == (cli.BAD_INPUT, True)
    assert (tmp_path / "lot.yaml").is_symlink()


@pytest.mark.parametrize(("mask", "mode"), [(0o077, 0o600), (0o022, 0o644), (0o027, 0o640)])
def test_a_file_gets_the_rights_that_its_user_gives_files(tmp_path: Path, mask: int, mode: int) -> None:
    before = os.umask(mask)
    try:
        write_whole(tmp_path / "plan.pdf", b"x")
        enter(Register(tmp_path / FILE_NAME), entry(0))
    finally:
        os.umask(before)
    for name in ("plan.pdf", FILE_NAME, "AF-1-r0.pdf"):
        assert (tmp_path / name).stat().st_mode & 0o777 == mode


# -- standard output, language, zone --------------------------------------------------------------------

ODD_PLACES = [
    {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    {"LC_ALL": "POSIX", "PYTHONIOENCODING": "ascii", "TZ": "Pacific/Kiritimati"},
    {"PYTHONIOENCODING": "latin-1", "TZ": "Nowhere/At_All"},
]


@pytest.mark.parametrize("place", ODD_PLACES, ids=" ".join)
def test_a_job_is_refused_in_words_under_every_language_and_zone(
    tmp_path: Path, place: dict[str, str]
) -> None:
    """The folder, the job and what it extends have names that the language's letters can't hold."""
    folder = tmp_path / "屋根 é"
    folder.mkdir()
    tree = merged_text(load(MENDED)).replace("Warbler", "Wärbler 屋", 1)
    (folder / "größe.yaml").write_text("site: {gate: Östliches Tor 屋}\n", "utf-8")
    (folder / "löt.yaml").write_text("extends: größe.yaml\n" + tree, "utf-8")
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "LANG"))} | place
    command = [sys.executable, "-m", "planforge", "check", str(folder / "löt.yaml"), "--json"]
    done = subprocess.run(command, capture_output=True, check=False, cwd=ROOT, env=environment)
    assert done.returncode == cli.BAD_INPUT
    assert b"Traceback" not in done.stderr
    assert b"on its own account" not in done.stderr
    # Where the system's names hold ASCII alone, no file of the other name is found; else it is refused here:
    assert b"which does not exist" in done.stderr or b"site: found a field of one lot" in done.stderr


def test_output_that_can_t_be_printed(tmp_path: Path) -> None:
    """A full device and a closed one: a code of its own, and what was to be written is written."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "planforge", "schema"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
            cwd=ROOT,
        )
    assert done.returncode == cli.NOT_PRINTED
    assert done.stderr.startswith(b"The output can't be printed: No space left on device.")
    target = tmp_path / "lot_21.yaml"
    done = subprocess.run(
        f'exec "{sys.executable}" -m planforge new "{target}" >&- 2>&-', shell=True, check=False, cwd=ROOT
    )
    assert done.returncode in (0, cli.NOT_PRINTED)
    assert load(target).model
