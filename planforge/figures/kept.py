"""What is derived from an assessment and asked for many times over while its plan is drawn."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar
from weakref import ref

from planforge.assess.assessment import Assessment

Others = ParamSpec("Others")
Derived = TypeVar("Derived")


def kept(
    derive: Callable[Concatenate[Assessment, Others], Derived],
) -> Callable[Concatenate[Assessment, Others], Derived]:
    """``derive``, reckoned once for each of its other arguments while the same assessment is asked about.

    An assessment never changes, so its answers hold; what ``derive`` returns must not change either. The
    answers about one assessment are kept at a time, the latest.
    """
    latest: tuple[ref[Assessment] | None, dict[object, Derived]] = (None, {})

    @wraps(derive)
    def answer(assessment: Assessment, /, *others: Others.args, **named: Others.kwargs) -> Derived:
        nonlocal latest
        whose, answers = latest
        if whose is None or whose() is not assessment:
            answers = {}
            latest = ref(assessment), answers
        asked = others, tuple(sorted(named.items()))
        if asked not in answers:
            answers[asked] = derive(assessment, *others, **named)
        return answers[asked]

    return answer
