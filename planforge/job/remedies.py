"""Validation errors in plain words: where, what was read, what is expected, what to do."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from planforge.errors import Problem
from planforge.job.fields import (
    Place,
    bare,
    choices,
    cut_by_comma,
    field_of,
    homes,
    known_keys,
    meaning_of,
    place,
)
from planforge.job.positions import FieldPath, Locator
from planforge.job.wording import listed, nearest, shown

MAX_TRANSLATED = 200

Error = dict[str, Any]

Wording = tuple[str, str]
"""What is expected, and the remedy."""

_CORRECT = "Correct the value."
_GROUP = ("a group of fields", "Write its fields on the lines below, indented by two spaces.")
_LIST = ("a list", "Write one entry per line, each after a dash and a space.")
_PAIR = ("two values in brackets, such as [3 ft, 12'-6\"]", "Write both in brackets, a comma between them.")
_TEXT = ("a text", "Put it in single quotes.")
_WHOLE = ("a whole number such as 3", "Write digits only.")
_NUMBER = ("a number such as 3 or 3.5", "Write digits, with a point for decimals.")
_DATE = ("a date such as 2026-11-25", "Write year, month and day with hyphens.")
_TIME = ("a time such as 07:30", "Write hours and minutes on the 24-hour clock.")
_MOMENT = ("a date and time such as 2026-11-25 07:30", "Write the date with hyphens, a space and the time.")

_BY_PREFIX: tuple[tuple[str, Wording], ...] = (
    ("model_", _GROUP),
    ("dict_", _GROUP),
    ("mapping_", _GROUP),
    ("list_", _LIST),
    ("tuple_", _LIST),
    ("set_", _LIST),
    ("frozen_set_", _LIST),
    ("string_type", _TEXT),
    ("string_unicode", _TEXT),
    ("int_", _WHOLE),
    ("float_", _NUMBER),
    ("finite_", _NUMBER),
    ("decimal_", _NUMBER),
    ("bool_", ("true or false", "Write true or false.")),
    ("datetime_", _MOMENT),
    ("date_", _DATE),
    ("time_", _TIME),
)

# Patterns that a model states, in words; a regular expression is no message.
_PATTERNS = {
    r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$": (
        "a short name of letters, digits, hyphens, points or underscores (40 at most, no spaces)",
        "Shorten it or join its words with hyphens.",
    ),
}


def problems_of(
    error: ValidationError,
    model: type[BaseModel],
    locator: Locator,
    *,
    complete: bool,
    lot_only: frozenset[str] = frozenset(),
) -> list[Problem]:
    """Return one problem per fault of a validation.

    ``complete`` is False where an extended file could not be read; fields are then not called missing,
    but for those inside a part that is ``lot_only``, which no extended file could hold.
    Beyond 200 faults the last problem says how many more there are.
    """
    errors: list[Error] = [{**e} for e in error.errors(include_url=False)]
    if not complete:
        errors = [
            e for e in errors if e["type"] != "missing" or (len(e["loc"]) > 1 and e["loc"][0] in lot_only)
        ]
    data = locator.value(())
    placed = [(e, place(model, data, e["loc"])) for e in errors[:MAX_TRANSLATED]]
    placed = _without_echoes(placed, locator)
    problems = [p for group in _by_union(placed) for p in _translate_group(group, model, locator)]
    if len(errors) > MAX_TRANSLATED:
        found = f"{len(errors) - MAX_TRANSLATED} more faults"
        file = locator.holder(()).file
        problems.append(Problem(file, 0, "", found, "a job file", "Correct those listed, then check again."))
    return list(dict.fromkeys(problems))


Placed = tuple[Error, Place]


def _without_echoes(placed: list[Placed], locator: Locator) -> list[Placed]:
    """Leave out what only follows from a field that nobody knows: the fault is told there.

    A missing field that it is the misspelt name of; and where it is the rest of a value that a comma inside
    braces cut, whatever is wrong with the head.
    """
    misspelt: set[FieldPath] = set()
    cut: set[FieldPath] = set()
    for error, where in placed:
        if error["type"] == "extra_forbidden":
            group, key = where.path[:-1], str(where.path[-1])
            near = nearest(key, known_keys(where.holder))
            misspelt |= {(*group, near)} if near else set()
            cut |= set(_cut(where.path, locator))
    return [
        (error, where)
        for error, where in placed
        if not (error["type"] == "missing" and (*where.path, where.last) in misspelt)
        and (error["type"] == "extra_forbidden" or not any(where.path[: len(p)] == p for p in cut))
    ]


def _cut(path: FieldPath, locator: Locator) -> Iterator[FieldPath]:
    """Yield the field that a comma cut, inside braces: the rest of its value stands on the same line."""
    for before in cut_by_comma(locator.value(()), path):
        head = (*path[:-1], before)
        if locator.key(head).line == locator.key(path).line:
            yield head


def _by_union(placed: list[Placed]) -> list[list[Placed]]:
    """Group the faults that belong to one choice among types; any other fault stands alone."""
    groups: dict[Any, list[Placed]] = {}
    for index, item in enumerate(placed):
        unions = item[1].unions
        groups.setdefault(unions[0][0] if unions else index, []).append(item)
    return list(groups.values())


def _translate_group(group: list[Placed], model: type[BaseModel], locator: Locator) -> list[Problem]:
    labels = {where.unions[0][1] for _, where in group if where.unions}
    if len(labels) <= 1:
        return [_translate(error, where, model, locator) for error, where in group]
    path = group[0][1].unions[0][0]
    outside = [item for item in group if item[1].path == path and item[1].last is None]
    tried = [[item for item in group if item[1].unions[0][1] == label] for label in labels]
    inside = [items for items in tried if not any(item in outside for item in items)]
    if inside:
        # The type that fits best is the one meant: its faults are the useful ones.
        best = min(inside, key=lambda items: (len(items), str(items[0][0]["loc"])))
        return [_translate(error, where, model, locator) for error, where in best]
    problems = [_translate(error, where, model, locator) for error, where in outside]
    custom = [
        p for (error, _), p in zip(outside, problems, strict=True) if "error" in (error.get("ctx") or {})
    ]
    first = (custom or problems)[0]
    expected = " or ".join(dict.fromkeys(p.expected for p in problems))
    return [Problem(first.file, first.line, first.field, first.found, expected, first.remedy)]


def _translate(error: Error, where: Place, model: type[BaseModel], locator: Locator) -> Problem:
    kind = str(error["type"])
    if kind == "missing":
        return _missing(error, where, locator)
    if kind == "extra_forbidden":
        return _unknown_key(where, model, locator)
    if kind in ("value_error", "assertion_error"):
        return _raised(error, where, locator)
    expected, remedy = _expected(error, where, locator)
    return locator.problem(where.path, expected=expected, remedy=remedy)


def _missing(error: Error, where: Place, locator: Locator) -> Problem:
    if isinstance(where.last, int):
        arguments = get_args(where.holder)
        expected = f"a list of {len(arguments)}" if arguments else "a longer list"
        return locator.problem(where.path, expected=expected, remedy="Add what is lacking.")
    mark = locator.holder(where.path)
    name = str(error["loc"][-1])
    field = field_of(where.holder, name)
    meaning = meaning_of(where.holder, name)
    words = f" ({_first_sentence(meaning)})" if meaning else ""
    only = choices(field.annotation) if field else ()
    examples = (field.examples if field else None) or (only if len(only) == 1 else ())
    example = f" {examples[0]}" if examples else ""
    under = f" under {locator.label(where.path)}" if where.path else ""
    label = locator.label((*where.path, name))
    remedy = f'Add the line "{name}:{example}"{under}.'
    return Problem(mark.file, mark.line, label, "nothing", f"this field{words}", remedy)


def _unknown_key(where: Place, model: type[BaseModel], locator: Locator) -> Problem:
    key = str(where.path[-1])
    known = known_keys(where.holder)
    mark = locator.key(where.path)
    near, elsewhere = nearest(key, known), homes(model, key)
    if not near and any(True for _ in _cut(where.path, locator)):
        remedy = (
            "Inside { } a comma begins another field: put a text with a comma in single quotes, "
            "and write a number without it."
        )
    elif near:
        remedy = f'Did you mean "{near}"?'
    elif elsewhere:
        remedy = f"It belongs under {listed(elsewhere[:3])}."
    else:
        remedy = f"Known here: {listed(known, 'and')}." if known else "Delete it."
    label = locator.label(where.path)
    return Problem(
        mark.file, mark.line, label, f"the unknown field {shown(key)}", "a field known here", remedy
    )


def _raised(error: Error, where: Place, locator: Locator) -> Problem:
    """Word a validator's own message: ``value: reason; write what is expected``, each part optional."""
    raised = (error.get("ctx") or {}).get("error")
    message = " ".join(str(raised if raised is not None else error["msg"]).split()).rstrip(".")
    value = locator.value(where.path)
    if isinstance(value, str) and message.startswith(f"{value!r}: "):
        message = message.removeprefix(f"{value!r}: ")
    reason, _, wanted = message.partition("; write ")
    found = reason if isinstance(value, dict | list) else f"{shown(value)} ({reason})"
    if not wanted:
        return locator.problem(
            where.path, found=found, expected="an entry without this fault", remedy=_CORRECT
        )
    return locator.problem(where.path, found=found, expected=wanted, remedy=_CORRECT)


