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
    desk = Desk(Figures(figures), words(meta.language))

    def flow_of(part: Part) -> Flow:
        language = part.language or meta.language
        desk.words = words(language)
        return desk.converter.flow(
            render(part.template, part.context, desk, folder or templates_folder(language))
        )

    def within(part: Part, most_pages: int) -> Flow | None:
        """A part that takes no more pages by itself; else None, and the desk is as it was before."""
        before, alone = desk.mark(), Paginator()
        flow = flow_of(part)
        alone.run(flow, desk.words)
        if len(alone.pages) <= most_pages:
            return flow
        desk.back_to(before)
        return None

    flows = []
    for part, tried in _chosen(parts, within):
        flow = flow_of(part) if tried is None else tried
        flows.append((flow if part.new_page else without_first_break(flow), desk.words))
    paginator = Paginator()
    for flow, part_words in flows:
        paginator.run(flow, part_words)
    canvas = finish.open_canvas(meta)
    draw_pages(canvas, paginator.pages, meta)
    if attachment is not None:
        finish.attach(canvas, attachment, meta.date)
    return finish.close(canvas)


Within = Callable[[Part, int], Flow | None]


def _chosen(parts: Sequence[Part | Choice], within: Within) -> Iterator[tuple[Part, Flow | None]]:
    """The parts with every choice made when its turn comes, and those that were tried for it as laid out."""
    for part in parts:
        if isinstance(part, Part):
            yield part, None
            continue
        for way in part.ways[:-1]:
            first = way[0]
            if isinstance(first, Part) and (tried := within(first, part.most_pages)) is not None:
                yield first, tried
                yield from _chosen(way[1:], within)
                break
        else:
            yield from _chosen(part.ways[-1], within)
