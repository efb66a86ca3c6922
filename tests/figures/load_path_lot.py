"""A demo's job with its load path filled in: tubes, guys, base anchors, slab contents, framing (invented).

Every post gets four guys whatever its place, so that drawings are tried where they are crowded.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from planforge.assess.assessment import Assessment, assess
from planforge.job.base import Rated
from planforge.job.equipment import BaseAnchor, Guy, Joint
from planforge.job.layout import Framing, GuyLine, Post
from planforge.job.loading import load_job
from planforge.job.model import Job
from planforge.job.slab import InSlab, KeepClear, Scan
from planforge.units import FOOT, INCH

DEMOS = Path(__file__).parents[2] / "demo_jobs"

SHEET = "Sheet X (invented)"
LEAN = np.radians(42.0)
"""Of every guy from its post."""

GUY = Guy.model_validate(
    {
        "id": "guy-x",
        "name": "Guy (invented)",
        "strength": {"value": "14000 lbf", "source": SHEET},
        "axial_stiffness": {"value": "600000 lbf", "source": SHEET},
        "plate_uplift": {"value": "9000 lbf", "source": SHEET},
        "plate_shear": {"value": "9000 lbf", "source": SHEET},
        "least_angle": {"value": "30 deg", "source": SHEET},
        "greatest_angle": {"value": "50 deg", "source": SHEET},
        "pretension": {"value": "200 lbf", "source": SHEET},
    }
)
ANCHOR = BaseAnchor.model_validate(
    {
        "id": "anchor-x",
        "name": "Screw anchor 1/2 in x 4 in (invented)",
        "diameter": "1/2 in",
        "hole_depth": {"value": "3 1/2 in", "source": SHEET},
        "effective_depth": {"value": "2 1/2 in", "source": SHEET},
        "kc": {"value": 17, "source": SHEET},
        "steel_tension": {"value": "18000 lbf", "source": SHEET},
        "steel_shear": {"value": "9000 lbf", "source": SHEET},
        "pullout": {"value": "8000 lbf", "source": SHEET},
        "category": {"value": 1, "source": SHEET},
        "critical_edge": {"value": "6 in", "source": SHEET},
        "least_spacing": {"value": "3 in", "source": SHEET},
        "least_edge": {"value": "2 in", "source": SHEET},
        "torque": {"value": "45 ft-lbf", "source": SHEET},
        "least_thickness": {"value": "4 in", "source": SHEET},
        "least_strength": {"value": "2500 psi", "source": SHEET},
    }
)


def _guyed(post: Post, head: float, base: float) -> Post:
    height = head - 1.0 * FOOT
    drop = 9.0 * FOOT
    reach = float(drop * np.tan(LEAN))
    guys = []
    for number in range(4):
        way = number * np.pi / 2
        to = (post.at[0] + reach * float(np.cos(way)), post.at[1] + reach * float(np.sin(way)))
        line = GuyLine.model_construct(
            id=f"G{number + 1}",
            kind="guy-x",
            height=height,
            to=to,
            elevation=base + height - drop,
            plate=way + np.pi / 2,
            pieces=[],
        )
        guys.append(line)
    return post.model_copy(update={"guys": guys})


def with_load_path(job: Job, *, turned: float = 0.3) -> Job:
    """The job with everything that the load path needs; every other post's base is ``turned`` (rad)."""
    kinds = []
    for kind in job.equipment.posts:
        joints = [
            Joint.model_validate({"height": f"{h} ft", "moment": {"value": "16000 ft-lbf", "source": SHEET}})
            for h in (7, 14)
            if h * FOOT < kind.head_height
        ]
        changes = {
            "outer_diameter": 4.5 * INCH,
            "wall": 0.25 * INCH,
            "steel_yield": Rated[float](value=317e6, source=SHEET),
            "joints": joints,
            "hole_spacing": (10 * INCH, 8 * INCH),
            "base_toe": 6.5 * INCH,
            "base_thickness": 0.5 * INCH,
            "anchored_with": "anchor-x",
            "weight": 75.0,
        }
        kinds.append(kind.model_copy(update=changes))
    heads = {k.id: k.head_height for k in kinds}
    layout = job.layout
    posts = [
        _guyed(p, heads[p.kind], layout.levels[p.stands_on]).model_copy(update={"turned": turned * (n % 2)})
        for n, p in enumerate(layout.posts)
    ]
    framing = Framing.model_construct(
        id="T-1",
        kind="trusses",
        area=layout.footprint,
        direction=np.pi / 2,
        spacing=2 * FOOT,
        first=(1 * FOOT, 0.0),
        thickness=1.5 * INCH,
        bottom=18 * FOOT,
        top=22 * FOOT,
        phases=[job.phases[-1].id],
    )
    equipment = job.equipment.model_copy(
        update={
            "posts": kinds,
            "guys": [*job.equipment.guys, GUY],
            "base_anchors": [*job.equipment.base_anchors, ANCHOR],
        }
    )
    return job.model_copy(
        update={
            "equipment": equipment,
            "layout": layout.model_copy(update={"posts": posts, "framing": [framing]}),
            "slab": _slab(job),
        }
    )


def _slab(job: Job) -> object:
    assert job.slab is not None
    outline = np.asarray(job.layout.slab or job.layout.footprint)
    left, bottom = outline.min(axis=0)
    right, top = outline.max(axis=0)
    middle = (bottom + top) / 2

    def thing(number: int, kind: str, path: list[tuple[float, float]], fills: bool = False) -> InSlab:
        return InSlab.model_construct(
            id=f"X-{number}",
            kind=kind,
            path=path,
            fills=fills,
            half_width=0.5 * INCH * number,
            located_by="scan",
            tolerance=1.5 * INCH,
        )

    contents = [
        thing(1, "tendon", [(left, middle), (right, middle)]),
        thing(2, "plumbing", [(left + 3, bottom), (left + 3, middle), (right - 1, middle - 1)]),
        thing(3, "conduit", [(right - 2, bottom + 1), (right - 2, top - 1)]),
        thing(4, "radiant tubing", [(left + 4, 3), (left + 7, 3), (left + 7, 6), (left + 4, 6)], True),
        thing(5, "rebar", [(left + 1, top - 2), (right - 1, top - 2)]),
    ]
    kinds = ("tendon", "plumbing", "conduit", "radiant tubing", "rebar")
    clear = [
        KeepClear.model_construct(kind=k, distance=Rated[float](value=3 * INCH, source=SHEET)) for k in kinds
    ]
    scan = Scan.model_validate(
        {"by": "Scanner (invented)", "on": "2026-11-16", "method": "Radar", "tolerance": "1 in"}
    )
    return job.slab.model_copy(
        update={
            "kind": "post-tensioned",
            "thickness": 5 * INCH,
            "contents": contents,
            "clear_of": clear,
            "scan": scan,
        }
    )


@cache
def job_with_load_path(name: str) -> Job:
    """A demo's job with its load path filled in."""
    return with_load_path(load_job(DEMOS / f"{name}.yaml"))


@cache
def filled(name: str) -> Assessment:
    """A demo with its load path filled in, assessed."""
    return assess(job_with_load_path(name))
