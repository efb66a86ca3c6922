"""Signing with certificates: what stays and what is refused; checked with poppler and pyHanko."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import NoEncryption, pkcs12
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext
from pypdf import PdfReader

from planforge.document import packet
from planforge.errors import RefusedError
from planforge.register import signing
from planforge.register.database import FILE_NAME
from planforge.register.issuing import issue
from planforge.register.register import Register
from planforge.register.signing import sign
from planforge.register.verifying import Verdict, verify

from .appended import append, filled, numbers, signed_field, stream
from .certificates import PASSPHRASE, holder
from .conftest import DATE, KEPT, MENDED, WHOLE, Shelf

HAS_PDFSIG = pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler's pdfsig is not here")

HAS_QPDF = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not here")


def _pdfsig(path: Path) -> str:
    done = subprocess.run(["pdfsig", "-nocert", str(path)], capture_output=True, text=True, check=False)
    return done.stdout


def test_one_signature(shelf: Shelf, plan: Path, own: Path) -> None:
    issued = plan.read_bytes()
    done = sign(plan, "competent PERSON", own, PASSPHRASE, shelf.register)
    assert (done.signer, done.field.role, done.field.page) == ("Aspen Dunlin", "Competent person", 1)
    assert plan.read_bytes().startswith(issued)
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.CURRENT
    assert any("0 field(s) filled in, 1 signature(s)" in reason for reason in found.reasons)
    (report,) = found.signatures
    assert report.holds
    assert (report.signer, report.role) == ("Aspen Dunlin", "Competent person")
    assert report.covered == report.total == len(plan.read_bytes())
    assert report.stated_time is not None
    assert abs(report.stated_time - dt.datetime.now(dt.UTC)) < dt.timedelta(minutes=5)
    assert report.trusted is None
    assert (
        report.lines()[1] == f"holds over the whole file, {report.total} bytes; nothing was changed after it"
    )
    assert report.lines()[2] == (
        "the signer's certificate is not checked against a trust list; it names Aspen Dunlin as its issuer"
    )
    assert report.lines()[3] == "whether that certificate was revoked is not checked: no server is asked"
    assert report.named == ("Aspen Dunlin",)
    assert len(report.lines()) == 4  # nothing is said where the plan names the signer


def test_the_field_shows_who_signed_in_an_embedded_font(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    sign(plan, "Competent person", holder("Łukasz Dunlin").p12(tmp_path), PASSPHRASE, shelf.register)
    _, field = signed_field(plan.read_bytes())
    shown = field["/AP"]["/N"]["/Resources"]["/XObject"]["/Stamp"]
    (font,) = (f.get_object() for f in shown["/Resources"]["/Font"].values())
    assert "/FontFile2" in font["/FontDescriptor"]
    assert "/ToUnicode" in font


@HAS_PDFSIG
def test_three_signers_one_after_the_other(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    people = {
        "Competent person": holder("Aspen Dunlin"),
        "Qualified person": holder("Jasper Kestrel", rsa_key=True),
        "release of L-S1, competent person": holder("Aspen Dunlin"),
    }
    sizes = []
    for role, person in people.items():
        sign(plan, role, person.p12(tmp_path), PASSPHRASE, shelf.register)
        sizes.append(plan.stat().st_size)
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.CURRENT
    assert [(r.role, r.holds, r.covered, r.signed_after, r.filled_after) for r in found.signatures] == [
        (role, True, size, later, 0) for role, size, later in zip(people, sizes, (2, 1, 0), strict=True)
    ]
    told = _pdfsig(plan)
    assert told.count("Signature is Valid.") == 3
    assert told.count("Not total document signed") == 2


def test_another_program_agrees_that_nothing_but_signatures_came_after(
    shelf: Shelf, plan: Path, own: Path
) -> None:
    """By pyHanko's own comparison of the file's states, which planforge does without."""
    for role in ("Competent person", "Erection lead"):
        sign(plan, role, own, PASSPHRASE, shelf.register)
    plan.write_bytes(filled(plan.read_bytes()))
    context = ValidationContext(trust_roots=[], allow_fetching=False)
    reader = PdfFileReader(BytesIO(plan.read_bytes()))
    levels = []
    for signature in reader.embedded_regular_signatures:
        status = validate_pdf_signature(signature, context)
        assert status.intact
        assert status.valid
        levels.append(status.modification_level)
    assert levels == [ModificationLevel.FORM_FILLING] * 2


@HAS_PDFSIG
def test_filled_in_then_signed(shelf: Shelf, plan: Path, own: Path) -> None:
    plan.write_bytes(filled(plan.read_bytes()))
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.CURRENT
    assert any("1 field(s) filled in, 1 signature(s)" in reason for reason in found.reasons)
    assert found.signatures[0].holds
    assert _pdfsig(plan).count("Signature is Valid.") == 1


def test_signed_then_filled_in(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    plan.write_bytes(filled(plan.read_bytes()))
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.CURRENT
    (report,) = found.signatures
    assert report.holds
    assert report.covered < report.total
    assert "after it 1 field(s) filled in, 0 signature(s), nothing else" in report.lines()[1]


def test_a_plan_with_the_thousand_fields_of_its_logs_is_filled_in_and_signed(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other tests here take the few fields of ``conftest.KEPT``."""
    parts = tuple(part for part in WHOLE["PARTS"] if part[0] in (*KEPT, "22_logs.md"))
    monkeypatch.setattr(packet, "PARTS", parts)
    plan = issue(MENDED, tmp_path / "whole", date=DATE).path
    assert len(PdfReader(plan).get_fields() or {}) > 1000
    plan.write_bytes(filled(plan.read_bytes()))
    register = Register(plan.parent / FILE_NAME)
    sign(plan, "Competent person", own, PASSPHRASE, register)
    found = verify(plan, register)
    assert found.verdict is Verdict.CURRENT
    assert found.signatures[0].holds
    assert any("1 field(s) filled in, 1 signature(s)" in reason for reason in found.reasons)


