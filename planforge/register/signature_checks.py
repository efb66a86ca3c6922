"""What each signature in a file is worth: whose, over which bytes, and what was done after it.

Needs the extra ``sign``. A signature *holds* where the signed bytes give its value with the key of the
certificate inside, they are a whole state of the file, and nothing was appended after them but filled-in
fields and further signatures (:mod:`planforge.register.additions`). That says nothing about who holds the
key: a certificate is vouched for only by a list that the user names, and no server is asked about any.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from pyhanko.keys import load_certs_from_pemder
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import (
    EmbeddedPdfSignature,
    PdfSignatureStatus,
    SignatureCoverageLevel,
    validate_pdf_signature,
)
from pyhanko.sign.validation.settings import KeyUsageConstraints
from pyhanko_certvalidator import ValidationContext

from planforge.errors import PlanforgeError
from planforge.register.additions import Additions, additions
from planforge.register.pdf import NotReadableError
from planforge.register.signature_report import SignatureReport

_WHOLE: Final = (SignatureCoverageLevel.ENTIRE_FILE, SignatureCoverageLevel.ENTIRE_REVISION)
_USES: Final = KeyUsageConstraints(
    key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False
)
UNCHECKED: Final = "the signer's certificate is not checked against a trust list"

for _name in ("pyhanko", "pyhanko_certvalidator"):
    logging.getLogger(_name).addHandler(logging.NullHandler())  # they grumble about what is judged here


def check_signatures(data: bytes, trust: Path | None = None) -> tuple[SignatureReport, ...]:
    """Check every signature in a PDF, in the order in which they were made.

    ``trust`` is a PEM file of certificates that the user trusts, as issuers or for themselves. Raises
    :class:`PlanforgeError` for such a file that can't be read, and :class:`NotReadableError` for a form that
    can't.
    """
    roots = _roots(trust) if trust else ()
    try:
        reader = PdfFileReader(BytesIO(data))
        signatures = list(reader.embedded_regular_signatures)
    except Exception as error:  # appended by anyone: it can raise anything in the reader
        raise NotReadableError(f"its signatures can't be read ({type(error).__name__})") from error
    return tuple(_report(signature, data, roots, trust) for signature in signatures)


def _roots(path: Path) -> tuple[Any, ...]:
    try:
        roots = tuple(load_certs_from_pemder([str(path)]))  # type: ignore[no-untyped-call]
    except OSError as error:
        raise PlanforgeError(f"{path} can't be read: {error.strerror}.") from error
    except ValueError as error:
        raise PlanforgeError(f"{path} holds no certificates in PEM form.") from error
    if not roots:
        raise PlanforgeError(f"{path} holds no certificates in PEM form.")
    return roots


def _report(
    signature: EmbeddedPdfSignature, data: bytes, roots: Sequence[Any], trust: Path | None
) -> SignatureReport:
    field = str(signature.field_name)
    try:
        read = _read(signature, data, roots)
    except Exception as error:  # appended by anyone, as above
        return SignatureReport.unreadable(field, len(data), type(error).__name__)
    status, after = read.status, read.after
    trusted, words = _trust(status, trust)
    return SignatureReport(
        field=field,
        role=read.role,
        signer=signer_name(status.signing_cert),
        issuer=_text_of(status.signing_cert.issuer),
        stated_time=read.stated_time,
        covered=read.end,
        total=len(data),
        filled_after=after.filled,
        signed_after=after.signed,
        faults=(*_faults(status), *after.faults),
        trusted=trusted,
        trust=words,
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """What could be read of one signature."""

    role: str
    end: int
    stated_time: dt.datetime | None
    status: PdfSignatureStatus
    after: Additions


def _read(signature: EmbeddedPdfSignature, data: bytes, roots: Sequence[Any]) -> _Read:
    context = ValidationContext(trust_roots=list(roots), allow_fetching=False)
    status = validate_pdf_signature(signature, context, key_usage_settings=_USES, skip_diff=True)
    *_, start, length = signature.byte_range
    end = int(start) + int(length)
    role = str(signature.sig_field.get("/TU", signature.field_name))
    stated = signature.self_reported_timestamp
    return _Read(role, end, stated and stated.astimezone(dt.UTC), status, _after(end, data, status))


def _text_of(name: Any) -> str:
    return str(name.native.get("common_name") or name.human_friendly)


def signer_name(certificate: Any) -> str:
    """The common name in a certificate, or all that it says of its holder."""
    return _text_of(certificate.subject)


def _faults(status: PdfSignatureStatus) -> Iterator[str]:
    if not status.intact:
        yield "the bytes that were signed were changed afterwards"
    elif not status.valid:
        yield "its value does not come from the key of the certificate inside"
    if status.coverage not in _WHOLE:
        yield "it does not cover a whole state of the file"


def _after(end: int, data: bytes, status: PdfSignatureStatus) -> Additions:
    """What was appended after a signature; none is told where it covers no whole state of the file."""
    if end == len(data) or status.coverage not in _WHOLE:
        return Additions(0, 0, ())
    return additions(data[:end], data)


def _trust(status: PdfSignatureStatus, trust: Path | None) -> tuple[bool | None, str]:
    """Whether the trust list vouches for the certificate today, and in words; None without a list."""
    if trust is None:
        return None, UNCHECKED
    last = status.signing_cert.not_valid_after
    if last < dt.datetime.now(dt.UTC):  # also where the list names it itself
        words = f"the signer's certificate ran out on {last.date()}: {trust.name} can't vouch for it today"
        return False, words
    if status.trusted:
        return True, f"the signer's certificate is vouched for by {trust.name}"
    return False, f"the signer's certificate is NOT vouched for by {trust.name}"
