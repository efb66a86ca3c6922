"""A job file on disk to a checked :class:`Job`, with the merged text that a plan carries along."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Final

from planforge.job.consistency import check_consistency
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import Loaded, load_model
from planforge.job.writing import yaml_text

_KEPT: Final = 256
"""How many parts of jobs are kept as written; a job has some 25."""


def load(path: Path | str) -> Loaded[Job]:
    """Read a job file and all it extends, every check across its fields included.

    Raises :class:`planforge.errors.JobFileError` with every problem found.
    """
    return load_model(Path(path), Job, lot_only=LOT_ONLY, checks=check_consistency)


def load_job(path: Path | str) -> Job:
    """The job alone; see :func:`load`."""
    return load(path).model


def merged_text(loaded: Loaded[Job]) -> str:
    """One self-contained job file, as YAML: what the lot states and what it shares, merged.

    Reading it again gives the same job.
    """
    parts = ({key: value} for key, value in loaded.data.items() if key != "extends")
    return "".join(_written(json.dumps(part)) for part in parts)


@lru_cache(maxsize=_KEPT)
def _written(part: str) -> str:
    """A part of a job, given as JSON, as YAML: lots of one design share most parts."""
    return yaml_text(json.loads(part))
