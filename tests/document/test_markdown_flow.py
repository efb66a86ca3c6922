"""Markdown to blocks."""

from __future__ import annotations

import pytest

from planforge.document import fonts
from planforge.document.flowables import Block, Break, Heading, Inset, Rule, TextBlock
from planforge.document.form import FieldNames
from planforge.document.markdown_flow import Converter, Flow
from planforge.document.markup import Markdown, token
from planforge.document.table import Table
from planforge.document.text import Box, Run, Tag
from planforge.errors import RefusedError


def flow(source: str) -> Flow:
    return Converter([], FieldNames()).flow(source)


def texts(block: Block | Break) -> str:
    while isinstance(block, Inset):
        block = block.inner
    assert isinstance(block, TextBlock)
    return "".join(inline.text for inline in block.inlines if isinstance(inline, Run))


def test_headings_make_breaks_and_anchors() -> None:
    converter = Converter([], FieldNames())
    made = converter.flow("# Part\n\n## Section\n\n### Head\n\ntext")
    assert [type(item) for item in made] == [Break, Heading, Heading, Heading, TextBlock]
    assert [(a.title, a.level) for a in converter.anchors] == [("Part", 1), ("Section", 2)]


def test_lists_nest_and_number() -> None:
    made = flow("- a\n  - b\n\n3. c\n4. d\n")
    assert [item.mark for item in made if isinstance(item, Inset)] == ["•", "", "3.", "4."]
    inner = made[1].inner if isinstance(made[1], Inset) else None
    assert isinstance(inner, Inset)
    assert inner.mark == "–"


def test_task_items_are_boxes_with_their_own_fields() -> None:
    made = flow("- [ ] Posts plumb\n- [ ] Posts plumb\n- \\[ \\] text\n")
    marks = [item.mark for item in made if isinstance(item, Inset)]
    assert marks[:2] == [Box("Posts plumb", "posts-plumb"), Box("Posts plumb", "posts-plumb--2")]
    assert marks[2] == "•"
    assert texts(made[2]) == "[ ] text"


def test_inline_faces() -> None:
    (paragraph,) = flow("plain **bold** *it* `code`")
    assert isinstance(paragraph, TextBlock)
    faces = [i.face for i in paragraph.inlines if isinstance(i, Run) and i.text.strip()]
    assert faces == [fonts.REGULAR, fonts.BOLD, fonts.ITALIC, fonts.SEMIBOLD]


def test_notice_is_framed_from_first_to_last_block() -> None:
    made = flow("> **Notice** one\n>\n> two\n>\n> three")
    edges = [(i.edges.top, i.edges.bottom) for i in made if isinstance(i, Inset) and i.edges]
    assert edges == [(True, False), (False, False), (False, True)]


def test_tables_take_alignment_and_escaped_pipes() -> None:
    (table,) = flow("| a | b |\n|---|--:|\n| x\\|y | 2 |\n")
    assert isinstance(table, Table)
    assert [column.align for column in table.columns] == ["left", "right"]
    assert table.rows[0].cells[0] == (Run("x|y"),)


def test_rule() -> None:
    assert isinstance(flow("a\n\n---\n\nb")[1], Rule)


@pytest.mark.parametrize(
    "text", ["<b>x</b>", "&amp;", "[a](http://b)", "![a](b)", "<http://a.b>", "    code"]
)
def test_what_is_not_markdown_here_prints_as_it_stands(text: str) -> None:
    (paragraph,) = flow(text)
    assert texts(paragraph) == text.strip()


def test_every_character_of_escaped_data_is_literal() -> None:
    data = "".join(chr(code) for code in range(33, 127))
    for around in ("{}", "- {}", "**{}**", "1. {}", "> {}", "### {}", "a {} b"):
        made = flow(around.format(Markdown.escape(data)))
        assert data in texts(made[0])
    for start in (
        "# a",
        "> a",
        "- a",
        "+ a",
        "1. a",
        "1) a",
        "---",
        "===",
        "| a |",
        "```",
        "    a",
        "\ta",
        "[x]: y",
    ):
        (paragraph,) = flow(str(Markdown.escape(start)))
        assert texts(paragraph) == start.strip()


def test_a_block_in_a_sentence_is_refused_with_its_place() -> None:
    converter = Converter([Rule()], FieldNames())
    with pytest.raises(RefusedError, match="rule stands inside a sentence near 'see '"):
        converter.flow(f"see {token(0, block=False)} here")


def test_a_block_placed_twice_is_refused() -> None:
    converter = Converter([Rule()], FieldNames())
    with pytest.raises(RefusedError, match="twice"):
        converter.flow(token(0, block=True) + token(0, block=True))


def test_inline_tokens_become_their_inlines() -> None:
    converter = Converter([(Tag("SHORT", "solid"),)], FieldNames())
    (paragraph,) = converter.flow(f"is **{token(0, block=False)}** here")
    assert isinstance(paragraph, TextBlock)
    assert paragraph.inlines == (Run("is "), Tag("SHORT", "solid"), Run(" here"))
