"""``planforge issue SITE``: what it prints, writes and returns."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from planforge.cli import main
from planforge.site.pool import Crew

from .executors import inline
from .small_site import DAY, lot_text, write_site


@pytest.fixture(autouse=True)
def here(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[int]:
    """Work in this process and this folder; the list says for how many workers it was asked."""
    asked: list[int] = []

    def crew(width: int) -> Crew:
        asked.append(width)
        return inline(width)

    monkeypatch.setattr("planforge.site.pool.processes", crew)
    monkeypatch.chdir(tmp_path)
    return asked


def run(*words: object) -> int:
    with pytest.raises(SystemExit) as stop:
        main([*map(str, words)])
    assert isinstance(stop.value.code, int)
    return stop.value.code


def issue(site: Path, *words: object) -> int:
    return run("issue", site, "--date", DAY.isoformat(), *words)


def test_a_line_a_lot_then_the_whole_site_and_its_summary(
    here: list[int], capsys: pytest.CaptureFixture[str]
) -> None:
    site = write_site(Path("row"), lot_text(1), lot_text(2, ("sag:", "sagg:")))
    assert issue(site) == 2
    said, wrong = capsys.readouterr()
    assert wrong == ""
    lines = said.splitlines()
    pages = len(PdfReader("output/T-1-r0.pdf").pages)
    told = f"0 short, 30 confirm, {pages} pages; output/T-1-r0.pdf"
    assert lines[0] == f"lot-1: issued; T-1 revision 0, Lot 1; {told}"
    assert lines[1] == "lot-2: can't be used"
    assert lines[2].startswith('  row/lot_2.yaml:75: layout.lines[0 "L-1"].sagg: found the unknown field')
    assert "Test Meadow (invented): 2 lot(s): 1 can't be used, 1 issued." in lines
    assert lines[-1] == "summary written: output/site-summary.pdf"
    (page,) = PdfReader("output/site-summary.pdf").pages
    assert "2 lot(s) on 2026-12-01" in page.extract_text()
    assert here == [min(2, max(here))]


def test_nothing_short_is_zero_and_again_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    site = write_site(Path("row"), lot_text(1))
    assert issue(site, "-o", "out", "--workers", 7) == 0
    capsys.readouterr()
    before = {path.name: path.read_bytes() for path in Path("out").iterdir()}
    assert issue(site, "-o", "out") == 0
    assert capsys.readouterr().out.splitlines()[0].startswith("lot-1: stands; T-1 revision 0, Lot 1; 0 short")
    after = {path.name: path.read_bytes() for path in Path("out").iterdir()}
    assert {**after, "site-summary.pdf": b""} == {**before, "site-summary.pdf": b""}
    first = after["site-summary.pdf"]
    assert issue(site, "-o", "out") == 0
    assert Path("out/site-summary.pdf").read_bytes() == first  # the same outcomes, the same bytes


def test_a_draft_or_a_lapse_is_one() -> None:
    ending = "training: [{course: Use, on: 2026-02-18, trainer: J. Siskin}]"
    text = lot_text(1, (ending, ending.replace("Siskin}", "Siskin, expires: 2026-12-11}")))
    lapsing = lot_text(
        2,
        (
            "Licence (invented)., training: [",
            "Licence., training: [{course: A, on: 2026-01-02, trainer: B, expires: 2026-12-04}, ",
        ),
    )
    site = write_site(Path("row"), text, lapsing)
    assert issue(site) == 0
    assert run("issue", site, "--date", "2026-12-05") == 1


def test_what_is_no_summary_stops_it_before_the_first_lot(capsys: pytest.CaptureFixture[str]) -> None:
    site = write_site(Path("row"), lot_text(1))
    Path("output").mkdir()
    Path("output/site-summary.pdf").write_bytes(b"mine")
    assert issue(site) == 2
    assert "is no summary of a site that planforge wrote; move it away first" in capsys.readouterr().err
    assert [path.name for path in Path("output").iterdir()] == ["site-summary.pdf"]


@pytest.mark.parametrize("option", [("--workers", "2"), ("--cluster", "tcp://127.0.0.1:8786")])
def test_one_lot_has_no_workers(option: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    write_site(Path("row"), lot_text(1))
    assert issue(Path("row/lot_1.yaml"), *option) == 2
    assert "is one lot; --workers and --cluster are for a site file." in capsys.readouterr().err
    assert not Path("output").exists()


def test_the_number_of_workers_is_that_of_lots_at_most(here: list[int]) -> None:
    site = write_site(Path("row"), lot_text(1, ("sag:", "sagg:")), lot_text(2, ("sag:", "sagg:")))
    assert issue(site, "--workers", 9) == 2
    assert here == [2]
    assert [path.name for path in Path("output").iterdir()] == ["site-summary.pdf"]


def test_a_bar_on_a_terminal_keeps_the_lines_on_standard_output(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    site = write_site(Path("row"), lot_text(1, ("sag:", "sagg:")), lot_text(2, ("sag:", "sagg:")))
    assert issue(site) == 2
    said, wrong = capsys.readouterr()
    assert said.splitlines()[0] == "lot-1: can't be used"
    assert "left:" in wrong
    assert "can't be used" not in wrong