@HAS_QPDF
def test_a_signed_plan_has_no_syntax_fault(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    done = subprocess.run(["qpdf", "--check", str(plan)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert plan.stat().st_size < 3 << 20


def _refused(
    shelf: Shelf, path: Path, own: Path, role: str = "Competent person", secret: str = PASSPHRASE
) -> str:
    before = path.read_bytes()
    with pytest.raises(RefusedError) as caught:
        sign(path, role, own, secret, shelf.register)
    assert path.read_bytes() == before
    assert str(caught.value).endswith("Nothing was changed.")
    return str(caught.value)


def test_a_superseded_plan_is_not_signed(shelf: Shelf, own: Path) -> None:
    first = shelf.folder / shelf.first.path.name
    assert "is not signed: it is superseded (superseded by revision 2" in _refused(shelf, first, own)


def test_a_draft_is_not_signed(shelf: Shelf, own: Path, tmp_path: Path) -> None:
    drafted = issue(MENDED, tmp_path / "drafts.pdf", date=DATE, draft=True).path
    assert "it is a draft, which nobody signs" in _refused(shelf, drafted, own)


def test_an_altered_plan_is_not_signed(shelf: Shelf, plan: Path, own: Path) -> None:
    data = plan.read_bytes()
    plan.write_bytes(append(data, {numbers(data)["contents"]: stream(b"0 0 100 100 re f")}))
    assert "it was altered" in _refused(shelf, plan, own)


def test_a_role_without_a_field_is_told_those_there_are(shelf: Shelf, plan: Path, own: Path) -> None:
    told = _refused(shelf, plan, own, role="Crane driver")
    for role in ("Safety coordinator", "Qualified person", "release of L-S1, competent person"):
        assert repr(role) in told


def test_a_role_signs_once(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    assert "'Competent person' has signed already (page 1)" in _refused(shelf, plan, own)


def test_a_wrong_passphrase(shelf: Shelf, plan: Path, own: Path) -> None:
    assert "the passphrase is wrong, or it is no PKCS #12 file" in _refused(shelf, plan, own, secret="guess")


def test_no_passphrase_where_none_is_needed(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    bare = holder("Aspen Dunlin").p12(tmp_path, passphrase="")
    sign(plan, "Competent person", bare, "", shelf.register)
    assert verify(plan, shelf.register).signatures[0].holds


def test_something_else_than_a_certificate(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.p12"
    other.write_bytes(b"no certificate")
    assert "is no PKCS #12 file" in _refused(shelf, plan, other)
    assert "can't be read" in _refused(shelf, plan, tmp_path / "absent.p12")


def test_a_certificate_without_its_key(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    path = tmp_path / "own.p12"
    path.write_bytes(
        pkcs12.serialize_key_and_certificates(
            None, None, None, [holder("A. Dunlin").certificate], NoEncryption()
        )
    )
    assert "holds no private key with its certificate" in _refused(shelf, plan, path, secret="")


def test_a_certificate_that_ran_out(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    past = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
    old = holder("Aspen Dunlin", first=past, last=past + dt.timedelta(days=365)).p12(tmp_path)
    assert "is valid from 2020-01-01 to 2020-12-31, not on" in _refused(shelf, plan, old)


def test_a_plan_that_another_wrote_to_meanwhile_is_left_alone(
    shelf: Shelf, plan: Path, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    meanwhile = filled(plan.read_bytes())
    check = signing._check

    def checked(before: bytes, signed: bytes) -> None:
        check(before, signed)
        plan.write_bytes(meanwhile)

    monkeypatch.setattr(signing, "_check", checked)
    with pytest.raises(RefusedError, match="was written to while it was signed; sign again"):
        sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    assert plan.read_bytes() == meanwhile
