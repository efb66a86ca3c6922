"""Answers of pure functions, kept by the exact content of what was asked: lots of one design share solves.

A question is the function's arguments to the last bit: a float's eight bytes (0.0 and -0.0 are two
questions), an array's bytes with its type, shape and strides (numpy may add up another layout in another
order). Nothing is rounded, and no name or id of a job counts unless the function itself takes it. An answer
is a copy whose arrays can't be written to, so that no user can change what the next one gets. Each function
keeps as many bytes of answers as it has room for; beyond that the answer used longest ago goes, and is worked
out anew when it is asked for again.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import lru_cache, update_wrapper
from hashlib import sha256
from struct import Struct
from typing import Any, Final, Generic, ParamSpec, TypeVar

import numpy as np

P = ParamSpec("P")
R = TypeVar("R")

ROOM: Final = 4 << 20
"""Bytes of answers that one function keeps; a lot of 12 posts and 8 lines takes up to 0.2 MB of it."""

_OVERHEAD: Final = 1024
"""Bytes reckoned for each answer beside its arrays."""

_PLAIN: Final = (str, bytes, int, bool, type(None), np.generic, Enum)
_eight_bytes: Final = Struct("<d").pack


class Remembered(Generic[P, R]):
    """A pure function with a memory; call it as the function itself."""

    def __init__(self, function: Callable[P, R], room: int) -> None:
        """``room``: bytes of answers that are kept."""
        update_wrapper(self, function)
        self._function = function
        self.room = room
        self._answers: OrderedDict[bytes, tuple[R, int]] = OrderedDict()
        self.held = 0  # bytes
        _EVERY.append(self)

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """The function's answer. An error is not kept: it is raised anew each time."""
        question = question_of((args, kwargs))
        kept = self._answers.get(question)
        if kept is not None:
            self._answers.move_to_end(question)
            return kept[0]
        answer: R = unchangeable(self._function(*args, **kwargs))
        self._keep(question, answer)
        return answer

    def anew(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """The answer worked out now and not kept: for who keeps a small part of a large one."""
        return self._function(*args, **kwargs)

    def __len__(self) -> int:
        """How many answers are kept."""
        return len(self._answers)

    def forget(self) -> None:
        """Drop all answers."""
        self._answers.clear()
        self.held = 0

    def _keep(self, question: bytes, answer: R) -> None:
        size = _OVERHEAD + _size(answer)
        self._answers[question] = answer, size
        self.held += size
        while self.held > self.room:
            _, (_, gone) = self._answers.popitem(last=False)
            self.held -= gone


_EVERY: list[Remembered[Any, Any]] = []
_SIZES: dict[type, Callable[[Any], int]] = {}


def remembered(room: int = ROOM) -> Callable[[Callable[P, R]], Remembered[P, R]]:
    """Decorate a pure function of numbers, texts, arrays and records of them.

    It keeps ``room`` bytes of answers.
    """

    def decorate(function: Callable[P, R]) -> Remembered[P, R]:
        return Remembered(function, room)

    return decorate


def answers_with(kind: type, size: Callable[[Any], int]) -> None:
    """Let answers hold things of a ``kind`` that nobody can change; ``size`` gives the bytes of one."""
    _SIZES[kind] = size


def every_one() -> tuple[Remembered[Any, Any], ...]:
    """Every function that remembers."""
    return tuple(_EVERY)


def forget_everything() -> None:
    """Drop the answers of every function."""
    for one in _EVERY:
        one.forget()


def question_of(asked: Any) -> bytes:
    """The SHA-256 of all that was asked, to the last bit.

    Raises:
        TypeError: something whose content isn't known to be all that counts about it.
    """
    return sha256(b"".join(_pieces(asked))).digest()


def _pieces(value: Any) -> Iterator[bytes]:
    if type(value) is float:
        yield b"f"
        yield _eight_bytes(value)
    elif isinstance(value, np.ndarray) and not value.dtype.hasobject:
        yield f"a{value.dtype.str}{value.shape}{value.strides}".encode()
        yield value.tobytes()
    elif is_dataclass(value) and not isinstance(value, type):
        kind = type(value)
        yield f"r{kind.__module__}.{kind.__qualname__}(".encode()
        for name in _names(kind):
            yield from _pieces(getattr(value, name))
    elif isinstance(value, tuple | list):
        yield f"{type(value).__name__}{len(value)}(".encode()
        for item in value:
            yield from _pieces(item)
    elif isinstance(value, dict):
        yield f"d{len(value)}(".encode()
        for item in value.items():
            yield from _pieces(item)
    elif isinstance(value, _PLAIN):
        text = repr(value).encode()
        yield f"{type(value).__qualname__}{len(text)}:".encode()
        yield text
    else:
        raise TypeError(f"a remembered function can't be asked about a {type(value).__name__}.")


@lru_cache(maxsize=256)
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def unchangeable(value: Any) -> Any:
    """A copy of an answer whose arrays can't be written to.

    Raises:
        TypeError: a list, a dictionary or another thing that its user could change.
    """
    if isinstance(value, np.ndarray) and not value.dtype.hasobject:
        array = value.copy(order="K")
        array.flags.writeable = False
        return array
    if is_dataclass(value) and not isinstance(value, type) and value.__dataclass_params__.frozen:  # type: ignore[attr-defined]
        copy = object.__new__(type(value))
        for name in _names(type(value)):
            object.__setattr__(copy, name, unchangeable(getattr(value, name)))
        return copy
    if type(value) is tuple:
        return tuple(unchangeable(item) for item in value)
    if isinstance(value, (float, *_PLAIN, *_SIZES)):
        return value
    raise TypeError(f"a remembered function can't answer with a {type(value).__name__}.")


def _size(answer: Any) -> int:
    """Bytes of an answer, but for what every one takes."""
    if isinstance(answer, np.ndarray):
        return answer.nbytes
    if isinstance(answer, str | bytes):
        return len(answer)
    if isinstance(answer, tuple):
        return sum(_size(item) for item in answer)
    if is_dataclass(answer) and not isinstance(answer, type):
        return sum(_size(getattr(answer, name)) for name in _names(type(answer)))
    return sum(size(answer) for kind, size in _SIZES.items() if isinstance(answer, kind))
