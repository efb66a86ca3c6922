"""Every way a file is written, at each step of a disk that fails: nothing lost, nothing half-written.

``tests/register`` holds the register's own: killed at each instant, full, locked, read-only, two at once.
"""

from __future__ import annotations

import ast
import datetime as dt
import errno
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import planforge
from planforge import cli
from planforge.document.finish import write_whole
from planforge.errors import RefusedError
from planforge.proposal import offer
from planforge.register import issuing
from planforge.register.database import FILE_NAME
from planforge.register.register import Register
from tests.cad.plans import ROOT
from tests.register.certificates import PASSPHRASE, holder
from tests.register.conftest import next_revision

from .folders import POSIX, Cli, drawn_job, plan_of, state

pytestmark = POSIX


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
