"""What a PDF is to a register: genuine and current, superseded, a draft, altered, or unknown.

Two things can be told. What the file says of itself (its identifier over its own bytes, the attached job
against the fingerprint) shows accidents and plain edits; whoever knows how can forge it. What the register
holds (the SHA-256 of the file as written) can't be forged without the register. Only the register makes a
plan genuine.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

from planforge import __version__
from planforge.errors import PlanforgeError
from planforge.register.additions import additions
from planforge.register.decision import templates_digest
from planforge.register.entry import Entry, Status, current, number_key, of_number
from planforge.register.extra import ExtraMissingError, signing_part
from planforge.register.fingerprint import canonical, plan_fingerprint
from planforge.register.issued import original
from planforge.register.jobs import load_text
from planforge.register.named_signers import named_for, named_in
from planforge.register.pdf import Identity, NotReadableError, attached_job, identity, open_pdf, read_bounded
from planforge.register.register import Register
from planforge.register.signature_report import SignatureReport

_MOST_TRUST = 4 << 20
_SIGNATURE = b"/ByteRange"
"""What every signature has, unpacked (ISO 32000-1, 12.8.1)."""


class Verdict(StrEnum):
    """What a file is to a register."""

    CURRENT = "genuine and current"
    SUPERSEDED = "genuine but superseded"
    DRAFT = "a draft, never issued"
    ALTERED = "altered"
    UNKNOWN = "unknown to this register"
    NO_PLAN = "no plan of planforge's"


@dataclass(frozen=True, slots=True)
class Verified:
    """The verdict, what the file says it is (None for no plan), the reasons in words, and its signatures.

    ``signatures`` is empty where there are none, and where the extra to check them is not installed.
    """

    verdict: Verdict
    stated: Identity | None
    reasons: tuple[str, ...]
    signatures: tuple[SignatureReport, ...] = ()


@dataclass(frozen=True, slots=True)
class _File:
    """What can be told from the file alone."""

    stated: Identity
    sha256: str
    """Of the bytes as issued; of the whole file where those can't be told."""
    altered: tuple[str, ...]
    added: tuple[str, ...]
    job: str | None
    gives: str | None
    """The fingerprint that the attached job gives under this version; None where no job can be read."""


def verify(path: Path, register: Register, trust: Path | None = None) -> Verified:
    """Judge a PDF, its signatures too; one that does not hold makes the plan altered.

    ``trust`` is a PEM file of certificates that the user trusts to vouch for signers. Raises
    :class:`PlanforgeError` for a file, a register or a trust list that can't be read.
    """
    data = read_bounded(path)
    if trust is not None:
        _look_at(trust)
    found = _judged(data, register)
    if found.verdict is Verdict.NO_PLAN or original(data) == data:  # issued without a signature
        return found
    try:
        checked = signing_part("signature_checks").check_signatures(data, trust)
        reports = _named(checked, original(data))
    except ExtraMissingError as error:
        if trust is not None:
            raise
        if _SIGNATURE not in data:
            return found
        note = f"whose the signatures are, and whether they hold, was not checked: {error}"
        return replace(found, reasons=(*found.reasons, note))
    except NotReadableError as error:
        return replace(found, verdict=Verdict.ALTERED, reasons=(str(error), *found.reasons))
    if all(report.holds for report in reports):
        return replace(found, signatures=reports)
    reasons = ("a signature in it does not hold", *found.reasons)
    return replace(found, verdict=Verdict.ALTERED, reasons=reasons, signatures=reports)


def _look_at(trust: Path) -> None:
    try:
        size = trust.stat().st_size if trust.is_file() else -1
    except OSError as error:
        raise PlanforgeError(f"{trust} can't be read: {error.strerror}.") from error
    if size < 0:
        raise PlanforgeError(f"{trust} is no file; name the certificates to trust (PEM).")
    if size > _MOST_TRUST:
        raise PlanforgeError(f"{trust} is larger than {_MOST_TRUST >> 20} MiB; no trust list is.")


def _named(reports: tuple[SignatureReport, ...], issued: bytes | None) -> tuple[SignatureReport, ...]:
    """The reports with whom the plan, as issued, names for each role."""
    job = named_in(issued) if reports and issued is not None else None
    return tuple(replace(r, named=named_for(job, r.role)) for r in reports) if job else reports


def _judged(data: bytes, register: Register) -> Verified:
    """The verdict on the plan itself."""
    try:
        file = _file(data)
    except NotReadableError as error:
        return Verified(Verdict.NO_PLAN, None, (str(error),))
    if file is None:
        return Verified(
            Verdict.NO_PLAN, None, ("its metadata name no plan number, revision and fingerprint",)
        )
    entries = register.entries()
    if file.altered:
        return Verified(Verdict.ALTERED, file.stated, (*file.altered, *_claimed(file, entries)))
    entry = next((e for e in entries if e.sha256 == file.sha256), None)
    if entry is not None:
        verdict, words = _known(entry, entries)
        return Verified(verdict, file.stated, (*words, *file.added, *_recomputed(file, entry)))
    return _not_held(file, entries, register)


def _file(data: bytes) -> _File | None:
    issued = original(data)
    reader = open_pdf(data if issued is None else issued)  # number, revision and job as issued
    stated = identity(reader)
    if stated is None:
        return None
    altered: tuple[str, ...] = ()
    added: list[str] = []
    if issued is None:
        altered = (
            "its bytes are not those that planforge wrote: it was edited, damaged, or saved anew as a whole "
            "by another program. What its pages say now can't be vouched for",
        )
    elif len(issued) < len(data):
        altered, added = _appended(issued, data)
    digest = hashlib.sha256(data if issued is None else issued).hexdigest()
    job = attached_job(reader)
    return _File(stated, digest, altered, tuple(added), job, _fingerprint(job))


