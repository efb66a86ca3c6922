"""Jinja2 templates to Markdown: sandboxed, strict, and literal about every value from a job.

Templates are Markdown with Jinja2, one folder a language. A plain string that a template prints
is escaped; a missing value is an error, and so are ``None`` and a bare float: a plan never
prints a hole or a number without its unit. The filters are a fixed list, without those that
would let a value pass unescaped.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from jinja2 import (
    BytecodeCache,
    FileSystemLoader,
    StrictUndefined,
    TemplateError,
    TemplateNotFound,
    TemplateSyntaxError,
    Undefined,
)
from jinja2.compiler import CodeGenerator
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from planforge.document.helpers import Desk
from planforge.document.markup import Markdown
from planforge.errors import RefusedError
from planforge.languages import templates_folder

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jinja2 import Template, nodes
    from jinja2.bccache import Bucket
    from jinja2.compiler import Frame
    from jinja2.runtime import Context

_FILTERS: Final = (
    *("abs", "batch", "capitalize", "count", "default", "dictsort", "first", "float", "groupby", "int"),
    *("items", "last", "length", "list", "lower", "map", "max", "min", "reject", "rejectattr"),
    *("reverse", "round", "select", "selectattr", "slice", "sort", "sum", "title", "trim", "unique", "upper"),
)
_HELPERS: Final = (
    *("verdict", "tag", "blank", "signed", "field", "checkbox", "column", "group", "table", "rows_to_sign"),
    *("signature", "figure", "sheet", "qr", "toc", "page_break", "space", "keep"),
)

# String methods that would join plain text into markup past the escaping.
_UNESCAPED: Final = frozenset({"format", "format_map", "join", "replace", "unescape", "striptags"})

# What a wrong template raises besides Jinja2's own errors.
_MISTAKES: Final = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)

_desk: ContextVar[Desk] = ContextVar("desk")


def _finalize(value: object) -> Markdown:
    """Turn what a template prints into Markdown."""
    if isinstance(value, Undefined):
        str(value)  # raises, naming the missing variable
    return Markdown.escape(value)


def _piece(part: object) -> Markdown:
    """A part of a joined text as Markdown; a space at its edge stays, as it parts two words."""
    made = _finalize(part)
    if not isinstance(part, str) or isinstance(part, Markup) or not part:
        return made
    before, after = (" " if edge.isspace() else "" for edge in (part[0], part[-1]))
    return Markdown(f"{before}{made}{after}" if made else before)


def _joined(parts: Iterable[object]) -> str:
    """Join values: plain ones to plain text, which is escaped when printed; with Markdown to Markdown."""
    pieces = list(parts)
    if any(isinstance(piece, Markup) for piece in pieces):
        return Markdown("".join(_piece(piece) for piece in pieces))
    for piece in pieces:
        _finalize(piece)  # refuses what is missing
    return "".join(str(piece) for piece in pieces)


def _join(parts: Iterable[object], separator: str = "", attribute: str = "") -> Markdown:
    """Join values, each escaped; ``attribute`` names what to take from each."""
    items = [getattr(part, attribute) if attribute else part for part in parts]
    return Markdown(_piece(separator).join(_finalize(item) for item in items))


class _Generator(CodeGenerator):
    """Jinja2's own ``~`` escapes for HTML; here it escapes for Markdown."""

    def visit_Concat(self, node: nodes.Concat, frame: Frame) -> None:  # noqa: N802 - Jinja2's name
        self.write("environment.concatenate((")
        for part in node.nodes:
            self.visit(part, frame)
            self.write(", ")
        self.write("))")


