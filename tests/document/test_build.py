"""Whole documents: structure, identity on every page, determinism, robustness."""

from __future__ import annotations

import dataclasses
import io
import itertools
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from matplotlib.figure import Figure
from pypdf import PdfReader, PdfWriter

from planforge.document import fonts
from planforge.document.build import Part, build_pdf
from planforge.document.finish import Attachment
from planforge.document.pages import status_lines
from planforge.document.style import LEFT, RIGHT, SHEET_MARGIN, SHEET_STRIP, TABLOID
from planforge.errors import RefusedError

from .conftest import META

SOURCE = """
# First part

{{ toc(2) }}

## Signing

{{ signature("Competent person", statement="I have read this.") }}

- [ ] Posts plumb

{{ field("Measured sag", 1.0) }}

{{ sheet("drawing", "Layout plan", "1/4 in = 1 ft", "S1") }}

# Second part

{{ table(rows, [("Check", "name"), ("Verdict", "verdict")]) }}
"""
ROWS = [{"name": f"check {i}", "verdict": v} for i, v in enumerate(("meets", "short", "confirm"))]


def drawing() -> Figure:
    figure = Figure(figsize=(15, 8))
    figure.add_axes((0.1, 0.1, 0.8, 0.8)).plot([0, 1], [0, 1])
    return figure


def options(**changes: Any) -> dict[str, Any]:
    return {
        "context": {"rows": ROWS},
        "figures": {"drawing": drawing()},
        "meta": dataclasses.replace(META, **changes),
    }


def test_pages_sizes_and_identity_on_every_page(read: Callable[..., PdfReader]) -> None:
    reader = read(SOURCE, **options(status_line="NOT RELEASED FOR USE"))
    sizes = [(float(page.mediabox.width), float(page.mediabox.height)) for page in reader.pages]
    assert sizes == [(612, 792), (1224, 792), (612, 792)]
    for number, page in enumerate(reader.pages, start=1):
        text = " ".join(page.extract_text().split())
        for wanted in ("PF-0001", "14", "0123 4567 89ab cdef", "2026-03-04", "NOT RELEASED FOR USE"):
            assert wanted in text
        assert f"Page {number} of 3" in text
        assert "DRAFT" not in text


