"""What a file calls itself: of one of another kind that alone is told, not all that it seems to lack."""

from __future__ import annotations

import re
from typing import Final, get_args

from pydantic import BaseModel

from planforge.errors import JobFileError
from planforge.job.positions import Locator
from planforge.job.wording import shown

_FIELD: Final = "format"
_CALLED: Final = re.compile(r"planforge (\w+) \d+")
_INSTEAD: Final = {
    "job": "This is the job file of one lot. Name a file whose line format: says what is expected.",
    "site": "This is a site file, which lists lots. Name a file of the kind expected, or see which commands "
    "take a site: planforge --help.",
    "kits": "This is a kits file. Name the site file that states it on its line kits:",
}


def refuse_another_kind(model: type[BaseModel], locator: Locator) -> None:
    """Raise :class:`JobFileError` with one problem where a file calls itself of another kind."""
    field = model.model_fields.get(_FIELD)
    expected = get_args(field.annotation) if field is not None else ()
    found = locator.value((_FIELD,))
    called = _CALLED.fullmatch(found) if isinstance(found, str) else None
    if not expected or called is None:
        return
    own = _CALLED.fullmatch(str(expected[0]))
    if own is not None and called[1] != own[1] and called[1] in _INSTEAD:
        wanted, remedy = shown(str(expected[0])), _INSTEAD[called[1]]
        raise JobFileError([locator.problem((_FIELD,), found=shown(found), expected=wanted, remedy=remedy)])
