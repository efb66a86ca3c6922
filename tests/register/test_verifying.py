"""What a file is to a register: each verdict, each way of adding to a plan, and garbage of all kinds."""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter

from planforge.errors import PlanforgeError
from planforge.register.additions import Additions, additions
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.issued import original, untouched
from planforge.register.issuing import issue
from planforge.register.jobs import load_either
from planforge.register.pdf import MAX_JOB, MAX_PDF, NotReadableError, attached_job, identity, open_pdf
from planforge.register.register import Register
from planforge.register.verifying import Verdict, Verified, verify

from .appended import append, filled, numbers, stream, written
from .conftest import DATE, LATER, MENDED, ROOT, Shelf, text_of

Judge = Callable[[bytes], Verified]


@pytest.fixture(scope="session")
def plan(kept_shelf: Shelf) -> bytes:
    return (kept_shelf.folder / kept_shelf.second.path.name).read_bytes()


@pytest.fixture
def judge(kept_shelf: Shelf, tmp_path: Path) -> Judge:
    def judged(data: bytes) -> Verified:
        path = tmp_path / "file.pdf"
        path.write_bytes(data)
        return verify(path, kept_shelf.register)

    return judged


def test_current_and_superseded(kept_shelf: Shelf) -> None:
    found = verify(kept_shelf.folder / kept_shelf.second.path.name, kept_shelf.register)
    assert found.verdict is Verdict.CURRENT
    assert found.reasons == (
        "issued on 2026-11-27, prepared by Juniper Siskin",
        "the job inside gives the fingerprint again",
    )
    found = verify(kept_shelf.folder / kept_shelf.first.path.name, kept_shelf.register)
    assert found.verdict is Verdict.SUPERSEDED
    assert found.stated is not None
    assert (found.stated.number, found.stated.revision, found.stated.date) == ("AF-2026-207", 1, DATE)
    assert found.reasons[:2] == (
        "superseded by revision 2, issued on 2026-11-27",
        "current is revision 2, issued on 2026-11-27: AF-2026-207-r2.pdf",
    )


def test_a_copy_under_any_name_is_judged_by_its_bytes(judge: Judge, plan: bytes) -> None:
    assert judge(plan).verdict is Verdict.CURRENT


def test_a_draft(kept_shelf: Shelf, tmp_path: Path) -> None:
    drafted = issue(MENDED, tmp_path, date=DATE, draft=True)
    for register in (Register(tmp_path / FILE_NAME), kept_shelf.register):
        found = verify(drafted.path, register)
        assert found.verdict is Verdict.DRAFT
    assert found.reasons == ("current is revision 2, issued on 2026-11-27: AF-2026-207-r2.pdf",)


def test_filled_in_it_stays_genuine(judge: Judge, plan: bytes) -> None:
    found = judge(filled(plan))
    assert found.verdict is Verdict.CURRENT
    assert any("the issued pages unchanged: 1 field(s) filled in, 0 signature(s)" in r for r in found.reasons)
    twice = judge(filled(filled(plan), "Another"))
    assert twice.verdict is Verdict.CURRENT


def test_signed_without_a_picture_it_stays_genuine(judge: Judge, plan: bytes) -> None:
    """As signing programs append it: a hidden field on a page, in the form, with the signature's value."""
    at = numbers(plan)
    found = judge(_signed(plan, at["size"], b"[0 0 0 0]"))
    assert found.verdict is Verdict.CURRENT
    assert any("0 field(s) filled in, 1 signature(s)" in r for r in found.reasons)


def _signed(plan: bytes, number: int, box: bytes, kind: bytes = b"/Sig") -> bytes:
    at = numbers(plan)
    reference = b"%d 0 R" % number
    page = written(plan, at["page"]).replace(b"/Annots [", b"/Annots [", 1)
    place = page.index(b"]", page.index(b"/Annots"))
    form = written(plan, at["form"])
    end = form.index(b"]", form.index(b"/Fields"))
    field = b"<< /Type /Annot /Subtype /Widget /FT %b /T (S1) /F 132 /Rect %b /P %d 0 R /V %d 0 R >>"
    return append(
        plan,
        {
            at["page"]: page[:place] + b" " + reference + page[place:],
            at["form"]: form[:end] + b" " + reference + form[end:],
            number: field % (kind, box, at["page"], number + 1),
            number + 1: b"<< /Type /Sig /Filter /Adobe.PPKLite /ByteRange [0 1 2 3] /Contents <00> >>",
        },
    )


