"""The demos and the starter job: they read without a problem and show what they are there to show."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from planforge.assess.assessment import Assessment, assess
from planforge.assess.finding import Finding, Verdict
from planforge.job.loading import load, merged_text
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import Loaded
from planforge.register.fingerprint import fingerprint
from planforge.site.lots import load_lot
from planforge.site.reading import read_site
from planforge.units import FOOT

ROOT = Path(__file__).parents[1]
DEMOS = ROOT / "demo_jobs"
TEMPLATES = ROOT / "templates"
STARTER = TEMPLATES / "starter.yaml"
LOTS = {
    "heron_lot_14": set(),
    "heron_lot_15": set(),
    "heron_lot_17": {"hazard.controls"},
    "wren_lot_7": {"arrest.clearance", "edge.ground", "guy.clear", "line.sag_band"},
    "wren_lot_7_mended": set(),
    "quartz_court_building_2": set(),
    "linnet_lot_3_trusses": set(),
}
SITE = DEMOS / "sandpiper_row.yaml"
SITE_LOTS = {"heron-18": set(), "heron-19": set(), "heron-20": {"slab.pour", "slab.located"}}
SHARED = [
    "company_alder.yaml",
    "design_heron.yaml",
    "design_heron_open.yaml",
    "design_quartz.yaml",
    "design_wren.yaml",
]
KITS = "alder_kits.yaml"
"""The inventory that the site names."""


@cache
def loaded(name: str) -> Loaded[Job]:
    return load(DEMOS / f"{name}.yaml")


@cache
def assessed(name: str) -> Assessment:
    return assess(loaded(name).model)


@cache
def site_lot(lot: str) -> Loaded[Job]:
    return next(load_lot(source) for source in read_site(SITE).lots if source.id == lot)


def release(name: str, thing: str) -> Finding:
    (found,) = [f for f in assessed(name).findings if f.id == "release.state" and f.where == thing]
    return found


def test_every_file_is_known() -> None:
    known = {f"{name}.yaml" for name in LOTS} | set(SHARED) | {SITE.name, KITS}
    assert {path.name for path in DEMOS.glob("*.yaml")} == known


@pytest.mark.parametrize("name", LOTS)
def test_what_is_short(name: str) -> None:
    assert {f.id for f in assessed(name).short} == LOTS[name]
    assert assessed(name).draft == bool(LOTS[name])


def test_the_site_lists_demo_jobs_and_lots_of_its_own() -> None:
    site = read_site(SITE)
    names = [source.id for source in site.lots]
    assert names == ["heron-14", "heron-15", "heron-17", "heron-20", "heron-18", "heron-19"]
    assert set(SITE_LOTS) < set(names)
    for name in ("heron_lot_14", "heron_lot_15", "heron_lot_17"):
        assert site_lot(f"heron-{name[-2:]}").model == loaded(name).model


@pytest.mark.parametrize("lot", SITE_LOTS)
def test_what_is_short_on_the_sites_own_lots(lot: str) -> None:
    assert {f.id for f in assess(site_lot(lot).model).short} == SITE_LOTS[lot]


def test_first_demo_is_met_but_for_what_only_people_can_sign() -> None:
    counts = assessed("heron_lot_14").counts
    assert counts[Verdict.MEETS] > 9 * counts[Verdict.CONFIRM]
    assert {f.id for f in assessed("heron_lot_14").open_items} == {
        "line.plumb",
        "line.posts",
        "anchor.load_path",
        "base.strength",
        "framing.clear",
        "post.one_guy",
        "wind.unguyed",
        "release.state",
        "guy.angle",  # two guys that the base's tolerance alone takes out of the maker's band
        "arrest.swing",
    }


def test_wren_is_short_over_terrace_lumber_and_deck() -> None:
    short = [f for f in assessed("wren_lot_7").short if f.id == "arrest.clearance"]
    struck = {f.note.split("down to ")[1].rstrip(".") for f in short}
    assert struck == {
        "Terrace held by a retaining wall, 8 ft below the east edge",
        "Lift of wall lumber under the rear edge",
        "main",
    }
    (deck,) = {f.where for f in short if f.note.endswith("down to main.")}
    assert deck == "L-S1 · T-PLATE/S-PS · inward"
    assert {f.where for f in assessed("wren_lot_7").short if f.id == "line.sag_band"} == {"L-S1", "L-E"}


def test_wren_leaves_no_ground_just_where_its_clearances_are_short() -> None:
    wren = assessed("wren_lot_7")
    left = {(r.edge, r.phase): r for r in wren.reaches if r.left > 0.5 * FOOT}
    assert set(left) == {(e, p) for e in ("E-S", "E-E") for p in ("deck", "walls")} | {("E-PS", "walls")}
    # the lumber lies 6 ft to 16 ft along the rear, and a falling body comes down within 4 ft of the edge
    west, _, east, _ = (v / FOOT for v in left["E-S", "deck"].off_ground.bounds)
    assert 2.0 <= west <= 6.0 and 16.0 <= east <= 20.0
    # the terrace begins 8 ft along the east side
    assert left["E-E", "walls"].off_ground.bounds[1] / FOOT >= 4.0
    assert left["E-PS", "walls"].left == pytest.approx(22 * FOOT)


def test_demos_state_their_geometry_and_one_its_sloping_ground() -> None:
    for name in LOTS:
        found = [f for f in assessed(name).findings if f.id == "edge.found"]
        assert len(found) > 5
        assert {f.verdict for f in found} == {Verdict.MEETS}
    east = next(d for d in assessed("wren_lot_7_mended").found_edges.over if d.id == "F-MAIN.1")
    assert east.height[0] < east.height[-1]


def test_mended_wren_answers_each() -> None:
    mended = assessed("wren_lot_7_mended")
    east = [f for f in mended.findings if f.id == "arrest.clearance" and f.where.startswith("L-E ")]
    assert east and all(f.verdict is Verdict.MEETS for f in east)
    assert all("Terrace" in f.note for f in east), "the terrace is still what lies below"
    line = next(r for r in mended.job.layout.lines if r.id == "L-E")
    before = next(r for r in loaded("wren_lot_7").model.layout.lines if r.id == "L-E")
    assert (before.workers, line.workers) == (2, 1)
    assert mended.index.head("P4")[2] > assessed("wren_lot_7").index.head("P4")[2]
    assert "G-E" in {g.id for g in mended.job.layout.guardrails}


def test_release_states_are_shown() -> None:
    assert release("linnet_lot_3_trusses", "A3").verdict is Verdict.MEETS
    assert assessed("linnet_lot_3_trusses").released("A3")
    held = release("linnet_lot_3_trusses", "A5")
    assert (held.value, held.verdict) == ("on hold", Verdict.CONFIRM)
    assert "plate anchor was found loose" in held.note
    waiting = release("quartz_court_building_2", "L-N1a")
    assert (waiting.value, waiting.verdict) == ("released for use", Verdict.CONFIRM)
    assert "the qualified person signs beside the release" in waiting.note
    assert not assessed("quartz_court_building_2").released("L-N1a")
    states = {r.state for name in LOTS for r in loaded(name).model.releases}
    assert states >= {"planned", "measured", "released for use", "on hold"}
    assert {r.state for r in loaded("heron_lot_14").model.releases} == {"planned"}


def test_range_of_the_demos() -> None:
    jobs = {name: loaded(name).model for name in LOTS}
    assert any(edge.kind == "open-to-below" for edge in jobs["heron_lot_14"].layout.edges)
    assert all(line.beside for line in jobs["quartz_court_building_2"].layout.lines if line.id[2] in "NS")
    assert len(jobs["linnet_lot_3_trusses"].layout.anchors) > len(jobs["linnet_lot_3_trusses"].layout.lines)
    assert any(anchor.opposite_line for anchor in jobs["linnet_lot_3_trusses"].layout.anchors)


@pytest.mark.parametrize("name", LOTS)
def test_merged_text_reads_to_the_same_job(name: str, tmp_path: Path) -> None:
    merged = tmp_path / "merged.yaml"
    merged.write_bytes(merged_text(loaded(name)).encode("utf-8"))
    again = load(merged).model
    assert again == loaded(name).model
    assert fingerprint(again, TEMPLATES) == fingerprint(loaded(name).model, TEMPLATES)


@pytest.mark.parametrize("lot", SITE_LOTS)
def test_a_lot_of_the_site_goes_into_its_plan_whole(lot: str, tmp_path: Path) -> None:
    merged = tmp_path / "merged.yaml"
    merged.write_bytes(merged_text(site_lot(lot)).encode("utf-8"))
    assert load(merged).model == site_lot(lot).model


def test_fingerprints_tell_the_lots_apart() -> None:
    assert len({fingerprint(loaded(name).model, TEMPLATES) for name in LOTS}) == len(LOTS)


@pytest.mark.parametrize("name", [*SHARED, "sandpiper_row/street.yaml"])
def test_shared_files_hold_no_lots_own_facts(name: str) -> None:
    data = yaml.safe_load((DEMOS / name).read_text("utf-8"))
    for field in LOT_ONLY:
        assert not _stated(data, field.split(".")), field


def _stated(holder: Any, keys: list[str]) -> bool:
    if isinstance(holder, list):
        return any(_stated(entry, keys) for entry in holder)
    if not keys:
        return holder is not None
    return isinstance(holder, dict) and _stated(holder.get(keys[0]), keys[1:])


@pytest.mark.parametrize("name", LOTS)
def test_everything_is_marked_as_invented(name: str) -> None:
    text = (DEMOS / f"{name}.yaml").read_text("utf-8")
    assert "(invented)" in text
    for item in (*loaded(name).model.equipment.lifelines, *loaded(name).model.equipment.posts):
        assert "(invented)" in item.name


LOT_FACTS = {
    "slab.known",
    "slab.pour",
    "slab.located",
    "power.survey",
    "kit.inspected",
    "rescue.contacts",
    "rescue.people",
    "rescue.teams",
}


def test_starter_is_short_of_the_lots_own_facts_alone() -> None:
    job = load(STARTER).model
    assert {f.id for f in assess(job).short} == LOT_FACTS


def test_starter_marks_what_to_replace() -> None:
    text = STARTER.read_text("utf-8")
    assert text.count("# replace") > 50
    assert "\t" not in text
