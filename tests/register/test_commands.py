"""The commands of issue control: what they print, and their exit codes."""

from __future__ import annotations

from pathlib import Path

import pytest

from planforge import cli
from planforge.register.database import FILE_NAME
from tests.command import run

from .appended import append, filled, numbers
from .conftest import MENDED, ROOT, Shelf, next_revision


def test_issue_says_what_it_supersedes_and_what_changed(
    shelf: Shelf, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.yaml"
    text = next_revision(("  revision: '2'\n", "  revision: '3'\n"), ("- revision: '2'", "- revision: '3'"))
    job.write_text(text.replace("25 min", "30 min"), "utf-8")
    code, out, _ = run(capsys, "issue", job, "-o", shelf.folder, "--date", "2026-11-27")
    assert code == cli.MEETS
    assert out.startswith(f"plan written: {shelf.folder / 'AF-2026-207-r3.pdf'} (")
    assert "supersedes revision 2; 4 change(s):\n  plan.revision 2 -> 3\n" in out
    assert "  rescue.hospital.drive 25 min -> 30 min\n" in out
    code, out, _ = run(capsys, "issue", job, "-o", shelf.folder, "--date", "2026-11-27")
    assert code == cli.MEETS
    assert out.startswith("plan stands: ")
    assert "note: AF-2026-207 revision 3 was issued on 2026-11-27; nothing changed" in out
    assert "its date stays" not in out


def test_issue_takes_a_register_elsewhere(
    shelf: Shelf, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(
        capsys, "issue", MENDED, "-o", tmp_path / "out", "--register", shelf.folder, "--date", "2026-11-25"
    )
    assert code == cli.MEETS
    assert out.startswith(f"plan stands: {shelf.folder / 'AF-2026-207-r1.pdf'}")
    assert "SUPERSEDED by revision 2" in out
    assert list((tmp_path / "out").iterdir()) == []


def test_verify_has_an_exit_code_for_each_verdict(
    shelf: Shelf, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = (shelf.folder / plan.path.name for plan in (shelf.first, shelf.second))
    code, out, _ = run(capsys, "verify", second)
    assert code == 0
    assert out.startswith("AF-2026-207 revision 2, dated 2026-11-27: GENUINE AND CURRENT\n")
    assert out.endswith(f"  judged by {shelf.folder / FILE_NAME}\n")
    code, out, _ = run(capsys, "verify", first)
    assert code == 1
    assert out.startswith("AF-2026-207 revision 1, dated 2026-11-25: GENUINE BUT SUPERSEDED\n  superseded by")
    data = second.read_bytes()
    other = tmp_path / "other.pdf"
    other.write_bytes(append(data, {numbers(data)["contents"]: b"<< >>"}))
    assert run(capsys, "verify", other, "--register", shelf.folder)[0] == cli.ALTERED == 4
    other.write_bytes(filled(data))
    assert run(capsys, "verify", other, "--register", shelf.folder)[0] == 0
    code, out, _ = run(capsys, "verify", other, "--register", tmp_path / "none.sqlite")
    assert code == cli.UNKNOWN == 5
    assert out.endswith("  judged without a register\n")
    code, out, _ = run(capsys, "verify", MENDED)
    assert code == 5
    assert out.startswith(f"{MENDED}: NO PLAN OF PLANFORGE'S\n  it is no PDF\n")
    code, _, err = run(capsys, "verify", tmp_path / "absent.pdf")
    assert code == cli.BAD_INPUT
    assert "is no file; name the PDF" in err
    (tmp_path / "bad.sqlite").write_bytes(b"x" * 5000)
    code, _, err = run(capsys, "verify", second, "--register", tmp_path / "bad.sqlite")
    assert code == cli.BAD_INPUT
    assert "is damaged as a register" in err


def test_compare_takes_plans_and_job_files(shelf: Shelf, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = (shelf.folder / plan.path.name for plan in (shelf.first, shelf.second))
    code, out, _ = run(capsys, "compare", first, second)
    assert code == 1
    assert "Rescue:\n  rescue, hospital, drive: 19 min -> 25 min\n" in out
    assert out.index("FOR THE CREW") < out.index("rescue, hospital") < out.index("THE REST")
    code, out, _ = run(capsys, "compare", MENDED, first)
    assert (code, out.endswith("no changes\n")) == (0, True)
    code, out, _ = run(capsys, "compare", ROOT / "demo_jobs" / "wren_lot_7.yaml", first)
    assert code == 1
    assert "Lifelines:\n  line L-E, sag: 3 in -> 4 1/4 in\n  line L-E, workers: 2 -> 1\n" in out


@pytest.mark.parametrize("content", [b"%PDF-1.7\nx", b"\x00\x01", b"format: planforge job 1\n"])
def test_compare_refuses_what_holds_no_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes
) -> None:
    path = tmp_path / "x.pdf"
    path.write_bytes(content)
    code, out, err = run(capsys, "compare", MENDED, path)
    assert (code, out) == (cli.BAD_INPUT, "")
    assert "x.pdf" in err


def test_register_lists_what_is_current(
    shelf: Shelf, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "register", shelf.folder)
    assert code == 0
    assert out.startswith(
        "AF-2026-207 revision 2: issued 2026-11-27; Lot 7, Warbler Hollow (invented); AF-2026-207-r2.pdf; "
        "prepared by Juniper Siskin, approved by Jasper Kestrel, P.E. (invented); fingerprint "
    )
    assert len(out.splitlines()) == 1
    code, out, _ = run(capsys, "register", shelf.folder / FILE_NAME, "--all")
    assert [line.split(":")[0] for line in out.splitlines()] == [
        "AF-2026-207 revision 1",
        "AF-2026-207 revision 2",
    ]
    code, _, err = run(capsys, "register", tmp_path / "absent")
    assert code == cli.BAD_INPUT
    assert "it begins with the first plan issued" in err
