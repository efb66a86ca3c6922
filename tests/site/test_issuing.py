"""A site issued: every lot by itself, nothing drawn twice, and what lapsed since is told."""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from planforge.errors import RefusedError
from planforge.register.database import FILE_NAME, RegisterError
from planforge.register.entry import Held, Status
from planforge.register.issuing import Made, enter, issue
from planforge.register.place import Place
from planforge.register.register import Register
from planforge.site.issuing import Order, issue_site, standing
from planforge.site.outcome import Facts, Outcome, What, exit_code
from planforge.site.reading import Site, read_site

from .executors import inline
from .small_site import DAY, lot_text, small_site, write_site

TRAINED = (
    "qualification: Licence (invented)., training: [",
    "qualification: Licence (invented)., training: [{course: Law, ",
)
ENDING = (TRAINED[0], TRAINED[1] + "on: 2026-01-05, trainer: A, expires: 2026-12-05}, ")
"""The qualified person's training ends while the work goes on."""
SHORT = ("sag: 4 1/4 in", "sag: 9 in")


def run(site: Site, folder: Path, day: dt.date = DAY, **order: object) -> dict[str, Outcome]:
    """Issue a site in this process."""
    outcomes = issue_site(site, Order(folder, day, **order), inline())  # type: ignore[arg-type]
    return {outcome.id: outcome for outcome in outcomes}


def whats(outcomes: dict[str, Outcome]) -> list[str]:
    return [outcomes[name].what.value for name in sorted(outcomes)]


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three lots and the folder in which they were issued: sound, with training that ends, short."""
    folder = tmp_path_factory.mktemp("site")
    lots = [lot_text(1), lot_text(2, ENDING), lot_text(3, *_short())]
    run(read_site(write_site(folder / "site", *lots)), folder / "out")
    return folder


def _short() -> list[tuple[str, str]]:
    """Nobody has inspected the rope."""
    text = lot_text(1)
    line = next(row for row in text.splitlines(keepends=True) if "item: rope," in row)
    return [(line, "")]


@pytest.fixture
def place(kept: Path, tmp_path: Path) -> Path:
    """A copy that a test may change."""
    return shutil.copytree(kept, tmp_path / "copy")


@pytest.fixture
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither a line is solved nor a page drawn."""
    for name in ("assess", "draw"):
        monkeypatch.setattr(f"planforge.site.work.{name}", lambda *_: pytest.fail("drawn again"))


def site_of(place: Path) -> Site:
    return read_site(place / "site" / "site.yaml")


def entries(place: Path) -> list[tuple[str, int, str, dt.date]]:
    found = Register(place / "out" / FILE_NAME).entries()
    return sorted((e.number, e.revision, e.status.value, e.date) for e in found)


def test_a_lot_of_a_site_gets_the_plan_that_it_gets_alone(place: Path, tmp_path: Path) -> None:
    assert entries(place) == [
        ("T-1", 0, "issued", DAY),
        ("T-2", 0, "issued", DAY),
        ("T-3", 0, "draft", DAY),
    ]
    alone = issue(place / "site" / "lot_1.yaml", tmp_path / "alone", date=DAY)
    assert (place / "out" / "T-1-r0.pdf").read_bytes() == alone.path.read_bytes()


@pytest.mark.usefixtures("undrawn")
def test_what_stands_is_not_drawn_again_drafts_of_the_day_too(place: Path) -> None:
    before = {path.name: path.read_bytes() for path in (place / "out").iterdir()}
    outcomes = run(site_of(place), place / "out")
    assert whats(outcomes) == ["stands", "stands", "draft"]
    assert not any(outcome.written for outcome in outcomes.values())
    assert {path.name: path.read_bytes() for path in (place / "out").iterdir()} == before
    first, draft = outcomes["lot-1"], outcomes["lot-3"]
    assert first.result is not None
    assert (first.short, first.to_confirm) == (0, 30)
    assert first.result.pages == len(PdfReader(place / "out" / Path(first.file).name).pages)
    assert sum(first.result.confirms.values()) == first.to_confirm
    assert draft.reasons[0].startswith("short: Items inspected, rope")
    assert exit_code(outcomes.values()) == 1


@pytest.mark.usefixtures("undrawn")
def test_what_lapsed_while_the_work_goes_on_is_told(place: Path) -> None:
    lots = replace(site_of(place), lots=site_of(place).lots[:2])
    before, after, over = (run(lots, place / "out", dt.date(2026, 12, day)) for day in (5, 6, 12))
    said = (
        "Training holds over the work, Jasper Kestrel, qualified person: training expired on 2026-12-05. "
        "Train again, or name somebody else."
    )
    assert whats(before) == ["stands", "stands"]
    assert before["lot-2"].notes == (f"to come: {said}",)
    assert whats(after) == ["stands", "no longer holds"]
    assert after["lot-2"].reasons == (said,)
    assert (exit_code(before.values()), exit_code(after.values())) == (0, 1)
    assert whats(over) == ["stands", "stands"]
    assert over["lot-2"].notes == ("its work was over on 2026-12-11",)


