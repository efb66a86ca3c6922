"""Folders that vanish, links, names too long or of any alphabet, and the rights of what is written."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest

from planforge import cli
from planforge.document.finish import write_whole
from planforge.job.loading import load, merged_text
from planforge.register import issuing
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.register import Register
from tests.cad.plans import ROOT
from tests.register.conftest import MENDED, next_revision
from tests.register.processes import enter, entry

from .folders import POSIX, Cli, plan_of, state

pytestmark = POSIX


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
