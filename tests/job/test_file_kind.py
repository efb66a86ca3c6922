"""A file of another kind is told as that, in one line, whatever it lacks besides."""

from __future__ import annotations

from pathlib import Path

import pytest

from planforge.errors import JobFileError
from planforge.job.loading import load
from planforge.kits.reading import load_inventory
from planforge.site.reading import read_site

DEMOS = Path(__file__).resolve().parent.parent.parent / "demo_jobs"
JOB, SITE, KITS = DEMOS / "heron_lot_14.yaml", DEMOS / "sandpiper_row.yaml", DEMOS / "alder_kits.yaml"


@pytest.mark.parametrize(
    ("read", "file", "expected", "remedy"),
    [
        (load, KITS, "planforge job 1", "This is a kits file. Name the site file"),
        (load, SITE, "planforge job 1", "This is a site file, which lists lots."),
        (read_site, JOB, "planforge site 1", "This is the job file of one lot."),
        (read_site, KITS, "planforge site 1", "This is a kits file."),
        (load_inventory, JOB, "planforge kits 1", "This is the job file of one lot."),
    ],
)
def test_another_kind_of_file_is_told_alone(read, file: Path, expected: str, remedy: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(JobFileError) as refused:
        read(file)
    (problem,) = refused.value.problems
    assert f'expected "{expected}"' in str(problem)
    assert problem.field == "format" and problem.line in (3, 4)
    assert remedy in str(problem)


def test_a_kind_that_nobody_knows_stays_a_wrong_value(tmp_path: Path) -> None:
    odd = tmp_path / "odd.yaml"
    odd.write_text("format: planforge jobs 1\nwords: here\n", "utf-8")
    with pytest.raises(JobFileError) as refused:
        load(odd)
    told = [str(problem) for problem in refused.value.problems]
    assert len(told) > 2
    assert any('expected "planforge job 1"' in line for line in told)
