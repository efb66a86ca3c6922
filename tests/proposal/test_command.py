"""`planforge propose`: prints, writes whole and never over a file, and tells by its exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml

from planforge import cli
from planforge.job.loading import merged_text
from planforge.proposal import propose
from planforge.proposal.cover import OutOfTimeError
from tests.command import run
from tests.proposal.jobs import small


@pytest.fixture
def lot(tmp_path: Path) -> Path:
    path = tmp_path / "lot.yaml"
    path.write_text(merged_text(small()), "utf-8")
    return path


def test_it_prints_and_writes_what_a_lot_can_extend(
    lot: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    written = tmp_path / "layout.yaml"
    code, out, _ = run(capsys, "propose", str(lot), "--output", str(written))
    assert code == cli.MEETS
    assert "proven (bound" in out
    assert "nothing is short for its sake" in out
    text = written.read_text("utf-8")
    assert text.startswith("# A layout proposed for Lot 17")
    assert set(yaml.safe_load(text)) == {"layout", "hazards", "tasks", "rescue"}
    lot.write_text("extends: layout.yaml\n" + "\n".join(_without(lot)), "utf-8")
    _, out, _ = run(capsys, "check", str(lot), "--json")
    short = {c["id"] for c in json.loads(out)["checks"] if c["verdict"] == "short"}
    assert short <= {"access.transfer", "plan.kind"}


def _without(lot: Path) -> list[str]:
    """The lot's own file less what it would state over the proposal."""
    data = yaml.safe_load(lot.read_text("utf-8"))
    for task in data["tasks"]:
        task.pop("stances", None)
    for means in data["rescue"]["means"]:
        means.pop("serves", None)
    data.pop("hazards")
    return str(yaml.safe_dump(data, sort_keys=False)).splitlines()


def test_it_never_writes_over_a_file(lot: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = lot.read_bytes()
    code, out, err = run(capsys, "propose", str(lot), "--output", str(lot))
    assert code == cli.BAD_INPUT
    assert "exists already" in err
    assert out == ""
    assert lot.read_bytes() == before


def test_json_holds_proposal_and_bound(lot: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "propose", str(lot), "--json")
    record = json.loads(out)
    assert code == cli.MEETS
    assert record["found"] and record["short"] == []
    assert [s["gap"] for s in record["steps"]] == [0.0, 0.0, 0.0]
    assert record["proposal"]["layout"]["posts"]
    assert record["worst_margin"]["value"] > 0.0


def test_no_layout_is_exit_code_one_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lot, written = tmp_path / "lot.yaml", tmp_path / "layout.yaml"
    lot.write_text(
        merged_text(small(change=lambda data: data["proposal"].update(edge_distance="4 ft"))), "utf-8"
    )
    code, out, _ = run(capsys, "propose", str(lot), "--output", str(written))
    assert code == cli.SHORT
    assert "No layout covers every hazard edge" in out
    assert not written.exists()
    code, out, _ = run(capsys, "propose", str(lot), "--json")
    assert (code, json.loads(out)["found"]) == (cli.SHORT, False)


def test_running_out_of_time_is_said_in_words_with_exit_code_one(
    lot: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def late(*_: object, **__: object) -> None:
        raise OutOfTimeError("Tried: nothing yet.")

    monkeypatch.setattr(propose, "chooser_of", late)
    code, out, err = run(capsys, "propose", str(lot), "--time-limit", "7")
    assert code == cli.SHORT
    assert "No layout is offered: the time of 7 s ran out. Whether there is one is not known." in out
    assert "Tried: nothing yet." in out and "--time-limit" in out
    assert err == ""
    code, out, _ = run(capsys, "propose", str(lot), "--json")
    record = json.loads(out)
    assert (code, record["found"], record["out_of_time"]) == (cli.SHORT, False, True)
