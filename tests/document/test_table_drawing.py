"""Tables that are drawn once for many documents: letters, fields and places are those of each document."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from pypdf import PdfReader

from planforge.document import table_drawing, text
from planforge.document.style import CELL
from planforge.document.table import Table
from planforge.document.table_drawing import Piece
from planforge.document.table_layout import Column, Look, Row, _laid, laid

ROWS = "{{ table([('1/2″ bolt', '≤ 4 °'), ('plain', 'Núñez')], [('Part', 0), ('Limit', 1)]) }}"
SIGNED = "{{ rows_to_sign(2, ['Name', 'Date'], ['Olivine Plover']) }}"


@pytest.fixture(autouse=True)
def nothing_kept() -> Iterator[None]:
    """Each test begins and ends with nothing kept."""
    for cache in (table_drawing._kept, _laid):
        cache.cache_clear()
    yield
    for cache in (table_drawing._kept, _laid):
        cache.cache_clear()


def fields(reader: PdfReader) -> dict[str, tuple[int, list[float]]]:
    """Each field's page and place, by its name."""
    return {
        str(note.get_object()["/T"]): (number, [float(edge) for edge in note.get_object()["/Rect"]])
        for number, page in enumerate(reader.pages)
        for note in page.get("/Annots", [])
    }


def test_a_document_is_the_same_whether_its_tables_were_drawn_before(make: Callable[..., bytes]) -> None:
    first = make(f"# A\n\n{ROWS}\n\n{SIGNED}")
    assert table_drawing._kept.cache_info().currsize == 2
    assert make(f"# A\n\n{ROWS}\n\n{SIGNED}") == first
    assert table_drawing._kept.cache_info().hits == 2


def test_a_kept_table_shows_its_letters_wherever_it_stands(text_of: Callable[..., str]) -> None:
    """The second document embeds other faces before the table, and letters that it gives codes of its own."""
    alone = text_of(f"# A\n\n{ROWS}")
    behind = text_of(f"# Žižka ﬁ ŵ **Ķ** *Ł*\n\nčeďů {{{{ tag('Đ', 'solid') }}}}\n\n{ROWS}")
    for part in ("1/2″ bolt", "≤ 4 °", "Núñez"):
        assert part in alone
        assert part in behind
    assert "čeďů" in behind


def test_letters_of_a_document_s_own_are_drawn_anew(text_of: Callable[..., str]) -> None:
    own = "{{ table([('Łuczak', 1)], [('Who', 0), ('n', 1)]) }}"
    assert "Łuczak" in text_of(f"# A\n\n{own}")
    assert "Łuczak" in text_of(f"# ŠŽŁ Č\n\n{own}")
    assert table_drawing._kept(piece("Łuczak")) is None
    assert table_drawing._kept(piece("Núñez")) is not None


def piece(word: str) -> Piece:
    """A table of one cell."""
    look = Look(CELL, 3.0, 0.0, False)
    table = laid((Column(text.plain("h")),), (Row((text.plain(word),)),), look, 100.0)
    return Piece(table.header, table.body, table.widths, ("left",), look, 100.0, True)


def test_fields_stand_where_each_document_has_them(read: Callable[..., PdfReader]) -> None:
    """The same table lower on the page and a page later: its fields go with it, by the same names."""
    first = fields(read(f"# A\n\n{SIGNED}"))
    second = fields(read(f"# A\n\none line\n\n{SIGNED}", "# B\n\nnothing"))
    third = fields(read("# B\n\nnothing", f"# A\n\n{SIGNED}"))
    assert table_drawing._kept.cache_info().hits == 2
    assert first.keys() == second.keys() == third.keys()
    assert len(first) == 3
    lower = {first[name][1][1] - second[name][1][1] for name in first}
    assert len(lower) == 1 or max(lower) - min(lower) < 0.011  # hundredths of a point
    assert min(lower) > 10.0
    assert {page for page, _ in second.values()} == {0}
    assert third == {name: (1, place) for name, (_, place) in first.items()}


def test_the_same_table_twice_has_fields_of_two_names(read: Callable[..., PdfReader]) -> None:
    reader = read(f"# A\n\n{SIGNED}\n\n{SIGNED}")
    assert len(fields(reader)) == 6


def test_parts_of_a_tight_table_are_set_as_the_whole() -> None:
    rows = [Row((text.plain(f"row {n}"),)) for n in range(9)]
    small = replace(CELL, size=8.5)
    table = Table([Column(text.plain("h"))], rows, style=small, tight=True)
    height = table.wrap(100.0, 0.0)[1]
    for part in table.split(100.0, 0.6 * height):
        assert isinstance(part, Table)
        assert part._look == table._look