def _expected(error: Error, where: Place, locator: Locator) -> Wording:
    kind, context = str(error["type"]), error.get("ctx") or {}
    value = locator.value(where.path)
    if kind in _WORDINGS and not (get_origin(where.type) is tuple and kind.startswith("too_")):
        return _WORDINGS[kind](context)
    if kind in ("enum", "literal_error"):
        return _choice(value, choices(where.type) or _quoted(str(context.get("expected", ""))))
    if kind.startswith("union_tag_"):
        return _kind_of_entry(value, context)
    if get_origin(where.type) is tuple and kind.startswith(("tuple_", "too_")):
        return _PAIR
    for prefix, wording in _BY_PREFIX:
        if kind.startswith(prefix):
            return _with_cause(value, where.type, wording)
    return "a value of the kind this field takes", _CORRECT


def _kind_of_entry(value: object, context: Error) -> Wording:
    name = str(context["discriminator"]).strip("'")
    stated = value.get(name) if isinstance(value, dict) else None
    if "expected_tags" not in context or stated is None:
        return f'the field "{name}", which tells what kind of entry this is', f'Add the line "{name}:".'
    expected, remedy = _choice(stated, _quoted(str(context["expected_tags"])))
    return f'{expected} as its "{name}", not {shown(stated)}', remedy


