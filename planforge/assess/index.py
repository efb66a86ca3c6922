"""Look-ups over a job: things by id, which phases they share, where a post's head stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import hypot
from typing import Any, Protocol, TypeVar

from planforge.job.equipment import Connector, LifelineSystem, LineAbsorber, PostKind, Rope
from planforge.job.erection import Access
from planforge.job.layout import Anchor, Lifeline, Post
from planforge.job.model import Job
from planforge.job.people import Person
from planforge.job.site import LowerLevel, Phase


class HasId(Protocol):
    """Anything with an id."""

    @property
    def id(self) -> str:
        """Its id."""


H = TypeVar("H", bound=HasId)


def by_id(items: Iterable[H]) -> dict[str, H]:
    """Things keyed by their id, in their order."""
    return {item.id: item for item in items}


@dataclass(frozen=True)
class Index:
    """A job with its look-ups. A job that was read has only references that exist."""

    job: Job

    @cached_property
    def phases(self) -> dict[str, Phase]:
        """Phases by id."""
        return by_id(self.job.phases)

    @cached_property
    def posts(self) -> dict[str, Post]:
        """Posts by id."""
        return by_id(self.job.layout.posts)

    @cached_property
    def post_kinds(self) -> dict[str, PostKind]:
        """Kinds of post by id."""
        return by_id(self.job.equipment.posts)

    @cached_property
    def systems(self) -> dict[str, LifelineSystem]:
        """Lifeline systems by id."""
        return by_id(self.job.equipment.lifelines)

    @cached_property
    def ropes(self) -> dict[str, Rope]:
        """Ropes by id."""
        return by_id(self.job.equipment.ropes)

    @cached_property
    def line_absorbers(self) -> dict[str, LineAbsorber]:
        """Line absorbers by id."""
        return by_id(self.job.equipment.line_absorbers)

    @cached_property
    def connectors(self) -> dict[str, Connector]:
        """Connectors by id."""
        return by_id(self.job.equipment.connectors)

    @cached_property
    def lines(self) -> dict[str, Lifeline]:
        """Lifelines by id."""
        return by_id(self.job.layout.lines)

    @cached_property
    def anchors(self) -> dict[str, Anchor]:
        """Anchors by id."""
        return by_id(self.job.layout.anchors)

    @cached_property
    def people(self) -> dict[str, Person]:
        """Persons by id."""
        return by_id(self.job.people)

    @cached_property
    def lower_levels(self) -> dict[str, LowerLevel]:
        """Lower levels of the lot by id."""
        return by_id(self.job.lower_levels or [])

    @cached_property
    def gathered(self) -> dict[str, Any]:
        """What each post is made of, by its id, once :func:`planforge.assess.post_model.post_parts` asked."""
        return {}

    def shared_phases(self, *phase_lists: list[str]) -> list[str]:
        """The phases, in order of time, that every list names; an empty list names all."""
        chosen = [p.id for p in self.job.phases if all(not ids or p.id in ids for ids in phase_lists)]
        return sorted(chosen, key=lambda i: (self.phases[i].start, self.phases[i].end))

    def ways(self, phase: str) -> list[Access]:
        """The ways to the work that hold in a phase."""
        return [way for way in self.job.access if not way.phases or phase in way.phases]

    def kind_of(self, post: Post) -> PostKind:
        """A post's kind."""
        return self.post_kinds[post.kind]

    def head(self, post_id: str) -> tuple[float, float, float]:
        """A post's attachment at its head: plan x, y and elevation, m."""
        post = self.posts[post_id]
        elevation = self.job.layout.levels[post.stands_on] + self.kind_of(post).head_height
        return (*post.at, elevation)

    def line_ends(self, line: Lifeline) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Both attachments of a line, start first."""
        return self.head(line.start), self.head(line.end)

    def span(self, line: Lifeline) -> float:
        """A line's horizontal span, m."""
        start, end = self.line_ends(line)
        return hypot(end[0] - start[0], end[1] - start[1])

    def anchor_at(self, anchor: Anchor) -> tuple[float, float, float]:
        """An anchorage's place: plan x, y and elevation, m."""
        if anchor.post is not None:
            return self.head(anchor.post)
        assert anchor.at is not None and anchor.elevation is not None  # the reader made sure
        return (*anchor.at, anchor.elevation)

    def surface(self, name: str) -> float:
        """The elevation of a level or of the top of a lower level, m."""
        levels = self.job.layout.levels
        return levels[name] if name in levels else self.lower_levels[name].elevation

    def lowest(self, name: str) -> float:
        """The lowest elevation of a level or lower level, m: that of its lowest spot where it slopes."""
        lower = self.lower_levels.get(name)
        spots = [spot.elevation for spot in lower.spots] if lower else []
        return min(spots, default=self.surface(name))

    def surface_name(self, name: str) -> str:
        """A level's or lower level's name in words."""
        return name if name in self.job.layout.levels else self.lower_levels[name].name

    def person(self, person_id: str | None) -> str:
        """A person's name, empty where none is named."""
        return self.people[person_id].name if person_id else ""
