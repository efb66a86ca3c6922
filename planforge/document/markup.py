"""Text from a job on its way into Markdown: cleaned, escaped, unable to act as markup.

:class:`Markdown` marks text that is markup on purpose (written in a template or by planforge);
everything else is data. Tokens are private-use characters that stand for a prepared block or
inline; cleaning strips those characters from data, so no data can forge one.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any, Final

from markupsafe import Markup

from planforge.errors import RefusedError

TOKEN_OPEN: Final = "\ue000"
TOKEN_CLOSE: Final = "\ue001"
TOKEN: Final = re.compile(f"{TOKEN_OPEN}(\\d+){TOKEN_CLOSE}")

_SPACES: Final = re.compile(r"[^\S\u00a0]+")
# ASCII punctuation without what nowhere acts as markup, not even first in a line: , ; : ' " ? % / @ $ ^ ( { }
_PUNCTUATION: Final = re.compile(r"([!#&)*+\-.<=>\[\\\]_`|~])")
# Control, format (bidi overrides, zero-width) and surrogate characters: nobody sees that they are there.
_STRIPPED: Final = frozenset({"Cc", "Cf", "Cs"})
# Private-use characters and those that this Python does not know, such as the newest: somebody may see them.
_SPELLED: Final = frozenset({"Co", "Cn"})


@lru_cache(maxsize=20_000)
def clean(value: str) -> str:
    """Return ``value`` as one line of printable text: NFC, single spaces, no control characters."""
    line = _SPACES.sub(" ", value).strip()
    if line.isascii() and line.isprintable():
        return line
    return _SPACES.sub(" ", unicodedata.normalize("NFC", "".join(map(_kept, line)))).strip()


def _kept(character: str) -> str:
    category = unicodedata.category(character)
    if category in _SPELLED:
        return f"[U+{ord(character):04X}]"
    return "" if category in _STRIPPED else character


def stated(value: object) -> str:
    """Return ``value`` as text; refuse what must not be printed as it is.

    ``None`` would be a hole in a plan. A bare float has no unit: inside planforge it is SI, on
    paper a reader would take it for feet. ``True`` and ``False`` say nothing to a crew.
    """
    if value is None:
        raise RefusedError("a value is not stated; print a blank line or say what is missing")
    if isinstance(value, float | bool):
        raise RefusedError(f"{value!r} is printed bare; put it in words, with its unit")
    return str(value)


class Markdown(Markup):
    """Markdown on purpose. Joining it with plain text escapes the plain text."""

    __slots__ = ()

    @classmethod
    def escape(cls, s: Any, /) -> Markdown:
        """Return ``s`` so that Markdown prints it literally; Markdown itself passes."""
        if isinstance(s, Markup):
            return s if type(s) is cls else cls(s)
        return _literal(s if type(s) is str else stated(s))


@lru_cache(maxsize=20_000)
def _literal(value: str) -> Markdown:
    return Markdown(_PUNCTUATION.sub(r"\\\1", clean(value)))


def token(index: int, *, block: bool) -> Markdown:
    """Return the token for a prepared object; a block's token stands in a paragraph of its own."""
    mark = f"{TOKEN_OPEN}{index}{TOKEN_CLOSE}"
    return Markdown(f"\n\n{mark}\n\n" if block else mark)
