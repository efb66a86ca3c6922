"""How long a proposal takes: a house with fewer and fewer rails, a row of 12 units, and growth to 16 units.

    python tests/benchmarks/bench_proposal.py [--units 1 2 4] [--limit 30] [--no-house]

Prints the table of `tests/benchmarks/PROPOSAL.md`: candidates, posts, seconds of all the work (candidates,
choice, re-check), the processor's seconds, and whether the choice is proven, else its gap. No test is timed.
"""

from __future__ import annotations

import argparse
import copy
import json
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from planforge.errors import PlanforgeError  # noqa: E402
from planforge.job.model import Job  # noqa: E402
from planforge.job.reading import Loaded  # noqa: E402
from planforge.proposal.offer import offer  # noqa: E402
from tests.proposal.jobs import DEEP, WIDE, as_is, demo, read, small  # noqa: E402

RAILS: tuple[list[str], ...] = (["E-E", "E-W", "E-S"], ["E-E", "E-W"], ["E-E"], [])
"""The sides of the house on which a rail may stand: the demo's own first, then fewer."""


def house(rails: list[str]) -> Loaded[Job]:
    """The demo with rails on some of its outer sides."""
    data = copy.deepcopy(demo().data)
    outer = next(rail for rail in data["proposal"]["guardrails"] if "E-E" in rail["edges"])
    outer["edges"] = rails
    if not rails:
        data["proposal"]["guardrails"].remove(outer)
    return read(json.loads(json.dumps(data, default=str)))


def row_of_units(units: int) -> Loaded[Job]:
    """Units of 30 by 24 ft side by side: open along the front, at the west end, and at the back of each."""

    def change(data: dict[str, Any]) -> None:
        def path(*points: tuple[float, float]) -> list[list[str]]:
            return [[f"{round(v * 12, 6):g} in" for v in point] for point in points]

        wide = WIDE * units
        data["layout"]["footprint"] = path((0, 0), (wide, 0), (wide, DEEP), (0, DEEP))
        edges = {"E-W": [(0, 0), (0, DEEP)]}
        for n in range(units):
            edges[f"E-S{n}"] = [(WIDE * n, 0), (WIDE * (n + 1), 0)]
            if units > 1:
                edges[f"E-N{n}"] = [(WIDE * n, DEEP), (WIDE * (n + 1), DEEP)]
        data["layout"]["edges"] = [
            {"id": name, "kind": "perimeter", "path": path(*points), "level": "second", "phases": ["deck"]}
            for name, points in edges.items()
        ]
        around = path((-20, -20), (wide + 20, -20), (wide + 20, DEEP + 20), (-20, DEEP + 20))
        data["lower_levels"][0]["area"] = around
        data["proposal"]["hoists"] = [{"outline": around, "reach": "45 ft"}]
        data["proposal"]["work"][0]["edges"] = list(edges)
        wall = {"thickness": "5 1/2 in", "level": "slab", "top": "10'-1\"", "takes_guys": True}
        walls = [
            {"id": "W-S", "path": path((0.25, 0.25), (wide - 0.25, 0.25)), **wall},
            {"id": "W-N", "path": path((0.25, DEEP - 0.25), (wide - 0.25, DEEP - 0.25)), **wall},
            {"id": "W-IN", "path": path((0.25, 9), (wide - 0.25, 9)), **wall},
            {"id": "W-IN2", "path": path((0.25, 15), (wide - 0.25, 15)), **wall},
        ]
        for n in range(2 * units + 1):
            x = min(max(0.25, 0.5 * WIDE * n), wide - 0.25)
            walls.append({"id": f"W-{n}", "path": path((x, 0.25), (x, DEEP - 0.25)), **wall})
        data["building"]["walls"] = walls

    return small(as_is, change)


def measured(name: str, loaded: Loaded[Job], limit: float) -> str:
    """One row of the table."""
    wall, cpu = time.perf_counter(), time.process_time()
    try:
        offered = offer(loaded, time_limit=limit)
        layout = offered.layout
        if layout is None:
            said, counts = "no layout", "- | -"
        else:
            steps = layout.choice.steps
            gaps = ", ".join(f"{s.name} {100 * s.gap:.1f} %" for s in steps if not s.proven)
            said = "proven" if layout.choice.proven else f"gap: {gaps}"
            said += "" if offered.good else "; short on re-check"
            counts = f"{len(layout.problem.candidates)} | {len(layout.choice.sites)}"
    except PlanforgeError as error:
        said, counts = str(error)[:60], "- | -"
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    return f"| {name} | {counts} | {wall:.1f} | {cpu:.1f} | {said} |"


def main() -> None:
    """Measure what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, nargs="*", default=[1, 2, 4, 8, 12, 16])
    parser.add_argument("--limit", type=float, default=30.0, help="seconds for the choice")
    parser.add_argument("--no-house", action="store_true")
    asked = parser.parse_args()
    print("| job | candidates | posts | seconds | processor's seconds | choice |\n|---|---|---|---|---|---|")
    if not asked.no_house:
        for rails in RAILS:
            name = f"house of 2,450 sq ft, rails on {', '.join(rails) or 'no outer side'}"
            print(measured(name, house(rails), asked.limit), flush=True)
    for units in asked.units:
        print(measured(f"row of {units} units", row_of_units(units), asked.limit), flush=True)


if __name__ == "__main__":
    main()