def _replaced(name: str, old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    def change(plan: bytes) -> bytes:
        number = numbers(plan)[name]
        content = written(plan, number)
        assert old in content
        return append(plan, {number: content.replace(old, new, 1)})

    return change


def _contents(plan: bytes) -> bytes:
    return append(plan, {numbers(plan)["contents"]: stream(b"BT (other) Tj ET")})


def _other_page(plan: bytes) -> bytes:
    at = numbers(plan)
    page = written(plan, at["page"]).replace(b"%d 0 R" % at["contents"], b"%d 0 R" % at["size"])
    return append(plan, {at["page"]: page, at["size"]: stream(b"BT (other) Tj ET")})


def _other_catalogue(plan: bytes) -> bytes:
    at = numbers(plan)
    return append(plan, {at["size"]: written(plan, at["root"])}, root=at["size"])


def _job(plan: bytes) -> bytes:
    return append(plan, {numbers(plan)["job"]: stream(b"job: 2", b"/Type /EmbeddedFile")})


def _packed_away(plan: bytes) -> bytes:
    """A page's new contents hidden in a stream of objects that the lists do not show."""
    at = numbers(plan)
    header = b"%d 0 " % at["contents"]
    return append(
        plan, {at["size"]: stream(header + b"<< >>", b"/Type /ObjStm /N 1 /First %d" % len(header))}
    )


def _unlisted(plan: bytes) -> bytes:
    """A page's new contents that only a reader finds that mends the file."""
    end = plan.rindex(b"startxref")
    return plan + b"%d 0 obj\n<< >>\nendobj\n" % numbers(plan)["contents"] + plan[end:]


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (_contents, "was written anew (page contents, a picture, a font or an attachment)"),
        (_other_page, "Contents of page 1 was changed"),
        (_replaced("page", b"/Annots [", b"/Annots [ 1 0 R "), "fields of page 1 were taken off it"),
        (_replaced("page", b"/MediaBox", b"/Rotate 90 /MediaBox"), "Rotate of page 1 was changed"),
        (_replaced("font", b"/Font", b"/Fant"), "was written anew"),
        (_replaced("field", b"/Rect [", b"/Rect [0 0 600 "), "Rect of the field"),
        (
            _replaced("root", b"/Type", b"/OpenAction << /S /JavaScript /JS (1) >> /Type"),
            "OpenAction of the cat",
        ),
        (_replaced("form", b"/Fields [", b"/XFA (x) /Fields ["), "XFA of the form was changed"),
        (_other_catalogue, "the file was given another catalogue"),
        (_job, "was written anew (page contents, a picture, a font or an attachment)"),
        (_packed_away, "stands in it a second time"),
        (_unlisted, "stands in it a second time"),
        (lambda p: append(p, {}, more=b"/Encrypt << /Filter /Standard >>"), "can't be followed"),
        (lambda p: _signed(p, numbers(p)["size"], b"[0 0 300 300]"), "a field that can cover the page"),
        (lambda p: _signed(p, numbers(p)["size"], b"[0 0 0 0]", b"/Tx"), "a field that can cover the page"),
        (
            lambda p: append(p, {numbers(p)["size"]: b"<< /Type /Obj#53tm >>"}),
            "what was appended can't be followed",
        ),
    ],
)
def test_more_than_filling_in_is_altered(
    judge: Judge, plan: bytes, change: Callable[[bytes], bytes], fault: str
) -> None:
    """Each way to show other pages under an issued head is found, and named."""
    data = change(plan)
    assert original(data) == plan
    found = judge(data)
    assert found.verdict is Verdict.ALTERED
    assert fault in "\n".join(found.reasons)
    assert "the plan of that number and revision as issued: AF-2026-207-r2.pdf" in found.reasons


def test_scraps_that_no_reader_shows_are_named(judge: Judge, plan: bytes) -> None:
    found = judge(plan + b"\n% a mail program's line\n")
    assert found.verdict is Verdict.CURRENT
    assert "something was appended after issue that changes neither pages nor fields" in found.reasons


def test_a_note_laid_over_a_page_is_altered(judge: Judge, plan: bytes) -> None:
    at = numbers(plan)
    page = written(plan, at["page"])
    place = page.index(b"]", page.index(b"/Annots"))
    note = b"<< /Type /Annot /Subtype /FreeText /Rect [100 100 400 400] /Contents (2 workers) >>"
    changed = page[:place] + b" %d 0 R" % at["size"] + page[place:]
    found = judge(append(plan, {at["page"]: changed, at["size"]: note}))
    assert found.verdict is Verdict.ALTERED
    assert "something was laid over page 1: a note, a stamp or a field of someone else's" in found.reasons


def test_saved_anew_as_a_whole_it_is_altered(judge: Judge, plan: bytes) -> None:
    stream = BytesIO()
    PdfWriter(clone_from=BytesIO(plan)).write(stream)
    found = judge(stream.getvalue())
    assert found.verdict is Verdict.ALTERED
    assert "saved anew as a whole" in found.reasons[0]
    assert "the job inside still gives the fingerprint it bears" in found.reasons