def _appended(issued: bytes, data: bytes) -> tuple[tuple[str, ...], list[str]]:
    try:
        found = additions(issued, data)
    except NotReadableError as error:
        return (str(error),), []
    if found.faults:
        return ("more was done to it after issue than filling in and signing", *found.faults), []
    if not found.filled + found.signed:
        return (), ["something was appended after issue that changes neither pages nor fields"]
    return (), [
        f"filled in or signed after issue, the issued pages unchanged: {found.filled} field(s) filled in, "
        f"{found.signed} signature(s)"
    ]


def _known(entry: Entry, entries: tuple[Entry, ...]) -> tuple[Verdict, list[str]]:
    """The verdict on a file that the register holds, to the byte."""
    now = current(entries, entry.number)
    if entry.status is Status.ISSUED:
        return Verdict.CURRENT, [f"issued on {entry.date}, prepared by {entry.prepared_by}"]
    if entry.status is Status.DRAFT:
        return Verdict.DRAFT, _instead(now)
    follower = next((e for e in of_number(entries, entry.number) if e.supersedes == entry.revision), None)
    words = [f"superseded by revision {follower.revision}, issued on {follower.date}"] if follower else []
    return Verdict.SUPERSEDED, words + _instead(now)


def _instead(now: Entry | None) -> list[str]:
    if now is None:
        return ["no revision of this number is issued"]
    return [f"current is revision {now.revision}, issued on {now.date}: {now.file}"]


def _not_held(file: _File, entries: tuple[Entry, ...], register: Register) -> Verified:
    """The verdict on an untouched file that the register does not hold to the byte."""
    if file.stated.draft:
        return Verified(Verdict.DRAFT, file.stated, tuple(_instead(current(entries, file.stated.number))))
    same = _same_plan(file, entries)
    if file.gives == file.stated.fingerprint:
        reason = "nobody has written in it, and the job inside gives its fingerprint"
        return Verified(Verdict.UNKNOWN, file.stated, (reason, *_why_unknown(file, same, register)))
    if same is not None and same.fingerprint == file.stated.fingerprint:
        agrees = file.job is not None and _canonical(file.job) == _canonical(register.job(same))
        if not agrees or (same.version == __version__ and same.templates == templates_digest()):
            reason = (
                "it bears the number, revision and fingerprint of a plan in the register, but its bytes and "
                "the job inside are others"
            )
            return Verified(Verdict.ALTERED, file.stated, (reason, *_instead(current(entries, same.number))))
    reason = (
        "the job inside does not give its fingerprint. The fingerprint takes in planforge's version and "
        f"templates: it was issued by another version than this one ({__version__}) or with other templates, "
        "or the job inside was changed; which, can't be told here"
    )
    return Verified(Verdict.UNKNOWN, file.stated, (reason, *_why_unknown(file, same, register)))


def _same_plan(file: _File, entries: tuple[Entry, ...]) -> Entry | None:
    """The plan of the register under the number and revision that the file bears."""
    key = (number_key(file.stated.number), file.stated.revision, file.stated.draft)
    return next((e for e in entries if e.key == key), None)


def _why_unknown(file: _File, same: Entry | None, register: Register) -> list[str]:
    if not register.path.exists():
        return [f"there is no register at {register.path}; name it with --register"]
    if same is None:
        return [f"{register.path} holds no {file.stated.number} revision {file.stated.revision}"]
    if same.fingerprint == file.stated.fingerprint:
        return [
            f"{register.path} holds the same job under this number and revision, issued on {same.date} as "
            f"{same.file}; this file is dated {file.stated.date} and was issued elsewhere. Work from "
            f"{same.file}"
        ]
    return [
        f"{register.path} holds ANOTHER plan under this number and revision, issued on {same.date} as "
        f"{same.file}: do not work from this one"
    ]


def _claimed(file: _File, entries: tuple[Entry, ...]) -> list[str]:
    """What an altered file was, as far as its own words go."""
    words = [
        "the job inside still gives the fingerprint it bears"
        if file.gives == file.stated.fingerprint
        else "the job inside does not give the fingerprint it bears, under this version of planforge "
        f"({__version__}) and its templates"
        if file.gives
        else "there is no job inside that can be read"
    ]
    same = _same_plan(file, entries)
    return words + ([f"the plan of that number and revision as issued: {same.file}"] if same else [])


def _recomputed(file: _File, entry: Entry) -> list[str]:
    """A word on the fingerprint of a file that the register holds to the byte."""
    if file.gives == file.stated.fingerprint:
        return ["the job inside gives the fingerprint again"]
    made = f"planforge {entry.version}" + (
        "" if entry.templates == templates_digest() else ", other templates"
    )
    return [
        f"the fingerprint can't be worked out anew here: it was made with {made}; this is {__version__}. "
        "The bytes are those that the register holds"
    ]


def _fingerprint(job: str | None) -> str | None:
    if job is None:
        return None
    try:
        return plan_fingerprint(load_text(job, "the job inside").model)
    except PlanforgeError:
        return None


def _canonical(job: str) -> bytes | None:
    try:
        return canonical(load_text(job, "the job inside").model)
    except PlanforgeError:
        return None
