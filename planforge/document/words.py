"""The few words the engine itself prints, by language; everything else stands in the templates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from planforge.errors import RefusedError

Verdict = Literal["meets", "short", "confirm", "not applicable"]
Language = Literal["en", "es"]


@dataclass(frozen=True, slots=True)
class Words:
    """Fixed words of headers, title blocks and verdict tags in one language."""

    document: str
    plan: str
    revision: str
    lot: str
    date: str
    fingerprint: str
    sheet: str
    sheet_of: str
    scale: str
    page_of: str
    draft: str
    draft_band: str
    empty_table: str
    name: str
    signature: str
    verdicts: dict[Verdict, str]


WORDS: Final[dict[str, Words]] = {
    "en": Words(
        document="Document",
        plan="Plan",
        revision="Rev",
        lot="Lot",
        date="Date",
        fingerprint="Fingerprint",
        sheet="Sheet",
        sheet_of="Sheet {number} of {sheets}",
        scale="Scale",
        page_of="Page {page} of {pages}",
        draft="DRAFT",
        draft_band="DRAFT – NOT FOR USE",
        empty_table="None stated.",
        name="Name",
        signature="Signature",
        verdicts={
            "meets": "meets",
            "short": "SHORT",
            "confirm": "confirm",
            "not applicable": "not applicable",
        },
    ),
    "es": Words(
        document="Documento",
        plan="Plan",
        revision="Rev.",
        lot="Lote",
        date="Fecha",
        fingerprint="Huella",
        sheet="Lámina",
        sheet_of="Lámina {number} de {sheets}",
        scale="Escala",
        page_of="Página {page} de {pages}",
        draft="BORRADOR",
        draft_band="BORRADOR – NO USAR",
        empty_table="Ninguno indicado.",
        name="Nombre",
        signature="Firma",
        verdicts={
            "meets": "cumple",
            "short": "NO CUMPLE",
            "confirm": "confirmar",
            "not applicable": "no aplica",
        },
    ),
}


def words(language: str) -> Words:
    """Return the words of ``language``; raise :class:`RefusedError` for one without words."""
    if language not in WORDS:
        raise RefusedError(f"no words for language {language!r}; known: {', '.join(sorted(WORDS))}")
    return WORDS[language]