@pytest.mark.parametrize("place", [0.2, 0.5, 0.9])
def test_one_byte_changed_is_altered(judge: Judge, plan: bytes, place: float) -> None:
    at = int(len(plan) * place)
    data = plan[:at] + bytes([plan[at] ^ 1]) + plan[at + 1 :]
    assert not untouched(data)
    assert judge(data).verdict in (Verdict.ALTERED, Verdict.NO_PLAN)


def _forged(plan: bytes, old: bytes, new: bytes) -> bytes:
    """A file whose maker knew how: the identifier is worked out anew over other bytes."""
    assert old in plan
    data = plan.replace(old, new)
    (mark,) = set(re.findall(rb"\[<([0-9a-f]{32})><", data))
    place = data.rindex(b"[<" + mark)
    blank = data[:place] + data[place:].replace(mark, b"0" * 32)
    return data[:place] + data[place:].replace(mark, hashlib.sha256(blank).hexdigest()[:32].encode())


def test_a_forged_file_is_not_genuine(judge: Judge, plan: bytes) -> None:
    """With its identifier worked out anew it looks untouched; the register does not hold it."""
    data = _forged(plan, b"/Tabs /R", b"/Tabs /S")
    assert untouched(data)
    found = judge(data)
    assert found.verdict is Verdict.UNKNOWN
    assert "was issued elsewhere. Work from AF-2026-207-r2.pdf" in found.reasons[1]


def test_a_forged_file_with_another_job_is_altered(judge: Judge, plan: bytes) -> None:
    number = numbers(plan)["job"]
    old = written(plan, number)
    other = text_of(("19 min", "20 min")).encode()
    new = stream(other, b"/Type /EmbeddedFile")
    new = new[: -len(b"\nendstream")] + bytes(len(old) - len(new)) + b"\nendstream"
    assert len(new) == len(old)
    data = _forged(plan, old, new)
    found = judge(data)
    assert found.verdict is Verdict.ALTERED
    assert "its bytes and the job inside are others" in found.reasons[0]


def test_issued_elsewhere_on_another_day_it_is_unknown(kept_shelf: Shelf, tmp_path: Path) -> None:
    elsewhere = issue(MENDED, tmp_path, date=LATER)
    found = verify(elsewhere.path, kept_shelf.register)
    assert found.verdict is Verdict.UNKNOWN
    assert "this file is dated 2026-11-27 and was issued elsewhere" in found.reasons[1]


def test_another_plan_under_the_same_number_is_unknown(
    kept_shelf: Shelf, tmp_path: Path, job_file: Callable[[str], Path]
) -> None:
    other = issue(job_file(text_of(("19 min", "20 min"))), tmp_path / "out", date=DATE)
    found = verify(other.path, kept_shelf.register)
    assert found.verdict is Verdict.UNKNOWN
    assert "holds ANOTHER plan under this number and revision" in found.reasons[1]
    (lone,) = verify(other.path, Register(tmp_path / "none.sqlite")).reasons[1:]
    assert lone.startswith("there is no register at")
    heron = issue(ROOT / "demo_jobs" / "heron_lot_14.yaml", tmp_path / "out", date=DATE)
    assert "holds no AF-" in verify(heron.path, kept_shelf.register).reasons[1]


