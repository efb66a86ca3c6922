"""Issuing: whole or not at all, the same bytes for the same job and date, drafts and refusals."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import signal
import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from planforge.errors import JobFileError, RefusedError
from planforge.job.loading import load, load_job, merged_text
from planforge.register.database import FILE_NAME
from planforge.register.issued import Standing, standing_plan
from planforge.register.issuing import Issued, issue

ROOT = Path(__file__).resolve().parent.parent.parent
DEMOS = ROOT / "demo_jobs"
DATE = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Issued:
    return issue(DEMOS / "wren_lot_7.yaml", tmp_path_factory.mktemp("wren"), date=DATE)


@pytest.fixture(scope="module")
def mended(tmp_path_factory: pytest.TempPathFactory) -> Issued:
    return issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path_factory.mktemp("mended"), date=DATE)


def variant(tmp_path: Path, old: str, new: str, job: str = "wren_lot_7_mended.yaml") -> Path:
    """A self-contained copy of a demo with one text replaced."""
    text = merged_text(load(DEMOS / job))
    assert old in text
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(old, new, 1), "utf-8")
    return path


def standing(plan: Issued, *, draft: bool) -> Standing:
    """What an untouched plan says of itself."""
    digest = hashlib.sha256(plan.path.read_bytes()).hexdigest()
    return Standing(plan.fingerprint, draft=draft, untouched=True, date=DATE, sha256=digest)


def test_a_short_job_prints_as_a_draft_marked_on_every_page(wren: Issued) -> None:
    assert wren.draft
    assert wren.path.name.endswith("-draft.pdf")
    pages = PdfReader(wren.path).pages
    assert len(pages) == wren.pages
    assert all("DRAFT" in page.extract_text() for page in pages)


def test_a_job_with_nothing_short_is_no_draft_unless_asked(mended: Issued, tmp_path: Path) -> None:
    assert not mended.draft
    assert "draft" not in mended.path.name
    assert not any("DRAFT" in page.extract_text() for page in PdfReader(mended.path).pages)
    asked = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE, draft=True)
    assert asked.draft
    assert "DRAFT" in PdfReader(asked.path).pages[-1].extract_text()


@pytest.mark.usefixtures("whole_packet")
def test_same_job_and_date_give_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    mended = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path / "here", date=DATE)
    code = "import sys, datetime as d, planforge; planforge.issue(*sys.argv[1:], date=d.date(2026, 11, 25))"
    environment = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Pacific/Kiritimati", "LC_ALL": "C"}
    command = [sys.executable, "-c", code, str(DEMOS / "wren_lot_7_mended.yaml"), str(tmp_path)]
    subprocess.run(command, check=True, env=environment)
    assert (tmp_path / mended.path.name).read_bytes() == mended.path.read_bytes()


def test_another_date_gives_another_document_with_the_same_fingerprint(
    mended: Issued, tmp_path: Path
) -> None:
    later = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE + dt.timedelta(days=1))
    assert later.fingerprint == mended.fingerprint
    assert later.path.read_bytes() != mended.path.read_bytes()


def test_the_job_rides_inside_and_gives_the_same_plan_again(mended: Issued, tmp_path: Path) -> None:
    attached = PdfReader(mended.path).attachments["job.yaml"][0]
    path = tmp_path / "job.yaml"
    path.write_bytes(attached)
    again = issue(path, tmp_path, date=DATE)
    assert again.fingerprint == mended.fingerprint
    assert again.path.read_bytes() == mended.path.read_bytes()


def test_the_fingerprint_stands_in_the_file_and_on_every_page(mended: Issued) -> None:
    standing = standing_plan(mended.path)
    assert standing is not None and standing.fingerprint == mended.fingerprint
    short = " ".join(mended.fingerprint[n : n + 4] for n in range(0, 16, 4))
    for page in PdfReader(mended.path).pages:
        assert short in page.extract_text()


def test_another_plan_never_overwrites_an_issued_one(mended: Issued, tmp_path: Path) -> None:
    first = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE)
    before = first.path.read_bytes()
    changed = variant(tmp_path, "drive: 19 min", "drive: 20 min")
    with pytest.raises(RefusedError, match=r"Raise plan\.revision"):
        issue(changed, tmp_path, date=DATE)
    assert first.path.read_bytes() == before
    assert issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE).path == first.path


def test_a_draft_never_overwrites_an_issued_plan(mended: Issued, tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    target.write_bytes(mended.path.read_bytes())
    with pytest.raises(RefusedError, match="a draft does not replace it"):
        issue(DEMOS / "wren_lot_7_mended.yaml", target, date=DATE, draft=True)
    with pytest.raises(RefusedError, match="a draft does not replace it"):
        issue(DEMOS / "wren_lot_7.yaml", target, date=DATE)
    assert target.read_bytes() == mended.path.read_bytes()


def test_a_draft_gives_way(wren: Issued, tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    target.write_bytes(wren.path.read_bytes())
    assert standing_plan(target) == standing(wren, draft=True)
    again = issue(DEMOS / "wren_lot_7_mended.yaml", target, date=DATE)
    assert standing_plan(target) == standing(again, draft=False)


def test_a_plan_that_someone_filled_in_is_not_overwritten(mended: Issued, tmp_path: Path) -> None:
    target = tmp_path / mended.path.name
    writer = PdfWriter(clone_from=mended.path)
    writer.update_page_form_field_values(writer.pages[0], {}, auto_regenerate=False)
    writer.write(target)
    before = target.read_bytes()
    with pytest.raises(RefusedError, match="was filled in, signed or changed"):
        issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE)
    assert target.read_bytes() == before


def test_a_stranger_s_file_is_not_overwritten(mended: Issued, tmp_path: Path) -> None:
    target = tmp_path / mended.path.name
    target.write_bytes(b"not a PDF")
    with pytest.raises(RefusedError, match="move it away first"):
        issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=DATE)
    assert target.read_bytes() == b"not a PDF"


def test_a_job_with_problems_writes_nothing(tmp_path: Path) -> None:
    broken = variant(tmp_path, "kind: site work plan", "kind: site work plann")
    output = tmp_path / "out"
    with pytest.raises(JobFileError, match="site work plan"):
        issue(broken, output, date=DATE)
    assert not output.exists()


def test_a_date_before_what_was_done_is_refused(tmp_path: Path) -> None:
    output = tmp_path / "out"
    with pytest.raises(RefusedError) as refused:
        issue(DEMOS / "wren_lot_7_mended.yaml", output, date=dt.date(2026, 11, 23))
    assert str(refused.value) == (
        "a plan dated 2026-11-23 can't rest on what is done after it: plan.history[1].dated 2026-11-24, "
        "plan.prepared 2026-11-24. Issue it with --date 2026-11-24 or later, or correct the job. "
        "Nothing was written."
    )
    assert not output.exists()


def test_many_later_dates_are_counted(tmp_path: Path) -> None:
    with pytest.raises(
        RefusedError, match=r"releases\[0\]\.on 2027-01-12, .* and \d+ more\. .*2027-01-12 or"
    ):
        issue(DEMOS / "quartz_court_building_2.yaml", tmp_path, date=DATE)


def test_a_date_after_the_work_is_said(mended: Issued, tmp_path: Path) -> None:
    assert mended.notes == ()
    late = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path, date=dt.date(2026, 12, 12))
    assert not late.draft
    (note,) = late.notes
    assert "after the last day of the last phase, 2026-12-11" in note


def test_an_alternative_plan_without_its_reasons_is_refused(tmp_path: Path) -> None:
    text = merged_text(load(DEMOS / "wren_lot_7_mended.yaml"))
    bare = text.replace(
        "kind: site work plan", "kind: alternative plan\n  alternative: {work: residential}", 1
    )
    path = tmp_path / "job.yaml"
    path.write_text(bare, "utf-8")
    with pytest.raises(RefusedError, match=r"1926\.502\(k\)\(5\) and \(7\)"):
        issue(path, tmp_path / "out", date=DATE)
    assert not (tmp_path / "out").exists()


def test_output_may_be_a_file_name(tmp_path: Path) -> None:
    issued = issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path / "plan.pdf", date=DATE)
    assert issued.path == tmp_path / "plan.pdf"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["plan.pdf", FILE_NAME]


def test_an_output_that_is_no_folder_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(RefusedError, match="Nothing was written"):
        issue(DEMOS / "wren_lot_7_mended.yaml", tmp_path / "taken", date=DATE)


@pytest.mark.skipif(os.name != "posix", reason="kills a process by signal")
def test_killed_at_any_instant_leaves_the_old_plan_or_the_new(mended: Issued, tmp_path: Path) -> None:
    target = tmp_path / mended.path.name
    target.write_bytes(mended.path.read_bytes())
    code = "import sys, datetime as d, planforge; planforge.issue(*sys.argv[1:], date=d.date(2026, 11, 25))"
    for delay in (0.2, 0.8, 1.4):
        process = subprocess.Popen(
            [sys.executable, "-c", code, str(DEMOS / "wren_lot_7_mended.yaml"), str(tmp_path)]
        )
        time.sleep(delay)
        process.send_signal(signal.SIGKILL)
        process.wait()
        assert len(PdfReader(BytesIO(target.read_bytes())).pages) == mended.pages


def test_the_public_face() -> None:
    import planforge  # noqa: PLC0415 - lazy names are what is tested

    job = planforge.load_job(DEMOS / "wren_lot_7_mended.yaml")
    assert job == load_job(DEMOS / "wren_lot_7_mended.yaml")
    assert planforge.assess(job).findings
    with pytest.raises(AttributeError, match="no attribute 'isue'"):
        _ = planforge.isue
