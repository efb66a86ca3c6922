"""What the crew acts on is plain: about grade 6 by a published formula, in each language it is printed in."""

from __future__ import annotations

import re

import pytest
from jinja2 import nodes

from planforge.assess.briefing import translated
from planforge.job.model import Job
from planforge.languages import languages

from .packets import job_of
from .reading_level import english_syllables, fernandez_huerta, flesch_kincaid, grade, spanish_syllables
from .template_pairs import pieces, tree

GRADE = 6.0


@pytest.mark.parametrize(
    ("word", "count"),
    [
        *(
            ("cat", 1),
            ("hook", 1),
            ("ladder", 2),
            ("before", 2),
            ("harness", 2),
            ("guardrail", 2),
            ("count", 1),
        ),
        *(("number", 2), ("people", 2), ("leave", 1), ("failed", 1), ("connector", 3), ("unhook", 2)),
        *(("emergency", 4), ("moving", 2), ("responders", 3), ("australian", 4), ("hybrid", 2), ("does", 1)),
    ],
)
def test_english_syllables(word: str, count: int) -> None:
    """Counts of a dictionary's syllable division (from memory)."""
    assert english_syllables(word) == count


@pytest.mark.parametrize(
    ("word", "count"),
    [
        *(("sol", 1), ("línea", 3), ("baranda", 3), ("caída", 3), ("enganche", 3), ("guía", 2), ("que", 1)),
        *(
            ("quien", 1),
            ("puerta", 2),
            ("escalera", 4),
            ("anclaje", 3),
            ("suelo", 2),
            ("oír", 2),
            ("león", 2),
        ),
        *(("rescate", 3), ("aunque", 2), ("revisión", 3), ("distancia", 3), ("cigüeña", 3), ("muy", 1)),
    ],
)
def test_spanish_syllables(word: str, count: int) -> None:
    """Syllable division of the Real Academia (línea: lí-ne-a; from memory)."""
    assert spanish_syllables(word) == count


def test_the_formula_as_published() -> None:
    """One sentence, 13 words, 26 syllables: 13.08, as the package flesch-kincaid documents it."""
    assert grade(13.0, 2.0) == pytest.approx(13.08)


def _fixed(code: str) -> list[str]:
    """The fixed text of the crew sheet and its rules, without Markdown."""
    sheet, words = tree(code, "02_crew_sheet.md"), tree(code, "words.md")
    rules = [a for a in words.find_all(nodes.Assign) if a.target.name == "rules"]  # type: ignore[attr-defined]
    assert rules
    texts = [text for node in (sheet, *rules) for _, text in pieces(node)]
    return [re.sub(r"[*#|_]", "", text) for text in texts if len(text.split()) > 3]


SHEETS = (
    *("03_erection_sheet.md", "03a_guys.md", "27_removal.md"),
    *("53_pre_task.md", "54_tag_out.md", "55_tags.md"),
)
"""What the crew acts on besides its own sheet."""


def _sheet(code: str, name: str) -> list[str]:
    texts = [text for _, text in pieces(tree(code, name))]
    return [re.sub(r"[*#|_]", "", text) for text in texts if len(text.split()) > 3]


def _up_and_down(job: Job) -> list[str]:
    """What the job adds to them: how the kit goes up and comes down."""
    up, down = job.erection, job.removal
    assert up is not None
    assert down is not None
    steps = [step.do for step in (*up.sequence, *down.sequence)]
    own = (up.installer_tie_off, up.after, up.tensioning, down.last_worker_tie_off, down.closes_holes)
    return [*steps, *(text for text in own if text)]


def _jobs_words(job: Job) -> list[str]:
    """What the job adds: orders, notes, steps."""
    rescue, weather = job.rescue, job.weather
    texts = [task.note or "" for task in job.tasks] + [phase.work for phase in job.phases]
    return [*texts, *(rescue.steps if rescue else []), *(weather.stops if weather else [])]


def test_english_crew_sheet_reads_at_grade_six_or_lower() -> None:
    assert flesch_kincaid(_fixed("en")) <= GRADE
    assert flesch_kincaid([*_fixed("en"), *_jobs_words(job_of("heron_lot_14"))]) <= GRADE


def test_spanish_crew_sheet_reads_at_grade_six_or_lower() -> None:
    job, spanish = job_of("heron_lot_14"), languages()["es"]
    says = translated(job, spanish)
    own = [says[" ".join(text.split())] for text in _jobs_words(job) if text]
    assert fernandez_huerta(_fixed("es")) >= 70.0
    assert fernandez_huerta([*_fixed("es"), *own]) >= 70.0


@pytest.mark.parametrize("name", SHEETS)
def test_the_other_sheets_read_at_grade_six_or_lower(name: str) -> None:
    assert flesch_kincaid(_sheet("en", name)) <= GRADE
    assert fernandez_huerta(_sheet("es", name)) >= 70.0


def test_the_steps_of_a_job_read_at_grade_six_or_lower() -> None:
    job = job_of("heron_lot_14")
    says = translated(job, languages()["es"])
    assert flesch_kincaid(_up_and_down(job)) <= GRADE
    assert fernandez_huerta([says[" ".join(text.split())] for text in _up_and_down(job)]) >= 70.0


def test_a_hard_text_is_found_hard() -> None:
    hard = ["Notwithstanding the aforementioned considerations, authorization necessitates documentation."]
    assert flesch_kincaid(hard) > 12.0
    assert (
        fernandez_huerta(
            ["La documentación correspondiente a autorizaciones administrativas extraordinarias."]
        )
        < 30
    )
