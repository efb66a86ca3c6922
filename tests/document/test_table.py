"""Column widths and splitting."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.document import text
from planforge.document.style import BODY_HEIGHT, BODY_WIDTH
from planforge.document.table import Table
from planforge.document.table_layout import Column, Row, column_widths, heading_cell

sizes = st.lists(st.tuples(st.floats(1, 400), st.floats(0, 900)), min_size=1, max_size=12)


@given(sizes)
def test_column_widths_fill_the_room_exactly(pairs: list[tuple[float, float]]) -> None:
    minimums = [least for least, _ in pairs]
    naturals = [least + more for least, more in pairs]
    widths = column_widths(minimums, naturals, BODY_WIDTH)
    assert sum(widths) == pytest.approx(BODY_WIDTH)
    assert all(width > 0 for width in widths)
    if sum(minimums) <= BODY_WIDTH:
        assert all(width >= least - 1e-6 for width, least in zip(widths, minimums, strict=True))


def test_only_the_widest_columns_break_their_words() -> None:
    assert column_widths([50, 900, 900], [60, 900, 900], 450) == pytest.approx([50, 200, 200])


def table(rows: list[list[str]], count: int) -> Table:
    columns = [Column(heading_cell(f"Heading {index}")) for index in range(count)]
    return Table(columns, [Row(tuple(text.plain(cell) for cell in row)) for row in rows])


def split_all(block: Table) -> list[Table]:
    parts, rest = [], block
    while rest.wrap(BODY_WIDTH, BODY_HEIGHT)[1] > BODY_HEIGHT:
        head, rest = rest.split(BODY_WIDTH, BODY_HEIGHT)
        parts.append(head)
    return [*parts, rest]


@pytest.mark.parametrize("words", [1, 3_000])
def test_tables_split_to_pages_with_the_header_on_each(words: int) -> None:
    """300 rows split between rows; a row of 3,000 words splits inside."""
    parts = split_all(table([[f"row {i}", "word " * words] for i in range(300 if words == 1 else 2)], 2))
    assert len(parts) > 2
    for part in parts:
        assert part.wrap(BODY_WIDTH, BODY_HEIGHT)[1] <= BODY_HEIGHT
        assert len(part._laid.header) == 1


def test_no_line_is_lost_when_a_row_splits() -> None:
    whole = table([["x", "word " * 2_000]], 2)
    whole.wrap(BODY_WIDTH, BODY_HEIGHT)
    lines = len(whole._laid.body[0].cells[1])
    assert sum(len(row.cells[1]) for part in split_all(whole) for row in part._laid.body) == lines


def test_a_group_row_is_not_left_at_the_foot_of_a_page() -> None:
    rows = [Row((text.plain(str(i)),)) for i in range(5)] + [Row((text.plain("group"),), group=True)]
    block = Table([Column(heading_cell("h"))], [*rows, Row((text.plain("after"),))])
    height = block.wrap(BODY_WIDTH, BODY_HEIGHT)[1]
    head, tail = block.split(BODY_WIDTH, height - 10)
    assert not head._laid.body[-1].group
    assert tail._laid.body[0].group


def heights(block: Table) -> list[float]:
    block.wrap(BODY_WIDTH, BODY_HEIGHT)
    return [row.height for row in (*block._laid.header, *block._laid.body)]


def test_no_row_stands_alone_on_the_next_page() -> None:
    block = table([[f"row {n}"] for n in range(8)], 1)
    room = sum(heights(block)[:-1]) + 1.0  # all but the last fit
    head, tail = block.split(BODY_WIDTH, room)
    assert (len(head._laid.body), len(tail._laid.body)) == (6, 2)  # type: ignore[attr-defined]


def test_no_row_stands_alone_under_its_heading() -> None:
    block = table([[f"row {n}"] for n in range(8)], 1)
    header, first, second, *_ = heights(block)
    assert block.split(BODY_WIDTH, header + first + 1.0) == []
    assert block.lead(BODY_WIDTH) == pytest.approx(header + first + second)  # so its heading goes with it
    head, _ = block.split(BODY_WIDTH, header + first + second + 1.0)
    assert len(head._laid.body) == 2  # type: ignore[attr-defined]
    (alone,) = split_all(table([["row"]], 1))
    assert len(alone._laid.body) == 1


def test_tall_rows_go_where_they_fit() -> None:
    """Two rows of half a page each: one a page, neither lost nor drawn smaller."""
    block = table([[f"row {n}", "word " * 500] for n in range(3)], 2)
    header, first, *_ = heights(block)
    assert first > 0.2 * BODY_HEIGHT
    head, tail = block.split(BODY_WIDTH, header + first + 1.0)
    assert len(head._laid.body) >= 1  # type: ignore[attr-defined]
    assert tail
