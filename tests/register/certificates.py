"""Certificates of invented people, made anew for each run; none is kept."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    pkcs12,
)
from cryptography.x509.oid import NameOID

PASSPHRASE = "wren in the hedge"
_NOW = dt.datetime.now(dt.UTC)
_USES = dict.fromkeys(
    (
        *("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign"),
        *("encipher_only", "decipher_only"),
    ),
    False,
)

Key = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey


@dataclass(frozen=True)
class Holder:
    """Someone with a key and a certificate."""

    key: Key
    certificate: x509.Certificate

    def pem(self, folder: Path, name: str = "trust.pem") -> Path:
        """The certificate alone, as a trust list."""
        path = folder / name
        path.write_bytes(self.certificate.public_bytes(Encoding.PEM))
        return path

    def p12(self, folder: Path, name: str = "own.p12", passphrase: str = PASSPHRASE) -> Path:
        """Key and certificate in one file."""
        path = folder / name
        packing = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
        path.write_bytes(
            pkcs12.serialize_key_and_certificates(b"own", self.key, self.certificate, None, packing)
        )
        return path


def holder(
    name: str,
    issuer: Holder | None = None,
    *,
    authority: bool = False,
    rsa_key: bool = False,
    first: dt.datetime = _NOW - dt.timedelta(days=1),
    last: dt.datetime = _NOW + dt.timedelta(days=30),
) -> Holder:
    """A holder whose certificate ``issuer`` signed, or no one else did."""
    key: Key = rsa.generate_private_key(65537, 2048) if rsa_key else ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    uses = {**_USES, "key_cert_sign": authority, "crl_sign": authority}
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer.certificate.subject if issuer else subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(first)
        .not_valid_after(last)
        .add_extension(x509.BasicConstraints(ca=authority, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(digital_signature=True, content_commitment=True, **uses), critical=True)
        .sign(issuer.key if issuer else key, hashes.SHA256())
    )
    return Holder(key, made)