@pytest.mark.usefixtures("undrawn")
def test_a_code_profile_compared_again_since_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from planforge.codes.profile import load_profile  # noqa: PLC0415

    newer = replace(load_profile("us-federal"), checked="2026-12-03")
    monkeypatch.setattr("planforge.site.issuing.load_profile", lambda _: newer)
    lots = replace(site_of(place), lots=site_of(place).lots[:1])
    assert whats(run(lots, place / "out", dt.date(2026, 12, 3))) == ["no longer holds"]


def test_a_draft_of_another_day_is_drawn_anew(place: Path) -> None:
    lots = replace(site_of(place), lots=site_of(place).lots[2:])
    outcomes = run(lots, place / "out", dt.date(2026, 12, 2))
    assert outcomes["lot-3"].written
    assert ("T-3", 0, "draft", dt.date(2026, 12, 2)) in entries(place)


def test_a_draft_whose_file_is_gone_is_drawn_anew(place: Path) -> None:
    path = place / "out" / "T-3-r0-draft.pdf"
    before = path.read_bytes()
    path.unlink()
    lots = replace(site_of(place), lots=site_of(place).lots[2:])
    assert run(lots, place / "out")["lot-3"].written
    assert path.read_bytes() == before


def test_a_plan_whose_file_is_gone_is_written_again_to_the_byte(place: Path) -> None:
    path = place / "out" / "T-1-r0.pdf"
    before = path.read_bytes()
    path.unlink()
    lots = replace(site_of(place), lots=site_of(place).lots[:1])
    outcome = run(lots, place / "out", dt.date(2026, 12, 3))["lot-1"]
    assert (outcome.what, outcome.written) == (What.UNCHANGED, True)
    assert outcome.notes == ("its file was gone and is written again, to the byte",)
    assert path.read_bytes() == before


