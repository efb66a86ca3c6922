"""What stands in a job for what could not be read, so that rules tell only what rests on what was read.

A rule is a generator of problems. Where it asks for a field with a fault of its own, :class:`UnreadError`
ends it there: what it has told rests on what was read, and what it would have told next is unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import wraps
from typing import Any, Final, NoReturn, ParamSpec

from planforge.errors import Problem

P = ParamSpec("P")


class UnreadError(Exception):
    """A rule asked for a part of the job that could not be read. It never leaves the reading of a job."""


class _Unread:
    """Stands in a list or among names for what could not be read; whatever one does with it raises."""

    def _refuse(self, *_: Any) -> NoReturn:
        raise UnreadError

    __getattr__ = __getitem__ = __contains__ = __call__ = _refuse
    __eq__ = __ne__ = __lt__ = __le__ = __gt__ = __ge__ = __hash__ = _refuse
    __bool__ = __float__ = __int__ = __index__ = __len__ = __iter__ = _refuse
    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = __truediv__ = __rtruediv__ = _refuse
    __neg__ = __abs__ = __round__ = _refuse
    __str__ = __format__ = _refuse

    def __repr__(self) -> str:
        return "UNREAD"


UNREAD: Final[Any] = _Unread()


def where_read(rule: Callable[P, Iterable[Problem]]) -> Callable[P, Iterator[Problem]]:
    """Let a rule end where it asks for what could not be read; a rule over several things wraps each."""

    @wraps(rule)
    def told(*args: P.args, **kwargs: P.kwargs) -> Iterator[Problem]:
        try:
            yield from rule(*args, **kwargs)
        except UnreadError:
            return

    return told
