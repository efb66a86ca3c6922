"""A signed plan that was tampered with: no byte, page or field of it changes unseen."""

from __future__ import annotations

from pathlib import Path

from planforge.register.pdf import NotReadableError
from planforge.register.signature_checks import check_signatures
from planforge.register.signing import sign
from planforge.register.verifying import Verdict, verify

from .appended import append, numbers, signed_field, stream, written
from .certificates import PASSPHRASE
from .conftest import Shelf


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
    number, _ = signed_field(data)
    plan.write_bytes(append(data, {number: written(data, number)}))  # as it was issued
    found = verify(plan, shelf.register)
    assert found.verdict is Verdict.ALTERED
    assert any("signed before" in fault for report in found.signatures for fault in report.faults)


def test_what_a_signed_field_shows_can_t_be_changed(shelf: Shelf, plan: Path, own: Path) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    data = plan.read_bytes()
    _, field = signed_field(data)
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
