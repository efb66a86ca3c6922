"""Signing a plan with a certificate: one field, appended to the file, so that what was issued stays as it is.

Needs the extra ``sign``. No private key or passphrase is kept or written anywhere. The time in a signature is
the signer's own clock's; no server is asked for another, and none for the certificate.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Final

from cryptography.hazmat.primitives.serialization import pkcs12
from pyhanko.pdf_utils.content import PdfContent
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import AxisAlignment, BoxConstraints, SimpleBoxLayoutRule
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import SigSeedSubFilter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner
from pyhanko.stamp import StaticStampStyle
from reportlab.pdfgen.canvas import Canvas

from planforge.document import fonts
from planforge.document.finish import write_whole
from planforge.errors import PlanforgeError, RefusedError
from planforge.register.additions import additions
from planforge.register.issued import original
from planforge.register.named_signers import compared, named_for, named_in, same_person
from planforge.register.pdf import NotReadableError, open_pdf, read_bounded
from planforge.register.register import Register
from planforge.register.signature_checks import signer_name
from planforge.register.signature_fields import SignatureField, open_field, signature_fields
from planforge.register.verifying import Verdict, verify

_MOST_CERTIFICATE: Final = 1 << 20
_DIGEST: Final = "sha256"
_STAMP_SIZE: Final = 8.0
_STAMP_READABLE: Final = 6.0
_STAMP_LEAST: Final = 4.0
_STAMP_MARGIN: Final = 1.0
_REFUSED: Final = {
    Verdict.ALTERED: "it was altered",
    Verdict.DRAFT: "it is a draft, which nobody signs",
    Verdict.SUPERSEDED: "it is superseded",
    Verdict.NO_PLAN: "it is no plan of planforge's",
}


@dataclass(frozen=True, slots=True)
class Signed:
    """What was signed: the field, and whose certificate did."""

    field: SignatureField
    signer: str
    verdict: Verdict
    """What the plan was to the register before it was signed."""
    named: tuple[str, ...] | None
    """Whom the plan names for the role; None where no job inside can be read."""

    @property
    def by_another(self) -> bool:
        """True where the plan names others for the role than the signer."""
        return bool(self.named) and not any(same_person(name, self.signer) for name in self.named or ())

    @property
    def apart(self) -> str:
        """How the signer stands to whom the plan names, in words; empty where the names agree."""
        return compared(self.signer, self.named) if self.named is not None else ""


def sign(
    path: Path,
    role: str,
    certificate: Path,
    passphrase: str,
    register: Register,
    *,
    now: dt.datetime | None = None,
) -> Signed:
    """Sign the plan at ``path`` in the field of ``role``, in place: whole or not at all.

    ``certificate`` is a PKCS #12 file with one private key; ``now`` replaces the clock for its dates and
    for what the field shows. Raises :class:`RefusedError` for a plan altered, superseded or a draft, a
    role without an open field, a certificate that can't be used, and a file that someone else wrote to
    meanwhile.
    """
    data = read_bounded(path)
    judged = verify(path, register)
    if judged.verdict in _REFUSED:
        why = "; ".join(judged.reasons[:2])
        raise RefusedError(f"{path} is not signed: {_REFUSED[judged.verdict]} ({why}). Nothing was changed.")
    moment = now or dt.datetime.now(dt.UTC)
    try:
        field = open_field(signature_fields(open_pdf(data)), role)
    except NotReadableError as error:
        raise RefusedError(f"{path} is not signed: {error}. Nothing was changed.") from error
    signer = _signer(certificate, passphrase, moment)
    name = signer_name(signer.signing_cert)
    signed = _appended(data, field, signer, name, moment)
    _check(data, signed)
    if read_bounded(path) != data:
        raise RefusedError(f"{path} was written to while it was signed; sign again. Nothing was changed.")
    write_whole(path, signed)
    job = named_in(data)
    return Signed(field, name, judged.verdict, named_for(job, field.role) if job else None)


def _signer(path: Path, passphrase: str, now: dt.datetime) -> SimpleSigner:
    """The key and certificates of a PKCS #12 file."""
    try:
        with path.open("rb") as file:
            content = file.read(_MOST_CERTIFICATE + 1)
    except OSError as error:
        raise RefusedError(f"{path} can't be read: {error.strerror}. Nothing was changed.") from error
    if len(content) > _MOST_CERTIFICATE:
        raise RefusedError(f"{path} is too large for a certificate. Nothing was changed.")
    secret = passphrase.encode("utf-8") or None
    try:
        key, own, _ = pkcs12.load_key_and_certificates(content, secret)
    except ValueError as error:
        raise RefusedError(
            f"{path} can't be opened: the passphrase is wrong, or it is no PKCS #12 file (.p12, .pfx). "
            "Nothing was changed."
        ) from error
    if key is None or own is None:
        raise RefusedError(
            f"{path} holds no private key with its certificate; export both into one PKCS #12 file. "
            "Nothing was changed."
        )
    first, last = own.not_valid_before_utc, own.not_valid_after_utc
    if not first <= now <= last:
        raise RefusedError(
            f"the certificate in {path} is valid from {first.date()} to {last.date()}, not on {now.date()}. "
            "Nothing was changed."
        )
    signer: SimpleSigner = SimpleSigner.load_pkcs12_data(content, other_certs=[], passphrase=secret)
    return signer


