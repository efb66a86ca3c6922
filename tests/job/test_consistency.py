"""Each contradiction or impossibility in a job file, by its whole message; a sound job has none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planforge.calc.column import STEEL_E
from planforge.errors import JobFileError
from planforge.job.consistency import check_consistency
from planforge.job.consistency_posts import STEEL_MODULUS
from planforge.job.cross_references import NOUNS, REFERENCES
from planforge.job.equipment import Equipment
from planforge.job.field_types import field_type
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import load_model
from planforge.job.reference import walk

HERE = Path(__file__).parent
JOB = (HERE / "sound_job.yaml").read_text(encoding="utf-8")
IMPOSSIBLE: list[dict[str, Any]] = yaml.safe_load((HERE / "impossible.yaml").read_text(encoding="utf-8"))
POSTS = (HERE / "sound_posts.yaml").read_text(encoding="utf-8")
IMPOSSIBLE_POSTS: list[dict[str, Any]] = yaml.safe_load(
    (HERE / "impossible_posts.yaml").read_text(encoding="utf-8")
)

RELEASED = (
    "{of: L1, state: released for use, by: finch, on: 2026-11-21, revision: 1, measured_sag: 4 in, "
    "temperature: 50 F, within_tolerances: true}"
)


def problems(folder: Path, text: str) -> list[str]:
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    try:
        load_model(path, Job, lot_only=LOT_ONLY, checks=check_consistency)
    except JobFileError as error:
        return [str(problem).replace(str(path), "job.yaml") for problem in error.problems]
    return []


def changed(*changes: tuple[str, str], text: str = JOB) -> str:
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} must stand once in the job"
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize("text", [JOB, POSTS])
def test_sound_job_has_no_problems(tmp_path: Path, text: str) -> None:
    assert problems(tmp_path, text) == []


@pytest.mark.parametrize("case", IMPOSSIBLE, ids=lambda case: case["to"] or f"without {case['change']}")
def test_impossible_job(tmp_path: Path, case: dict[str, Any]) -> None:
    assert problems(tmp_path, changed((case["change"], case["to"]))) == case["problems"]


@pytest.mark.parametrize("case", IMPOSSIBLE_POSTS, ids=lambda case: case["to"])
def test_impossible_post(tmp_path: Path, case: dict[str, Any]) -> None:
    assert problems(tmp_path, changed((case["change"], case["to"]), text=POSTS)) == case["problems"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # attached at the very head
        ("height: 16 ft, to: [3 in", "height: 17 ft, to: [3 in"),
        # a foot outside the footprint is still a wall's plate
        ("to: [3 in, 22 ft]", "to: [-1 ft, 22 ft]"),
        # a guy to a plate at the base's own height
        ("to: [3 in, 22 ft], elevation: 9 ft", "to: [3 in, 22 ft], elevation: 0"),
        # all of it of the other kind
        ("length: 2 ft}", "length: 10'-5\"}"),
        # a tight base
        ("base_toe: 6 in", "base_toe: 4 1/2 in"),
        # what was never stated contradicts nothing
        ("length: 5 in, hole_depth: 4 1/2 in, ", ""),
        ("  thickness: 6 in\n", ""),
        # the number of guys that a kind needs is the assessment's to hold against the drawing
        ("      sections: 3\n", "      sections: 3\n      guys: 4\n"),
        # joists beside the area by less than a spacing
        ("first: [1 ft, 0]", "first: [-1 ft, 0]"),
    ],
)
def test_possible_post_has_no_problems(tmp_path: Path, old: str, new: str) -> None:
    assert problems(tmp_path, changed((old, new), text=POSTS)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # fully released
        ("{of: L1, state: planned}", RELEASED),
        # what the models leave optional is the assessment's to miss
        ("  scan: {by: Scan crew, on: 2026-10-20, method: radar, tolerance: 1/2 in}\n", ""),
        # bounds may meet
        ("shortest_span: 10 ft", "shortest_span: 52 ft"),
        ("coldest: 20 F", "coldest: 60 F"),
        # whether a temperature is within the ratings is the assessment's to say
        ("longest_span: 52 ft,", "longest_span: 52 ft, lowest_temperature: 60 F,"),
        # on the outline counts as within
        ("at: [39 ft, 29 ft]", "at: [40 ft, 29 ft]"),
        # a slab of its own outline holds posts outside the footprint
        ("  edges:\n", "  slab: [[-4 ft, 0], [44 ft, 0], [44 ft, 30 ft], [-4 ft, 30 ft]]\n  edges:\n"),
        # an edge may close on its first point
        (
            "path: [[0, 30 ft], [40 ft, 30 ft]]",
            "path: [[0, 30 ft], [40 ft, 30 ft], [40 ft, 0], [0, 0], [0, 30 ft]]",
        ),
        # a history is not demanded here
        (JOB[JOB.index("  history:") : JOB.index("company:")], ""),
        # a worker may fall from a plate onto the deck behind it
        (
            "        surface: deck\n        line: L1\n",
            "        surface: top plate\n        elevation: 18 ft\n        line: L1\n",
        ),
    ],
)
def test_possible_job_has_no_problems(tmp_path: Path, old: str, new: str) -> None:
    assert problems(tmp_path, changed((old, new))) == []


def test_post_on_the_slab_is_held_against_the_slab_and_another_against_the_footprint(tmp_path: Path) -> None:
    slab = ("  edges:\n", "  slab: [[0, 0], [44 ft, 0], [44 ft, 30 ft], [0, 30 ft]]\n  edges:\n")
    moved = ("at: [39 ft, 29 ft]", "at: [42 ft, 29 ft]")
    assert problems(tmp_path, changed(slab, moved)) == []
    raised = ("at: [39 ft, 29 ft], stands_on: slab", "at: [42 ft, 29 ft], stands_on: floor2")
    assert problems(tmp_path, changed(slab, raised)) == [
        'job.yaml:55: layout.posts[1 "P2"].at: found [42 ft, 29 ft], 2\'-0" outside the footprint; expected '
        'a place within layout.footprint, since the post stands on "floor2". '
        "Correct the coordinates: x to the right, y up, from the plan's origin."
    ]


def test_all_problems_are_reported_at_once(tmp_path: Path) -> None:
    found = problems(tmp_path, changed(*((c["change"], c["to"]) for c in IMPOSSIBLE[:3])))
    assert found == sorted(found, key=lambda text: int(text.split(":")[1]))
    assert len(found) == 3


def test_problem_in_an_extended_file_names_that_file(tmp_path: Path) -> None:
    equipment = JOB[JOB.index("equipment:") : JOB.index("user:")].replace(
        "rope: rope, absorber", "rope: cord, absorber"
    )
    (tmp_path / "company.yaml").write_text(equipment, encoding="utf-8")
    lot = JOB[: JOB.index("equipment:")] + JOB[JOB.index("user:") :] + "extends: company.yaml\n"
    found = problems(tmp_path, lot)
    assert [Path(text.partition(": ")[0]).name for text in found] == ["company.yaml:7"]
    assert 'lifelines[0 "set-a"].rope: found "cord"; expected the id of a rope (rope).' in found[0]


def test_huge_coordinates_are_refused_without_reckoning(tmp_path: Path) -> None:
    huge = changed(("[[0, 0], [40 ft, 0],", "[[0, 0], [1e300 ft, 0],"))
    assert [text.split(": found")[0] for text in problems(tmp_path, huge)] == [
        "job.yaml:46: layout.footprint[1]",
    ]


def test_sag_of_a_third_of_the_span_is_refused(tmp_path: Path) -> None:
    line = "installed_at: 50 F, workers: 2, beside: L2"
    job = changed((f"sag: 4 in, {line}", f"sag: 4 ft, {line}"), ("at: [39 ft, 29 ft]", "at: [12 ft, 29 ft]"))
    assert (
        'job.yaml:57: layout.lines[0 "L1"].sag: found "4 ft"; expected less than a third of the span '
        "of 11'-0\". Correct the length or its unit; the sag is measured at mid-span below the chord."
    ) in problems(tmp_path, job)


def test_every_reference_in_the_models_is_checked() -> None:
    """Ensures that a new field that holds an id can't be forgotten in the list of references."""
    holds_id = {
        path
        for path, model, name in walk()
        if name != "id"
        for kind in [field_type(model.model_fields[name])]
        if "short name" in (kind.kind, kind.item.kind if kind.item else None)
    }
    assert holds_id == {*REFERENCES, "site.code_profile"}


