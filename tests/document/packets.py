"""Packets of the demo jobs for the tests that read them: printed once, with stand-ins for drawings."""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Callable, Mapping
from functools import cache, cached_property
from pathlib import Path

from matplotlib.figure import Figure
from pypdf import PdfReader

from planforge.assess.assessment import Assessment, assess
from planforge.document.finish import Attachment
from planforge.document.packet import packet
from planforge.figures import figure_set
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import load_model

DEMOS = Path(__file__).resolve().parents[2] / "demo_jobs"
DATE = dt.date(2026, 11, 30)
FINGERPRINT = "0123456789abcdef" * 4


def job_of(name: str) -> Job:
    return load_model(DEMOS / f"{name}.yaml", Job, lot_only=LOT_ONLY).model


@cache
def demo(name: str) -> Assessment:
    """A demo job's assessment."""
    return assess(job_of(name))


@cache
def pages_of(name: str) -> Pages:
    """A demo job's packet."""
    return Pages(printed(demo(name)))


def small_figure() -> Figure:
    return Figure(figsize=(1.0, 1.0))


def printed(
    assessment: Assessment, *, draft: bool = False, drawn: Mapping[str, Callable[[], Figure]] | None = None
) -> bytes:
    """The packet with a tiny stand-in for every drawing but those of ``drawn``: text and layout count."""
    figures = {**dict.fromkeys(figure_set(assessment), small_figure), **(drawn or {})}
    attachment = Attachment("job.yaml", b"format: planforge job 1\n", "The job file")
    return packet(
        assessment,
        fingerprint=FINGERPRINT,
        date=DATE,
        draft=draft,
        attachment=attachment,
        figures=figures,
    )


def squeezed(text: str) -> str:
    """Text without white space: lines break anywhere in a narrow cell."""
    return re.sub(r"\s", "", text)


class Pages:
    """A packet's text, by page and by part."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.reader = PdfReader(io.BytesIO(data))
        self.parts: dict[str, tuple[int, int]] = {}
        entries = [e for e in self.reader.outline if not isinstance(e, list)]
        starts = [self.reader.get_destination_page_number(e) for e in entries]
        for entry, start, end in zip(entries, starts, [*starts[1:], len(self.reader.pages) - 1], strict=True):
            self.parts[str(entry.title)] = (start, end)

    @cache  # noqa: B019 - a test run holds few packets
    def page(self, number: int) -> str:
        """The text of a page, white space collapsed."""
        return " ".join(self.reader.pages[number].extract_text().split())

    @cached_property
    def pages(self) -> list[str]:
        """The text of every page."""
        return [self.page(number) for number in range(len(self.reader.pages))]

    @property
    def text(self) -> str:
        return " ".join(self.pages)

    def part(self, beginning: str) -> str:
        """The text of a part, with all of the page on which the next one begins."""
        start, end = next(v for title, v in self.parts.items() if title.startswith(beginning))
        return " ".join(self.page(number) for number in range(start, end + 1))
