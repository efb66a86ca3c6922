"""Running text: inline pieces and how they are broken into lines.

In: a tuple of inlines (text runs, verdict tags, blanks to fill, boxes to tick). Out: lines that
fit a width. Text never passes through a markup language here, so no character in it can act as
markup. Words too long for a line are broken, after a hyphen or slash where that helps.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, NamedTuple

from planforge.document import fonts
from planforge.document.style import TextStyle

_PIECE: Final = re.compile(r"([ \n])")
# Not after the letter of a mark: L-N3b stays whole.
_SOFT: Final = re.compile(r"(?<=[^\W\d][-/–_@])(?<!\bft-)(?<!\b[A-Z]-)(?=[^\W\d])")
# A number keeps its fraction and its unit: 12'-6 1/2", 60 ft.
_JOINED: Final = re.compile(r"(?<=\d) (?=\d+/\d|(?:ft|in|lbf|lb|kip|psi|kN|N|m|mm|mph|°)\b)")
TAG_PADDING: Final = 3.5
"""Room between a tag's word and its frame, points."""
_BOX_GAP: Final = 4.0
HAIR: Final = 1e-6
"""What a line may be longer than its room, points: rounding."""
_KEPT: Final = 10_000
"""How many texts are kept as measured, and how many of several inlines as broken into lines."""

Look = Literal["plain", "framed", "solid", "faint"]


@dataclass(frozen=True, slots=True)
class Run:
    """Text in one face; a newline in it breaks the line."""

    text: str
    face: str = fonts.REGULAR


@dataclass(frozen=True, slots=True)
class Tag:
    """A word that must stand out in black and white: framed, inverse, or faint."""

    text: str
    look: Look


@dataclass(frozen=True, slots=True)
class Blank:
    """A ruled line to write on. ``width`` in points; ``stretch`` takes the rest of its line.

    ``signed``: to sign on, by hand or with a certificate, in the capacity that ``label`` states.
    """

    label: str
    width: float
    name: str = ""
    stretch: bool = False
    ruled: bool = True
    signed: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """An empty box to tick."""

    label: str
    name: str = ""


Inline = Run | Tag | Blank | Box


@dataclass(frozen=True, slots=True)
class Segment:
    """One inline as placed: ``x`` and ``width`` in points from the line's left end."""

    x: float
    width: float
    inline: Inline


@dataclass(frozen=True, slots=True)
class Line:
    """One line of segments and its width in points."""

    segments: tuple[Segment, ...]
    width: float


_Atom = tuple[Inline, float]


class _Word(NamedTuple):
    atoms: tuple[_Atom, ...]
    width: float
    space: float
    forced: bool = False


_FORCED: Final = _Word((), 0.0, 0.0, forced=True)
TAG_FACES: Final[dict[Look, str]] = {
    "plain": fonts.REGULAR,
    "framed": fonts.SEMIBOLD,
    "solid": fonts.BOLD,
    "faint": fonts.ITALIC,
}


@lru_cache(maxsize=20_000)
def plain(text: str, face: str = fonts.REGULAR) -> tuple[Inline, ...]:
    """Return ``text`` as inlines in one face."""
    return (Run(text, face),) if text else ()


def _atom_width(inline: Inline, size: float) -> float:
    if isinstance(inline, Run):
        return fonts.width(inline.text, inline.face, size)
    if isinstance(inline, Tag):
        padding = 2 * TAG_PADDING if inline.look in {"framed", "solid"} else 0.0
        return fonts.width(inline.text, TAG_FACES[inline.look], size) + padding
    if isinstance(inline, Blank):
        return inline.width
    return size * 0.85 + (_BOX_GAP if inline.label else 0.0)


@lru_cache(maxsize=_KEPT)
def _pieces(text: str, face: str) -> tuple[str, ...]:
    """Words, spaces and newlines of a run as they print."""
    whole = _JOINED.sub("\u00a0", fonts.spelled(text, face))
    return tuple(piece for piece in _PIECE.split(whole) if piece)


