"""Widths, fallback glyphs and fitting."""

from __future__ import annotations

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from planforge.document import fonts


def test_widths_are_those_of_the_font_file() -> None:
    """Our metrics agree with fontTools' reading of the same file (independent implementation)."""
    file = TTFont(fonts.font(fonts.REGULAR).face.filename)
    cmap, hmtx, em = file.getBestCmap(), file["hmtx"], file["head"].unitsPerEm
    text = "Guy tension 1,800 lbf at 60 °F – Núñez"
    expected = sum(hmtx[cmap[ord(c)]][0] for c in text) / em * 10
    assert fonts.width(text, fonts.REGULAR, 10) == pytest.approx(expected, rel=1e-4)


def test_missing_glyphs_fall_back_and_never_vanish() -> None:
    parts = fonts.runs("a □ 中 😀 b", fonts.REGULAR)
    assert "".join(part for part, _ in parts) == "a □ [U+4E2D] [U+1F600] b"
    assert ("□", fonts.FALLBACK) in parts
    assert fonts.runs("□", fonts.BOLD) == (("□", fonts.FALLBACK_BOLD),)


def test_styled_faces() -> None:
    assert fonts.styled(True, False) == fonts.BOLD
    assert fonts.styled(False, True) == fonts.ITALIC
    assert fonts.styled(False, True, fonts.BOLD) == fonts.BOLD_ITALIC
    assert fonts.styled(False, False, fonts.SEMIBOLD) == fonts.SEMIBOLD


@pytest.mark.parametrize("length", [1, 10, 80, 400])
def test_fit_shrinks_then_cuts_in_the_middle(length: int) -> None:
    text = "A" + "m" * length + "Z"
    fitted, size = fonts.fit(text, fonts.REGULAR, 10, 120, 7)
    assert fonts.width(fitted, fonts.REGULAR, size) <= 120 + 1e-6
    assert 7 <= size <= 10
    assert fitted[0] == "A"
    assert fitted[-1] == "Z"
    assert ("…" in fitted) == (fonts.width(text, fonts.REGULAR, 7) > 120)


@given(st.floats(min_value=20.0, max_value=40.0))
def test_what_only_has_to_shrink_is_never_cut(room: float) -> None:
    """Shrunk to the room to the last bit, "confirm" was cut where the product came out a hair wider."""
    assert fonts.fit("confirm", fonts.SEMIBOLD, 12.0, room, 5.0)[0] == "confirm"
