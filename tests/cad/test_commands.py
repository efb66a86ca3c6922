"""The two commands: files whole, never over another, and every error a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from planforge import cli
from planforge.job.loading import load
from tests.command import run

from .plans import FOOTPRINT, HOLES, ROOT, TENDONS, on, outline, write_dxf, write_job


def a_job(folder: Path) -> Path:
    def draw(_: object, msp: object) -> None:
        outline(msp)  # type: ignore[arg-type]
        msp.add_circle((20, 25), 1, dxfattribs=on("HOLES"))  # type: ignore[attr-defined]
        msp.add_line((1, 25), (43, 25), dxfattribs=on("TENDON"))  # type: ignore[attr-defined]

    write_dxf(folder, draw)
    return write_job(folder, {"file": "plan.dxf", "layers": [FOOTPRINT, HOLES, TENDONS]})


def test_import_writes_both_parts_and_never_over_another(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = a_job(tmp_path)
    code, out, _ = run(capsys, "import", str(job))
    assert code == 0
    part, lot = tmp_path / "lot_drawing.yaml", tmp_path / "lot_drawing_lot.yaml"
    assert f"{part} written: name it under extends" in out
    assert f"{lot} written: paste it into the lot's own file" in out
    assert "taken:" in out
    job.write_text(f"extends: {part.name}\n{job.read_text('utf-8')}", "utf-8")
    assert any(o.id.startswith("O-") for o in load(job).model.layout.openings)
    before = part.read_bytes(), lot.read_bytes()
    code, _, err = run(capsys, "import", str(job), "-o", str(part))
    assert code == cli.BAD_INPUT
    assert "exists already; choose another name" in err
    assert (part.read_bytes(), lot.read_bytes()) == before
    # the same drawing again, beside the part that the job extends by now
    assert run(capsys, "import", str(job), "-o", str(tmp_path / "again.yaml"))[0] == 0
    assert (tmp_path / "again.yaml").read_bytes() == before[0]


def test_a_fault_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = a_job(tmp_path)
    (tmp_path / "plan.dxf").write_bytes(b"AC1032 and so on")
    kept = sorted(tmp_path.iterdir())
    code, out, err = run(capsys, "import", str(job))
    assert (code, out) == (cli.BAD_INPUT, "")
    assert "The drawing can't be used: 1 problem(s). Nothing was written." in err
    assert "plan.dxf: found a DWG file" in err
    assert sorted(tmp_path.iterdir()) == kept


def test_draw_writes_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "wren.dxf"
    wren = str(ROOT / "demo_jobs" / "wren_lot_7.yaml")
    code, out, _ = run(capsys, "draw", wren, "--dxf", str(target))
    assert code == cli.SHORT
    assert out.startswith(f"DRAFT written: {target} (fingerprint ")
    first = target.read_bytes()
    assert run(capsys, "draw", wren, "--dxf", str(target))[0] == cli.BAD_INPUT
    assert target.read_bytes() == first


@pytest.mark.parametrize("command", ["import", "draw"])
def test_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, command, "--help")
    assert code == 0
    assert f"Example:  planforge {command}" in " ".join(out.split()).replace("Example: ", "Example:  ")