class MarkdownEnvironment(ImmutableSandboxedEnvironment):
    """A sandbox whose printed values are Markdown-escaped."""

    code_generator_class = _Generator
    intercepted_binops = frozenset({"+", "%"})
    concatenate = staticmethod(_joined)

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Join text with markup escaped; ``%`` is arithmetic only."""
        if operator == "%" and isinstance(left, str):
            raise RefusedError("templates join text with ~, not %")
        if operator == "+" and (isinstance(left, Markup) or isinstance(right, Markup)):
            return _joined((left, right))
        return super().call_binop(context, operator, left, right)

    def wrap_str_format(self, value: Any) -> None:
        """Leave no formatting method callable; see :meth:`is_safe_attribute`."""

    def __init__(self, *args: Any, **options: Any) -> None:
        """As Jinja2's own; nothing is judged yet."""
        super().__init__(*args, **options)
        self._judged: dict[tuple[type, str], bool] = {}

    def getattr(self, obj: Any, attribute: str) -> Any:
        """As the sandbox's own, without its detours for what was judged before."""
        if self._judged.get((type(obj), attribute)):
            try:
                return getattr(obj, attribute)
            except AttributeError:
                pass
        return super().getattr(obj, attribute)

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Keep string formatting and joining out of templates: they bypass escaping.

        Jinja2's rules look at nothing but the object's type and the name, so each pair is judged once.
        """
        known = self._judged.get((type(obj), attr))
        if known is None:
            bypasses = isinstance(obj, str) and attr in _UNESCAPED
            known = not bypasses and super().is_safe_attribute(obj, attr, value)
            self._judged[type(obj), attr] = known
        return known


def _helper(name: str) -> Any:
    """Return the helper ``name`` of whichever document is being rendered."""

    def call(*args: Any, **kwargs: Any) -> Any:
        return getattr(_desk.get(), name)(*args, **kwargs)

    return call


class CompiledTemplates(BytecodeCache):
    """The packaged templates' compiled code, kept where Python keeps that of the modules.

    An edited template, another Jinja2 or Python, or a change to what compiles them makes it void. Where
    it can't be written it is done without.
    """

    def __init__(self, folder: Path) -> None:
        """Keep code in ``folder``."""
        here = Path(__file__)
        self._folder = folder
        self._rules = here.read_text("utf-8") + here.with_name("markup.py").read_text("utf-8")

    def get_source_checksum(self, source: str) -> str:
        """A digest of the template and of the rules that compile it."""
        return super().get_source_checksum(self._rules + source)

    def _place(self, bucket: Bucket) -> Path:
        return self._folder / f"template-{bucket.key}.{sys.implementation.cache_tag}.jinja"

    def load_bytecode(self, bucket: Bucket) -> None:
        """Read what was kept of a template, if it still holds."""
        with suppress(OSError), self._place(bucket).open("rb") as file:
            bucket.load_bytecode(file)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a template's code, whole or not at all."""
        if sys.dont_write_bytecode:
            return
        part = self._place(bucket).with_suffix(f".{os.getpid()}.part")
        with suppress(OSError):
            part.write_bytes(bucket.bytecode_to_string())
            part.replace(self._place(bucket))


@lru_cache(maxsize=8)
def environment(folder: Path) -> MarkdownEnvironment:
    """Return the environment over ``folder``; templates are compiled once, and again when edited."""
    packaged = folder.parent == templates_folder("en").parent
    made = MarkdownEnvironment(
        loader=FileSystemLoader(folder),
        bytecode_cache=CompiledTemplates(Path(__file__).with_name("__pycache__")) if packaged else None,
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finalize,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters = {name: made.filters[name] for name in _FILTERS} | {"join": _join}
    made.globals = {"range": made.globals["range"], "namespace": made.globals["namespace"]}
    made.globals |= {name: _helper(name) for name in _HELPERS}
    return made


@contextmanager
def at_desk(desk: Desk) -> Iterator[None]:
    """Let helpers called inside put their objects on ``desk``."""
    previous = _desk.set(desk)
    try:
        yield
    finally:
        _desk.reset(previous)


def render(template: str, context: Mapping[str, object], desk: Desk, folder: Path) -> str:
    """Render ``folder/template`` to Markdown with tokens.

    Templates are edited by users: whatever goes wrong in one is a :class:`RefusedError` that
    names the template and the line, also for a mistake inside an included template.
    """
    try:
        with at_desk(desk):
            return _filled(environment(folder).get_template(template), dict(context))
    except TemplateNotFound as error:
        raise RefusedError(f"template {error.name!r} is not in the folder {folder.name!r}") from error
    except TemplateSyntaxError as error:
        raise RefusedError(f"template {error.name}:{error.lineno}: {error.message}") from error
    except (RefusedError, TemplateError, *_MISTAKES) as error:
        raise RefusedError(f"template {_place(error, template, folder)}: {error}") from error


def _filled(template: Template, context: dict[str, object]) -> str:
    """As Jinja2's own ``render``, and then let go of the values.

    A template's macros and its context hold each other, and with them every value of the plan, until
    Python looks for cycles.
    """
    values = template.new_context(context)
    try:
        return "".join(template.root_render_func(values))
    except Exception:
        template.environment.handle_exception()
    finally:
        values.vars.clear()


def _place(error: BaseException, template: str, folder: Path) -> str:
    """Return ``template:line`` where ``error`` arose, read from the traceback."""
    place, trace = template, error.__traceback__
    while trace is not None:
        path = Path(trace.tb_frame.f_code.co_filename)
        if path.is_relative_to(folder):
            place = f"{path.relative_to(folder).as_posix()}:{trace.tb_lineno}"
        trace = trace.tb_next
    return place