def test_one_bad_lot_stops_none_of_the_rest(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A changed job under its old revision, a fault in a job, a plan that was written in, a defect."""
    texts = [lot_text(1, ("drive: 14 min", "drive: 15 min")), lot_text(2, ("sag:", "sagg:"))]
    texts += [lot_text(3, *_short()), lot_text(4), lot_text(5)]
    site = read_site(write_site(place / "site", *texts))
    draft = place / "out" / "T-3-r0-draft.pdf"
    draft.write_bytes(draft.read_bytes() + b"\nfilled in")
    from planforge.site import work  # noqa: PLC0415

    assess = work.assess

    def fails(job: object) -> object:
        if job.plan.number == "T-4":  # type: ignore[attr-defined]
            raise ZeroDivisionError("of course")
        return assess(job)  # type: ignore[arg-type]

    monkeypatch.setattr(work, "assess", fails)
    outcomes = run(site, place / "out")
    assert whats(outcomes) == ["refused", "can't be used", "refused", "failed", "issued"]
    assert outcomes["lot-1"].reasons[-1] == "  rescue.hospital.drive 14 min -> 15 min"
    assert "Did you mean" in outcomes["lot-2"].reasons[-1]
    assert "was filled in, signed or changed" in outcomes["lot-3"].reasons[0]
    assert outcomes["lot-4"].reasons == (
        "planforge failed on its own account (ZeroDivisionError: of course). Please report it.",
    )
    assert exit_code(outcomes.values()) == 3
    assert entries(place)[0] == ("T-1", 0, "issued", DAY)


def test_the_next_revision_supersedes(place: Path) -> None:
    text = lot_text(
        1,
        ("revision: 0\n", "revision: 1\n"),
        ("prepared: 2026-11-20", "prepared: 2026-12-02"),
        (
            "approved_by: kestrel}",
            "approved_by: kestrel}\n    - {revision: 1, dated: 2026-12-02, change: Road., ",
        ),
        ("change: Road., \n", "change: Road., approved_by: kestrel}\n"),
        ("drive: 14 min", "drive: 15 min"),
    )
    site = read_site(write_site(place / "site", text))
    outcome = run(site, place / "out", dt.date(2026, 12, 2))["lot-1"]
    assert (outcome.what, outcome.supersedes) == (What.ISSUED, 0)
    assert entries(place)[:2] == [("T-1", 0, "superseded", DAY), ("T-1", 1, "issued", dt.date(2026, 12, 2))]
    former = Register(place / "out" / FILE_NAME).held("T-1", 0)
    assert "rescue.hospital.drive 14 min -> 15 min" in former.entries[1].changes


def test_two_lots_never_share_a_number(tmp_path: Path) -> None:
    """The second one to come is told whose the number is."""
    twin = lot_text(1).replace("lot: Lot 1\n", "lot: Lot 9\n")
    site = small_site(tmp_path / "one", 1)
    other = read_site(write_site(tmp_path / "two", twin))
    both = replace(site, lots=(*site.lots, replace(other.lots[0], id="lot-9")))
    outcomes = run(both, tmp_path / "out")
    assert sorted(whats(outcomes)) == ["issued", "refused"]
    refused = next(outcome for outcome in outcomes.values() if outcome.what is What.REFUSED)
    assert "was issued on 2026-12-01 as T-1-r0.pdf, and this job is another" in refused.reasons[0]


def test_a_lost_register_is_filled_again_with_the_dates_of_the_files(place: Path) -> None:
    (place / "out" / FILE_NAME).unlink()
    before = (place / "out" / "T-1-r0.pdf").read_bytes()
    lots = replace(site_of(place), lots=site_of(place).lots[:1])
    outcome = run(lots, place / "out", dt.date(2026, 12, 4))["lot-1"]
    assert (outcome.what, outcome.date) == (What.ISSUED, DAY)
    assert (place / "out" / "T-1-r0.pdf").read_bytes() == before
    assert entries(place) == [("T-1", 0, "issued", DAY)]


def test_another_process_that_comes_between_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It issues the very plan after this one was drawn and before it is entered: there is one plan."""
    site = small_site(tmp_path / "site", 1)
    calls: list[Made] = []

    def late(place: Place, plan: Made) -> object:
        if not calls:
            calls.append(plan)
            enter(place, plan)
        return enter(place, plan)

    monkeypatch.setattr("planforge.site.issuing.enter", late)
    outcome = run(site, tmp_path / "out")["lot-1"]
    assert (outcome.what, outcome.written) == (What.UNCHANGED, False)
    assert len(Register(tmp_path / "out" / FILE_NAME).entries()) == 1


def test_a_register_that_can_t_be_used_stops_the_site(place: Path) -> None:
    (place / "out" / FILE_NAME).write_bytes(b"no database at all, but long enough to look like one" * 20)
    with pytest.raises(RegisterError, match="is damaged as a register"):
        run(site_of(place), place / "out")


def test_a_plan_that_has_lapsed_on_the_day_it_is_issued_asks_for_action(tmp_path: Path) -> None:
    site = read_site(write_site(tmp_path / "site", lot_text(1, ENDING)))
    outcome = run(site, tmp_path / "out", dt.date(2026, 12, 6))["lot-1"]
    assert (outcome.what, outcome.needs_action, outcome.code) == (What.ISSUED, True, 1)
    assert "training expired on 2026-12-05" in outcome.reasons[0]


def test_a_folder_that_can_t_be_made_stops_the_site_before_the_first_lot(
    tmp_path: Path, undrawn: None
) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    with pytest.raises(RefusedError, match="can't be made a folder"):
        run(small_site(tmp_path / "site", 1), tmp_path / "file" / "out")


def test_a_site_goes_into_a_folder(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="a site has many plans; name a folder"):
        run(small_site(tmp_path, 1), tmp_path / "plan.pdf")


def test_drafts_that_were_asked_for_stand_only_while_they_are_asked_for(place: Path) -> None:
    """Of a plan that is not short: its draft, then itself; and a draft of one that was issued."""
    site = read_site(write_site(place / "site", lot_text(8)))
    drafted = run(site, place / "out", draft=True)["lot-1"]
    again = run(site, place / "out", draft=True)["lot-1"]
    assert (drafted.what, drafted.written, again.what, again.written) == (
        What.DRAFT,
        True,
        What.DRAFT,
        False,
    )
    issued = run(site, place / "out")["lot-1"]
    assert (issued.what, issued.written) == (What.ISSUED, True)


def test_a_plan_stands_by_number_revision_and_fingerprint(place: Path) -> None:
    (entry,) = (e for e in Register(place / "out" / FILE_NAME).entries() if e.number == "T-1")
    facts = Facts("Lot 1", "T-1", 0, entry.fingerprint, DAY, DAY, "us-federal")
    order, held = Order(place, DAY), Held((entry,))
    assert standing(held, facts, order) == entry
    assert standing(held, replace(facts, fingerprint="0" * 64), order) is None
    assert standing(held, replace(facts, revision=1), order) is None
    assert standing(held, facts, replace(order, draft=True)) is None
    superseded = replace(entry, status=Status.SUPERSEDED)
    assert standing(Held((superseded,)), facts, order) == superseded
