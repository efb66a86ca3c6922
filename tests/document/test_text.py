"""Line breaking."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.document import fonts, text
from planforge.document.style import BODY

letters = st.text(alphabet=st.characters(min_codepoint=161, max_codepoint=0x24F), min_size=1, max_size=60)


def strings(lines: tuple[text.Line, ...]) -> list[str]:
    return ["".join(s.inline.text for s in line.segments if isinstance(s.inline, text.Run)) for line in lines]


@given(st.lists(letters, max_size=30), st.floats(min_value=30, max_value=500))
def test_no_line_is_wider_than_the_room_and_no_letter_is_lost(words: list[str], width: float) -> None:
    lines = text.break_lines(text.plain(" ".join(words)), BODY, width)
    assert all(line.width <= width + 1e-6 for line in lines)
    kept = "".join("".join(strings(lines)).split())
    assert kept == "".join("".join(words).split())


def test_segments_of_one_line_do_not_overlap() -> None:
    inlines = (
        text.Run("a bold "),
        text.Run("word", fonts.BOLD),
        text.Run(", then "),
        text.Tag("SHORT", "solid"),
    )
    (line,) = text.break_lines(inlines, BODY, 400)
    ends = [segment.x + segment.width for segment in line.segments]
    starts = [segment.x for segment in line.segments]
    assert all(end <= start + 1e-9 for end, start in zip(ends[:-1], starts[1:], strict=True))
    assert line.width == pytest.approx(ends[-1])


def test_a_number_keeps_its_fraction_and_unit() -> None:
    whole = 'at 6 1/2" or 60 ft'
    for width in range(40, 120, 3):
        for line in strings(text.break_lines(text.plain(whole), BODY, width)):
            assert not line.endswith(("6", "60"))


@pytest.mark.parametrize("width", [70.0, 45.0, 38.0])
def test_a_flag_too_wide_for_its_column_goes_on_below_with_every_word(width: float) -> None:
    """Cut in the middle, DO NOT TIE ON would read "DO…ON"."""
    lines = text.break_lines((text.Run("L-S2a "), text.Tag("DO NOT TIE ON", "solid")), BODY, width)
    flags = [s.inline.text for line in lines for s in line.segments if isinstance(s.inline, text.Tag)]
    assert " ".join(flags) == "DO NOT TIE ON"
    assert all(line.width <= width + 1e-6 for line in lines)


def test_newline_breaks_and_empty_text_keeps_a_line() -> None:
    assert strings(text.break_lines(text.plain("a\nb"), BODY, 100)) == ["a", "b"]
    assert len(text.break_lines((), BODY, 100)) == 1


def test_a_stretching_blank_takes_the_rest_of_its_line() -> None:
    (line,) = text.break_lines((text.Run("Name "), text.Blank("Name", 40, stretch=True)), BODY, 300)
    assert line.width == pytest.approx(300)


def test_a_very_long_word_is_cut_without_recursion() -> None:
    lines = text.break_lines(text.plain("x" * 20_000 + "a-" * 5_000), BODY, 60)
    assert sum(len(line) for line in strings(lines)) == 30_000


def test_a_character_without_a_glyph_is_spelled_and_still_breaks() -> None:
    lines = text.break_lines(text.plain("中" * 40), BODY, 30)
    assert all(line.width <= 30 for line in lines)
    assert "".join(strings(lines)) == "[U+4E2D]" * 40


@given(
    st.lists(st.text("abcWM ½–(1/2'-", min_size=1, max_size=9), min_size=1, max_size=12),
    st.floats(20.0, 200.0),
    st.sampled_from([7.0, 9.6, 11.0]),
)
def test_the_short_way_breaks_lines_as_the_long_way_does(words: list[str], width: float, size: float) -> None:
    run = text.Run(" ".join(words))
    short, long = text._broken_run(run.text, run.face, size, width), text._filled((run,), size, width)
    assert strings(short) == strings(long)
    assert [line.width for line in short] == pytest.approx([line.width for line in long])


def test_a_mark_is_not_broken_at_its_hyphen() -> None:
    """ "L-" at a line's end and "N3b" on the next would be two things."""
    marks = "L-N2b, L-N3b; G-ST1, G-ST4; T-DECK/S-N1a outward, off-site"
    for width in range(70, 200, 7):
        lines = strings(text.break_lines(text.plain(marks), BODY, width))
        assert not any(line.endswith(("L-", "G-", "T-", "S-")) for line in lines)
        assert "".join("".join(lines).split()) == "".join(marks.split())
