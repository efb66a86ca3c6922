"""The job that rides in a plan or stands in the register, read back; and a job's identity in words."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from planforge.errors import JobFileError, PlanforgeError
from planforge.job.extends import KEY
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.job.source import load_yaml
from planforge.register.pdf import NotReadableError, attached_job, identity, open_pdf, read_bounded


def load_text(text: str, name: str) -> Loaded[Job]:
    """Read a self-contained job; ``name`` stands for it in messages.

    A job from a PDF is a stranger's text: one that would read other files of this machine is refused.
    Raises :class:`JobFileError` with every problem.
    """
    try:
        with tempfile.TemporaryDirectory(prefix="planforge-") as folder:
            path = Path(folder) / "job.yaml"
            path.write_text(text, "utf-8", newline="\n")
            if KEY in load_yaml(path).root.entries:
                raise PlanforgeError(f"{name} builds upon other files ({KEY}); a plan's own job never does.")
            return load(path)
    except JobFileError as error:
        raise JobFileError([replace(problem, file=name) for problem in error.problems]) from error
    except OSError as error:
        raise PlanforgeError(f"{name} can't be unpacked to read it: {error.strerror}.") from error


def load_either(path: Path) -> Loaded[Job]:
    """Read a job from its file, or from the plan that was made of it."""
    if not path.is_file() or not _is_pdf(path):
        return load(path)
    try:
        reader = open_pdf(read_bounded(path))
        text = attached_job(reader) if identity(reader) else None
    except NotReadableError as error:
        raise PlanforgeError(f"{path} can't be compared: {error}.") from error
    if text is None:
        raise PlanforgeError(
            f"{path} is no plan of planforge's with its job inside; name the plan or the job."
        )
    return load_text(text, f"the job in {path}")


def _is_pdf(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(5) == b"%PDF-"
    except OSError as error:
        raise PlanforgeError(f"{path} can't be read: {error.strerror}.") from error


def person(job: Job, key: str) -> str:
    """A person's name by id; the id itself where the job names nobody so."""
    return next((p.name for p in job.people if p.id == key), key)