def test_of_another_version_it_says_so_and_stays_genuine(
    judge: Judge, plan: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("fingerprint", "decision", "verifying"):
        monkeypatch.setattr(f"planforge.register.{module}.__version__", "9.9")
    found = judge(plan)
    assert found.verdict is Verdict.CURRENT
    assert found.reasons[-1].startswith(
        "the fingerprint can't be worked out anew here: it was made with planforge"
    )


def test_of_another_version_and_not_held_it_says_what_can_t_be_told(
    kept_shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = issue(MENDED, tmp_path, date=LATER)
    for module in ("fingerprint", "decision", "verifying"):
        monkeypatch.setattr(f"planforge.register.{module}.__version__", "9.9")
    found = verify(elsewhere.path, kept_shelf.register)
    assert found.verdict is Verdict.UNKNOWN
    assert "it was issued by another version than this one (9.9) or with other templates" in found.reasons[0]


def test_a_pending_plan_is_genuine(shelf: Shelf) -> None:
    """A process was killed after the rename; verify writes nothing and still knows the plan."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Register, "_enter", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        (shelf.folder / FILE_NAME).unlink()
        with pytest.raises(KeyboardInterrupt):
            issue(MENDED, shelf.folder, date=DATE)
    before = (shelf.folder / FILE_NAME).read_bytes()
    found = verify(shelf.folder / shelf.first.path.name, shelf.register)
    assert found.verdict is Verdict.CURRENT
    assert (shelf.folder / FILE_NAME).read_bytes() == before


def test_what_is_no_plan(judge: Judge) -> None:
    assert judge(b"").reasons == ("it is no PDF",)
    assert judge(b"%PDF-1.7\n").verdict is Verdict.NO_PLAN
    writer, blank = PdfWriter(), BytesIO()
    writer.add_blank_page(100, 100)
    writer.write(blank)
    assert judge(blank.getvalue()).verdict is Verdict.NO_PLAN


def test_what_can_t_be_read_is_a_sentence(kept_shelf: Shelf, tmp_path: Path) -> None:
    with pytest.raises(PlanforgeError, match="is no file"):
        verify(tmp_path, kept_shelf.register)
    large = tmp_path / "large.pdf"
    with large.open("wb") as file:
        file.truncate(MAX_PDF + 1)
    with pytest.raises(PlanforgeError, match="larger than 50 MiB"):
        verify(large, kept_shelf.register)
    broken = tmp_path / FILE_NAME
    broken.write_bytes(b"x" * 2000)
    with pytest.raises(RegisterError):
        verify(kept_shelf.folder / kept_shelf.first.path.name, Register(broken))


def test_a_job_that_unpacks_without_end_is_not_unpacked(plan: bytes) -> None:
    bomb = stream(bytes(MAX_JOB + 1), b"/Type /EmbeddedFile")
    data = append(plan, {numbers(plan)["job"]: bomb})
    assert attached_job(open_pdf(data)) is None
    assert attached_job(open_pdf(plan)) is not None


def test_a_job_inside_may_not_read_other_files(plan: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    reaching = stream(b"extends: ../../secret.yaml\nformat: planforge job 1\n", b"/Type /EmbeddedFile")
    path.write_bytes(append(plan, {numbers(plan)["job"]: reaching}))
    with pytest.raises(PlanforgeError, match="builds upon other files"):
        load_either(path)


def test_the_identity_is_read_from_the_issued_head(judge: Judge, plan: bytes) -> None:
    """Appended metadata do not rename a plan."""
    info = PdfReader(BytesIO(plan)).trailer.raw_get("/Info").idnum
    content = written(plan, info).replace(b"revision 2", b"revision 3")
    found = judge(append(plan, {info: content}))
    assert found.verdict is Verdict.ALTERED
    assert found.stated is not None
    assert found.stated.revision == 2


def test_additions_are_counted(plan: bytes) -> None:
    assert additions(plan, filled(plan)) == Additions(1, 0, ())


_QUIET = settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))


@_QUIET
@given(
    st.sampled_from(["cut", "over", "in", "after", "tail"]), st.integers(0, 1 << 30), st.binary(max_size=200)
)
def test_any_damage_is_a_verdict(
    kept_shelf: Shelf, tmp_path: Path, kind: str, place: int, scrap: bytes
) -> None:
    """Cut off, overwritten, with scraps put in or appended: a verdict; genuine only where the head stands."""
    plan = (kept_shelf.folder / kept_shelf.second.path.name).read_bytes()
    place %= len(plan) + 1
    changed = {
        "cut": plan[:place],
        "over": plan[:place] + scrap + plan[place + len(scrap) :],
        "in": plan[:place] + scrap + plan[place:],
        "after": plan + scrap,
        "tail": plan + plan[place:],
    }[kind]
    path = tmp_path / "file.pdf"
    path.write_bytes(changed)
    found = verify(path, kept_shelf.register)
    assert found.verdict is not Verdict.CURRENT or changed.startswith(plan)


@_QUIET
@given(st.binary(max_size=600))
def test_garbage_is_no_plan(kept_shelf: Shelf, tmp_path: Path, garbage: bytes) -> None:
    path = tmp_path / "file.pdf"
    for data in (garbage, b"%PDF-1.7\n" + garbage):
        path.write_bytes(data)
        assert verify(path, kept_shelf.register).verdict is Verdict.NO_PLAN


@_QUIET
@given(st.binary(max_size=300))
def test_any_appended_scraps_are_followed_or_refused(kept_shelf: Shelf, scrap: bytes) -> None:
    plan = (kept_shelf.folder / kept_shelf.second.path.name).read_bytes()
    data = append(plan, {numbers(plan)["size"]: b"<< " + scrap + b" >>"})
    try:
        found = additions(plan, data)
    except NotReadableError:
        return
    assert found.filled == found.signed == 0


def test_identity_of_a_plan_and_of_none(plan: bytes) -> None:
    found = identity(open_pdf(plan))
    assert found is not None
    assert (found.number, found.revision, found.draft, found.date) == ("AF-2026-207", 2, False, LATER)


def test_a_register_in_its_folder_moves_with_it(kept_shelf: Shelf, tmp_path: Path) -> None:
    moved = shutil.copytree(kept_shelf.folder, tmp_path / "moved")
    register = Register(moved / FILE_NAME)
    assert [register.locate(e).exists() for e in register.entries()] == [True, True]
