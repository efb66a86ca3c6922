"""The same document through planforge, an HTML-to-PDF engine and a compiled typesetter, side by side.

    python tests/benchmarks/bench_documents.py [--runs 3] [--record]

Needs the extra ``bench``. One packet is assessed and composed once; its blocks are kept: headings,
paragraphs, lists, notices, tables with their columns and rows, and every drawing. Each program then
makes a PDF of just these blocks, in the same fonts, on the same sizes of page. planforge starts from the
templates and the drawings, the others from finished HTML and typesetter's source with finished SVG, which
spares them that work. Left out of theirs is what they are not asked for: form fields, running heads, leaders
in the contents.
"""

from __future__ import annotations

import base64
import datetime as dt
import html
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from typing import Any

import font_source_sans_pro
import typst
import weasyprint
from pypdf import PdfReader
from recording import options, tell

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from planforge.assess.assessment import Assessment, assess  # noqa: E402
from planforge.document import build, flowables, picture, table, text  # noqa: E402
from planforge.document.packet import packet  # noqa: E402
from planforge.document.paginate import Paginator  # noqa: E402
from planforge.document.sheet import Sheet  # noqa: E402
from planforge.figures import figure_set  # noqa: E402
from planforge.figures.paper import Paper, Style, TextLine  # noqa: E402
from planforge.job.loading import load  # noqa: E402

JOB = ROOT / "demo_jobs" / "heron_lot_14.yaml"
RESULTS = Path(__file__).with_name("DOCUMENTS.md")
FONTS = Path(font_source_sans_pro.font_directory)
BODY = "9.5pt"
_STRONG = ("Bold", "Semibold")

Blocks = list[Any]


def composed(assessment: Assessment) -> tuple[Callable[[], bytes], Blocks]:
    """How planforge makes the packet, and the blocks it is made of."""
    runs: list[list[Any]] = []

    class Keeping(Paginator):
        """The paginator, which also keeps what it was given."""

        def __init__(self) -> None:
            super().__init__()
            runs.append([])

        def run(self, flow: Any, words: Any) -> None:
            runs[-1].extend(flow)
            super().run(flow, words)

    def make() -> bytes:
        return packet(
            assessment,
            fingerprint="0" * 64,
            date=dt.date(2026, 11, 30),
            draft=False,
            attachment=None,
            figures=figure_set(assessment),
        )

    usual, build.Paginator = build.Paginator, Keeping  # type: ignore[misc]
    try:
        make()
    finally:
        build.Paginator = usual  # type: ignore[misc]
    return make, runs[-1]  # those before it tried which way of printing fits


def each(blocks: Iterable[Any]) -> Iterator[tuple[Any, str]]:
    """Every block on its own, out of groups and insets, with the mark of a list item."""
    for block in blocks:
        if isinstance(block, flowables.Group):
            yield from each(block.blocks)
        elif isinstance(block, flowables.Inset):
            mark = block.mark if isinstance(block.mark, str) else "☐"
            yield from ((inner, mark) for inner, _ in each([block.inner]))
        else:
            yield block, ""


def picture_of(block: Any) -> Paper | None:
    """The drawing of a block that holds one."""
    held = block._picture if isinstance(block, picture.FigureBlock | Sheet) else None
    return held if isinstance(held, Paper) else None


# -- SVG, for both -----------------------------------------------------------------------------


def svg(paper: Paper) -> str:
    """A drawing as SVG, its unit a point."""
    size = f'width="{paper.width:.2f}pt" height="{paper.height:.2f}pt"'
    box = f'viewBox="0 0 {paper.width:.2f} {paper.height:.2f}"'
    shapes = "".join(_path(style, parts, paper.height) for style, parts in paper.shapes())
    letters = "".join(_letters(line, paper.height) for line in paper.texts)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box}>{shapes}{letters}</svg>'


def _grey(value: float) -> str:
    return "#" + f"{round(255 * value):02x}" * 3


def _path(style: Style, parts: Sequence[tuple[Any, bool]], height: float) -> str:
    drawn = "".join(
        "M" + "L".join(f"{x:.2f} {height - y:.2f}" for x, y in points.tolist()) + ("Z" if closed else "")
        for points, closed in parts
    )
    fill = "none" if style.fill is None else _grey(style.fill)
    pen = style.pen
    line = "" if pen is None else f' stroke="{_grey(pen.grey)}" stroke-width="{pen.width:.2f}"'
    dashes = f' stroke-dasharray="{" ".join(map(str, pen.dashes))}"' if pen and pen.dashes else ""
    return f'<path d="{drawn}" fill="{fill}"{line}{dashes}/>'


