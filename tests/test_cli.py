"""The command line: tables, JSON, exit codes, refusals in plain words, nothing half-written."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from planforge import cli
from planforge.job.model import Job
from planforge.job.reference import fields
from tests.command import run

ROOT = Path(__file__).resolve().parent.parent
HERON = ROOT / "demo_jobs" / "heron_lot_14.yaml"
WREN = ROOT / "demo_jobs" / "wren_lot_7.yaml"


def test_check_prints_every_finding_and_says_what_is_short(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "check", str(WREN))
    assert code == cli.SHORT
    assert "SHORT: Clearance [arrest.clearance]" in out
    assert "Something is short: this job prints only as a draft." in out
    assert out.index("MEETS:") < out.index("SHORT:")


def test_check_json_has_the_promised_fields(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "check", str(HERON), "--json")
    record = json.loads(out)
    assert code == cli.MEETS
    assert set(record) == {"job", "fingerprint", "checks"}
    assert len(record["fingerprint"]) == 64
    wanted = {"id", "where", "phase", "value", "limit", "unit", "verdict", "source", "decides"}
    for check in record["checks"]:
        assert wanted <= set(check)
    free_fall = next(c for c in record["checks"] if c["id"] == "arrest.free_fall")
    assert free_fall["unit"] == "m"
    assert 0 < free_fall["value"] < free_fall["limit"] <= 6 * 0.3048 + 1e-9


def test_check_open_leaves_out_what_meets(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "check", str(HERON), "--open")
    assert "CONFIRM:" in out
    assert "MEETS:" not in out


def test_bad_input_lists_every_problem_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "bad.yaml"
    text = f"extends: [{ROOT / 'demo_jobs' / 'company_alder.yaml'}]\nformat: planforge job 1\n"
    job.write_text(
        text.replace(str(ROOT), "..") + "plann: 3\nslab: {kind: reinforced, thickness: 5}\n", "utf-8"
    )
    code, out, err = run(capsys, "check", str(job))
    assert code == cli.BAD_INPUT
    assert not out
    assert "bad.yaml:3: plann:" in err
    assert "problem(s)" in err


def test_a_missing_file_is_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "check", "no_such_job.yaml")
    assert code == cli.BAD_INPUT
    assert "no_such_job.yaml" in err


def test_a_date_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "issue", str(HERON), "--date", "11/30/2026", "-o", str(tmp_path))
    assert code == cli.BAD_INPUT
    assert err == "--date '11/30/2026' is no date; write year-month-day, such as 2026-11-30.\n"
    assert not list(tmp_path.iterdir())


def test_a_defect_of_planforge_is_said_so_without_a_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> object:
        raise ZeroDivisionError("made up")

    monkeypatch.setattr("planforge.job.loading.load", broken)
    code, _, err = run(capsys, "check", str(HERON))
    assert code == cli.DEFECT
    assert "failed on its own account (ZeroDivisionError: made up)" in err


def test_new_writes_a_job_that_reads_and_never_overwrites(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "lot_21.yaml"
    code, out, _ = run(capsys, "new", str(job))
    assert code == 0
    assert "Replace what is marked" in out
    assert run(capsys, "check", str(job))[0] in (cli.MEETS, cli.SHORT)
    before = job.read_bytes()
    code, _, err = run(capsys, "new", str(job))
    assert code == cli.BAD_INPUT
    assert "exists already" in err
    assert job.read_bytes() == before


def test_schema_is_json(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "schema")
    assert code == 0
    assert set(Job.model_fields) <= set(json.loads(out)["properties"])


def test_explain_fields_checks_and_slips(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "explain", "layout.lines.sag")
    assert "the installed, unloaded sag at mid-span" in out
    assert "Required." in out
    _, out, _ = run(capsys, "explain", "arrest.clearance")
    assert "A variance can accept it: no." in out
    code, _, err = run(capsys, "explain", "layout.lines.sagg")
    assert code == cli.BAD_INPUT
    assert "layout.lines.sag" in err
    _, out, _ = run(capsys, "explain", "--all")
    for field in fields():
        assert f"`{field.rsplit('.', 1)[-1]}`" in out


@pytest.mark.parametrize(
    "command", ["check", "issue", "verify", "compare", "register", "new", "schema", "explain"]
)
def test_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, command, "--help")
    assert code == 0
    assert "Example" in out
    assert f"planforge {command}" in out


def test_a_word_that_is_no_command_names_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "chek")
    assert code == cli.BAD_INPUT
    assert "'check'" in err


def test_a_stop_from_the_keyboard_is_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object) -> object:
        raise KeyboardInterrupt

    monkeypatch.setattr("planforge.job.loading.load", stopped)
    code, _, err = run(capsys, "check", str(HERON))
    assert code == cli.STOPPED
    assert err == "Stopped. Nothing was half-written.\n"


def test_a_pipe_that_closes_is_quiet() -> None:
    """Which program closes the pipe does not matter; nothing is said and the code is not 1, `short`."""
    command = [sys.executable, "-m", "planforge", "schema"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(10)
    process.stdout.close()
    assert process.stderr.read() == b""
    assert process.wait() in (0, cli.NOT_PRINTED)
    process.stderr.close()


def test_a_name_too_long_for_a_file_is_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "new", "x" * 300 + ".yaml")
    assert code == cli.BAD_INPUT
    assert "can't be a file name" in err


def test_a_check_and_a_field_of_one_name_are_both_explained(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "explain", "rescue.contacts")
    assert "Whom to call" in out
    assert "Holds:" in out


def test_as_a_module_in_its_own_process() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "planforge", "--version"], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.startswith("planforge ")
