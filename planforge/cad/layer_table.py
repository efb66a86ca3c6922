"""The layers of a drawing that planforge writes: discipline, major and minor group in plain words.

The form follows the US National CAD Standard (discipline letter, then groups of four letters); G, A, S, C and
Z (contractor) are its letters, from memory. What the standard does not name is named in its form.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LayerStyle:
    """How a layer looks: DXF colour number (7 is black on paper), line type, width in 1/100 mm."""

    says: str
    colour: int = 7
    line: str = "Continuous"
    width: int = 25


TITLE, NOTES, TEXT = "G-ANNO-TTLB", "G-ANNO-NOTE", "G-ANNO-TEXT"
FOOTPRINT, SLAB = "A-FLOR-OTLN", "S-SLAB-OTLN"
OPENINGS, FLOORS, WALLS, ROOFS = "A-FLOR-OPNG", "A-FLOR-LEVL", "A-WALL-CNTR", "A-ROOF-OTLN"
GROUND, SPOTS = "C-TOPO-AREA", "C-TOPO-SPOT"
BAND = "S-SLAB-BAND"
EDGES, HAZARDS, ZONES, PLACES = "Z-FALL-EDGE", "Z-FALL-HAZD", "Z-FALL-ZONE", "Z-FALL-PLAC"
POSTS, BASES, HOLES, GUYS = "Z-FALL-POST", "Z-FALL-BASE", "Z-FALL-HOLE", "Z-FALL-GUYS"
LINES, ANCHORS, RAILS, COVERS = "Z-FALL-LINE", "Z-FALL-ANCH", "Z-FALL-RAIL", "Z-FALL-COVR"

CONTENTS = {
    "tendon": "S-SLAB-TEND",
    "plumbing": "S-SLAB-PLUM",
    "conduit": "S-SLAB-COND",
    "radiant tubing": "S-SLAB-RADI",
    "rebar": "S-SLAB-REBR",
    "beam": "S-SLAB-BEAM",
    "other": "S-SLAB-OTHR",
}
FRAMING = {"trusses": "S-TRUS", "joists": "S-JOIS"}

STYLES = {
    TITLE: LayerStyle("Plan number, revision, date, fingerprint"),
    NOTES: LayerStyle("Notices: read before use"),
    TEXT: LayerStyle("Names of things", width=18),
    FOOTPRINT: LayerStyle("Outline of the building", width=50),
    SLAB: LayerStyle("Outline of the slab", width=35),
    OPENINGS: LayerStyle("Floor, stair and wall openings", width=35),
    FLOORS: LayerStyle("Outlines of floors", width=18),
    WALLS: LayerStyle("Centre lines of wall plates", width=18),
    ROOFS: LayerStyle("Outer edges of roofs, at their heights", line="DASHED", width=18),
    GROUND: LayerStyle("What lies below the edges", 8, "DASHDOT", 18),
    SPOTS: LayerStyle("Heights of the ground", 8, width=18),
    BAND: LayerStyle("Where a thing in the slab may lie: its width and the locating tolerance", 8, "DOT", 13),
    EDGES: LayerStyle("Hazard edges", 1, width=50),
    HAZARDS: LayerStyle("Marks of the hazard register", 1),
    ZONES: LayerStyle("Zones kept clear or controlled", 1, "DASHDOT", 18),
    PLACES: LayerStyle("Rescue kit, first aid, gates, ladders", 3),
    POSTS: LayerStyle("Posts", 5, width=35),
    BASES: LayerStyle("Base plates by their toe, where drilling is not forbidden", 5),
    HOLES: LayerStyle("Holes of base plates, where drilling is not forbidden", 5),
    GUYS: LayerStyle("Guys and their plate anchors", 5, "DASHED"),
    LINES: LayerStyle("Horizontal lifelines", 5, width=50),
    ANCHORS: LayerStyle("Single-point anchorages", 5, width=35),
    RAILS: LayerStyle("Guardrails", 3, width=35),
    COVERS: LayerStyle("Covers over openings", 3, "DASHED"),
    **{name: LayerStyle(f"In the slab: {kind}", 6, "DASHDOT", 35) for kind, name in CONTENTS.items()},
    **{name: LayerStyle(f"Centre lines of {kind}", 8, width=13) for kind, name in FRAMING.items()},
    **{f"{name}-AREA": LayerStyle(f"Area of {kind}", 8, "DASHED", 13) for kind, name in FRAMING.items()},
}
"""Every layer that may be drawn on; one is made when the first thing is put on it."""
