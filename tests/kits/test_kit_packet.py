"""The kits' document as the yard reads it: what is lacking, loads to tick off, hand-overs to sign."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from planforge import cli
from planforge.document.context_kits import KitFacts, LotFacts
from planforge.document.kit_packet import kit_packet
from planforge.document.printed import Printed
from planforge.kits.inventory import Truck
from tests.command import run

from .a_plan import SERIALS, a_plan

SITE = Path(__file__).resolve().parents[2] / "demo_jobs" / "sandpiper_row.yaml"
SITE_LOT = LotFacts("Lot A", "K-1 revision 2", "Gate 3", "Robin Alder, 555-0100", "At seven.")
FACTS = KitFacts(
    {"yard": "Main yard", "flat": "Flatbed 2"},
    {"lot-a": SITE_LOT},
    {"flat": Truck.model_validate({"id": "flat", "name": "Flatbed 2", "at": "yard", "payload": "5000 lb"})},
)


def made() -> bytes:
    return kit_packet(
        a_plan(),
        site="Sandpiper Row",
        date=date(2026, 11, 30),
        fingerprint="0123456789abcdef" * 4,
        show=Printed("us"),
        facts=FACTS,
    )


@pytest.fixture(scope="module")
def pages() -> list[str]:
    reader = PdfReader(io.BytesIO(made()))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def titled(pages: list[str], title: str) -> str:
    (page,) = [page for page in pages if f"{title} " in page]
    return page


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert made() == made()


def test_every_page_says_whose_kits_and_from_when(pages: list[str]) -> None:
    assert all("Sandpiper Row · kits from Mon 2026-11-30" in page for page in pages)
    assert all(f"Page {number} of {len(pages)}" in page for number, page in enumerate(pages, start=1))


def test_the_first_page_says_what_is_lacking_and_what_would_mend_it(pages: list[str]) -> None:
    first = pages[0]
    assert "post-12 · Name of post-12 3 Mon 2026-12-14 – Wed 2026-12-23 lot-a, lot-b" in first
    assert "extra stock 3 more post-12 3 pieces proven least" in first
    assert "shift lot-b 5 working day(s) later, kit from Mon 2026-12-21 5 working days of lots" in first
    assert "not proven; none below 4" in first
    assert "mixture by cost nothing within the stated limits – No costs are stated." in first
    # what clashes stands before what is only open
    assert first.index("serial wanted by two lots") < first.index("due date not stated")
    assert "ways from one place to another: 3, not proven; none below 2" in first
    # who goes without, from when
    assert "lot-b 3 of 10 post-12 Mon 2026-12-14" in first


def test_a_day_lists_each_load_with_all_its_serials(pages: list[str]) -> None:
    out = titled(pages, "Loads · Tue 2026-12-01")
    assert "flat · Flatbed 2, trip 1: yard · Main yard → lot-a" in out
    assert "P-001 to P-011" in out
    assert "Weight: 970 lb of 5,000 lb payload." in out
    assert "Plan K-1 revision 2. Gate: Gate 3. Received by: Robin Alder, 555-0100. At seven." in out
    assert "LACKING" not in out
    on = titled(pages, "Loads · Tue 2026-12-22")
    assert "NO TRUCK: lot-a → yard · Main yard" in on
    assert "SHORT No truck is free." in on
    assert "without guy-a, whose weight is not stated" in on
    assert "confirm The bed's length is not stated." in on
    assert on.count("P-001 to P-009") == 1
    assert "2 trip(s), not proven; none below 1" in on


def test_what_leaves_a_lot_is_handed_over_with_signatures(pages: list[str]) -> None:
    sheet = titled(pages, "Removal and hand-over · lot-a · Tue 2026-12-22")
    for word in (
        "P-001 to P-009 lot-c",
        "P-010 and P-011 yard",
        "Removal lead",
        "Competent person",
    ):
        assert word in sheet
    assert not [page for page in pages if "Removal and hand-over · yard" in page]


def test_who_gets_what(pages: list[str]) -> None:
    last = titled(pages, "Who gets what")
    assert "yard: 11 (P-001 to P-011)" in last
    assert "3 lacking" in last
    assert "not named by the lot's own inspections: P-020" in last
    assert "lot-c This lot needs no kit." in last
    assert len(SERIALS) == 11


def test_nothing_is_called_safe(pages: list[str]) -> None:
    assert not [page for page in pages if "safe" in page.lower()]


def test_the_command_writes_it_whole_and_the_same_again(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    first, again = tmp_path / "kits.pdf", tmp_path / "again.pdf"
    for target in (first, again):
        code, out, _ = run(capsys, "kits", SITE, "--output", target)
        assert code == cli.SHORT
        assert out.endswith(f"{target} written.\n")
    assert first.read_bytes() == again.read_bytes()
    text = " ".join(PdfReader(first).pages[0].extract_text().split())
    assert "Sandpiper Row (invented) · kits from Wed 2026-11-25" in text
    # items that clash between the same lots for the same reason stand in one row
    assert text.count("serial wanted by two lots") <= 3
