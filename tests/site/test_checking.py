"""The lots of a site checked here or by a crew: the same words, the same order, and no lot stops another."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from planforge import cli
from planforge.site import checking
from planforge.site.checking import CheckedLot, View, check_lots
from planforge.site.lots import LotSource
from planforge.site.pool import Crew
from planforge.site.reading import Site, read_site

from ..command import run
from .executors import inline
from .sites import HEAD, SOUND, put


def three(folder: Path) -> Site:
    put(
        folder, site_yaml=HEAD + "lots: [{id: a, job: a.yaml}, {id: b, job: no.yaml}, {id: c, job: c.yaml}]\n"
    )
    put(folder, a_yaml=SOUND, c_yaml=SOUND.replace("P-1", "P-3"))
    return read_site(folder / "site.yaml")


@pytest.mark.parametrize("of", ["what is short", "what is open", "every value"])
def test_a_crew_says_the_same(of: str, tmp_path: Path) -> None:
    site, view = three(tmp_path), View(of, 100)  # type: ignore[arg-type]
    here = list(check_lots(site, view))
    assert list(check_lots(site, view, inline())) == here
    assert [(bool(lot.counts), bool(lot.problems)) for lot in here] == [
        (True, False),
        (False, True),
        (True, False),
    ]
    assert [bool(lot.lines) for lot in here] == [of != "every value", False, of != "every value"]
    assert bool(here[0].checks) == (of == "every value")


def test_lots_print_in_the_order_of_the_site_however_they_are_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = threading.Event()

    def slow_first(source: LotSource, view: View) -> CheckedLot:
        if source.id == "a":
            assert other.wait(20.0)
        else:
            other.set()
        return CheckedLot(source.id, source.where)

    monkeypatch.setattr(checking, "check_lot", slow_first)
    crew = Crew(ThreadPoolExecutor, 2, lambda pool: pool.shutdown())
    assert [lot.id for lot in check_lots(three(tmp_path), View(), crew)] == ["a", "b", "c"]


def test_a_defect_on_one_lot_is_told_of_that_lot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = checking.assess

    def broken(job):  # type: ignore[no-untyped-def]
        if job.plan.number == "P-1":
            raise ZeroDivisionError("made up")
        return sound(job)

    monkeypatch.setattr(checking, "assess", broken)
    three(tmp_path)
    code, out, _ = run(capsys, "check", tmp_path / "site.yaml")
    assert code == cli.DEFECT
    lines = out.splitlines()
    assert lines[:2] == [
        "a: failed",
        "  planforge failed on its own account (ZeroDivisionError: made up). Please report it.",
    ]
    assert any(line.startswith("c: P-3 revision 1, Lot 1: ") for line in lines)
    assert lines[-1] == "Example Row: 3 lot(s): 0 nothing short, 1 short, 1 can't be read, 1 failed."


def test_what_two_lots_state_alike_is_noted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A row that was copied and not changed would send responders to another lot."""
    rows = (
        "id,job,plan.number,site.lot,site.address,site.permit",
        "a,a.yaml,P-1,Lot 1,1 Example Row,EX-1",
        "b,b.yaml,P-2,Lot 2,1  example row,",
        "c,c.yaml,P-3,Lot 1,3 Example Row,",
    )
    put(tmp_path, site_yaml=HEAD + "table: lots.csv\n", lots_csv="\n".join(rows))
    put(tmp_path, a_yaml=SOUND, b_yaml=SOUND, c_yaml=SOUND)
    _, out, _ = run(capsys, "check", tmp_path / "site.yaml")
    assert [line for line in out.splitlines() if line.startswith("note: ")] == [
        'note: a and b state the same address, "1 Example Row": see that it is right.',
        'note: a and c state the same lot, "Lot 1": see that it is right.',
    ]


def test_the_command_with_two_processes_prints_what_one_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    three(tmp_path)
    one = run(capsys, "check", tmp_path / "site.yaml", "--workers", "1")
    assert run(capsys, "check", tmp_path / "site.yaml", "--workers", "2") == one
