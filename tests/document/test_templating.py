"""Templates: strict, sandboxed, and literal about data."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.document.helpers import Desk, Figures
from planforge.document.markdown_flow import Converter
from planforge.document.markup import TOKEN, Markdown, clean
from planforge.document.templating import render
from planforge.document.text import Run
from planforge.document.words import words
from planforge.errors import RefusedError

INJECTIONS = (
    "{{7*7}}",
    "{% raw %}",
    "<b>bold</b>",
    "<font size=90>x</font>",
    "[a](http://b)",
    "](x)",
    "![i](j.png)",
    "a | b || c",
    "`code`",
    "**x** _y_ ~z~",
    "&amp; &#65;",
    "# not a heading",
    "- not a list",
    "1. not a list",
    "\\* \\",
    "$x$",
)


def render_text(folder: Path, source: str, **context: object) -> str:
    (folder / "t.md").write_text(source, encoding="utf-8")
    return render("t.md", context, Desk(Figures({}), words("en")), folder)


def printed(folder: Path, source: str, **context: object) -> str:
    """What a template prints after Markdown has been read: the text on paper."""
    desk = Desk(Figures({}), words("en"))
    (folder / "t.md").write_text(source, encoding="utf-8")
    markdown = render("t.md", context, desk, folder)
    inlines = Converter(desk.prepared, desk.names).inlines(markdown)
    return "".join(inline.text for inline in inlines if isinstance(inline, Run))


@pytest.mark.parametrize("value", INJECTIONS)
def test_injections_appear_literally_in_prose_and_cells(text_of: Callable[..., str], value: str) -> None:
    source = "Text {{ v }} end\n\n- {{ v }}\n\n| a |\n|---|\n| {{ v }} |\n\n{{ table([[v]], [('c', 0)]) }}\n"
    found = text_of(source, context={"v": value})
    assert found.count(value) == 4


@pytest.mark.parametrize(
    "source",
    [
        "{{ v }}",
        "{{ 'x' ~ v }}",
        "{{ verdict('meets') ~ v }}",
        "{{ verdict('meets') + v }}",
        "{{ v + verdict('meets') }}",
        "{{ [verdict('meets'), v] | join(', ') }}",
        "{{ v | upper | lower }}",
        "{% macro m(x) %}{{ x }}{% endmacro %}{{ m(v) }}",
        "{% macro m(x) %}{{ x }}{% endmacro %}{{ m(v) ~ v }}{{ m(v) + v }}",
        "{% set s %}{{ v }}{% endset %}{{ s }}",
        "{{ field(v) }}",
    ],
)
def test_no_way_of_joining_lets_data_become_markup(tmp_path: Path, source: str) -> None:
    """Emphasis would vanish from the text as read; it must not."""
    assert "**x** \\*" in printed(tmp_path, source, v="**x** \\*")


def test_private_use_characters_cannot_forge_a_token(tmp_path: Path) -> None:
    source = "{{ verdict('short') }} {{ v }}"
    assert len(TOKEN.findall(render_text(tmp_path, source, v="\ue0000\ue001"))) == 1


@given(st.text(max_size=80))
def test_clean_gives_one_printable_line(value: str) -> None:
    line = clean(value)
    assert "\n" not in line
    assert not TOKEN.search(line)
    assert clean(line) == line
    assert not set(line) & set("\u202e\u200b\u2066\x00\ue000\ue001")


def test_missing_and_empty_values_are_refused_with_the_line(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"t\.md:2: .*'nothing' is undefined"):
        render_text(tmp_path, "a\n{{ nothing }}")
    with pytest.raises(RefusedError, match=r"t\.md:1: a value is not stated"):
        render_text(tmp_path, "{{ v }}", v=None)
    with pytest.raises(RefusedError, match="not stated"):
        render_text(tmp_path, "{{ table([[v]], [('a', 0)]) }}", v=None)
    with pytest.raises(RefusedError, match=r"t\.md:3: "):
        render_text(tmp_path, "a\n\n{% if %}")


@pytest.mark.parametrize("value", [0.3048, True])
def test_bare_numbers_and_flags_are_refused(tmp_path: Path, value: object) -> None:
    """A length in metres must not reach paper as a number that reads as feet."""
    for source in ("{{ v }}", "{{ 'a' ~ v }}", "{{ table([[v]], [('a', 0)]) }}"):
        with pytest.raises(RefusedError, match="printed bare"):
            render_text(tmp_path, source, v=value)
    assert render_text(tmp_path, "{{ v }}", v=3) == "3"


@pytest.mark.parametrize(
    "source",
    [
        "{{ v.__class__ }}",
        "{{ table([v], [('a', '__class__')]) }}",
        "{{ ''.__class__.__mro__ }}",
        "{{ v.format(1) }}",
        "{{ '*'.join(['a']) }}",
        "{{ v | safe }}",
        "{{ '%s' % v }}",
        "{{ [].append(1) }}",
        "{% set x = range(99999999) %}",
        "{% include '../secret.md' %}",
    ],
)
def test_the_sandbox_refuses(tmp_path: Path, source: str) -> None:
    with pytest.raises(RefusedError):
        render_text(tmp_path, source, v="text")


def test_markdown_escapes_what_is_joined_to_it() -> None:
    assert Markdown("**a** ") + "*b*" == "**a** \\*b\\*"
    assert Markdown("%s") % "*" == "\\*"
    assert Markdown("**a**") == Markdown.escape(Markdown("**a**"))


def test_helpers_refuse_what_they_do_not_know(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="unknown verdict 'fine'"):
        render_text(tmp_path, "{{ verdict('fine') }}")
    with pytest.raises(RefusedError, match="asks for the figure 'elevation'; this document has: none"):
        render_text(tmp_path, "{{ figure('elevation') }}")
    with pytest.raises(RefusedError, match="language 'fr'"):
        words("fr")