def test_a_sheet_that_is_not_released_says_so_largest_and_inside_its_frame(
    read: Callable[..., PdfReader],
) -> None:
    """Fitted to Letter an 11x17 sheet is 65 % of itself, and its margin may be cut off."""
    sheet = read(SOURCE, **options(status_line="NOT RELEASED FOR USE")).pages[1]
    words: dict[str, tuple[float, float, float]] = {}

    def visit(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            words[text.strip()] = (tm[4], tm[5], size)

    sheet.extract_text(visitor_text=visit)
    marked = {text: at for text, at in words.items() if text in {"NOT RELEASED", "FOR USE"}}
    assert len(marked) == 2
    for x, y, size in marked.values():
        assert SHEET_MARGIN < x < TABLOID[0] - SHEET_MARGIN
        assert SHEET_MARGIN < y < SHEET_MARGIN + SHEET_STRIP
        assert size >= 20.0
        assert size >= max(other for _, _, other in words.values())


@pytest.mark.parametrize("status", ["NOT RELEASED FOR USE", "SOME LINES NOT RELEASED FOR USE", "A", "A · B"])
def test_the_status_keeps_to_its_cell(status: str) -> None:
    lines, size = status_lines(status, 200.0, 58.0)
    assert " ".join(lines) == status
    assert max(fonts.width(line, fonts.BOLD, size) for line in lines) <= 200.0 + 1e-6
    assert len(lines) * size <= 58.0
    assert size >= 18.0


def test_draft_marks_every_page_without_hiding_text(read: Callable[..., PdfReader]) -> None:
    reader = read(SOURCE, **options(draft=True))
    for page in reader.pages:
        text = page.extract_text()
        assert text.count("DRAFT – NOT FOR USE") == 3
        data = page.get_contents().get_data().decode("latin-1")
        mark = data[data.rindex("1 Tr") - 400 :]
        assert "1 Tr" in mark
        states = [state.get_object() for state in page["/Resources"]["/ExtGState"].values()]
        assert any(float(state.get("/CA", 1)) < 0.5 for state in states)


def test_running_head_names_the_part_at_the_top_of_the_page(read: Callable[..., PdfReader]) -> None:
    turn = "{{ page_break() }}\n\n"
    parts = f"# First part\n\nText.\n\n{turn}Goes on.", f"# Second part\n\nText.\n\n{turn}Over the page."
    reader = read(*parts, **options(), new_page=False)
    first, middle, last = (page.extract_text() for page in reader.pages)
    assert first.count("First part") == 2  # the head and the heading itself
    assert middle.count("First part") == 1 and middle.count("Second part") == 1
    assert "Second part" in last


def test_bookmarks_contents_and_page_labels(read: Callable[..., PdfReader]) -> None:
    reader = read(SOURCE, **options())
    outline = reader.outline
    assert [item.title for item in outline if not isinstance(item, list)] == ["First part", "Second part"]
    assert [item.title for item in outline[1]] == ["Signing", "Layout plan"]
    assert [reader.get_destination_page_number(item) for item in outline[1]] == [0, 1]
    assert reader.page_labels == ["1", "2", "3"]
    text = " ".join(reader.pages[0].extract_text().split())
    assert re.search(r"First part 1 Signing 1 Layout plan 2 Second part 3", text)
    links = [a.get_object() for a in reader.pages[0]["/Annots"] if a.get_object()["/Subtype"] == "/Link"]
    assert len(links) == 4


def test_form_fields_are_named_once_and_can_be_filled(make: Callable[..., bytes]) -> None:
    data = make(SOURCE, **options())
    fields = PdfReader(io.BytesIO(data)).get_fields()
    assert fields is not None
    assert set(fields) == {
        "competent-person-name",
        "competent-person-signature",
        "competent-person-date",
        "posts-plumb",
        "measured-sag",
    }
    assert fields["competent-person-name"]["/TU"] == "Competent person: Name"
    writer = PdfWriter(clone_from=io.BytesIO(data))
    writer.update_page_form_field_values(writer.pages[0], {"measured-sag": "5 in", "posts-plumb": "/Yes"})
    filled = io.BytesIO()
    writer.write(filled)
    again = PdfReader(filled).get_fields()
    assert again is not None
    assert again["measured-sag"]["/V"] == "5 in"
    assert again["posts-plumb"]["/V"] == "/Yes"


def test_metadata_attachment_and_language(read: Callable[..., PdfReader]) -> None:
    attachment = Attachment("lot-14.yaml", b"lot: 14\n", "Job file")
    reader = read(SOURCE, attachment=attachment, **options())
    assert reader.attachments == {"lot-14.yaml": [b"lot: 14\n"]}
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])
    (related,) = root["/AF"]
    assert related.get_object()["/AFRelationship"] == "/Data"
    assert related.get_object()["/EF"]["/F"].get_object()["/Subtype"] == "/application/yaml"
    assert reader.metadata is not None
    assert reader.metadata.title == "PF-0001 rev 3 – Fall-protection plan, invented house"
    assert reader.metadata.author is None
    assert reader.metadata["/CreationDate"] == "D:20260304000000+00'00'"
    assert "/Encrypt" not in reader.trailer
    assert not {"/JavaScript", "/OpenAction", "/AA"} & set(root)


def test_all_page_fonts_are_embedded(read: Callable[..., PdfReader]) -> None:
    reader = read("Text **bold** *it* □\n", **options())
    for reference in reader.pages[0]["/Resources"]["/Font"].values():
        assert "/FontFile2" in reference.get_object()["/FontDescriptor"]


def test_identifier_follows_content(make: Callable[..., bytes]) -> None:
    ids = set()
    for text in ("a", "a", "b"):
        ids.add(str(PdfReader(io.BytesIO(make(text))).trailer["/ID"][0].original_bytes))
    assert len(ids) == 2


