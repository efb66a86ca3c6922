"""One YAML file, read within bounds, to a tree in which every key and value knows its line.

Nothing is guessed: a number, a date, ``yes``, ``12:30`` and ``010`` all stay the text that
was written, for the model to read; only ``true``, ``false``, ``null`` and ``~`` are more. The
bounds hold before anything is built, so a hostile file costs no more than a long one.

Refused: other encodings than UTF-8, hidden characters, anchors and aliases (``&a``, ``*a``),
tags (``!x``), keys used twice, several documents, and two silent traps: a ``#`` that cuts a
text short, and a quote left open that swallows the fields below it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NoReturn

import yaml

from planforge.errors import HIDDEN, JobFileError, Problem
from planforge.job.syntax import syntax_problem
from planforge.job.tree import Data, Entry, Mapping, Mark, Node, Scalar, Sequence, plain
from planforge.job.wording import shown

MAX_BYTES = 1 << 20
MAX_DEPTH = 32
MAX_NODES = 50_000
MAX_TEXT = 10_000
MAX_PROBLEMS = 100
KEPT = 32
"""How many job files are kept as trees: a company's, its designs, what the lots of a site share."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What a file is to hold, as messages name it, and how much of it is read at most."""

    noun: str
    """What it states: a job, a site."""
    name: str
    form: str
    max_bytes: int
    max_nodes: int
    advice: str
    """What to do where it is larger."""


JOB_FILE = Kind("job", "job file", "YAML file", MAX_BYTES, MAX_NODES, "keep one lot in one file")

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_ESCAPED = re.compile(rf"\r|{HIDDEN.pattern}")  # a \r that is a line end comes out as \n
_LIKE_A_FIELD = re.compile(r"\s*(?:- +)*[{\[]?\s*[A-Za-z_][\w-]*:(?:\s|$)")
_LIKE_AN_ENTRY = re.compile(r"\s*- ")
_CUT_SHORT = re.compile(r"[ \t]+#[^\s#!]")
_MEANT: dict[str, bool | None] = {"true": True, "false": False, "null": None, "~": None, "": None}
_WIDE_ENCODINGS = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True)
class SourceTree:
    """What one file states. ``nodes`` counts its keys and values.

    ``doubtful`` are the places of keys and values that a fault of the text leaves open. Where ``lost`` is
    True, whole fields may be missing from the tree.
    """

    file: str
    root: Mapping
    nodes: int
    doubtful: frozenset[Mark] = frozenset()
    lost: bool = False

    @property
    def data(self) -> dict[str, Data]:
        """The file's content without positions."""
        return {key: plain(entry.node) for key, entry in self.root.entries.items()}


def load_yaml(path: Path, shown_as: str | None = None) -> SourceTree:
    """Read one file; raise :class:`JobFileError` with every fault found in it.

    ``shown_as`` is the name used in messages, the path as given by default.
    """
    tree, problems = read_source(path, shown_as)
    if problems:
        raise JobFileError(problems)
    return tree


def read_source(
    path: Path, shown_as: str | None = None, kind: Kind = JOB_FILE
) -> tuple[SourceTree, list[Problem]]:
    """Read one file and return the tree beside the faults that still leave a tree to look at.

    A fault after which nothing can be read raises :class:`JobFileError`. A tree returned with
    problems is good only for finding more of them. The trees of job files are kept
    by their bytes and names, since many lots share one: a file that has changed is read anew.
    """
    file = shown_as or str(path)
    raw = bounded_bytes(path, file, kind)
    tree, problems = _kept_tree(raw, file, kind) if kind is JOB_FILE else _tree_of(raw, file, kind)
    return tree, list(problems)


def _tree_of(raw: bytes, file: str, kind: Kind) -> tuple[SourceTree, tuple[Problem, ...]]:
    builder = _Builder(file, decoded(raw, file), kind)
    try:
        for event in _events(builder):
            builder.take(event)
    except _StopReadingError as stop:
        raise JobFileError([*builder.problems, *stop.problems]) from None
    return builder.tree(), tuple(builder.problems)


_kept_tree = lru_cache(maxsize=KEPT)(_tree_of)


class _StopReadingError(Exception):
    def __init__(self, *problems: Problem) -> None:
        super().__init__()
        self.problems = problems