@lru_cache(maxsize=_KEPT // 2)  # paragraphs, word by word
def _measured(text: str, face: str) -> tuple[tuple[Run, float], ...]:
    """The pieces of a run, each with its width in ems."""
    return tuple((Run(piece, face), fonts.width(piece, face, 1.0)) for piece in _pieces(text, face))


def _words(inlines: Iterable[Inline], size: float) -> Iterator[_Word]:
    atoms: list[_Atom] = []
    space = 0.0
    for inline in inlines:
        if not isinstance(inline, Run):
            atoms.append((inline, _atom_width(inline, size)))
            continue
        for piece, ems in _measured(inline.text, inline.face):
            if piece.text not in " \n":
                atoms.append((piece, ems * size))
                continue
            if atoms:
                yield _word(atoms, space)
                atoms = []
            space = fonts.width(" ", inline.face, size)
            if piece.text == "\n":
                yield _FORCED
                space = 0.0
    if atoms:
        yield _word(atoms, space)


def _word(atoms: Sequence[_Atom], space: float) -> _Word:
    return _Word(tuple(atoms), sum([width for _, width in atoms]), space)


@dataclass(frozen=True, slots=True)
class _OneLine:
    """A run without newlines in it, with single spaces; widths in ems."""

    run: Run
    words: tuple[str, ...]
    widths: tuple[float, ...]
    space: float
    soft: bool
    """True where a word may break after a hyphen or slash."""

    @property
    def width(self) -> float:
        """How long it is on one line."""
        return sum(self.widths) + max(len(self.words) - 1, 0) * self.space

    @property
    def longest(self) -> float:
        """Its longest word."""
        return max(self.widths, default=0.0)


@lru_cache(maxsize=_KEPT)
def _one_line(text: str, face: str) -> _OneLine | None:
    """A run as it stands on one line; None with newlines in it."""
    pieces = _pieces(text, face)
    if "\n" in pieces:
        return None
    words = tuple(piece for piece in pieces if piece != " ")
    widths = tuple(fonts.width(word, face, 1.0) for word in words)
    soft = any(map(_SOFT.search, words))
    return _OneLine(Run(" ".join(words), face), words, widths, fonts.width(" ", face, 1.0), soft)


def extents(inlines: Sequence[Inline], style: TextStyle) -> tuple[float, float]:
    """Return ``(longest word, longest line if never wrapped)`` in points."""
    if len(inlines) == 1 and isinstance(inlines[0], Run):
        whole = _one_line(inlines[0].text, inlines[0].face)
        if whole is not None:
            return whole.longest * style.size, whole.width * style.size
    elif len(inlines) == 1:
        width = _atom_width(inlines[0], style.size)
        return width, width
    return _extents(tuple(inlines), style.size)


@lru_cache(maxsize=_KEPT)
def _extents(inlines: tuple[Inline, ...], size: float) -> tuple[float, float]:
    longest_word = line = longest_line = 0.0
    for word in _words(inlines, size):
        if word.forced:
            line = 0.0
            continue
        longest_word = max(longest_word, word.width)
        line += word.width + (word.space if line else 0.0)
        longest_line = max(longest_line, line)
    return longest_word, longest_line


def _chop(run: Run, size: float, room: float) -> tuple[Run, Run]:
    """Cut ``run`` after the letters that fit ``room``, at least one."""
    used, count = 0.0, 0
    for character in run.text:
        used += fonts.width(character, run.face, size)
        if used > room and count:
            break
        count += 1
    return Run(run.text[:count], run.face), Run(run.text[count:], run.face)


class _Breaker:
    """Greedy line filling for one width."""

    def __init__(self, size: float, room: float) -> None:
        self.size = size
        self.room = max(room, 1.0)
        self.lines: list[Line] = []
        self._line: list[Segment] = []
        self._x = 0.0
        # Text of one face gathers here until something else follows.
        self._texts: list[str] = []
        self._face, self._start = "", 0.0

    @property
    def _begun(self) -> bool:
        return bool(self._line or self._texts)

    def _end_run(self) -> None:
        if self._texts:
            run = Run("".join(self._texts), self._face)
            self._line.append(Segment(self._start, self._x - self._start, run))
            self._texts = []

    def close(self) -> None:
        """End the current line; a stretching blank at its end takes what is left."""
        self._end_run()
        if self._line:
            last = self._line[-1]
            if isinstance(last.inline, Blank) and last.inline.stretch:
                self._line[-1] = Segment(last.x, max(last.width, self.room - last.x), last.inline)
                self._x = self._line[-1].x + self._line[-1].width
        self.lines.append(Line(tuple(self._line), self._x))
        self._line, self._x = [], 0.0

    def add(self, word: _Word) -> None:
        """Place ``word`` on this line or the next, breaking it when no line is wide enough."""
        while True:
            space = word.space if self._begun else 0.0
            if self._x + space + word.width <= self.room + HAIR:
                self._append(word.atoms, space)
                return
            parts = self._soft_parts(word, self.room - self._x - space)
            if parts is not None:
                self._append((parts[0],), space)
                self.close()
                word = _Word((parts[1],), parts[1][1], 0.0)
            elif self._begun:
                self.close()
            else:
                for inline, width in word.atoms:
                    self._add_broken(inline, width)
                return

    def _measured(self, run: Run) -> _Atom:
        return run, fonts.width(run.text, run.face, self.size)

    def _soft_parts(self, word: _Word, room: float) -> tuple[_Atom, _Atom] | None:
        """Cut a word after a hyphen or slash so that its head fits ``room``, if it has one there."""
        run = word.atoms[0][0]
        if len(word.atoms) != 1 or not isinstance(run, Run) or _SOFT.search(run.text) is None:
            return None
        fits = len(_chop(run, self.size, room)[0].text)
        for cut in reversed([match.start() for match in _SOFT.finditer(run.text[: fits + 1])]):
            head, width = self._measured(Run(run.text[:cut], run.face))
            if width <= room:
                return (head, width), (Run(run.text[cut:], run.face), word.width - width)
        return None

    def _add_broken(self, inline: Inline, width: float) -> None:
        """Place what no line holds: text is cut between letters, the rest narrowed, a long tag halved."""
        if isinstance(inline, Tag) and width > 1.2 * self.room and " " in (words := inline.text):
            middle = min(re.finditer(" ", words), key=lambda b: abs(2 * b.start() - len(words))).start()
            for part in (Tag(words[:middle], inline.look), Tag(words[middle + 1 :], inline.look)):
                if self._begun:
                    self.close()
                self._add_broken(part, _atom_width(part, self.size))
            return
        if not isinstance(inline, Run):
            if self._begun and self._x + width > self.room:
                self.close()
            self._append(((inline, min(width, self.room)),), 0.0)
            return
        rest = inline
        while rest.text:
            if self._begun and self._x + fonts.width(rest.text[0], rest.face, self.size) > self.room:
                self.close()
            head, rest = _chop(rest, self.size, self.room - self._x)
            self._append((self._measured(head),), 0.0)

    def _append(self, atoms: Iterable[_Atom], space: float) -> None:
        for inline, width in atoms:
            if not isinstance(inline, Run):
                self._end_run()
                self._line.append(Segment(self._x + space, width, inline))
            elif self._texts and inline.face == self._face:
                self._texts += (" ", inline.text) if space else (inline.text,)
            else:
                self._end_run()
                self._texts, self._face, self._start = [inline.text], inline.face, self._x + space
            self._x += space + width
            space = 0.0


def break_lines(inlines: Sequence[Inline], style: TextStyle, width: float) -> tuple[Line, ...]:
    """Fill lines of at most ``width`` points; at least one line, empty for no text."""
    if len(inlines) == 1:
        alone = inlines[0]
        if isinstance(alone, Run):
            return _broken_run(alone.text, alone.face, style.size, width)
        if not isinstance(alone, Tag):
            return _line_of(alone, style.size, max(width, 1.0))
    return _broken(tuple(inlines), style.size, width)


def _line_of(alone: Blank | Box, size: float, room: float) -> tuple[Line, ...]:
    """The line of what is filled in alone, as in the cells of a form."""
    width = _atom_width(alone, size)
    if width > room + HAIR or (isinstance(alone, Blank) and alone.stretch):
        width = room
    return (Line((Segment(0.0, width, alone),), width),)


@lru_cache(maxsize=_KEPT)
def _broken(inlines: tuple[Inline, ...], size: float, width: float) -> tuple[Line, ...]:
    """The lines of several inlines; lots of one house say most things in the same words."""
    return _filled(inlines, size, width)


@lru_cache(maxsize=20_000)
def _broken_run(text: str, face: str, size: float, width: float) -> tuple[Line, ...]:
    """The lines of one run, as most cells are; columns repeat their texts."""
    whole = _one_line(text, face)
    if whole is not None and whole.words:
        length = whole.width * size
        if length <= max(width, 1.0) + HAIR:
            return (Line((Segment(0.0, length, whole.run),), length),)
        if not whole.soft and whole.longest * size <= max(width, 1.0):
            return _at_spaces(whole, size, max(width, 1.0))
    return _filled((Run(text, face),), size, width)


def _at_spaces(whole: _OneLine, size: float, room: float) -> tuple[Line, ...]:
    """The lines of a run that breaks between its words alone, as most do."""
    lines: list[Line] = []
    words, space, face = whole.words, whole.space * size, whole.run.face
    first, x = 0, 0.0

    def close(end: int) -> None:
        lines.append(Line((Segment(0.0, x, Run(" ".join(words[first:end]), face)),), x))

    for at, ems in enumerate(whole.widths):
        width = ems * size
        if at == first:
            x = width
        elif x + space + width <= room + HAIR:
            x += space + width
        else:
            close(at)
            first, x = at, width
    close(len(words))
    return tuple(lines)


def _filled(inlines: Iterable[Inline], size: float, width: float) -> tuple[Line, ...]:
    breaker = _Breaker(size, width)
    for word in _words(inlines, size):
        if word.forced:
            breaker.close()
        else:
            breaker.add(word)
    breaker.close()
    return tuple(breaker.lines)
