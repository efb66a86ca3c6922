"""From the job to a base: its holes, the slab around them, the concrete on the day, the anchor's data."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from planforge.assess.index import Index
from planforge.assess.post_model import PostParts
from planforge.calc import concrete_age
from planforge.calc.anchor_group import AnchorData, SlabData
from planforge.calc.arrays import Array
from planforge.calc.base_anchor import strength_reduction
from planforge.calc.base_plate import hole_pattern
from planforge.calc.plan_clearance import area_distance, segment_distances
from planforge.job.base import Rated
from planforge.job.equipment import BaseAnchor
from planforge.job.site import Phase
from planforge.job.slab import InSlab, Slab


@dataclass(frozen=True)
class Base:
    """A base on the slab with its four holes."""

    parts: PostParts
    anchor: BaseAnchor | None
    slab: Slab | None
    outline: shapely.Polygon
    erected: Phase  # the phase in which the post first stands

    @property
    def id(self) -> str:
        """The post's id."""
        return self.parts.id

    @cached_property
    def holes(self) -> Array | None:
        """Hole centres in plan, m, (4, 2); None where their spacing is not stated."""
        spacing = self.parts.kind.hole_spacing
        if spacing is None:
            return None
        pattern = hole_pattern(spacing[0], spacing[1], self.parts.post.turned)
        return np.asarray(pattern + np.asarray(self.parts.post.at))

    @cached_property
    def frame(self) -> float:
        """How far the slab's side nearest to the base is turned out of the plan's axes, rad, up to 45°.

        Chapter 17 takes edges square to each other: they are, in this frame, on a slab turned in plan.
        """
        sides = _sides(self.outline)
        nearest = sides[int(np.argmin(segment_distances(np.asarray(self.parts.post.at), sides)))]
        run = nearest[1] - nearest[0]
        quarter = 0.5 * np.pi
        turn = float(np.arctan2(run[1], run[0])) % quarter
        return turn - quarter if turn > 0.5 * quarter else turn

    def in_frame(self, vectors: Array) -> Array:
        """Plan places or forces (..., 2) along the axes of :attr:`frame`."""
        c, s = np.cos(self.frame), np.sin(self.frame)
        return np.asarray(vectors @ np.array([[c, -s], [s, c]]))

    @cached_property
    def edges(self) -> tuple[float, float, float, float]:
        """The slab's edges in :attr:`frame` (x least, x greatest, y least, y greatest), m.

        Each side of the outline counts towards the axis, or both, that it faces within 45 degrees, at its
        least distance from any hole: a slanted side stands as if it were square there, the careful choice.
        """
        assert self.holes is not None  # asked for only with holes
        holes, sides = self.in_frame(self.holes), self.in_frame(_sides(self.outline))
        run = sides[:, 1] - sides[:, 0]
        outward = np.stack([run[:, 1], -run[:, 0]], axis=-1) / np.linalg.norm(run, axis=-1, keepdims=True)
        distances = segment_distances(holes, sides)  # (4, sides)
        places = []
        for axis in (0, 1):
            for sign in (-1.0, 1.0):
                faces = sign * outward[:, axis] >= np.sqrt(0.5) - 1e-9
                reached = sign * holes[:, axis, None] + distances[:, faces]
                places.append(sign * float(np.min(reached, initial=np.inf)))
        return places[0], places[1], places[2], places[3]

    @property
    def edge_distance(self) -> float:
        """Least distance of any hole's centre from the slab's outline, m; negative where one lies off it."""
        holes = self.holes
        assert holes is not None
        return -float(np.max(area_distance(holes, shapely.get_coordinates(self.outline)[:-1])))

    @property
    def age(self) -> float | None:
        """Days from the pour to the day the post goes up."""
        if self.slab is None or self.slab.pour_date is None:
            return None
        return float((self.erected.start - self.slab.pour_date).days)

    @property
    def concrete(self) -> tuple[float, Rated[float] | None, str] | None:
        """Strength on the day, Pa: the stated one, else by the rule of gain; with what it rests on."""
        slab = self.slab
        if slab is None:
            return None
        if slab.strength is not None:
            return slab.strength.value, slab.strength, "stated for the day of erection"
        age = self.age
        if slab.strength_28 is None or slab.cement is None or age is None or age < 0:
            return None
        value = float(
            concrete_age.strength_at_age(slab.strength_28.value, age, concrete_age.CURVES[slab.cement])
        )
        return value, slab.strength_28, f"ACI 209R-92 at {age:.0f} days, to be confirmed"

    @property
    def missing(self) -> list[str]:
        """What the anchors' reckoning still wants, by name."""
        anchor, slab, concrete = self.anchor, self.slab, self.concrete
        wanted: dict[str, object] = {
            "the base's hole spacing": self.holes,
            "the base's toe": self.parts.kind.base_toe,
            "the kind of base anchor": anchor,
            "the slab's thickness": slab.thickness if slab else None,
            "the slab's strength on the day": concrete if concrete and concrete[0] > 0.0 else None,
        }
        if anchor is not None:
            wanted |= {
                "the anchor's effective depth": anchor.effective_depth,
                "the anchor's kc": anchor.kc,
                "the anchor's steel strength in tension": anchor.steel_tension,
                "the anchor's steel strength in shear": anchor.steel_shear,
                "the anchor's pullout strength": anchor.pullout,
                "the anchor's category": anchor.category,
                "the anchor's critical edge distance": anchor.critical_edge,
            }
        return [name for name, value in wanted.items() if value is None]

    def anchor_data(self) -> AnchorData:
        """The anchor for the solver; asked for only where nothing is missing."""
        anchor = self.anchor
        assert anchor is not None and anchor.effective_depth and anchor.kc and anchor.steel_tension
        assert anchor.steel_shear and anchor.pullout and anchor.category and anchor.critical_edge
        return AnchorData(
            diameter=anchor.diameter,
            effective_depth=anchor.effective_depth.value,
            kc=anchor.kc.value,
            report_kc=anchor.concrete == ("cracked" if self.cracked else "uncracked"),
            steel_tension=anchor.steel_tension.value,
            steel_shear=anchor.steel_shear.value,
            pullout=anchor.pullout.value,
            critical_edge=anchor.critical_edge.value,
            phi=strength_reduction(
                ductile=bool(anchor.ductile and anchor.ductile.value), category=anchor.category.value
            ),
        )

    @property
    def cracked(self) -> bool:
        """Whether the concrete counts as cracked."""
        return self.slab is None or self.slab.cracked

    def slab_data(self) -> SlabData:
        """The slab for the solver; asked for only where nothing is missing."""
        slab, concrete = self.slab, self.concrete
        assert slab is not None and slab.thickness is not None and concrete is not None
        return SlabData(
            strength=concrete[0], thickness=slab.thickness, edges=self.edges, cracked=self.cracked
        )


def bases(index: Index, posts: list[PostParts]) -> list[Base]:
    """Every post whose base stands on the slab."""
    job = index.job
    kinds = {a.id: a for a in job.equipment.base_anchors}
    outline = shapely.polygons(np.asarray(job.layout.slab or job.layout.footprint))
    out = []
    for parts in posts:
        if abs(parts.base) > 1e-6:  # only the slab's top, at 0, is concrete
            continue
        first = index.phases[index.shared_phases(parts.post.phases)[0]]
        named = parts.kind.anchored_with
        out.append(Base(parts, kinds[named] if named else None, job.slab, outline, first))
    return out


def tolerance_of(slab: Slab, thing: InSlab) -> float:
    """How far a thing may be off, m: its own tolerance, or the scan's where that is greater."""
    return max(thing.tolerance, slab.scan.tolerance if slab.scan else 0.0)


def _sides(outline: shapely.Polygon) -> Array:
    """The outline's sides counter-clockwise, start and end, m, (V, 2, 2)."""
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(outline))
    return np.stack([corners[:-1], corners[1:]], axis=1)