def _letters(line: TextLine, height: float) -> str:
    x, y = line.x, height - line.y
    turn = f' transform="rotate({-line.angle:.2f} {x:.2f} {y:.2f})"' if line.angle else ""
    weight = ' font-weight="bold"' if line.bold else ""
    slope = ' font-style="italic"' if line.italic else ""
    face = f'font-family="Source Sans Pro" font-size="{line.size:.2f}" fill="{_grey(line.grey)}"'
    return f'<text x="{x:.2f}" y="{y:.2f}" {face}{weight}{slope}{turn}>{html.escape(line.text)}</text>'


# -- HTML --------------------------------------------------------------------------------------


def as_html(blocks: Blocks) -> str:
    """The blocks as one page of HTML."""
    faces = "".join(
        f"@font-face {{font-family: 'Source Sans Pro'; src: url({(FONTS / file).as_uri()}); {more}}}"
        for file, more in (
            ("SourceSansPro-Regular.ttf", ""),
            ("SourceSansPro-Bold.ttf", "font-weight: bold"),
            ("SourceSansPro-It.ttf", "font-style: italic"),
        )
    )
    style = (
        f"{faces} @page {{size: letter; margin: 76pt 47pt 58pt 61pt}} "
        "@page wide {size: 17in 11in; margin: 36pt} .wide {page: wide} "
        f"body {{font: {BODY}/1.36 'Source Sans Pro'; margin: 0}} img {{display: block; margin: 0 auto}} "
        "table {width: 100%; border-collapse: collapse; font-size: 9pt; margin-bottom: 9pt} "
        "td, th {border-bottom: 0.35pt solid #999; padding: 3pt 4.5pt; text-align: left; "
        "vertical-align: top} "
        "tr {break-inside: avoid} h1, h2, h3, h4 {break-after: avoid} .new {break-before: page} "
        ".tag {border: 0.6pt solid; padding: 0 3pt} "
        ".blank {display: inline-block; border-bottom: 0.6pt solid}"
    )
    return f"<style>{style}</style><body>{''.join(_html(blocks))}</body>"


def _html(blocks: Blocks) -> Iterator[str]:
    for block, mark in each(blocks):
        if isinstance(block, flowables.Break):
            yield '<div class="new"></div>' if block.kind == "portrait" else ""
        elif isinstance(block, flowables.Heading):
            yield f"<h{block.level}>{_spans(block.inlines)}</h{block.level}>"
        elif isinstance(block, flowables.TextBlock):
            yield f"<p>{mark} {_spans(block.inlines)}</p>"
        elif isinstance(block, table.Table):
            yield _html_table(block)
        elif (paper := picture_of(block)) is not None:
            data = base64.b64encode(svg(paper).encode()).decode()
            wide = ' class="wide"' if isinstance(block, Sheet) else ""
            yield f'<div{wide}><img src="data:image/svg+xml;base64,{data}"></div>'


def _html_table(block: table.Table) -> str:
    count = len(block.columns)
    head = "".join(f"<th>{_spans(column.heading)}</th>" for column in block.columns)
    rows = "".join(
        f"<tr><th colspan={count}>{_spans(row.cells[0])}</th></tr>"
        if row.group
        else "<tr>" + "".join(f"<td>{_spans(cell)}</td>" for cell in row.cells) + "</tr>"
        for row in block.rows
    )
    widths = "".join(
        f'<col style="width: {100 * column.share:.1f}%">' if column.share else "<col>"
        for column in block.columns
    )
    return f"<table><colgroup>{widths}</colgroup><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def _spans(inlines: Sequence[text.Inline]) -> str:
    return "".join(_span(inline) for inline in inlines)


def _span(inline: text.Inline) -> str:
    if isinstance(inline, text.Run):
        words = html.escape(inline.text).replace("\n", "<br>")
        return f"<b>{words}</b>" if inline.face.endswith(_STRONG) else words
    if isinstance(inline, text.Tag):
        return f'<span class="tag">{html.escape(inline.text)}</span>'
    if isinstance(inline, text.Blank):
        return f'<span class="blank" style="width: {inline.width:.1f}pt">&nbsp;</span>'
    return "☐ " + html.escape(inline.label)


# -- the typesetter's source -------------------------------------------------------------------


def as_typst(blocks: Blocks, folder: Path) -> Path:
    """The blocks as the typesetter's source in a folder, with the drawings beside it."""
    page = 'paper: "us-letter", margin: (top: 76pt, bottom: 58pt, left: 61pt, right: 47pt)'
    head = (
        f'#set page({page})\n#set text(font: "Source Sans Pro", size: {BODY})\n'
        "#set table(stroke: (bottom: 0.35pt + gray), inset: (x: 4.5pt, y: 3pt))\n"
        "#show table: set text(size: 9pt)\n"
    )
    source = folder / "packet.typ"
    source.write_text(head + "\n".join(_typst(blocks, folder, page)), "utf-8")
    return source


