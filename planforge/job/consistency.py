"""Checks across the fields of a job: what contradicts itself or can't exist is an error of the file.

What a job leaves out is no error here; the assessment finds it short or asks for it. Every
function takes the job and the place of its fields, reads nothing else and yields problems. Of what each
looks at, the part that could not be read is passed over (``unread.where_read``).
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
from planforge.job.plan import PlanKind, WorkPart
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read


def check_consistency(job: Job, locator: Locator) -> list[Problem]:
    """Return every contradiction and impossibility of a job.

    In a job of which not all could be read (``read_parts``), those of the parts that were.
    """
    problems = [problem for rule in _ANYWHERE for problem in where_read(rule)(job, locator)]
    far = list(where_read(check_coordinates)(job, locator))
    if far:
        # the reckoning of areas and distances needs coordinates of a believable size
        return problems + far
    return problems + [problem for rule in _IN_PLAN for problem in where_read(rule)(job, locator)]


def _check_drawing(job: Job, locator: Locator) -> Iterator[Problem]:
    yield from check_drawing(job.drawing, locator)


def _check_work_parts(job: Job, locator: Locator) -> Iterator[Problem]:
    for index, part in enumerate(job.work_parts):
        yield from _work_part(locator, ("work_parts", index, "alternative"), part)


@where_read
def _work_part(locator: Locator, path: FieldPath, part: WorkPart) -> Iterator[Problem]:
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


_ANYWHERE = (
    check_references,
    check_ratings,
    check_dates,
    _check_work_parts,
    _check_drawing,
    check_rescue,
    check_translations,
)
_IN_PLAN = (check_outlines, check_layout, check_lines, check_levels, check_posts, check_slab, check_building)
"""What reckons with coordinates."""
