"""What is found of one signature, and how it is said."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from planforge.register.named_signers import compared, same_person

REVOKED: Final = "whether that certificate was revoked is not checked: no server is asked"


@dataclass(frozen=True, slots=True)
class SignatureReport:
    """One signature in a file. Sizes in bytes."""

    field: str
    role: str
    signer: str
    """Whom the certificate names; anyone can make a certificate in any name."""
    issuer: str
    stated_time: dt.datetime | None
    """By the signer's own clock."""
    covered: int
    """Up to where the file is signed; the signature's own value is left out of it."""
    total: int
    filled_after: int
    signed_after: int
    faults: tuple[str, ...]
    """Why it does not hold."""
    trusted: bool | None
    """Whether a trust list vouches for the certificate; None without a list."""
    trust: str
    named: tuple[str, ...] | None = None
    """Whom the plan names for the role; None where no job inside can be read."""

    @classmethod
    def unreadable(cls, field: str, total: int, why: str) -> SignatureReport:
        """A signature that can't be followed, which therefore holds nothing."""
        faults = (f"it can't be followed ({why})",)
        return cls(field, field, "nobody who can be told", "", None, 0, total, 0, 0, faults, None, "")

    @property
    def holds(self) -> bool:
        """True where the signed bytes stand and nothing but filling in and signing came after them."""
        return not self.faults

    @property
    def as_named(self) -> bool:
        """False where the plan names others for the role than the signer."""
        return not self.named or any(same_person(name, self.signer) for name in self.named)

    def lines(self) -> tuple[str, ...]:
        """The report in words, the first line a heading."""
        when = (
            f", {self.stated_time:%Y-%m-%d %H:%M} UTC by the signer's own clock" if self.stated_time else ""
        )
        head = f"signature of {self.signer} as {self.role!r} (field {self.field}{when})"
        if self.faults:
            told = f"DOES NOT HOLD: {'; '.join(self.faults)}"
        elif self.covered == self.total:
            told = f"holds over the whole file, {self.total} bytes; nothing was changed after it"
        else:
            told = (
                f"holds over the first {self.covered} of {self.total} bytes; after it {self.filled_after} "
                f"field(s) filled in, {self.signed_after} signature(s), nothing else"
            )
        issued = f"; it names {self.issuer} as its issuer" if self.issuer and not self.trusted else ""
        trust = (self.trust + issued, REVOKED) if self.trust else ()
        apart = compared(self.signer, self.named) if self.named is not None else ""
        return (head, told, *trust, *((apart,) if apart else ()))
