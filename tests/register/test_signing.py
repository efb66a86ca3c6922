"""Signing with certificates: whose, what stays, what is refused; checked with poppler and pyHanko."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.serialization import NoEncryption, pkcs12
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext
from pypdf import PdfReader

from planforge import cli
from planforge.errors import RefusedError
from planforge.job.loading import load
from planforge.register import signing
from planforge.register.issuing import issue
from planforge.register.named_signers import named_for, same_person
from planforge.register.pdf import NotReadableError
from planforge.register.signature_checks import check_signatures
from planforge.register.signing import sign
from planforge.register.verifying import Verdict, verify

from .appended import append, filled, numbers, stream, written
from .certificates import PASSPHRASE, holder
from .conftest import DATE, MENDED, Shelf

HAS_PDFSIG = pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler's pdfsig is not here")
HAS_QPDF = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not here")


@pytest.fixture
def plan(shelf: Shelf) -> Path:
    return shelf.folder / shelf.second.path.name


@pytest.fixture
def own(tmp_path: Path) -> Path:
    return holder("Aspen Dunlin").p12(tmp_path)


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
    _, field = _signed_field(plan.read_bytes())
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


@HAS_QPDF
def test_a_signed_plan_has_no_syntax_fault(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    done = subprocess.run(["qpdf", "--check", str(plan)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert plan.stat().st_size < 3 << 20


# -- tampering ---------------------------------------------------------------------------------


def _signed_field(data: bytes) -> tuple[int, Any]:
    """The first field of page 1 that was signed, with its number."""
    for held in PdfReader(BytesIO(data)).pages[0].annotations or []:
        field = held.get_object()
        if field["/FT"] == "/Sig" and "/V" in field:
            return held.idnum, field
    raise AssertionError


def test_a_byte_changed_in_what_was_signed(shelf: Shelf, plan: Path, own: Path) -> None:
    issued = len(plan.read_bytes())
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    data = bytearray(plan.read_bytes())
    place = data.index(b"Competent person)", issued)
    data[place] ^= 1
    plan.write_bytes(data)
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.ALTERED
    assert found.signatures[0].faults[0] == "the bytes that were signed were changed afterwards"


def test_a_page_changed_after_signing(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    data = plan.read_bytes()
    contents = numbers(data)["contents"]
    plan.write_bytes(append(data, {contents: stream(b"0 0 100 100 re f")}))
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.ALTERED
    assert any(f"object {contents} " in fault for fault in found.signatures[0].faults)


def test_a_signature_taken_out_of_its_field(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    sign(plan, "Erection lead", own, PASSPHRASE, shelf.register)
    data = plan.read_bytes()
    number, _ = _signed_field(data)
    plan.write_bytes(append(data, {number: written(data, number)}))  # as it was issued
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.ALTERED
    assert any("signed before" in fault for report in found.signatures for fault in report.faults)


def test_what_a_signed_field_shows_can_t_be_changed(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    data = plan.read_bytes()
    _, field = _signed_field(data)
    shown = field["/AP"].raw_get("/N").idnum
    plan.write_bytes(
        append(data, {shown: stream(b"0 0 9 9 re f", b"/Type /XObject /Subtype /Form /BBox [0 0 9 9]")})
    )
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.ALTERED
    assert not found.signatures[0].holds


def test_no_byte_of_a_signature_or_of_what_it_covers_can_change(shelf: Shelf, plan: Path, own: Path) -> None:
    """Forty places spread over the file; those in the value's empty tail change nothing."""
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    data = plan.read_bytes()
    start = data.rindex(b"/Contents <")
    tail = range(data.index(b"0000000000000000", start), data.index(b">", start))
    issued = data.index(b"%%EOF")
    places = [*range(9, issued, issued // 20), *range(issued, len(data), (len(data) - issued) // 20)]
    for place in (p for p in places if p not in tail):
        changed = bytearray(data)
        changed[place] ^= 0x15
        try:
            reports = check_signatures(bytes(changed))
        except NotReadableError:
            continue
        assert not any(report.holds for report in reports), place


# -- refusals ----------------------------------------------------------------------------------


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


# -- whom a certificate is vouched for ----------------------------------------------------------


def test_a_trust_list_vouches_for_whom_it_names_and_nobody_else(
    shelf: Shelf, plan: Path, tmp_path: Path
) -> None:
    company = holder("Alder Framing (invented)", authority=True)
    theirs = holder("Aspen Dunlin", company)
    sign(plan, "Competent person", theirs.p12(tmp_path), PASSPHRASE, shelf.register)
    sign(plan, "Erection lead", holder("Larch Avocet").p12(tmp_path), PASSPHRASE, shelf.register)
    first, second = verify(plan, shelf.register, company.pem(tmp_path)).signatures
    assert (first.trusted, second.trusted) == (True, False)
    assert first.lines()[2] == "the signer's certificate is vouched for by trust.pem"
    assert second.lines()[2].startswith("the signer's certificate is NOT vouched for by trust.pem")
    assert second.holds
    other = holder("Alder Framing (invented)", authority=True)  # of the same name, with another key
    assert not any(r.trusted for r in verify(plan, shelf.register, other.pem(tmp_path)).signatures)


def test_a_certificate_that_ran_out_since_is_not_vouched_for(
    shelf: Shelf, plan: Path, tmp_path: Path
) -> None:
    past = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
    old = holder("Aspen Dunlin", first=past, last=past + dt.timedelta(days=365))
    sign(
        plan,
        "Competent person",
        old.p12(tmp_path),
        PASSPHRASE,
        shelf.register,
        now=past + dt.timedelta(days=9),
    )
    (report,) = verify(plan, shelf.register, old.pem(tmp_path)).signatures
    assert report.holds
    assert not report.trusted
    assert report.trust == (
        "the signer's certificate ran out on 2020-12-31: trust.pem can't vouch for it today"
    )


def test_a_trust_list_without_certificates(
    shelf: Shelf, plan: Path, own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    empty = tmp_path / "empty.pem"
    empty.write_bytes(b"nothing")
    for path, fault in ((empty, "holds no certificates in PEM form"), (tmp_path / "absent", "is no file")):
        with pytest.raises(SystemExit) as stop:
            cli.main(["verify", str(plan), "--trust", str(path)])
        assert stop.value.code == cli.BAD_INPUT
        assert fault in capsys.readouterr().err


# -- whom the plan names -----------------------------------------------------------------------


def test_another_than_the_plan_names_signs_and_both_say_so(
    shelf: Shelf, plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other, secret = holder("Larch Avocet").p12(tmp_path), tmp_path / "secret"
    secret.write_text(PASSPHRASE + "\n", "utf-8")
    words = ("--role", "Qualified person", "--certificate", str(other), "--passphrase-file", str(secret))
    assert _run("sign", str(plan), *words) == cli.SHORT
    apart = "signed by Larch Avocet; the plan names Jasper Kestrel, P.E. (invented) for this role"
    assert f"WARNING: {apart}" in capsys.readouterr().out
    assert _run("verify", str(plan)) == cli.SHORT
    told = capsys.readouterr().out
    assert "GENUINE AND CURRENT" in told
    assert apart in told
    (report,) = verify(plan, shelf.register).signatures
    assert report.holds
    assert not report.as_named


def test_the_alternate_releases_but_does_not_sign_off(shelf: Shelf, plan: Path, tmp_path: Path) -> None:
    """A release is the competent person's or the alternate's; the sign-off names one person."""
    alternate = holder("Olivine Plover").p12(tmp_path)
    released = sign(plan, "release of L-S1, competent person", alternate, PASSPHRASE, shelf.register)
    assert released.named is not None
    assert len(released.named) == 2
    assert not released.by_another
    assert sign(plan, "Competent person", alternate, PASSPHRASE, shelf.register).by_another
    first, second = verify(plan, shelf.register).signatures
    assert (first.as_named, second.as_named) == (True, False)


def test_a_role_without_a_name_is_noted(
    plan: Path, own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    secret = tmp_path / "secret"
    secret.write_text(PASSPHRASE, "utf-8")
    words = ("--role", "General contractor", "--certificate", str(own), "--passphrase-file", str(secret))
    assert _run("sign", str(plan), *words) == 0
    assert "note: the plan names nobody for this role" in capsys.readouterr().out
    assert _run("verify", str(plan)) == 0


@pytest.mark.parametrize(
    ("name", "signer", "same"),
    [
        ("Jasper Kestrel, P.E. (invented)", "Jasper Kestrel", True),
        ("Jasper Kestrel, P.E. (invented)", "KESTREL Jasper, P.E.", True),
        ("Olmo Jilguero Piñón", "olmo jilguero pinon", True),
        ("Aspen Dunlin", "Dunlin Aspen", True),
        ("Aspen Dunlin", "Dunlin, Aspen", False),  # a comma ends a name: rather said than missed
        ("Aspen Dunlin", "A. Dunlin", False),
        ("Aspen Dunlin", "Aspen Dunlin Jr", False),
        ("(invented)", "(invented)", False),  # no name at all
    ],
)
def test_names_agree_by_their_words(name: str, signer: str, same: bool) -> None:
    assert same_person(name, signer) is same


def test_a_role_is_known_in_every_language_of_the_plan() -> None:
    job = load(MENDED).model
    english = named_for(job, "Tagged out by: competent person")
    assert english == named_for(job, "La sacó de uso: persona competente") != ()
    assert named_for(job, "Receipt check done by") == ()


# -- the command line --------------------------------------------------------------------------


def _run(*words: str) -> int:
    with pytest.raises(SystemExit) as stop:
        cli.main(list(words))
    assert isinstance(stop.value.code, int)
    return stop.value.code


def test_commands(plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    person = holder("Aspen Dunlin")
    own, secret = person.p12(tmp_path), tmp_path / "secret"
    secret.write_text(PASSPHRASE + "\n", "utf-8")
    words = ("sign", str(plan), "--role", "Competent person", "--certificate", str(own))
    assert _run(*words) == cli.BAD_INPUT
    assert "no terminal to ask for the passphrase on; give --passphrase-file" in capsys.readouterr().err
    assert _run(*words, "--passphrase-file", str(secret)) == 0
    assert "signed by Aspen Dunlin as 'Competent person', page 1" in capsys.readouterr().out
    assert _run("verify", str(plan)) == 0
    told = capsys.readouterr().out
    assert "GENUINE AND CURRENT" in told
    assert "signature of Aspen Dunlin as 'Competent person'" in told
    assert _run("verify", str(plan), "--trust", str(person.pem(tmp_path))) == 0
    assert _run("verify", str(plan), "--trust", str(holder("A. Other").pem(tmp_path))) == cli.SHORT


def test_a_plan_that_no_register_knows_is_signed_with_a_note(
    plan: Path, own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    elsewhere = tmp_path / "elsewhere" / "plan.pdf"
    elsewhere.parent.mkdir()
    shutil.copy(plan, elsewhere)
    secret = tmp_path / "secret"
    secret.write_text(PASSPHRASE, "utf-8")
    words = ("--role", "Competent person", "--certificate", str(own), "--passphrase-file", str(secret))
    assert _run("sign", str(elsewhere), *words, "--register", str(elsewhere.parent / "none.sqlite")) == 0
    assert "note: no register here knows this plan" in capsys.readouterr().out


def test_without_the_extra(
    plan: Path, own: Path, shelf: Shelf, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    for name in [
        n
        for n in sys.modules
        if n.split(".")[0] == "pyhanko" or n.endswith(("register.signing", "register.signature_checks"))
    ]:
        monkeypatch.delitem(sys.modules, name)
    for name in ("pyhanko", "pyhanko.keys", "pyhanko.pdf_utils", "pyhanko.pdf_utils.content"):
        monkeypatch.setitem(sys.modules, name, None)
    assert _run("sign", str(plan), "--role", "Erection lead", "--certificate", str(own)) == cli.BAD_INPUT
    assert "needs planforge's extra 'sign': pip install 'planforge[sign]'" in capsys.readouterr().err
    assert _run("verify", str(plan)) == 0
    told = capsys.readouterr().out
    assert "1 signature(s)" in told
    assert "whether they hold, was not checked" in told
    assert _run("verify", str(plan), "--trust", str(own)) == cli.BAD_INPUT