def _with_cause(value: object, kind: Any, wording: Wording) -> Wording:
    if wording is _GROUP and isinstance(value, str) and re.match(r"^[A-Za-z_][\w-]*:\S", value):
        return wording[0], "Put a space after the colon."
    if wording is _TEXT and isinstance(value, list | dict):
        return wording[0], "Write one value without brackets; a text that has them goes in single quotes."
    of_values = not any(known_keys(bare(item)) for item in get_args(kind))
    if wording is _LIST and of_values and isinstance(value, str) and re.fullmatch(r"[\w.-]+", value):
        return wording[0], f"Write [{value}]; several stand between commas, or one a line after a dash."
    if value is None:
        return wording[0], "Write a value after the colon, or delete the line if the field is optional."
    return wording


def _choice(value: object, words: tuple[str, ...]) -> Wording:
    near = nearest(value, words) if isinstance(value, str) else None
    expected = listed([f'"{word}"' for word in words]) if words else "one of the choices of this field"
    return expected, f'Did you mean "{near}"?' if near else "Write one of these words."


def _quoted(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r"'((?:[^']|'(?=\w))+)'(?=,| or |$)", text))


def _plural(count: object, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


_WORDINGS: dict[str, Callable[[Error], Wording]] = {
    "string_too_short": lambda c: (
        "a text" if c["min_length"] == 1 else f"a text of at least {c['min_length']} characters",
        "Write it out."
        if c["min_length"] > 1
        else "Write a text, or delete the line if the field is optional.",
    ),
    "string_too_long": lambda c: (f"a text of at most {c['max_length']:,} characters", "Shorten it."),
    "too_short": lambda c: (
        f"a list of at least {_plural(c['min_length'], 'entry', 'entries')}",
        "Add what is lacking.",
    ),
    "too_long": lambda c: (
        f"a list of at most {_plural(c['max_length'], 'entry', 'entries')}",
        "Shorten the list.",
    ),
    "greater_than": lambda c: (f"more than {c['gt']}", _CORRECT),
    "greater_than_equal": lambda c: (f"{c['ge']} or more", _CORRECT),
    "less_than": lambda c: (f"less than {c['lt']}", _CORRECT),
    "less_than_equal": lambda c: (f"{c['le']} or less", _CORRECT),
    "string_pattern_mismatch": lambda c: _PATTERNS.get(
        c["pattern"], ("a text in the form of this field", _CORRECT)
    ),
    "multiple_of": lambda c: (f"a multiple of {c['multiple_of']}", _CORRECT),
}


def _first_sentence(text: str) -> str:
    sentence = re.split(r"\.\s|\.$|\n\n", " ".join(text.split()), maxsplit=1)[0]
    return (
        sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() or sentence[1:2] == " " else sentence
    )