def bounded_bytes(path: Path, file: str, kind: Kind) -> bytes:
    """Return what an ordinary file holds; raise :class:`JobFileError` where there is none or too much."""

    def refuse(found: str, remedy: str) -> JobFileError:
        return JobFileError([Problem(file, 0, "", found, f"a {kind.form} to read", remedy)])

    try:
        if path.is_dir():
            raise refuse("a folder", f"Name the {kind.name} in it.")
        if not path.exists():
            raise refuse("no file of this name", "Correct the path, or put the file there.")
        if not path.is_file():
            raise refuse("no ordinary file", f"Save the {kind.noun} as an ordinary file.")
        with path.open("rb") as stream:
            raw = stream.read(kind.max_bytes + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name can't be used"
        raise refuse(
            f"a file that can't be read ({reason})", "Correct its name or its permissions."
        ) from None
    if len(raw) > kind.max_bytes:
        size = f"{kind.max_bytes >> 20} MiB"
        remedy = f"Check that this is the {kind.name}; {kind.advice}."
        raise JobFileError(
            [Problem(file, 0, "", f"more than {size}", f"a {kind.name} of at most {size}", remedy)]
        )
    return raw


def decoded(raw: bytes, file: str, save: str = "Save the file with the encoding UTF-8.") -> str:
    """Return a file's text; raise :class:`JobFileError` for what is not UTF-8 or hides characters.

    ``save`` tells how to write such a file in UTF-8.
    """

    def refuse(line: int, found: str, remedy: str) -> JobFileError:
        return JobFileError([Problem(file, line, "", found, "plain text in UTF-8", remedy)])

    if raw.startswith(_WIDE_ENCODINGS):
        raise refuse(0, "a file saved as UTF-16", save)
    body = raw.removeprefix(b"\xef\xbb\xbf")
    skipped = len(raw) - len(body)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        line = body[: error.start].count(b"\n") + 1
        raise refuse(
            line, f"the byte 0x{body[error.start]:02X} at byte {error.start + skipped}", save
        ) from None
    hidden = HIDDEN.search(text)
    if hidden:
        before = text[: hidden.start()]
        found = f"the hidden character U+{ord(hidden[0]):04X} at byte {len(before.encode()) + skipped}"
        remedy = save if hidden[0] == "\0" else "Delete it and type the text around it again."
        raise refuse(before.count("\n") + 1, found, remedy)
    return text


def _events(builder: _Builder) -> Iterator[Any]:
    try:
        yield from yaml.parse(builder.text, Loader=_LOADER)
    except yaml.MarkedYAMLError as error:
        if "nesting depth" in (
            error.problem or ""
        ):  # the C scanner looks ahead and meets its own bound first
            builder.refuse_depth(error.problem_mark.line + 1 if error.problem_mark else 0)
        problem = syntax_problem(builder.file, error, builder.lines, builder.last_scalar, builder.opened)
        if any(told.line == problem.line for told in builder.problems):  # the quote left open there, say
            raise _StopReadingError from None
        raise _StopReadingError(problem) from None
    except (yaml.YAMLError, ValueError, OverflowError):
        # The pure-Python scanner lets a chr() of an impossible \U escape through.
        raise _StopReadingError(
            Problem(
                builder.file,
                0,
                "",
                'an escape such as \\U… inside "…" that stands for no character',
                "plain text",
                "Use single quotes.",
            )
        ) from None


@dataclass(slots=True)
class _Frame:
    mark: Mark
    entries: dict[str, Entry] | None
    items: list[Node]
    key: tuple[str, Mark] | None = None


class _Builder:
    """Builds the tree from parser events with its own stack, so that depth costs nothing."""

    def __init__(self, file: str, text: str, kind: Kind) -> None:
        self.file = file
        self.text = text
        self.kind = kind
        self.lines = re.split("\r\n|\r|\n", text)
        self.problems: list[Problem] = []
        self.last_scalar: Any = None
        self._frames: list[_Frame] = []
        self._root: Node | None = None
        self._documents = 0
        self._nodes = 0
        self._doubtful: set[Mark] = set()
        self._lost = False

    def tree(self) -> SourceTree:
        """Return the finished tree; the top must be a mapping."""
        root = self._root
        noun = self.kind.noun
        if root is None or (isinstance(root, Scalar) and root.value is None):
            raise JobFileError(
                [
                    self._fault(
                        0, "an empty file", f"the fields of a {noun}", f"Write the {noun}, field by field."
                    )
                ]
            )
        if not isinstance(root, Mapping):
            found = shown(plain(root))
            remedy = (
                'Begin each line with a field name and a colon, such as "lot:", and a space after the colon.'
            )
            raise JobFileError([self._fault(root.mark.line, found, "fields with names at the top", remedy)])
        return SourceTree(self.file, root, self._nodes, frozenset(self._doubtful), self._lost)

    @property
    def opened(self) -> tuple[int, str] | None:
        """The innermost bracket that is open, with its line as the parser counts it; None outside of all."""
        mark = self._frames[-1].mark if self._frames else None
        found = self.lines[mark.line - 1][mark.column - 1 : mark.column] if mark else ""
        return (mark.line - 1, found) if mark and found in ("[", "{") else None

    def take(self, event: Any) -> None:
        """Take in the parser's next event."""
        match event:
            case yaml.DocumentStartEvent():
                self._document(event)
            case yaml.MappingStartEvent():
                self._open(event, {})
            case yaml.SequenceStartEvent():
                self._open(event, None)
            case yaml.ScalarEvent():
                self.last_scalar = event
                self._scalar(event)
            case yaml.AliasEvent():
                self._alias(event)
            case yaml.MappingEndEvent() | yaml.SequenceEndEvent():
                self._close()

    def refuse_depth(self, line: int) -> NoReturn:
        """Stop reading for too many levels."""
        found = f"more than {MAX_DEPTH} levels, one inside another"
        self._stop(line, found, f"at most {MAX_DEPTH} levels", "Check the indentation and the brackets.")

    def _document(self, event: Any) -> None:
        self._documents += 1
        if self._documents > 1:
            line = event.start_mark.line + 1
            self._stop(
                line,
                'a second document after "---"',
                f"one {self.kind.noun} in one file",
                "Move it to a file of its own.",
            )

    def _open(self, event: Any, entries: dict[str, Entry] | None) -> None:
        mark = self._count(event)
        if self._awaits_key():
            self._stop(
                mark.line, "a list or group used as a field name", "a plain field name", "Write a short name."
            )
        if len(self._frames) >= MAX_DEPTH:
            self.refuse_depth(mark.line)
        self._check_properties(event, mark.line)
        self._frames.append(_Frame(mark, entries, []))

    def _close(self) -> None:
        frame = self._frames.pop()
        node: Node = (
            Sequence(tuple(frame.items), frame.mark)
            if frame.entries is None
            else Mapping(frame.entries, frame.mark)
        )
        self._add(node)

    def _scalar(self, event: Any) -> None:
        mark = self._count(event)
        self._check_properties(event, mark.line)
        self._check_text(event, mark)
        if self._awaits_key():
            self._frames[-1].key = (event.value, mark)
            self._check_key(event, mark)
            return
        unquoted = not event.style
        value = _MEANT.get(event.value, event.value) if unquoted else event.value
        self._add(Scalar(value, mark, blank=unquoted and event.value == ""))

    def _alias(self, event: Any) -> None:
        mark = self._count(event)
        found = f'"*{event.anchor[:40]}", a reference to another place'
        self._report(
            mark.line, found, "the value itself", "Write the value out, or put the text in single quotes."
        )
        self._doubtful.add(mark)
        if self._awaits_key():
            self._frames[-1].key = (f"*{event.anchor}", mark)
        else:
            self._add(Scalar(None, mark))

    def _awaits_key(self) -> bool:
        return bool(self._frames) and self._frames[-1].entries is not None and self._frames[-1].key is None

    def _add(self, node: Node) -> None:
        if not self._frames:
            self._root = node
            return
        frame = self._frames[-1]
        if frame.entries is None:
            frame.items.append(node)
        elif frame.key is not None:
            name, mark = frame.key
            frame.key = None
            frame.entries.setdefault(name, Entry(mark, node))

    def _check_key(self, event: Any, mark: Mark) -> None:
        name, entries = event.value, self._frames[-1].entries or {}
        if name in entries:
            self._doubtful.add(entries[name].mark)
            found = f"the field {shown(name)} a second time (first on line {entries[name].mark.line})"
            self._report(mark.line, found, "each field once", "Delete one of the two, or join them.")
        elif name == "<<":
            self._report(
                mark.line, 'the key "<<"', "fields written out", "To share fields among lots, use extends."
            )
        elif not name.strip():
            self._report(
                mark.line, "a colon without a field name", "a field name", "Write the name before the colon."
            )

    def _check_properties(self, event: Any, line: int) -> None:
        if event.anchor:
            remedy = "Delete it, or put the text in single quotes."
            self._report(line, f'"&{event.anchor[:40]}", a name for later reference', "a plain value", remedy)
        if event.tag is not None:
            remedy = "Delete it, or put the text in single quotes."
            self._report(line, f"the tag {shown(event.tag)}", "a plain value without a tag", remedy)

    def _check_text(self, event: Any, mark: Mark) -> None:
        before, line = len(self.problems), mark.line
        if len(event.value) > MAX_TEXT:
            found = f"a text of {len(event.value):,} characters"
            self._report(
                line, found, f"at most {MAX_TEXT:,} characters", "Shorten it; look for a quote left open."
            )
        if hidden := _ESCAPED.search(event.value):
            found = f"an escape for the hidden character U+{ord(hidden[0]):04X}"
            self._report(
                line, found, "text that prints", "Use single quotes, in which a backslash is a backslash."
            )
        start, end = event.start_mark, event.end_mark
        if not event.style and _CUT_SHORT.match(
            self.lines[end.line] if end.line < len(self.lines) else "", end.column
        ):
            found = f"{shown(event.value)} cut short by the # after it"
            remedy = "Put the whole text in single quotes, or write a space after the # if a note is meant."
            self._report(
                end.line + 1, found, "a whole text, or a note that begins with # and a space", remedy
            )
        if event.style in ("'", '"') and end.line > start.line:
            self._check_quote(event, line)
        if len(self.problems) > before:
            self._doubtful.add(mark)

    def _check_quote(self, event: Any, line: int) -> None:
        """Refuse a quote that has swallowed fields; a line indented more than its field is text."""
        margin = self._frames[-1].mark.column - 1 if self._frames else 0
        in_brackets = self.opened is not None
        for number in range(event.start_mark.line + 1, event.end_mark.line + 1):
            text = self.lines[number]
            beside = len(text) - len(text.lstrip()) <= margin
            if (beside or in_brackets) and _LIKE_A_FIELD.match(text):
                break
            if beside and _LIKE_AN_ENTRY.match(text):
                break
        else:
            return
        self._lost = True
        runs = f"a quoted text that runs on to line {event.end_mark.line + 1}"
        found = f"{runs}, over {shown(text.strip())} on line {number + 1}"
        longer = "inside brackets it stays on one line"
        if not in_brackets:
            longer = "a longer one is indented below its field"
        remedy = f"Write the closing {event.style} where the text ends on this line; {longer}."
        self._report(line, found, "a quote that is closed", remedy)

    def _count(self, event: Any) -> Mark:
        self._nodes += 1
        mark = Mark(self.file, event.start_mark.line + 1, event.start_mark.column + 1)
        if self._nodes > (most := self.kind.max_nodes):
            remedy = f"Check that this is the {self.kind.name}; {self.kind.advice}."
            self._stop(mark.line, f"more than {most:,} values", f"at most {most:,}", remedy)
        return mark

    def _fault(self, line: int, found: str, expected: str, remedy: str) -> Problem:
        return Problem(self.file, line, "", found, expected, remedy)

    def _report(self, line: int, found: str, expected: str, remedy: str) -> None:
        self.problems.append(self._fault(line, found, expected, remedy))
        if len(self.problems) >= MAX_PROBLEMS:
            remedy = "Correct these first; the rest of the file was not read."
            self._stop(line, f"{MAX_PROBLEMS} faults up to here", f"a {self.kind.name}", remedy)

    def _stop(self, line: int, found: str, expected: str, remedy: str) -> NoReturn:
        raise _StopReadingError(self._fault(line, found, expected, remedy))
