"""Every file that a job or a command names is bounded: too large, of another kind, or a bomb, it is refused.

A job names files in three places alone: ``extends``, ``house.design`` and ``drawing.file``; templates,
pictures and attachments it can't name. A command takes plans, certificates and trust lists besides.
"""

from __future__ import annotations

import datetime as dt
import gc
import os
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject

from planforge import cli
from planforge.job.reference import describe, fields
from planforge.register.issuing import issue
from planforge.register.pdf import MAX_JOB
from tests.cad.plans import FOOTPRINT, ROOT, write_job

resource = pytest.importorskip("resource")

WREN = ROOT / "demo_jobs" / "wren_lot_7_mended.yaml"
DATE = dt.date(2026, 12, 1)


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    with pytest.raises(SystemExit) as stopped:
        cli.main([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return int(stopped.value.code or 0), out + err


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return issue(WREN, tmp_path_factory.mktemp("issued"), date=DATE).path


def sparse(path: Path, megabytes: int, begins: bytes = b"") -> Path:
    with path.open("wb") as file:
        file.write(begins)
        file.truncate(megabytes << 20)
    return path


def test_a_job_names_files_in_three_places_alone() -> None:
    """A new field that names a file has to be bounded, and tested here."""
    words = ("file", "path", "template", "picture", "image", "attach", "photo", "url", "link")
    named = {name for name in fields() if any(word in name.rsplit(".", 1)[-1] for word in words)}
    told = {name for name in fields() if ".yaml" in (describe(name).description or "")}
    plain = {"site.code_profile", "layout.edges.path", "layout.guardrails.path", "building.walls.path"}
    assert {"drawing.file"} <= named
    assert named - {"drawing.file", "house.to_restate.file"} - plain <= {
        name for name in fields() if name.endswith(".path")
    }
    assert told <= {"extends", "house.design"}


def test_a_plan_a_drawing_and_certificates_beyond_all_size(
    plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    huge = sparse(tmp_path / "huge.pdf", 300, b"%PDF-1.7\n")
    assert "is larger than 50 MiB" in run(capsys, "verify", huge)[1]
    assert "is larger than 50 MiB" in run(capsys, "compare", huge, WREN)[1]
    sparse(tmp_path / "plan.dxf", 200, b"  0\nSECTION\n")
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": [FOOTPRINT]})
    assert "more than 32 MiB" in run(capsys, "import", job)[1]
    before = plan.read_bytes()
    code, told = run(capsys, "verify", plan, "--trust", sparse(tmp_path / "trust.pem", 200))
    assert (code, "is larger than 4 MiB; no trust list is" in told) == (cli.BAD_INPUT, True)
    (tmp_path / "secret").write_text("x\n")
    words = ("--role", "Competent person", "--passphrase-file", tmp_path / "secret")
    told = run(capsys, "sign", plan, "--certificate", sparse(tmp_path / "own.p12", 200), *words)[1]
    assert "is too large for a certificate" in told
    assert plan.read_bytes() == before


def test_a_plan_that_holds_a_bomb_is_judged_in_little_memory(plan: Path, tmp_path: Path) -> None:
    """A stream of 60 kB that would unpack to 60 MB, in a page and as the attached job."""
    packed = zlib.compress(b"\0" * (60 << 20), 9)
    assert len(packed) < MAX_JOB
    writer = PdfWriter(clone_from=PdfReader(plan))
    bomb = DecodedStreamObject()
    bomb._data = packed
    bomb[NameObject("/Filter")] = NameObject("/FlateDecode")
    writer.pages[0][NameObject("/Contents")] = writer._add_object(bomb)
    names = writer._root_object["/Names"]["/EmbeddedFiles"]["/Names"]  # type: ignore[index]
    names[1].get_object()["/EF"][NameObject("/F")] = writer._add_object(bomb)
    path = tmp_path / "bomb.pdf"
    writer.write(path)
    assert path.stat().st_size < 2 << 20
    code = "import sys, planforge.cli as c; c.main(['verify', sys.argv[1]])"
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (700 << 20, 700 << 20)),
    )
    assert done.returncode in (cli.ALTERED, cli.UNKNOWN, cli.SHORT), done.stderr
    assert "MemoryError" not in done.stdout + done.stderr


def test_a_command_in_a_process_that_goes_on_leaves_its_collector_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """It stayed off: a program that ran commands one after another grew to gigabytes."""
    assert gc.isenabled()
    run(capsys, "--version")
    assert gc.isenabled()
