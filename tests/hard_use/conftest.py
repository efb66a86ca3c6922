"""A folder with an issued plan; and a second Hypothesis profile, which tries much more.

``pytest tests/hard_use --hypothesis-profile long``.
"""

from __future__ import annotations

import shutil
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import settings

from planforge.job.model import Job
from planforge.register import issuing
from planforge.register.result import Result
from tests import command
from tests.register.conftest import DATE, MENDED, few_pages

from .folders import Cli

settings.register_profile("long", max_examples=2000, print_blob=True)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Cli:
    return partial(command.run, capsys)


@pytest.fixture(scope="session")
def issued(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one issued plan and its register, not to be changed."""
    folder = tmp_path_factory.mktemp("issued")
    with few_pages():
        issuing.issue(MENDED, folder, date=DATE)
    return folder


@pytest.fixture
def shelf(issued: Path, tmp_path: Path) -> Path:
    """A copy of it that a test may change."""
    return shutil.copytree(issued, tmp_path / "shelf")


@pytest.fixture
def quick_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan at once; what is tested is how it is written and entered."""

    def assessed(job: Job) -> Any:
        return SimpleNamespace(job=job, draft=False)

    monkeypatch.setattr(issuing, "assess", assessed)
    monkeypatch.setattr(issuing, "figure_set", lambda _: {})
    monkeypatch.setattr(issuing, "result_of", lambda *_: Result({}, (), 0, {}, 1))
    monkeypatch.setattr(issuing, "packet", lambda *_, **__: b"%PDF-1.7 /Type /Page made up")