def test_parts_continue_on_the_page_when_told(read: Callable[..., PdfReader]) -> None:
    assert len(read("# A\n\na", "# B\n\nb").pages) == 2
    assert len(read("# A\n\na", "# B\n\nb", new_page=False).pages) == 1


def test_a_part_in_spanish_speaks_spanish_in_its_furniture(text_of: Callable[..., str]) -> None:
    text = text_of(
        "# Hoja\n\n{{ verdict('short') }}", language="es", meta=dataclasses.replace(META, draft=True)
    )
    for wanted in ("Página 1 de 1", "BORRADOR – NO USAR", "Rev. 3 · 14", "NO CUMPLE"):
        assert wanted in text


def test_no_blank_pages_from_breaks(read: Callable[..., PdfReader]) -> None:
    source = (
        "{{ page_break() }}\n# A\n\n{{ page_break() }}{{ page_break() }}\n{{ sheet('drawing', 'L') }}\n# B\n"
    )
    assert len(read(source, **options()).pages) == 3


def test_a_heading_stays_with_what_follows(read: Callable[..., PdfReader]) -> None:
    for lines in range(30, 48):
        filler = "filler line\n\n" * lines
        reader = read(f"{filler}## The heading\n\n| a |\n|---|\n| body cell |\n| body two |\n")
        (page,) = (p.extract_text() for p in reader.pages if "The heading" in p.extract_text())
        assert "body cell" in page


def test_a_heading_and_its_lead_in_stay_with_the_table(read: Callable[..., PdfReader]) -> None:
    for lines in range(30, 52):
        filler = "filler line\n\n" * lines
        reader = read(
            f"{filler}## The heading\n\nIts lead-in.\n\n| a |\n|---|\n| body cell |\n| body two |\n"
        )
        (page,) = (p.extract_text() for p in reader.pages if "The heading" in p.extract_text())
        assert "Its lead-in." in page
        assert "body cell" in page


def test_keep_moves_a_group_whole(read: Callable[..., PdfReader]) -> None:
    group = "{% call keep() %}\n" + "kept line\n\n" * 10 + "{% endcall %}"
    reader = read("filler line\n\n" * 28 + group)
    assert [page.extract_text().count("kept line") for page in reader.pages] == [0, 10]


LONG = "Holzrahmenbauabsturzsicherungsplans" * 12
STRESS = """
# {{ long }}

## {{ long }}

{{ long }}

- {{ long }}

> **Notice** {{ long }}

{{ table(rows, [("A", "a"), ("B", "b", "right"), (long, "c")]) }}
{{ table([], [("A", "a")]) }}
{{ table([[wordy, "x"]], [("A", 0), ("B", 1)]) }}
{{ table(rows, columns) }}
{{ rows_to_sign(60, ["Name", "Date", long], names=[long, "Núñez"]) }}
{{ signature(long, name=long, fields=[long], statement=wordy) }}
{{ field(long) }} {{ checkbox(long) }} {{ field(long, 2.0) }} {{ tag(long) }}
{{ qr("content", long) }}
{{ toc(2) }}
"""


def test_nothing_overflows_and_nothing_is_lost_under_stress(read: Callable[..., PdfReader]) -> None:
    rows = [{"a": f"r{i}", "b": "x" * (i % 90), "c": "several words " * (i % 7)} for i in range(300)]
    context = {"long": LONG, "wordy": "word " * 4_000, "rows": rows, "columns": [("h", "a")] * 24}
    meta = dataclasses.replace(
        META, plan_number=LONG, lot=LONG, title=LONG, revision="7" * 40, status_line=LONG, draft=True
    )
    reader = read(STRESS, context=context, meta=meta)
    text = " ".join(page.extract_text() for page in reader.pages)
    assert {f"r{i}" for i in range(300)} <= set(text.split())
    assert text.count("word") >= 8_000
    for page in reader.pages:
        inside(page)


