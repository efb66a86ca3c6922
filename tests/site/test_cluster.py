"""A site issued on a cluster: the same tasks, the same bytes; and clear words where it can't be used."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from planforge.errors import PlanforgeError
from planforge.register.database import FILE_NAME
from planforge.register.register import Register
from planforge.site import cluster
from planforge.site.issuing import Order, issue_site
from planforge.site.work import Task, work_in

from .executors import inline
from .small_site import DAY, small_site

ROOT = Path(__file__).resolve().parent.parent.parent
SCRIPT = """
import sys
from distributed import LocalCluster
from planforge.cli import main
if __name__ == "__main__":
    # Two threads in each process: it still works on one lot at a time.
    with LocalCluster(n_workers=2, threads_per_worker=2, dashboard_address=None, host="127.0.0.1") as local:
        main([*sys.argv[1:], "--cluster", local.scheduler_address])
"""


def test_a_cluster_writes_the_same_bytes(tmp_path: Path) -> None:
    """Two workers, which are told the site by a path from the folder of whoever issues it."""
    pytest.importorskip("distributed", reason="needs the extra 'cluster'")
    site = small_site(tmp_path / "site", 2)
    here = list(issue_site(site, Order(tmp_path / "here", DAY), inline()))
    (tmp_path / "script.py").write_text(SCRIPT, "utf-8")
    words = ("issue", "site/site.yaml", "-o", "there", "--date", DAY.isoformat())
    done = subprocess.run(
        [sys.executable, tmp_path / "script.py", *words],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PATH": "", "OPENBLAS_NUM_THREADS": "1", "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "2 lot(s): 2 issued." in done.stdout
    for outcome in here:
        name = Path(outcome.file).name
        assert (tmp_path / "there" / name).read_bytes() == (tmp_path / "here" / name).read_bytes()
    ours, theirs = (Register(tmp_path / name / FILE_NAME).entries() for name in ("here", "there"))
    assert sorted(ours, key=lambda e: e.number) == sorted(theirs, key=lambda e: e.number)


def test_a_cluster_without_the_extra_is_said_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def absent(name: str) -> None:
        raise ModuleNotFoundError(f"No module named {name!r}", name=name)

    monkeypatch.setattr(cluster, "import_module", absent)
    with pytest.raises(PlanforgeError, match=r"needs planforge's extra 'cluster': pip install"):
        cluster.on_cluster("tcp://127.0.0.1:1")


def test_a_scheduler_that_does_not_answer_is_said_so(monkeypatch: pytest.MonkeyPatch) -> None:
    class Silent:
        @staticmethod
        def Client(address: str, **_: object) -> None:  # noqa: N802 - the library's name
            raise OSError("Timed out during handshake")

    monkeypatch.setattr(cluster, "import_module", lambda _: Silent)
    with pytest.raises(PlanforgeError, match=r"no scheduler answers at tcp://127\.0\.0\.1:1 \(Timed out"):
        cluster.on_cluster("tcp://127.0.0.1:1")


class _Client:
    """What is asked of a cluster before the first lot."""

    def __init__(self, workers: int, **there: str) -> None:
        self.workers, self.there, self.closed = workers, there, False

    def nthreads(self) -> dict[str, int]:
        return {f"tcp://w{n}": 4 for n in range(self.workers)}

    def run(self, function: object) -> dict[str, dict[str, str]]:
        assert function is cluster.versions
        return {worker: cluster.versions() | self.there for worker in self.nthreads()}

    def close(self) -> None:
        self.closed = True


@pytest.mark.parametrize(
    ("client", "said"),
    [
        (_Client(0), "has no workers; start some"),
        (
            _Client(2, reportlab="4.0"),
            r"would not write the bytes that this machine does: tcp://w0 has reportlab 4\.0, this "
            r"machine .*; "
            r"tcp://w1 has reportlab 4\.0, this machine .*\. Bring both to the same versions\.",
        ),
    ],
)
def test_a_cluster_that_would_do_other_work_is_refused(
    client: _Client, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "_client", lambda _: client)
    with pytest.raises(PlanforgeError, match=said):
        cluster.on_cluster("tcp://127.0.0.1:1")
    assert client.closed


def test_a_process_works_on_one_lot_at_a_time_however_many_threads_it_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cluster, "_client", lambda _: _Client(3))
    crew = cluster.on_cluster("tcp://127.0.0.1:1")
    assert (crew.width, crew.elsewhere) == (3, True)


def test_a_folder_that_a_worker_does_not_see_is_said_so(tmp_path: Path) -> None:
    task = Task(small_site(tmp_path, 1).lots[0], DAY, draft=False)
    report = work_in(tmp_path / "absent", task)
    assert report.stopped is not None
    assert report.stopped[1][0].endswith(
        "absent can't be entered where the lot was to be worked on: No such file or directory."
    )
