"""A proposal: covers every edge, is checked again in its job, stays where pinned, and is the same each
time.
"""

from __future__ import annotations

import re
import shutil
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from planforge.assess.assessment import assess
from planforge.assess.finding import Verdict
from planforge.assess.index import Index
from planforge.codes.profile import load_profile
from planforge.errors import RefusedError
from planforge.job.loading import load, load_job
from planforge.proposal.choose import Chooser
from planforge.proposal.offer import Offer, offer
from planforge.proposal.problem import Problem, chooser_of, problem_of
from planforge.proposal.recheck import with_proposal
from planforge.proposal.under_load import line_end
from planforge.units import FOOT, INCH
from tests.proposal.jobs import DEMO, as_is, demo, demo_offer, mirrored, moved, small, small_offer


def layout_in(offered: Offer) -> dict[str, Any]:
    layout: dict[str, Any] = offered.data["layout"]
    return layout


# ---------------------------------------------------------------- the demo


def test_demo_is_proposed_proven_and_met_in_its_job() -> None:
    offered = demo_offer()
    assert offered.layout is not None and offered.rechecked is not None
    assert offered.layout.choice.proven
    assert offered.rechecked.caused == ()
    assert offered.rechecked.assessment.short == []
    assert offered.layout.choice.margin.value > 0.0
    by_hand = load_job(DEMO.with_name("heron_lot_14.yaml")).layout
    assert len(layout_in(offered)["posts"]) <= len(by_hand.posts)


def test_every_edge_of_the_demo_lies_within_reach_by_shapely() -> None:
    """Edges less what lies within reach of the lines in use, or under a rail, leave nothing, phase by
    phase.
    """
    job = with_proposal(demo(), demo_offer().data)
    at = {p.id: p.at for p in job.layout.posts}
    reach = demo().model.proposal.reach  # type: ignore[union-attr]
    for edge in job.layout.edges:
        if edge.id == "E-PS":  # worked from scaffold: no one is tied off there
            continue
        for phase in edge.phases or [p.id for p in job.phases]:
            (hazard,) = [h for h in job.hazards if h.edge == edge.id]
            uses = {u for c in hazard.controls if not c.phases or phase in c.phases for u in c.uses}
            areas = [
                shapely.buffer(shapely.LineString([at[line.start], at[line.end]]), reach, quad_segs=256)
                for line in job.layout.lines
                if line.id in uses and phase in line.phases
            ]
            areas += [
                shapely.buffer(shapely.LineString(rail.path), 0.01)
                for rail in job.layout.guardrails
                if rail.id in uses and phase in rail.phases
            ]
            left = shapely.difference(shapely.LineString(edge.path), shapely.union_all(areas))
            assert shapely.length(left) < 2e-3, (edge.id, phase)


def test_demo_s_proposal_is_taken_by_extending_it(tmp_path: Path) -> None:
    """As the file's own comments say: the lot adds the written file to its extends."""
    for name in ("company_alder", "design_heron", "design_heron_open"):
        shutil.copy(DEMO.with_name(f"{name}.yaml"), tmp_path)
    (tmp_path / "layout.yaml").write_text(demo_offer().text, "utf-8")
    text = DEMO.read_text("utf-8")
    old = "extends: [company_alder.yaml, design_heron_open.yaml]"
    assert old in text
    lot = tmp_path / "lot.yaml"
    lot.write_text(text.replace(old, old.replace("]", ", layout.yaml]")), "utf-8")
    assessment = assess(load(lot).model)
    assert assessment.short == []
    assert len(assessment.job.layout.posts) == len(layout_in(demo_offer())["posts"])


def test_posts_stand_at_whole_inches_with_the_guys_they_need() -> None:
    job = with_proposal(demo(), demo_offer().data)
    for post in job.layout.posts:
        for value in post.at:
            assert value / INCH == pytest.approx(round(value / INCH), abs=1e-6)
        assert 4 <= len(post.guys) <= 6  # the maker's number, and what proposal.guying.most allows


def test_each_thing_is_explained_in_one_line() -> None:
    offered = demo_offer()
    things = [t["id"] for key in ("posts", "lines", "guardrails") for t in layout_in(offered)[key]]
    for name in things:
        assert len([line for line in offered.lines if line.startswith(f"{name}: ")]) == 1
    assert not re.search(r"\bsafe\b", offered.text, re.IGNORECASE)


# ---------------------------------------------------------------- same job, same proposal


def test_same_job_same_proposal() -> None:
    assert offer(small()).text == small_offer().text


@pytest.mark.parametrize("place", [mirrored, moved])
def test_mirrored_or_moved_it_is_as_good(place: Any) -> None:
    mine, other = small_offer(), offer(small(place))
    assert mine.layout is not None and other.layout is not None
    for one, two in zip(mine.layout.choice.steps, other.layout.choice.steps, strict=True):
        assert two.objective == pytest.approx(one.objective, rel=1e-3)
    posts = {tuple(np.round(s.at, 4)) for s in chosen_sites(other)}
    wanted = {
        tuple(np.round([v * FOOT for v in place(*(c / FOOT for c in s.at))], 4)) for s in chosen_sites(mine)
    }
    assert posts == wanted


