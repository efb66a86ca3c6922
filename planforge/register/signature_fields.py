"""The fields of a plan that are there to be signed: as whom, where, and whether someone has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from planforge.errors import RefusedError
from planforge.register.pdf import NotReadableError


@dataclass(frozen=True, slots=True)
class SignatureField:
    """One field: its name in the form, the role that signs there, its page from 1, its size in points."""

    name: str
    role: str
    page: int
    width: float
    height: float
    signed: bool


def signature_fields(reader: Any) -> tuple[SignatureField, ...]:
    """The signature fields that stand on the pages of an open PDF, in the order of the pages.

    Raises :class:`NotReadableError` for a form that can't be read.
    """
    try:
        return tuple(_fields(reader))
    except Exception as error:  # a garbled file can raise anything in the reader
        raise NotReadableError(f"its form can't be read ({type(error).__name__})") from error


def _fields(reader: Any) -> Iterator[SignatureField]:
    for page, content in enumerate(reader.pages, start=1):
        for held in content.get("/Annots", ()):
            field = held.get_object()
            if field.get("/FT") != "/Sig" or "/T" not in field:
                continue
            left, bottom, right, top = (float(n) for n in field["/Rect"])
            if right > left and top > bottom:
                name = str(field["/T"])
                role = str(field.get("/TU", name))
                yield SignatureField(name, role, page, right - left, top - bottom, "/V" in field)


def open_field(fields: tuple[SignatureField, ...], role: str) -> SignatureField:
    """The first field that ``role`` has still to sign; capitals don't count.

    Raises :class:`RefusedError`, which names the roles, where there is none.
    """
    own = [field for field in fields if _plain(field.role) == _plain(role)]
    still = [field for field in own if not field.signed]
    if still:
        return still[0]
    if own:
        raise RefusedError(f"{own[0].role!r} has signed already (page {own[0].page}). Nothing was changed.")
    roles = [f"{field.role!r} (page {field.page})" for field in fields if not field.signed]
    known = f"open are: {', '.join(roles)}" if roles else "no field is open for a signature"
    raise RefusedError(f"this plan has no field for the role {role!r}; {known}. Nothing was changed.")


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()