def _appended(
    data: bytes, field: SignatureField, signer: SimpleSigner, name: str, moment: dt.datetime
) -> bytes:
    """The file with the signature appended (ISO 32000-1, 12.8; PAdES baseline B, ETSI EN 319 142-1)."""
    shown = (name, f"{moment.astimezone(dt.UTC):%Y-%m-%d %H:%M} UTC")
    style = StaticStampStyle(
        border_width=0,
        background=_Picture(_stamp(shown, field)),
        background_layout=SimpleBoxLayoutRule(AxisAlignment.ALIGN_MIN, AxisAlignment.ALIGN_MIN),
    )
    about = PdfSignatureMetadata(
        field_name=field.name,
        md_algorithm=_DIGEST,
        subfilter=SigSeedSubFilter.PADES,
        name=name,
        reason=field.role,
    )
    try:
        writer = IncrementalPdfFileWriter(BytesIO(data))
        signed = PdfSigner(about, signer, stamp_style=style).sign_pdf(writer, existing_fields_only=True)
    except (SigningError, ValueError) as error:
        raise PlanforgeError(f"the plan can't be signed: {error}. Nothing was changed.") from error
    return bytes(signed.getbuffer())


def _stamp(lines: tuple[str, str], field: SignatureField) -> bytes:
    """What the field shows once it is signed, as a page of its size: in one line where that can be read."""
    fonts.font(fonts.REGULAR)
    size = (field.width, field.height)
    canvas = Canvas(BytesIO(), pagesize=size, invariant=1, initialFontName=fonts.REGULAR, pageCompression=1)
    room = size[0] - 2 * _STAMP_MARGIN
    natural = fonts.width(", ".join(lines), fonts.REGULAR, 1.0)
    shown = (", ".join(lines),) if natural * _STAMP_READABLE <= room else lines
    line_height = size[1] / len(shown)
    for row, line in enumerate(shown, start=1):
        most = min(_STAMP_SIZE, 0.8 * line_height)
        fitted, points = fonts.fit(line, fonts.REGULAR, most, room, min(most, _STAMP_LEAST))
        middle = size[1] - (row - 0.5) * line_height
        fonts.draw(canvas, _STAMP_MARGIN, middle - 0.25 * points, fitted, fonts.REGULAR, points)
    canvas.showPage()
    data: bytes = canvas.getpdfdata()
    return data


class _Picture(PdfContent):
    """A page of another PDF, drawn with the fonts that it embeds."""

    def __init__(self, page: bytes) -> None:
        self._page = page
        super().__init__()

    def render(self) -> bytes:
        """Take the page over and show it."""
        assert self.writer is not None  # the stamp sets it before it asks for the drawing
        drawing = self.writer.import_page_as_xobject(PdfFileReader(BytesIO(self._page)))
        self.resources.xobject["/Stamp"] = drawing
        left, bottom, right, top = drawing.get_object()["/BBox"]
        self.box = BoxConstraints(width=right - left, height=top - bottom)
        return b"/Stamp Do"


def _check(before: bytes, signed: bytes) -> None:
    """See that what was issued stands, and that nothing else was appended than a signature."""
    issued = original(signed)
    if issued is None or issued != original(before):
        raise PlanforgeError("the signature would have changed the issued bytes. Nothing was changed.")
    found = additions(before, signed)
    if found.faults or found.signed != 1 or found.filled:
        faults = "; ".join(found.faults) or "not one signature alone"
        raise PlanforgeError(f"signing would have done more than sign: {faults}. Nothing was changed.")
