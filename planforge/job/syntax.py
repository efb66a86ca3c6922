"""YAML syntax errors in plain words: the two parsers' messages to one line, one cause, one remedy.

Inch and foot marks are the trade's quote marks and YAML's too, so quotes get the most care.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import yaml

from planforge.errors import Problem
from planforge.job.wording import shown

_QUOTED_VALUE = re.compile(r"""^\s*(?:- )?(?P<key>[\w-]+:\s+)?(?P<quote>["'])(?P<rest>.*)$""")
_QUOTE_ADVICE = (
    "A length needs no quotes at all: 12'-6 1/2\". A text that does need them goes in single quotes, "
    "with each ' inside it written twice."
)
_NO_SPACE_AFTER_DASH = re.compile(r"^\s*-[A-Za-z_][\w-]*:(\s|$)")
_AFTER_BRACKET = re.compile(r"^\s*(?:- )?[\w-]+:\s+(?:\[[^\]]*\]|\{[^}]*\})\s*[^\s#\],}]")
_COLON_IN_ENTRY = re.compile(r"[{,]\s*[\w-]+:\s[^,{}\[\]'\"]*[^\s,{}\[\]'\"]:\s")
_SECOND_COLON = re.compile(r"^\s*(?:- )?[^:]+:\s.*:(\s|$)")


@dataclass(frozen=True, slots=True)
class _Fault:
    """What the parser stumbled on; lines count from 0 as the parser counts them."""

    problem: str
    context: str
    line: int
    column: int
    context_line: int
    lines: list[str]
    last: Any
    opened: tuple[int, str] | None

    def text(self, line: int) -> str:
        return self.lines[line] if line < len(self.lines) else ""

    @property
    def character(self) -> str:
        return self.text(self.line)[self.column : self.column + 1]


@dataclass(frozen=True, slots=True)
class _Cause:
    line: int
    expected: str
    remedy: str


def syntax_problem(
    file: str,
    error: yaml.MarkedYAMLError,
    lines: list[str],
    last_scalar: Any,
    opened: tuple[int, str] | None = None,
) -> Problem:
    """Return the problem behind a parser's error.

    ``lines`` are the file's lines; ``last_scalar`` is the last scalar event before the error, or None;
    ``opened`` is the bracket that is still open there, with its line as the parser counts it.
    """
    mark = error.problem_mark or error.context_mark
    context_mark = error.context_mark or mark
    fault = _Fault(
        problem=error.problem or "",
        context=error.context or "",
        line=mark.line if mark else 0,
        column=mark.column if mark else 0,
        context_line=context_mark.line if context_mark else 0,
        lines=lines,
        last=last_scalar,
        opened=opened,
    )
    cause = _quotes(fault) or _start_of_value(fault) or _slip(fault) or _structure(fault)
    text = fault.text(cause.line)
    blank = "a line of nothing but tabs" if "\t" in text else ""
    found = shown(text.strip()) if text.strip() else blank
    return Problem(file, cause.line + 1, "", found, cause.expected, cause.remedy)


def _quotes(fault: _Fault) -> _Cause | None:
    last, expected = fault.last, "a text with matching quotes"
    quoted = last is not None and last.style in ("'", '"') and last.end_mark.line == fault.line
    if "escape" in fault.problem:
        remedy = "Put the text in single quotes, in which a backslash is a backslash."
        return _Cause(fault.line, 'no backslash inside "…"', remedy)
    if quoted and last.start_mark.line < fault.line:
        line = last.start_mark.line
        return _Cause(line, "a quote closed on its own line", _quote_remedy(fault.text(line)))
    if "quoted scalar" in fault.context:
        return _Cause(fault.context_line, expected, _quote_remedy(fault.text(fault.context_line)))
    if quoted and ("expected" in fault.problem):
        return _Cause(fault.line, expected, _quote_remedy(fault.text(fault.line)))
    return None


def _quote_remedy(line: str) -> str:
    """Show the same line written rightly where it is one value in quotes, else the general advice."""
    match = _QUOTED_VALUE.match(re.sub(r"\s+#(?:\s.*)?$", "", line))
    if match is None or len(line) > 120:
        return _QUOTE_ADVICE
    inner = match["rest"].strip()
    if inner.endswith(match["quote"]):
        inner = inner[:-1]
    key = match["key"] or ""
    doubled = inner.replace("'", "''")
    if not inner or re.search(r":\s|\s#|^[\W_]", inner):
        return f"Write {key}'{doubled}', in single quotes with each ' inside it written twice."
    return f"Write {key}{inner} without quotes, or {key}'{doubled}' with each ' inside it written twice."


_IN_QUOTES = "Put the text in single quotes."
_ALIGN = "Start the line exactly under the lines it belongs with, using spaces."
_START_RULES = (
    # what the parser says, what is expected, what to do
    (r"alias", "no * at the start of an unquoted text", _IN_QUOTES),
    (r"anchor", "no & at the start of an unquoted text", _IN_QUOTES),
    (r"\btag\b", "no ! at the start of an unquoted text", _IN_QUOTES),
    (r"mapping keys are not allowed", "no ? at the start of an unquoted text", _IN_QUOTES),
    (
        r"block scalar",
        "no | or > at the start of an unquoted text",
        "Put the text in single quotes, or write a long text after | on lines of its own.",
    ),
    (
        r"sequence entries are not allowed",
        "no dash after a colon",
        "Write the list on the lines below, one entry per line; or put the text in single quotes.",
    ),
    (r"directive|YAML document", "no line that begins with %", "Delete the line."),
)


def _start_of_value(fault: _Fault) -> _Cause | None:
    text = fault.text(fault.line)
    if "\t" in text[: len(text) - len(text.lstrip())] or fault.character == "\t":
        return _Cause(fault.line, "spaces", "Replace the tab at the start of the line by spaces.")
    if "cannot start any token" in fault.problem:
        return _Cause(fault.line, f"no {fault.character} at the start of an unquoted text", _IN_QUOTES)
    said = f"{fault.context} {fault.problem}"
    for pattern, expected, remedy in _START_RULES:
        if re.search(pattern, said):
            return _Cause(fault.line, expected, remedy)
    return None


def _slip(fault: _Fault) -> _Cause | None:
    """A slip that the line itself shows, where the parser names what it breaks further on."""
    for line in (fault.line, fault.line - 1):
        if _NO_SPACE_AFTER_DASH.match(fault.text(line)):
            return _Cause(line, "a dash and a space before an entry of a list", "Put a space after the dash.")
    if _AFTER_BRACKET.match(fault.text(fault.line)):
        remedy = "Put the whole text in single quotes."
        return _Cause(fault.line, "nothing after a bracket is closed", remedy)
    text, close = fault.text(fault.line), fault.character
    if close in ("]", "}") and text.count(close) > text.count({"]": "[", "}": "{"}[close]):
        return _Cause(
            fault.line, f"as many {close} as are opened", f"Delete the {close} that closes nothing."
        )
    return None


def _structure(fault: _Fault) -> _Cause:
    text = fault.text(fault.line)
    aligned = _Cause(fault.line, "a line at the indentation of the lines around it", _ALIGN)
    if "mapping values are not allowed" in fault.problem:
        remedy = "Put a text with a colon in it in single quotes."
        return (
            _Cause(fault.line, "one colon followed by a space", remedy)
            if _SECOND_COLON.match(text)
            else aligned
        )
    if "could not find expected ':'" in fault.problem:
        remedy = "Write the field name, a colon and a space before the value; indent a text that runs on."
        return _Cause(fault.context_line, "a field name, a colon and a space", remedy)
    if "flow" in fault.context:
        return _bracket(fault)
    if text.lstrip().startswith("- "):
        remedy = "Indent the dashes of one list alike, under the list's field name."
        return _Cause(fault.line, "no list entry here", remedy)
    if "block mapping" in fault.context or "block collection" in fault.context:
        return aligned
    return _Cause(
        fault.line, "a field name, a colon, a space and a value", "Write the line anew in that form."
    )


def _bracket(fault: _Fault) -> _Cause:
    """A bracket that is not closed, or an entry missing in it; the parser tells its place only at times."""
    line, bracket = fault.context_line, "[" if "sequence" in fault.context else "{"
    if "flow node" in fault.context and fault.opened is not None:
        opened, bracket = fault.opened
        line = line if fault.text(line).strip() else opened
    if bracket == "{" and _COLON_IN_ENTRY.search(fault.text(line)):
        remedy = "Put a text with a colon in it in single quotes; between two fields stands a comma."
        return _Cause(line, "one colon in each field inside { }", remedy)
    close = {"[": "]", "{": "}"}[bracket]
    remedy = f"Close it with {close}, and put a comma between the entries."
    return _Cause(line, f"a {bracket} closed by a {close}", remedy)
