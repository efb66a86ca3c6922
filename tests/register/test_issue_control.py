"""Issuing under the register: nothing twice, nothing changed in silence, one current revision."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from planforge.errors import RefusedError
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.entry import Status
from planforge.register.issuing import issue
from planforge.register.register import Register

from .conftest import DATE, LATER, MENDED, ROOT, Shelf, next_revision, text_of
from .processes import issue_one, run

Write = Callable[[str], Path]


def test_the_register_says_what_was_issued_and_by_whom(shelf: Shelf) -> None:
    first, second = shelf.register.entries()
    assert (first.status, second.status) == (Status.SUPERSEDED, Status.ISSUED)
    assert (first.number, first.revision, first.date) == ("AF-2026-207", 1, DATE)
    assert first.file == "AF-2026-207-r1.pdf"
    assert first.sha256 == hashlib.sha256(shelf.register.locate(first).read_bytes()).hexdigest()
    assert first.fingerprint == shelf.first.fingerprint
    assert (first.prepared_by, first.approved_by) == ("Juniper Siskin", "Jasper Kestrel, P.E. (invented)")
    assert (first.supersedes, first.changes) == (None, "")
    assert second.supersedes == 1
    assert second.changes.splitlines() == list(shelf.second.changes)
    assert "rescue.hospital.drive 19 min -> 25 min" in shelf.second.changes
    assert shelf.second.changes[0] == "plan.revision 1 -> 2"


def test_issued_again_without_a_change_it_stands(shelf: Shelf) -> None:
    before = {path.name: path.read_bytes() for path in shelf.folder.iterdir()}
    again = issue(MENDED, shelf.folder, date=LATER)
    assert not again.written
    assert again.pages == shelf.first.pages
    assert again.notes == (
        "AF-2026-207 revision 1 was issued on 2026-11-25; nothing changed, so there is no new revision: its "
        "file stands as it is",
        "its date stays 2026-11-25; to issue it on 2026-11-27, raise plan.revision",
        "it is SUPERSEDED by revision 2, issued on 2026-11-27: work from that",
    )
    assert {path.name: path.read_bytes() for path in shelf.folder.iterdir()} == before


def test_a_lost_file_is_written_again_to_the_byte(shelf: Shelf) -> None:
    path = shelf.folder / shelf.first.path.name
    before = path.read_bytes()
    path.unlink()
    again = issue(MENDED, shelf.folder, date=LATER)
    assert "written again, to the byte" in again.notes[0]
    assert path.read_bytes() == before
    path.unlink()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("planforge.register.issuing.packet", lambda *_, **__: b"other")
        with pytest.raises(RefusedError, match="libraries would write other bytes"):
            issue(MENDED, shelf.folder)
    assert not path.exists()


def test_a_changed_job_is_refused_field_by_field(shelf: Shelf, job_file: Write) -> None:
    changed = job_file(text_of(("drive: 19 min", "drive: 25 min"), ("sag: 4 1/4 in", "sag: 4 3/8 in")))
    with pytest.raises(RefusedError) as refused:
        issue(changed, shelf.folder, date=DATE)
    assert str(refused.value) == (
        "AF-2026-207 revision 1 was issued on 2026-11-25 as AF-2026-207-r1.pdf, and this job is another. "
        "Raise plan.revision with a line in plan.history that says what changed, and issue that; or take the "
        "change back. Nothing was written. What differs from the issued plan:\n"
        "  layout.lines[L-E].sag 4 1/4 in -> 4 3/8 in\n"
        "  rescue.hospital.drive 19 min -> 25 min"
    )


def test_it_is_refused_where_the_file_is_gone_and_under_another_name(shelf: Shelf, job_file: Write) -> None:
    """The number and revision are taken by the register, wherever a file stands."""
    (shelf.folder / shelf.second.path.name).unlink()
    changed = job_file(next_revision(("sag: 4 1/4 in", "sag: 4 3/8 in")))
    with pytest.raises(RefusedError, match="revision 2 was issued on 2026-11-27"):
        issue(changed, shelf.folder, date=LATER)
    with pytest.raises(RefusedError, match="revision 2 was issued on 2026-11-27"):
        issue(changed, shelf.folder / "other.pdf", date=LATER)
    assert not (shelf.folder / "other.pdf").exists()


def test_another_version_is_named(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planforge.register.fingerprint.__version__", "9.9")
    monkeypatch.setattr("planforge.register.decision.__version__", "9.9")
    with pytest.raises(RefusedError, match=r"issued plan:\n  planforge .* -> 9\.9$"):
        issue(MENDED, shelf.folder, date=DATE)


def test_a_lower_revision_is_refused(shelf: Shelf, job_file: Write) -> None:
    history = text_of().split("  - revision: '1'")[1].split("site:")[0]
    lower = text_of(
        ("  revision: '1'\n", "  revision: '0'\n"), (f"  - revision: '1'{history}", ""), ("19 min", "20 min")
    )
    with pytest.raises(RefusedError) as refused:
        issue(job_file(lower), shelf.folder, date=DATE)
    assert str(refused.value) == (
        "AF-2026-207 revision 2 was issued on 2026-11-27 and is current; AF-2026-207 revision 0 can't be "
        "issued after it. Set plan.revision to 3 or more, with its line in plan.history. Nothing was written."
    )


def test_a_number_belongs_to_one_lot(shelf: Shelf, job_file: Write) -> None:
    other = next_revision(("  revision: '2'\n", "  revision: '3'\n"), ("- revision: '2'", "- revision: '3'"))
    with pytest.raises(
        RefusedError, match=r"belongs to Lot 7, Warbler Hollow .* this job is for Lot 8, Warbler"
    ):
        issue(job_file(other.replace("lot: Lot 7", "lot: Lot 8")), shelf.folder, date=LATER)


def test_a_revision_without_its_line_of_history_is_refused(shelf: Shelf, job_file: Write) -> None:
    text = next_revision(("  revision: '2'\n", "  revision: '3'\n"))
    start, end = text.index("  history:"), text.index("site:")
    with pytest.raises(
        RefusedError, match=r"supersedes revision 2, and plan\.history does not say what changed"
    ):
        issue(job_file(text[:start] + text[end:]), shelf.folder, date=LATER)


def test_a_plan_filled_in_since_is_left_as_it_is(shelf: Shelf) -> None:
    path = shelf.folder / shelf.first.path.name
    path.write_bytes(path.read_bytes() + b"\nfilled in")
    before = path.read_bytes()
    with pytest.raises(RefusedError, match="was filled in, signed or changed since"):
        issue(MENDED, shelf.folder, date=DATE)
    assert path.read_bytes() == before


def test_a_plan_that_no_register_knows_is_entered_with_its_date(shelf: Shelf) -> None:
    (shelf.folder / FILE_NAME).unlink()
    before = (shelf.folder / shelf.first.path.name).read_bytes()
    again = issue(MENDED, shelf.folder, date=LATER)
    assert again.path.read_bytes() == before
    assert again.notes == (
        f"{shelf.folder / FILE_NAME} begins with this plan; 1 other PDF file(s) beside it are not in it. If "
        "there was a register, put it back; else issue the current plans again to enter them",
    )
    (entry,) = shelf.register.entries()
    assert (entry.date, entry.sha256) == (DATE, hashlib.sha256(before).hexdigest())


def test_one_that_it_would_not_write_so_is_refused(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    (shelf.folder / FILE_NAME).unlink()
    path = shelf.folder / shelf.first.path.name
    before = path.read_bytes()
    monkeypatch.setattr("planforge.register.issuing.packet", lambda *_, **__: b"other")
    with pytest.raises(RefusedError, match="with other bytes than it has now"):
        issue(MENDED, shelf.folder, date=DATE)
    assert path.read_bytes() == before
    assert shelf.register.entries() == ()


def test_a_draft_is_listed_and_ends_with_its_plan(shelf: Shelf, job_file: Write) -> None:
    third = job_file(
        next_revision(("  revision: '2'\n", "  revision: '3'\n"), ("- revision: '2'", "- revision: '3'"))
    )
    drafted = issue(third, shelf.folder, date=LATER, draft=True)
    assert drafted.notes == ()
    assert [e.status.value for e in shelf.register.entries()] == ["superseded", "issued", "draft"]
    assert issue(third, shelf.folder, date=LATER).supersedes == 2
    assert [e.status.value for e in shelf.register.entries()] == ["superseded", "superseded", "issued"]


def test_a_draft_under_an_issued_revision_says_so(shelf: Shelf, job_file: Write) -> None:
    drafted = issue(job_file(text_of(("19 min", "20 min"))), shelf.folder, date=LATER, draft=True)
    assert drafted.notes == (
        "AF-2026-207 revision 2 is issued and current; raise plan.revision above 2 to issue this draft",
    )


def test_the_register_may_stand_elsewhere(shelf: Shelf, tmp_path: Path, job_file: Write) -> None:
    book = shutil.move(shelf.folder / FILE_NAME, tmp_path / "book.sqlite")
    register = Register(Path(book))
    changed = job_file(text_of(("19 min", "20 min")))
    with pytest.raises(RefusedError, match=r"rescue\.hospital\.drive 19 min -> 20 min"):
        issue(changed, tmp_path / "out", date=DATE, register=register.path)
    third = job_file(
        next_revision(("  revision: '2'\n", "  revision: '3'\n"), ("- revision: '2'", "- revision: '3'"))
    )
    issued = issue(third, tmp_path / "out", date=LATER, register=register.path)
    assert [p.name for p in (tmp_path / "out").iterdir()] == [issued.path.name]
    assert register.entries()[-1].file == f"out/{issued.path.name}"
    assert register.locate(register.entries()[-1]).samefile(issued.path)


def test_a_register_that_can_t_be_used_stops_before_the_pages(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"no database at all, but long enough to look like one" * 20)
    with pytest.raises(RegisterError, match="is damaged as a register"):
        issue(MENDED, tmp_path, date=DATE)
    assert [p.name for p in tmp_path.iterdir()] == [FILE_NAME]


@pytest.mark.usefixtures("whole_packet")
def test_two_processes_that_issue_the_same_job_make_one_plan(tmp_path: Path) -> None:
    folder = tmp_path / "race"
    for process in [run(issue_one, MENDED, folder) for _ in range(2)]:
        assert process.wait() == 0
    (entry,) = Register(folder / FILE_NAME).entries()
    assert {p.name for p in folder.iterdir()} == {FILE_NAME, entry.file}
    alone = issue(MENDED, tmp_path / "alone", date=DATE).path
    assert entry.sha256 == hashlib.sha256(alone.read_bytes()).hexdigest()


def test_two_processes_with_unlike_jobs_never_share_a_revision(tmp_path: Path) -> None:
    folder, other = tmp_path / "race", tmp_path / "other.yaml"
    other.write_text(text_of(("19 min", "20 min")), "utf-8")
    codes = [process.wait() for process in [run(issue_one, MENDED, folder), run(issue_one, other, folder)]]
    assert sorted(codes) == [0, 1]
    (entry,) = Register(folder / FILE_NAME).entries()
    assert hashlib.sha256((folder / entry.file).read_bytes()).hexdigest() == entry.sha256


def test_the_document_does_not_depend_on_the_register(shelf: Shelf, tmp_path: Path, job_file: Write) -> None:
    """Issued beside a register that holds the former revision, or alone: the same bytes."""
    alone = issue(job_file(next_revision()), tmp_path / "alone", date=LATER)
    assert alone.supersedes is None
    assert alone.path.read_bytes() == (shelf.folder / shelf.second.path.name).read_bytes()


def test_a_short_job_is_a_draft_in_the_register(tmp_path: Path) -> None:
    issue(ROOT / "demo_jobs" / "wren_lot_7.yaml", tmp_path, date=DATE)
    (entry,) = Register(tmp_path / FILE_NAME).entries()
    assert (entry.status, entry.supersedes) == (Status.DRAFT, None)
