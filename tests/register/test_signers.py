"""Whom a certificate is vouched for, and whom the plan names for a role."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from planforge import cli
from planforge.job.loading import load
from planforge.register.named_signers import named_for, same_person
from planforge.register.signing import sign
from planforge.register.verifying import verify
from tests.command import run

from .certificates import PASSPHRASE, holder
from .conftest import MENDED, Shelf


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
        code, _, err = run(capsys, "verify", str(plan), "--trust", str(path))
        assert code == cli.BAD_INPUT
        assert fault in err


def test_another_than_the_plan_names_signs_and_both_say_so(
    shelf: Shelf, plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other, secret = holder("Larch Avocet").p12(tmp_path), tmp_path / "secret"
    secret.write_text(PASSPHRASE + "\n", "utf-8")
    words = ("--role", "Qualified person", "--certificate", str(other), "--passphrase-file", str(secret))
    code, out, _ = run(capsys, "sign", str(plan), *words)
    assert code == cli.SHORT
    apart = "signed by Larch Avocet; the plan names Jasper Kestrel, P.E. (invented) for this role"
    assert f"WARNING: {apart}" in out
    code, told, _ = run(capsys, "verify", str(plan))
    assert code == cli.SHORT
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
    code, out, _ = run(capsys, "sign", str(plan), *words)
    assert code == 0
    assert "note: the plan names nobody for this role" in out
    assert run(capsys, "verify", str(plan))[0] == 0


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
