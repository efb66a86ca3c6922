"""The summary of a site: what came of each lot, the worst first, on one page where it fits."""

from __future__ import annotations

import datetime as dt
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from planforge.document.context_site import SiteLot, days, site_context
from planforge.document.site_summary import site_summary
from planforge.errors import RefusedError
from planforge.register.pdf import identity, open_pdf
from planforge.register.result import Result
from planforge.site.outcome import Facts, Outcome, What, counts, exit_code, worst_first
from planforge.site.reading import Site
from planforge.site.summary import closing_lines, lot_lines, refuse_to_overwrite, write_summary

from .small_site import small_site

DAY = dt.date(2026, 12, 1)


def lot(n: int, /, **changes: object) -> SiteLot:
    values: dict[str, object] = {
        "id": f"lot-{n}",
        "name": f"Lot {n}",
        "number": f"AF-2026-{n:03d}",
        "revision": 0,
        "status": "issued",
        "needs_action": False,
        "reasons": (),
        "counts": {"confirm": 20 + n, "meets": 300},
        "confirms": {"qualified person": 20, "competent person": n},
        "supersedes": None,
        "work": (DAY, dt.date(2026, 12, 11)),
        "file": f"AF-2026-{n:03d}-r0.pdf",
        "fingerprint": f"{n:064x}",
    }
    return SiteLot(**(values | changes))  # type: ignore[arg-type]


def short(number: int) -> SiteLot:
    reasons = tuple(f"short: Items inspected, rope {n}: no inspection recorded" for n in range(5))
    counts = {"short": 5, "confirm": 3}
    return lot(number, status="draft", needs_action=True, reasons=reasons, counts=counts)


def pages(lots: list[SiteLot]) -> list[str]:
    reader = PdfReader(BytesIO(site_summary("Test Meadow (invented)", DAY, lots)))
    assert all((page.mediabox.width, page.mediabox.height) == (612, 792) for page in reader.pages)
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_work_that_is_past_says_so() -> None:
    ended = (dt.date(2026, 11, 16), DAY - dt.timedelta(1))
    (page,) = pages([lot(1), lot(2, work=ended), lot(3, work=(ended[0], DAY))])
    assert page.count(", over") == 1
    assert "2026-11-16 to 11-30, over" in page


def test_one_page_holds_a_site_of_forty_five_lots() -> None:
    (page,) = pages([lot(n) for n in range(1, 46)])
    assert "Test Meadow (invented): 45 lot(s) on 2026-12-01" in page
    assert "45 issued. 0 item(s) short" in page
    assert "No lot needs action." in page
    assert "competent person 1035; qualified person 900" in page
    for number in range(1, 46):
        assert f"Lot {number} AF-2026-{number:03d} 0 issued" in page
        assert f"AF-2026-{number:03d}-r0.pdf" in page
    assert "Page 1 of 1" in page
    assert page.index("AF-2026-001") < page.index("AF-2026-002")


def test_a_row_says_what_came_of_its_lot() -> None:
    (page,) = pages([lot(7, supersedes=0, revision=1)])
    row = page[page.index("Lot 7") :]
    assert row.startswith("Lot 7 AF-2026-007 1, was 0 issued 27 2026-12-01 to 12-11 AF-2026-007-r0.pdf")
    assert "0000 0000 0000 0000" in row
    assert "1 plan(s) replace an earlier revision: take that out of use." in page


def test_what_needs_action_keeps_to_page_one_and_the_rest_follows() -> None:
    first, *others = pages([short(1), short(2), *(lot(n) for n in range(3, 90))])
    assert "87 lot(s) that need no action follow on the next page." in first
    assert "AF-2026-002 rev 0" in first
    assert "and 2 more" in first
    assert "AF-2026-003" not in first
    rest = " ".join(others)
    assert all(f"Lot {number} AF-2026-{number:03d} 0 issued" in rest for number in range(3, 90))
    assert "short: Items inspected" not in rest


def test_more_that_need_action_than_page_one_holds_are_counted_there() -> None:
    lots = [*(short(n) for n in range(1, 41)), lot(50)]
    first, *others = pages(lots)
    left = len(site_context("x", DAY, lots)["to_do_rest"])
    assert 0 < left < 40
    assert f"{left} more lot(s) that need action follow on the next page, then 1 that need none." in first
    assert f"AF-2026-{40 - left:03d} rev 0" in first
    assert f"AF-2026-{40 - left + 1:03d} rev 0" in others[0]
    assert first.count("short: Items inspected") == 3 * (40 - left)


