"""Two demo lots as printed, once for all tests; and documents from small templates of the tests' own."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from matplotlib.figure import Figure
from pypdf import PdfReader

from planforge.assess.assessment import Assessment
from planforge.document.build import Part, build_pdf
from planforge.document.finish import Attachment
from planforge.document.pages import DocumentMeta

from .packets import Pages, demo, pages_of

META = DocumentMeta(
    plan_number="PF-0001",
    revision="3",
    lot="14",
    title="Fall-protection plan, invented house",
    date=dt.date(2026, 3, 4),
    fingerprint="0123456789abcdef" * 4,
)


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., bytes]:
    """Return a function that builds a document from one or more template texts."""

    def build(
        *templates: str,
        context: Mapping[str, object] | None = None,
        meta: DocumentMeta = META,
        figures: Mapping[str, Figure] | None = None,
        attachment: Attachment | None = None,
        **part_options: Any,
    ) -> bytes:
        folder = tmp_path / f"templates{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        parts = []
        for index, text in enumerate(templates):
            (folder / f"part{index}.md").write_text(text, encoding="utf-8")
            parts.append(Part(f"part{index}.md", context or {}, **part_options))
        return build_pdf(parts, meta, figures or {}, attachment, folder)

    return build


@pytest.fixture
def read(make: Callable[..., bytes]) -> Callable[..., PdfReader]:
    """Return a function that builds a document and opens it with an independent reader."""

    def opened(*templates: str, **options: Any) -> PdfReader:
        return PdfReader(io.BytesIO(make(*templates, **options)))

    return opened


@pytest.fixture
def text_of(read: Callable[..., PdfReader]) -> Callable[..., str]:
    """Return a function that builds a document and gives all its text, white space collapsed."""

    def text(*templates: str, **options: Any) -> str:
        reader = read(*templates, **options)
        return " ".join(" ".join(page.extract_text() for page in reader.pages).split())

    return text


@pytest.fixture(scope="session")
def heron() -> Assessment:
    return demo("heron_lot_14")


@pytest.fixture(scope="session")
def heron_pages() -> Pages:
    return pages_of("heron_lot_14")


@pytest.fixture(scope="session")
def wren() -> Assessment:
    return demo("wren_lot_7")


@pytest.fixture(scope="session")
def wren_pages() -> Pages:
    return pages_of("wren_lot_7")