def chosen_sites(offered: Offer) -> list[Any]:
    assert offered.layout is not None
    return [offered.layout.problem.sites[s] for s in offered.layout.choice.sites]


def weak_plates(most: int | None) -> Any:
    """Plate anchors that hold little, so that the maker's number of guys is too few."""

    def change(data: dict[str, Any]) -> None:
        (guy,) = [g for g in data["equipment"]["guys"] if g["id"] == "guy-12"]
        guy["plate_shear"]["value"] = guy["plate_uplift"]["value"] = "8200 lbf"
        data["proposal"]["guying"]["most"] = most

    return change


def test_more_guys_only_where_the_post_needs_them() -> None:
    few = sites_of(small(change=weak_plates(None)))
    more = sites_of(small(change=weak_plates(6)))
    assert {len(s.guys) for s in few} == {4}
    assert {len(s.guys) for s in more} > {4} and max(len(s.guys) for s in more) <= 6
    strong = small(change=lambda data: data["proposal"]["guying"].update(most=6))
    assert {len(s.guys) for s in sites_of(strong)} == {4}


def sites_of(lot: Any) -> list[Any]:
    index = Index(lot.model)
    return problem_of(index, load_profile(lot.model.site.code_profile)).sites


# ---------------------------------------------------------------- the best of all choices


def settled(problem: Problem) -> Chooser:
    """A chooser that has asked the second opinion on every candidate."""
    chooser = chooser_of(problem, None)
    chooser._ask(range(len(chooser.candidates)))
    return chooser


def test_small_lot_as_by_brute_force() -> None:
    """Every set of up to three of all candidates: none covers with a larger worst margin, or fewer posts at
    it.
    """
    layout = small_offer().layout
    assert layout is not None
    chooser = settled(layout.problem)
    barred = [set(c.facilities) for c in chooser.conflicts if c.facilities]
    best: tuple[float, int, int] = (-1.0, 0, 0)
    for size in (1, 2, 3):
        for chosen in combinations(range(len(chooser.candidates)), size):
            own = [chooser.candidates[k] for k in chosen]
            sites = {s for c in own for s in c.sites}
            if any(c.failures for c in own) or any(len(apart & sites) > 1 for apart in barred):
                continue
            margins = [c.margin.value for c in own]
            for row in chooser.rows:
                here = [m for k, m in zip(row.options, row.margins, strict=True) if k in chosen]
                margins.append(max(here, default=-1.0))
            for site in sites:
                on_it = [k for k in chosen if site in chooser.candidates[k].sites]
                for n in range(2, len(on_it) + 1):
                    for group in combinations(on_it, n):
                        ends = tuple(line_end(chooser.sites, chooser.candidates[k], site) for k in group)
                        margins.append(chooser.sharing.posts(site).margin_under([ends])[0].value)
            best = max(best, (round(min(margins), 9), -len(sites), -size))
    choice = layout.choice
    assert (round(choice.margin.value, 9), -len(choice.sites), -len(choice.options)) == best


# ---------------------------------------------------------------- what the coordinator wants


def pin_a_post(data: dict[str, Any]) -> None:
    post = next(p for p in layout_in(small_offer())["posts"] if p["at"] == ["26'-6\"", "3'-6\""])
    guys = [{**g, "id": g["id"].replace(post["id"], "KEEP")} for g in post["guys"]]
    data["layout"]["posts"] = [{**post, "id": "KEEP", "guys": guys, "phases": ["deck"]}]
    data["proposal"]["pinned"] = ["KEEP"]


def test_pinned_post_stays_and_is_used() -> None:
    offered = offer(small(change=pin_a_post))
    assert offered.good
    assert "KEEP" not in {p["id"] for p in layout_in(offered)["posts"]}
    assert any("KEEP" in (line["start"], line["end"]) for line in layout_in(offered)["lines"])
    job = with_proposal(small(change=pin_a_post), offered.data)
    assert job.layout.posts[0] == small(change=pin_a_post).model.layout.posts[0]


def test_pinned_line_stays_and_loads_its_posts_beside_what_is_chosen() -> None:
    """The whole proposal pinned but for the west line: its post at the corner carries both again."""

    def change(data: dict[str, Any]) -> None:
        kept = layout_in(small_offer())
        (south,) = [line for line in kept["lines"] if line["id"] == "L2"]
        ends = (south["start"], south["end"])
        data["layout"]["posts"] = [p for p in kept["posts"] if p["id"] in ends]
        data["layout"]["lines"] = [south]
        stances = small_offer().data["tasks"][0]["stances"]
        data["tasks"][0]["stances"] = [s for s in stances if s["line"] == "L2"]
        data["hazards"] = [h for h in small_offer().data["hazards"] if h["edge"] == "E-S"]
        data["proposal"]["pinned"] = [*ends, "L2"]

    offered = offer(small(change=change))
    assert offered.good and offered.layout is not None
    (west,) = layout_in(offered)["lines"]
    corner = next(p["id"] for p in layout_in(small_offer())["posts"] if p["at"] == ["3'-6\"", "3'-6\""])
    assert corner in (west["start"], west["end"])
    assert len(layout_in(offered)["posts"]) == 1
    assert offered.layout.choice.together  # both lines on the corner's post at once were reckoned