def test_a_lot_that_could_not_be_read_has_its_row() -> None:
    unread = lot(
        4,
        name="",
        number="",
        revision=None,
        status="can't be used",
        needs_action=True,
        reasons=("site.yaml:4: job: found nothing",),
        counts=None,
        confirms={},
        work=None,
        file="",
        fingerprint="",
    )
    (page,) = pages([unread])
    assert "lot-4 – can't be used site.yaml:4: job: found nothing – – –" in page


def test_the_same_outcomes_give_the_same_bytes() -> None:
    lots = [short(1), lot(2)]
    assert site_summary("S", DAY, lots) == site_summary("S", DAY, lots)
    assert site_summary("S", DAY, lots) != site_summary("S", DAY, [short(1), lot(3)])


def test_a_summary_is_no_plan() -> None:
    reader = open_pdf(site_summary("plan X, revision 1, fingerprint " + "a" * 64, DAY, [lot(1)]))
    assert identity(reader) is None


@pytest.mark.parametrize(
    ("last", "said"), [("2026-12-11", "2026-12-01 to 12-11"), ("2027-01-08", "2026-12-01 to 2027-01-08")]
)
def test_days_of_work(last: str, said: str) -> None:
    assert days(DAY, dt.date.fromisoformat(last)) == said


FACTS = Facts("Lot 1", "T-1", 0, "a" * 64, DAY, dt.date(2026, 12, 11), "us-federal")
SOUND = Result({"confirm": 3, "meets": 5}, (), 0, {"qualified person": 3}, 76)
ACCEPTED = Result({"short": 1}, ("short (accepted by variance): a",), 0, {}, 76)


def outcome(name: str, what: What, **changes: object) -> Outcome:
    return Outcome(name, what, **changes)  # type: ignore[arg-type]


def test_outcomes_in_order_and_their_exit_code() -> None:
    issued = outcome("a", What.ISSUED, result=SOUND)
    accepted = outcome("b", What.ISSUED, result=ACCEPTED)
    every = [outcome(what.value, what) for what in reversed(What)]
    assert [o.what for o in worst_first([issued, *every])][:3] == [What.FAILED, What.UNUSABLE, What.REFUSED]
    assert [o.id for o in worst_first([issued, accepted])] == ["b", "a"]
    assert list(counts([issued, accepted, *every])) == list(What)
    assert [exit_code([o]) for o in (issued, accepted)] == [0, 1]
    assert [exit_code([outcome("x", what)]) for what in What] == [3, 2, 2, 1, 1, 0, 0]
    assert exit_code([]) == 0
    assert accepted.needs_action
    lapsed = outcome("c", What.ISSUED, result=SOUND, reasons=("training expired",))
    assert (lapsed.needs_action, exit_code([lapsed])) == (True, 1)


def test_lines_for_the_terminal(tmp_path: Path) -> None:
    site = small_site(tmp_path, 2)
    done = outcome(
        "lot-1",
        What.ISSUED,
        facts=FACTS,
        result=SOUND,
        supersedes=0,
        file="out/T-1-r0.pdf",
        notes=("beware",),
    )
    bad = outcome("lot-2", What.UNUSABLE, reasons=("one", "two"))
    assert list(lot_lines(done)) == [
        "lot-1: issued; T-1 revision 0, Lot 1; 0 short, 3 confirm, 76 pages; supersedes revision 0; "
        "out/T-1-r0.pdf",
        "  note: beware",
    ]
    assert list(lot_lines(bad)) == ["lot-2: can't be used", "  one", "  two"]
    assert list(closing_lines(site, [done, bad])) == [
        "Test Meadow (invented): 2 lot(s): 1 can't be used, 1 issued.",
        "3 item(s) to confirm: qualified person 3.",
        "1 lot(s) need action, the worst first:",
        "  lot-2: can't be used: one (and 1 more)",
    ]


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return small_site(tmp_path / "site", 2)


def test_the_order_in_which_lots_are_done_makes_no_other_summary(site: Site, tmp_path: Path) -> None:
    both = [outcome("lot-1", What.ISSUED, facts=FACTS, result=SOUND), outcome("lot-2", What.FAILED)]
    write_summary(tmp_path / "a.pdf", site, DAY, both)
    write_summary(tmp_path / "b.pdf", site, DAY, both[::-1])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_file_that_is_no_summary_is_not_replaced(site: Site, tmp_path: Path) -> None:
    path = tmp_path / "site-summary.pdf"
    refuse_to_overwrite(path)
    write_summary(path, site, DAY, [outcome("lot-1", What.FAILED)])
    refuse_to_overwrite(path)
    path.write_bytes(b"%PDF-1.7 something else")
    with pytest.raises(RefusedError, match="is no summary of a site that planforge wrote"):
        refuse_to_overwrite(path)
