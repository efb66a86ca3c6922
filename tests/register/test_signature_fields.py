"""The fields that wait for a signature: whose they are, and what they show once they are signed."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

from pypdf import PdfReader

from planforge.register import signing
from planforge.register.signature_fields import SignatureField, open_field, signature_fields

from .conftest import Shelf


def test_two_who_sign_in_one_capacity_sign_one_after_the_other() -> None:
    first, second = (SignatureField(name, "Rescue lead", 1, 90.0, 11.0, False) for name in ("a", "b"))
    assert open_field((first, second), "rescue lead") == first
    assert open_field((replace(first, signed=True), second), "rescue lead") == second


def test_in_a_narrow_field_the_name_stands_over_the_time() -> None:
    """Each in one piece; in a wide field they share a line."""
    for width, lines in ((170.0, 1), (55.0, 2)):
        field = SignatureField("a", "Rescue lead", 1, width, 10.8, False)
        page = PdfReader(BytesIO(signing._stamp(("Aspen Dunlin", "2026-11-25 21:26 UTC"), field))).pages[0]
        shown = page.extract_text().strip().splitlines()
        assert len(shown) == lines
        assert "Aspen Dunlin" in shown[0]
        assert shown[-1].endswith("2026-11-25 21:26 UTC")


def test_every_sign_off_and_release_has_its_field(kept_shelf: Shelf) -> None:
    reader = PdfReader(kept_shelf.folder / kept_shelf.second.path.name)
    roles = {field.role for field in signature_fields(reader)}
    for role in (
        "Safety coordinator",
        "Qualified person",
        "Competent person",
        "Erection lead",
        "General contractor",
    ):
        assert role in roles
    for line in ("L-S1", "L-S2", "L-E"):
        assert f"release of {line}, competent person" in roles
        assert f"release of {line}, qualified person" in roles