def _typst(blocks: Blocks, folder: Path, page: str) -> Iterator[str]:
    number = 0
    for block, mark in each(blocks):
        if isinstance(block, flowables.Break):
            yield "#pagebreak(weak: true)" if block.kind == "portrait" else ""
        elif isinstance(block, flowables.Heading):
            yield f"#heading(level: {block.level})[{_marked(block.inlines)}]"
        elif isinstance(block, flowables.TextBlock):
            yield f"#par[#{_quoted(mark + ' ')}{_marked(block.inlines)}]"
        elif isinstance(block, table.Table):
            yield _typst_table(block)
        elif (paper := picture_of(block)) is not None:
            number += 1
            (folder / f"{number}.svg").write_text(svg(paper), "utf-8")
            image = f'align(center, image("{number}.svg"))'
            wide = "width: 17in, height: 11in, margin: 36pt"
            yield f"#page({wide})[#{image}]" if isinstance(block, Sheet) else f"#{image}"


def _typst_table(block: table.Table) -> str:
    count = len(block.columns)
    widths = ", ".join(f"{100 * c.share:.1f}%" if c.share else "auto" for c in block.columns)
    cells = ["table.header(" + ", ".join(f"[*{_marked(c.heading)}*]" for c in block.columns) + ")"]
    for row in block.rows:
        if row.group:
            cells.append(f"table.cell(colspan: {count})[*{_marked(row.cells[0])}*]")
        else:
            cells += [f"[{_marked(cell)}]" for cell in row.cells]
    return f"#table(columns: ({widths},), {', '.join(cells)})"


def _quoted(words: str) -> str:
    """Text as a string expression, so that no character is markup."""
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _marked(inlines: Sequence[text.Inline]) -> str:
    return "".join(_mark(inline) for inline in inlines)


def _mark(inline: text.Inline) -> str:
    if isinstance(inline, text.Run):
        lines = "#linebreak();".join(f"#{_quoted(line)};" for line in inline.text.split("\n"))
        return f"#strong[{lines}];" if inline.face.endswith(_STRONG) else lines
    if isinstance(inline, text.Tag):
        return f"#box(stroke: 0.6pt, inset: (x: 3pt))[#{_quoted(inline.text)}];"
    if isinstance(inline, text.Blank):
        return f"#box(width: {inline.width:.1f}pt, stroke: (bottom: 0.6pt))[#h(0pt)];"
    return f"#{_quoted('☐ ' + inline.label)};"


# -- side by side ------------------------------------------------------------------------------


def measured(runs: int) -> list[str]:
    """Rows of Markdown: each program's seconds, its part of planforge's, pages, size, words found."""
    assessment = assess(load(JOB).model)
    ours, blocks = composed(assessment)
    with tempfile.TemporaryDirectory() as folder:
        page = as_html(blocks)
        source = as_typst(blocks, Path(folder))
        programs: dict[str, Callable[[], bytes]] = {
            "planforge": ours,
            f"HTML-to-PDF engine (weasyprint {version('weasyprint')})": lambda: weasyprint.HTML(
                string=page
            ).write_pdf(),
            f"compiled typesetter (typst {version('typst')})": lambda: typst.compile(
                source, root=folder, font_paths=[str(FONTS)]
            ),
        }
        rows = [
            "| program | seconds | of planforge's | pages | kB | words |",
            "| --- | --- | --- | --- | --- | --- |",
        ]
        first = 0.0
        for name, run in programs.items():
            result, seconds = _timed(run, runs)
            first = first or seconds
            pages = PdfReader(BytesIO(result)).pages
            words = sum(len(p.extract_text().split()) for p in pages)
            size = len(result) // 1000
            rows.append(
                f"| {name} | {seconds:.2f} | {seconds / first:.2f} | {len(pages)} | {size} | {words} |"
            )
        return rows


def _timed(run: Callable[[], bytes], runs: int) -> tuple[bytes, float]:
    """The PDF and the median of the wall seconds, after one run that is not counted."""
    result = run()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return result, statistics.median(times)


def main() -> None:
    """Measure and print; record with ``--record``."""
    asked = options(__doc__, runs=3)
    about = (
        f"The packet of the first demo, warm, medians of {asked.runs} runs, {dt.date.today()}, "
        f"Python {platform.python_version()}. The others start from finished HTML, source and SVG "
        "and set no form fields, running heads or leaders; words differ by those, and where a word is "
        "parted."
    )
    head = f"# The document beside other programs\n\nWritten by `bench_documents.py --record`. {about}"
    tell(measured(asked.runs), head, RESULTS if asked.record else None)


if __name__ == "__main__":
    main()
