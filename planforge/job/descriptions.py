"""What each job field means, read from the docstring below it in the model's source.

Read only when a message or a reference page asks, so that a plain run doesn't pay for it.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from functools import lru_cache
from itertools import pairwise

from pydantic import BaseModel


def description(model: type[BaseModel], name: str) -> str:
    """Return the field's description in one line; empty where it has none."""
    field = model.model_fields.get(name)
    if field is not None and field.description:
        return " ".join(field.description.split())
    origin = model.__pydantic_generic_metadata__["origin"] or model
    for part in origin.__mro__:
        if issubclass(part, BaseModel) and part is not BaseModel and (text := _docstrings(part).get(name)):
            return text
    return ""


@lru_cache(maxsize=256)
def _docstrings(model: type[BaseModel]) -> dict[str, str]:
    try:
        tree = ast.parse(textwrap.dedent(inspect.getsource(model)))
    except (OSError, TypeError, SyntaxError):  # no source at hand, as in a frozen program
        return {}
    body = tree.body[0].body if tree.body and isinstance(tree.body[0], ast.ClassDef) else []
    found: dict[str, str] = {}
    for statement, after in pairwise(body):
        if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
            match after:
                case ast.Expr(value=ast.Constant(value=str(text))):
                    found[statement.target.id] = " ".join(text.split())
    return found
