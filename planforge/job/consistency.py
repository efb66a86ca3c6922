"""Checks across the fields of a job: what contradicts itself or can't exist is an error of the file.

What a job leaves out is no error here; the assessment finds it short or asks for it. Every
function takes the job and the place of its fields, reads nothing else and yields problems.
"""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.consistency_building import check_building
from planforge.job.consistency_dates import check_dates
from planforge.job.consistency_drawing import check_drawing
from planforge.job.consistency_layout import check_layout
from planforge.job.consistency_levels import check_levels
from planforge.job.consistency_lines import check_lines
from planforge.job.consistency_outlines import check_coordinates, check_outlines
from planforge.job.consistency_posts import check_posts
from planforge.job.consistency_ratings import check_ratings
from planforge.job.consistency_references import check_references
from planforge.job.consistency_rescue import check_rescue
from planforge.job.consistency_slab import check_slab
from planforge.job.consistency_translations import check_translations
from planforge.job.model import Job
from planforge.job.plan import PlanKind
from planforge.job.positions import Locator


def check_consistency(job: Job, locator: Locator) -> list[Problem]:
    """Return every contradiction and impossibility of a job whose fields are each right by themselves."""
    problems = list(check_references(job, locator))
    problems += check_ratings(job, locator)
    problems += check_dates(job, locator)
    problems += _check_work_parts(job, locator)
    problems += check_drawing(job.drawing, locator)
    problems += check_rescue(job, locator)
    problems += check_translations(job, locator)
    far = list(check_coordinates(job, locator))
    if far:
        # the reckoning of areas and distances needs coordinates of a believable size
        return problems + far
    problems += check_outlines(job, locator)
    problems += check_layout(job, locator)
    problems += check_lines(job, locator)
    problems += check_levels(job, locator)
    problems += check_posts(job, locator)
    problems += check_slab(job, locator)
    problems += check_building(job, locator)
    return problems


def _check_work_parts(job: Job, locator: Locator) -> Iterator[Problem]:
    for index, part in enumerate(job.work_parts):
        path = ("work_parts", index, "alternative")
        if part.kind is PlanKind.ALTERNATIVE_PLAN and part.alternative is None:
            yield locator.problem(
                path,
                expected="the reasons and points that 29 CFR 1926.502(k) asks of an alternative plan",
                remedy="Add alternative, or make the part a site work plan with conventional systems.",
            )
        if part.kind is PlanKind.SITE_WORK_PLAN and part.alternative is not None:
            yield locator.problem(
                path,
                expected="no alternative in a site work plan, which uses conventional systems",
                remedy="Delete alternative, or correct kind to alternative plan.",
            )