def test_layout_that_is_not_pinned_is_refused() -> None:
    def change(data: dict[str, Any]) -> None:
        pin_a_post(data)
        data["proposal"]["pinned"] = []

    with pytest.raises(RefusedError, match=r"already holds KEEP: pin what stays under proposal\.pinned"):
        offer(small(change=change))


def test_job_without_the_part_is_refused() -> None:
    with pytest.raises(RefusedError, match="no part proposal"):
        offer(load(DEMO.with_name("heron_lot_14.yaml")))


def test_guardrail_goes_before_a_line() -> None:
    def change(data: dict[str, Any]) -> None:
        rail = {
            "top": "42 in",
            "middle": "21 in",
            "strength": "Detail GR-1 (invented)",
            "reason": "It can stand.",
        }
        data["proposal"]["guardrails"] = [{"edges": ["E-W"], "phases": ["deck"], **rail}]

    offered = offer(small(change=change))
    assert offered.good
    (rail,) = layout_in(offered)["guardrails"]
    assert rail["path"] == [['0"', '0"'], ['0"', "24'-0\""]]
    assert len(layout_in(offered)["lines"]) == 1
    west = next(h for h in offered.data["hazards"] if h["edge"] == "E-W")
    assert [c["system"] for c in west["controls"]] == ["guardrail"]


def test_cover_goes_over_an_opening() -> None:
    def change(data: dict[str, Any]) -> None:
        hole = [["12 ft", "12 ft"], ["14 ft", "12 ft"], ["14 ft", "14 ft"], ["12 ft", "14 ft"]]
        data["layout"]["openings"] = [{"id": "O-1", "kind": "floor hole", "outline": hole, "level": "second"}]
        data["hazards"] = [
            {
                "id": "H-O",
                "kind": "floor hole",
                "name": "Chimney hole",
                "at": ["13 ft", "13 ft"],
                "opening": "O-1",
                "height": "11'-4\"",
                "phases": ["deck"],
                "exposed": "Framers",
            }
        ]
        data["proposal"]["covers"] = [
            {
                "opening": "O-1",
                "phases": ["deck"],
                "holds": "900 lb",
                "heaviest": "400 lb",
                "secured": "Screwed at every joist",
                "marking": "HOLE",
                "reason": "Work crosses it.",
            }
        ]

    offered = offer(small(change=change))
    assert offered.good
    assert [c["opening"] for c in layout_in(offered)["covers"]] == ["O-1"]
    assert offered.rechecked is not None
    guarded = [
        f for f in offered.rechecked.assessment.findings if f.where == "H-O" and f.id == "hazard.controls"
    ]
    assert [f.verdict for f in guarded] == [Verdict.MEETS]


def test_edge_too_short_for_a_line_gets_an_anchorage() -> None:
    def change(data: dict[str, Any]) -> None:
        data["layout"]["edges"] = [
            {
                "id": "E-S",
                "kind": "perimeter",
                "path": [["12 ft", "0 ft"], ["18 ft", "0 ft"]],
                "level": "second",
                "phases": ["deck"],
            }
        ]
        data["proposal"]["work"][0]["edges"] = ["E-S"]
        data["proposal"]["spacing"] = "2 ft"

    offered = offer(small(change=change))
    assert "lines" not in layout_in(offered)
    assert len(layout_in(offered)["anchors"]) >= 1
    assert offered.good, offered.lines


def test_drop_offs_of_the_building_are_drawn_registered_and_guarded() -> None:
    """A deck stated as a floor alone: its four sides become edges with hazards, and all are covered."""

    def change(data: dict[str, Any]) -> None:
        data["layout"]["edges"] = []
        box = [["0 ft", "0 ft"], ["30 ft", "0 ft"], ["30 ft", "24 ft"], ["0 ft", "24 ft"]]
        data["building"]["floors"] = [{"id": "F-2", "level": "second", "outline": box, "laid": "deck"}]
        data["proposal"]["work"][0]["edges"] = ["F-2"]

    offered = offer(small(change=change))
    assert offered.good, offered.lines
    assert len(layout_in(offered)["edges"]) == 4
    assert {h["edge"] for h in offered.data["hazards"]} == {e["id"] for e in layout_in(offered)["edges"]}
    assert offered.rechecked is not None
    assert not [f for f in offered.rechecked.assessment.short if f.id.startswith("edge.")]


def test_small_offer_is_the_unchanged_lot_s() -> None:
    assert small(as_is).model == small().model
