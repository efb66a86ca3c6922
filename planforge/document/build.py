"""Templates, figures and an identity in; one PDF out.

The way through: each part's template is rendered to Markdown, converted to blocks and laid out;
then all pages are drawn, the job file is attached and the file is closed. The same input gives
the same bytes, on any day and machine with the same library versions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from planforge.document import finish
from planforge.document.finish import Attachment
from planforge.document.helpers import Desk, Figures
from planforge.document.markdown_flow import Flow, without_first_break
from planforge.document.pages import DocumentMeta, draw_pages
from planforge.document.paginate import Paginator
from planforge.document.templating import render
from planforge.document.words import words
from planforge.languages import templates_folder

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True)
class Part:
    """One template with its values. ``new_page`` false lets it continue on the page before it."""

    template: str
    context: Mapping[str, object] = field(default_factory=dict)
    new_page: bool = True
    language: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """Several ways to print the same, the best first: the first whose first part keeps to ``most_pages``.

    Where none does, the last is printed; it may itself hold choices.
    """

    ways: tuple[tuple[Part | Choice, ...], ...]
    most_pages: int


def build_pdf(
    parts: Sequence[Part | Choice],
    meta: DocumentMeta,
    figures: Mapping[str, Figure | Callable[[], Figure]],
    attachment: Attachment | None = None,
    folder: Path | None = None,
) -> bytes:
    """Return the document's bytes.

    ``figures`` maps names to figures or to functions that draw them up on first use. ``folder``
    replaces the packaged templates. Raises :class:`planforge.errors.RefusedError` for a template
    that fails, a missing value, an unknown figure or one too large for its page.
    """
    drawings = Figures(figures)
    desk = Desk(drawings, words(meta.language))

    def flow_of(part: Part, at: Desk) -> Flow:
        language = part.language or meta.language
        at.words = words(language)
        return at.converter.flow(
            render(part.template, part.context, at, folder or templates_folder(language))
        )

    def pages_of(part: Part) -> int:
        """How many pages a part takes by itself, tried at a desk of its own."""
        trial, alone = Desk(drawings, desk.words), Paginator()
        alone.run(flow_of(part, trial), trial.words)
        return len(alone.pages)

    flows = []
    for part in _chosen(parts, pages_of):
        flow = flow_of(part, desk)
        flows.append((flow if part.new_page else without_first_break(flow), desk.words))
    paginator = Paginator()
    for flow, part_words in flows:
        paginator.run(flow, part_words)
    canvas = finish.open_canvas(meta)
    draw_pages(canvas, paginator.pages, meta)
    if attachment is not None:
        finish.attach(canvas, attachment, meta.date)
    return finish.close(canvas)


def _chosen(parts: Sequence[Part | Choice], pages_of: Callable[[Part], int]) -> Iterator[Part]:
    """The parts with every choice made."""
    for part in parts:
        if isinstance(part, Part):
            yield part
        else:
            yield from _chosen(_way(part, pages_of), pages_of)


def _way(choice: Choice, pages_of: Callable[[Part], int]) -> tuple[Part | Choice, ...]:
    for way in choice.ways[:-1]:
        if isinstance(way[0], Part) and pages_of(way[0]) <= choice.most_pages:
            return way
    return choice.ways[-1]
