"""One plan and its next revision, issued once for the tests that look at registers and files."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from planforge.document import packet
from planforge.job.loading import load, merged_text
from planforge.register.database import FILE_NAME
from planforge.register.issuing import Issued, issue
from planforge.register.register import Register

from .certificates import holder

ROOT = Path(__file__).resolve().parent.parent.parent
MENDED = ROOT / "demo_jobs" / "wren_lot_7_mended.yaml"
DATE = dt.date(2026, 11, 25)
LATER = dt.date(2026, 11, 27)
NEXT = (
    "  - revision: '2'\n    dated: '2026-11-26'\n    change: The hospital is farther by road.\n"
    "    approved_by: kestrel\n"
)


def text_of(*changes: tuple[str, str]) -> str:
    """The mended lot's merged job with texts replaced, each of which must stand in it."""
    text = merged_text(load(MENDED))
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def next_revision(*changes: tuple[str, str]) -> str:
    """The mended lot's revision 2, with its line of history."""
    return text_of(
        ("  revision: '1'\n", "  revision: '2'\n"),
        ("prepared: '2026-11-24'", "prepared: '2026-11-26'"),
        ("site:\n", f"{NEXT}site:\n"),
        ("drive: 19 min", "drive: 25 min"),
        *changes,
    )


KEPT = (
    "01_page_one.md",
    "02_crew_sheet.md",
    "03_erection_sheet.md",
    "03c_release.md",
    "04_contents.md",
)
"""The parts of the packet that stand in the plans of these tests: fields, roles to sign, an outline."""


WHOLE = {"PARTS": packet.PARTS, "PULL_OUT": packet.PULL_OUT}


@pytest.fixture
def whole_packet(monkeypatch: pytest.MonkeyPatch) -> None:
    """What this process issues is what another one does."""
    for name, parts in WHOLE.items():
        monkeypatch.setattr(packet, name, parts)


@contextmanager
def few_pages() -> Iterator[None]:
    """Register, signatures and comparison look at files, whatever those hold: a whole packet takes longer."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(packet, "PARTS", tuple(part for part in packet.PARTS if part[0] in KEPT))
        patch.setattr(packet, "PULL_OUT", ())
        yield


@pytest.fixture(scope="module", autouse=True)
def _few_pages() -> Iterator[None]:
    """In the tests of this folder alone: other folders' tests run in the same process."""
    with few_pages():
        yield


@dataclass(frozen=True)
class Shelf:
    """A folder with a register: revision 1 was issued, then revision 2."""

    folder: Path
    first: Issued
    second: Issued

    @property
    def register(self) -> Register:
        """Its register."""
        return Register(self.folder / FILE_NAME)


@pytest.fixture(scope="session")
def kept_shelf(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    folder = tmp_path_factory.mktemp("shelf")
    job = tmp_path_factory.mktemp("jobs") / "job.yaml"
    job.write_text(next_revision(), "utf-8")
    with few_pages():  # a fixture of the session is made before those of a module
        first = issue(MENDED, folder, date=DATE)
        return Shelf(folder, first, issue(job, folder, date=LATER))


@pytest.fixture
def shelf(kept_shelf: Shelf, tmp_path: Path) -> Shelf:
    """A copy of it that a test may change."""
    folder = shutil.copytree(kept_shelf.folder, tmp_path / "shelf")
    return Shelf(folder, kept_shelf.first, kept_shelf.second)


@pytest.fixture
def job_file(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "job.yaml"
        path.write_text(text, "utf-8")
        return path

    return write


@pytest.fixture
def plan(shelf: Shelf) -> Path:
    """The shelf's current plan, which a test may sign."""
    return shelf.folder / shelf.second.path.name


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """The competent person's certificate with its key."""
    return holder("Aspen Dunlin").p12(tmp_path)