FACES = {"Regular": fonts.REGULAR, "It": fonts.ITALIC, "Bold": fonts.BOLD, "Semibold": fonts.SEMIBOLD}


def placed_texts(page: Any) -> list[tuple[float, float, float, str]]:
    """Upright texts as (left, right, baseline, text) in points, as an independent reader places them."""
    found: list[tuple[float, float, float, str]] = []

    def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        face = FACES.get(str(font["/BaseFont"]).rsplit("-", 1)[-1]) if font else None
        if not text.strip() or face is None or cm[1] or tm[1]:
            return
        left, baseline = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
        width = fonts.width(text.strip("\n"), face, size * cm[0])
        found.append((left, left + width, baseline, text))

    page.extract_text(visitor_text=visit)
    return found


def inside(page: Any) -> None:
    """Every text starts and ends between the page's margins."""
    width, height = float(page.mediabox.width), float(page.mediabox.height)
    texts = placed_texts(page)
    assert len(texts) > 5
    for left, right, baseline, text in texts:
        assert left >= LEFT - 0.5, text
        assert right <= width - RIGHT + 0.5, text
        assert 30 < baseline < height - 20, text


def test_page_furniture_never_overlaps(read: Callable[..., PdfReader]) -> None:
    """Header texts on one baseline: each ends before the next begins, whatever their length."""
    for length in (5, 40, 120, 400):
        meta = dataclasses.replace(META, title="T" * length, lot="L" * length, status_line="S" * length)
        page = read("# " + "P" * length, meta=meta).pages[0]
        by_line: dict[int, list[tuple[float, float]]] = {}
        for left, right, baseline, _ in placed_texts(page):
            by_line.setdefault(round(baseline), []).append((left, right))
        assert len(by_line) >= 2
        for spans in by_line.values():
            spans.sort()
            assert all(a[1] <= b[0] + 0.5 for a, b in itertools.pairwise(spans))


def test_an_unknown_template_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"template 'absent\.md' is not in the folder"):
        build_pdf([Part("absent.md")], META, {}, None, tmp_path)


SCRIPT = """
import sys, pathlib
sys.path.insert(0, {root!r})
from tests.document import test_build as t
from planforge.document.build import build_pdf, Part
from planforge.document.finish import Attachment
data = build_pdf([Part("a.md", {{"rows": t.ROWS}})], t.META, {{"drawing": t.drawing}},
                 Attachment("job.yaml", b"lot: 14", "Job file"), pathlib.Path({folder!r}))
sys.stdout.buffer.write(data)
"""


def test_separate_processes_give_the_same_bytes(tmp_path: Path) -> None:
    """Whatever the hash seed, the clock's zone and SOURCE_DATE_EPOCH say."""
    (tmp_path / "a.md").write_text(SOURCE, encoding="utf-8")
    script = SCRIPT.format(root=str(Path(__file__).parents[2]), folder=str(tmp_path))
    outputs = set()
    for seed, zone, epoch in (("1", "UTC", ""), ("2", "Asia/Tokyo", "1000000000")):
        environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "SOURCE_DATE_EPOCH": epoch}
        done = subprocess.run(
            [sys.executable, "-c", script], env=environment, capture_output=True, check=True
        )
        assert done.stdout.startswith(b"%PDF-1.7")
        outputs.add(done.stdout)
    assert len(outputs) == 1


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
def test_qpdf_finds_nothing_wrong(make: Callable[..., bytes], tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    path.write_bytes(make(SOURCE, attachment=Attachment("a.yaml", b"x", "Job"), **options(draft=True)))
    done = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="pdffonts is not installed")
def test_poppler_reads_one_subset_per_face(make: Callable[..., bytes], tmp_path: Path) -> None:
    """Figures and text share their fonts, and poppler has nothing to complain of."""
    path = tmp_path / "plan.pdf"
    path.write_bytes(make(SOURCE, **options(draft=True)))
    done = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    rows = done.stdout.splitlines()[2:]
    names = [row.split()[0] for row in rows]
    assert len(names) == len(set(names))
    assert all(" yes yes yes " in row for row in rows)
