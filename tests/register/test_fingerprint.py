"""The fingerprint: the same for the same plan however it is written, another for any change."""

from __future__ import annotations

from pathlib import Path

import pytest

from planforge.job.loading import load, load_job, merged_text
from planforge.languages import templates_folder
from planforge.register.fingerprint import canonical, fingerprint, template_bytes

ROOT = Path(__file__).resolve().parent.parent.parent
JOB = ROOT / "demo_jobs" / "heron_lot_14.yaml"
TEMPLATES = ROOT / "templates" / "en"


def test_spelling_notes_and_order_do_not_change_it(tmp_path: Path) -> None:
    loaded = load(JOB)
    text = "# a note\n" + merged_text(loaded).replace("drive: 14 min", "drive: 840 s")
    other = tmp_path / "job.yaml"
    other.write_text(text, "utf-8")
    assert "840 s" in text
    assert fingerprint(load_job(other), TEMPLATES) == fingerprint(loaded.model, TEMPLATES)


def test_any_value_changes_it(tmp_path: Path) -> None:
    loaded = load(JOB)
    other = tmp_path / "job.yaml"
    other.write_text(merged_text(loaded).replace("drive: 14 min", "drive: 15 min"), "utf-8")
    assert fingerprint(load_job(other), TEMPLATES) != fingerprint(loaded.model, TEMPLATES)


def test_a_template_changes_it_and_line_ends_do_not(tmp_path: Path) -> None:
    job = load_job(JOB)
    (tmp_path / "a.md").write_bytes(b"# One\ntwo\n")
    first = fingerprint(job, tmp_path)
    (tmp_path / "a.md").write_bytes(b"# One\r\ntwo\r\n")
    assert fingerprint(job, tmp_path) == first
    (tmp_path / "a.md").write_bytes(b"# One\nthree\n")
    assert fingerprint(job, tmp_path) != first


def test_the_version_changes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    job = load_job(JOB)
    first = fingerprint(job, TEMPLATES)
    monkeypatch.setattr("planforge.register.fingerprint.__version__", "999")
    assert fingerprint(job, TEMPLATES) != first


def test_canonical_is_ascii_json_in_si() -> None:
    data = canonical(load_job(JOB))
    assert data.decode("ascii").startswith('{"access":')
    assert b" ft" not in data.split(b'"layout"')[1][:2000]


def test_the_templates_of_a_whole_site_are_no_part_of_a_plan(tmp_path: Path) -> None:
    plan = tmp_path / "01_page_one.md"
    plan.write_text("# Plan\n", "utf-8")
    before = template_bytes(tmp_path)
    for name in ("site_summary.md", "kits.md", "kits_day.md"):
        (tmp_path / name).write_text("# Site\n", "utf-8")
        assert (templates_folder("en") / name).exists()
    assert template_bytes(tmp_path) == before
    plan.write_text("# Plan!\n", "utf-8")
    assert template_bytes(tmp_path) != before