def test_every_home_has_a_name_in_words() -> None:
    items = {f"equipment.{name}" for name in Equipment.model_fields}
    assert {home for homes in REFERENCES.values() for home in homes} - items <= set(NOUNS)
    assert set(REFERENCES["inspections.item"]) == items


def test_unknown_code_profile_is_named_with_its_line(tmp_path: Path) -> None:
    assert "code_profile" not in JOB
    (found,) = problems(tmp_path, changed(("lot: Lot 1}", "lot: Lot 1, code_profile: us-federl}")))
    assert 'site.code_profile: found "us-federl"; expected the id of a code profile' in found
    assert 'Did you mean "us-federal"?' in found


def test_modulus_of_the_tubes_check_is_the_calculations() -> None:
    """The two floors do not share it: a job's check imports no calculation."""
    assert STEEL_MODULUS == STEEL_E


TRANSLATIONS = """
translations:
  - {id: a, language: Spanish, texts: [{text: Rope wet, says: Cable mojado}, {text: Ice, says: Hielo}]}
  - {id: b, language: spanish, texts: [{text: "Rope  wet", says: Cable húmedo}, {text: Ice, says: Hielo}]}
"""


def test_one_text_has_one_wording_in_a_language(tmp_path: Path) -> None:
    (fault,) = problems(tmp_path, JOB.rstrip() + TRANSLATIONS)
    assert 'translations[1 "b"].texts[0].says: found "Cable húmedo"' in fault
    assert "expected what spanish says elsewhere for this text: Cable mojado" in fault
    assert "Delete one of the two, or word them alike." in fault
    assert problems(tmp_path, JOB.rstrip() + TRANSLATIONS.replace("húmedo", "mojado")) == []
