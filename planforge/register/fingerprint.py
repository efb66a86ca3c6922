"""The fingerprint of a plan: SHA-256 over the canonical job, the templates and planforge's version.

Two plans with the same fingerprint and date are the same document. Notes, order of keys and the
spelling of units (``6 in`` or ``0.5 ft``) do not change it; any value, template or version does.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from pydantic import BaseModel

from planforge import __version__
from planforge.assess.briefing import sheet_languages
from planforge.job.model import Job
from planforge.languages import OF_A_SITE, folders


def canonical(job: BaseModel) -> bytes:
    """A job, or another file's model, as JSON in SI, keys sorted, no spaces: everywhere the same bytes."""
    data = job.model_dump(mode="json", exclude_none=True)
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode("ascii")


def template_bytes(folder: Path) -> bytes:
    """Every template and the language's own file: name and content, sorted by name, line ends as on Unix.

    But for those of a whole site: they print no part of a plan, and to edit them makes no other plan.
    """
    parts = []
    templates = [path for path in folder.rglob("*.md") if not path.name.startswith(OF_A_SITE)]
    files = [*templates, *folder.glob("language.yaml")]
    for path in sorted(files, key=lambda p: p.relative_to(folder).as_posix()):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        parts.append(path.relative_to(folder).as_posix().encode() + b"\0" + content + b"\0")
    return b"".join(parts)


def plan_fingerprint(job: Job) -> str:
    """The fingerprint of a job's plan: over the templates of every language that it prints."""
    return fingerprint(job, *folders(language.code for language in sheet_languages(job)))


def fingerprint(job: Job, *templates: Path) -> str:
    """64 hexadecimal digits for a job and the templates under each folder."""
    return _digest([canonical(job), *map(template_bytes, templates)])


def kits_fingerprint(jobs: Iterable[Job], inventory: BaseModel, start: dt.date | None) -> str:
    """64 hexadecimal digits for all that a plan of kits is made from: lots in order, stock, first day."""
    day = "" if start is None else start.isoformat()
    return _digest([day.encode(), canonical(inventory), *map(canonical, jobs)])


def _digest(parts: Iterable[bytes]) -> str:
    """Over the version and the parts, each with its length before it."""
    digest = hashlib.sha256()
    for part in (__version__.encode(), *parts):
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.hexdigest()
