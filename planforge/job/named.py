"""The things of a job that others name, by their ids; of a job not all read, those whose id was."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol, TypeVar

from planforge.job.equipment import LifelineSystem, PostKind
from planforge.job.layout import Edge, Lifeline, Opening, Post
from planforge.job.model import Job
from planforge.job.site import LowerLevel, Phase
from planforge.job.unread import UnreadError


class HasId(Protocol):
    """Anything with an id."""

    @property
    def id(self) -> str:
        """Its id."""


T = TypeVar("T", bound=HasId)


def by_id(things: Iterable[T]) -> dict[str, T]:
    """Return named things by their ids; those whose id could not be read are left out."""
    known: dict[str, T] = {}
    for thing in things:
        with suppress(UnreadError):
            known[thing.id] = thing
    return known


@dataclass(frozen=True)
class Named:
    """Look-ups for the rules across fields, made once; one over a list not read raises ``UnreadError``."""

    job: Job

    @cached_property
    def phases(self) -> dict[str, Phase]:
        """Phases by id."""
        return by_id(self.job.phases)

    @cached_property
    def lower_levels(self) -> dict[str, LowerLevel]:
        """Lower levels by id."""
        return by_id(self.job.lower_levels or [])

    @cached_property
    def edges(self) -> dict[str, Edge]:
        """Hazard edges by id."""
        return by_id(self.job.layout.edges)

    @cached_property
    def openings(self) -> dict[str, Opening]:
        """Openings by id."""
        return by_id(self.job.layout.openings)

    @cached_property
    def posts(self) -> dict[str, Post]:
        """Posts by id."""
        return by_id(self.job.layout.posts)

    @cached_property
    def lines(self) -> dict[str, Lifeline]:
        """Lines by id."""
        return by_id(self.job.layout.lines)

    @cached_property
    def post_kinds(self) -> dict[str, PostKind]:
        """Kinds of post by id."""
        return by_id(self.job.equipment.posts)

    @cached_property
    def systems(self) -> dict[str, LifelineSystem]:
        """Lifeline systems by id."""
        return by_id(self.job.equipment.lifelines)
