"""Every figure of a job by name, drawn up only when asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING

from planforge.assess.anchors import AnchorRun
from planforge.assess.assessment import Assessment
from planforge.assess.briefing import sheet_languages
from planforge.figures.anchor_elevation import anchor_elevation, anchor_scales
from planforge.figures.drilling_map import drilling_map, drilling_sheets
from planforge.figures.elevation import SIZE_INCHES as ELEVATION_SIZE
from planforge.figures.elevation import elevation, governing, plan_elevation
from planforge.figures.envelope import envelope
from planforge.figures.guy_sheet import guy_sheet, guy_sheets
from planforge.figures.hang_tags import tag_pages
from planforge.figures.layout_sheet import layout_names, layout_scale, layout_sheet
from planforge.figures.map_in_two import low_map
from planforge.figures.paper import Paper
from planforge.figures.post_free_body import free_body_scale, post_free_body
from planforge.figures.sag_card_figure import sag_card_drawing
from planforge.figures.scale import Drawn
from planforge.figures.tie_off_map import tie_off_map
from planforge.languages import FIRST
from planforge.units import Display

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Drawing:
    """A figure of a job: drawn up once, on first use."""

    draw: Callable[[], Paper]

    @cached_property
    def paper(self) -> Paper:
        """The drawing itself, as a document prints it."""
        return self.draw()

    def __call__(self) -> Figure:
        """The drawing as a matplotlib figure, the same when called again."""
        return self.paper.figure()


def _drawn(assessment: Assessment) -> dict[str, Callable[[], Drawn]]:
    """The drawings that have a scale."""
    made: dict[str, Callable[[], Drawn]] = {
        sheet.figure: partial(layout_sheet, assessment, sheet.phase, part=sheet.part)
        for sheet in layout_names(assessment)
    }
    for name, phase in [("", None), *((f"-{p.id}", p.id) for p in assessment.job.phases)]:
        made[f"tie-off-map{name}"] = partial(tie_off_map, assessment, phase)
        for language in sheet_languages(assessment.job):
            own = partial(tie_off_map, assessment, phase, words=language.map)
            made[f"tie-off-map{name}-{language.code}"] = own
            both = partial(low_map, assessment, phase, language)
            made[f"tie-off-map{name}-{FIRST}-{language.code}"] = both
    for result in assessment.lines:
        if result.runs:
            made[f"elevation-{result.id}"] = partial(elevation, assessment, result)
    if assessment.bases:
        for number, sheet in enumerate(drilling_sheets(assessment), start=1):
            made[sheet.figure] = partial(drilling_map, assessment, number=number)
    for number, named in enumerate(guy_sheets(assessment), start=1):
        made[named.figure] = partial(guy_sheet, assessment, number)
    for post in assessment.posts:
        made[f"post-{post.id}"] = partial(post_free_body, assessment, post)
    for run in assessment.anchors:
        made[anchor_figure(run)] = partial(anchor_elevation, assessment, run)
    return made


def anchor_figure(run: AnchorRun) -> str:
    """The name of the figure of a stance on an anchorage."""
    return f"anchor-{run.anchor.id}-{run.task.id}-{run.stance.id}"


def figure_scales(assessment: Assessment) -> dict[str, str]:
    """The scale of each drawing that has one, as printed, by the figure's name; nothing is drawn."""
    display = Display(assessment.job.site.units)
    sheets = [sheet.figure for sheet in layout_names(assessment)]
    made = dict.fromkeys(sheets, layout_scale(assessment).text)
    for result in assessment.lines:
        if result.runs:
            plan = plan_elevation(governing(result, display), ELEVATION_SIZE, display)
            made[f"elevation-{result.id}"] = plan.scales
    if assessment.bases:
        made |= {sheet.figure: sheet.scale for sheet in drilling_sheets(assessment)}
    made |= {sheet.figure: sheet.scale for sheet in guy_sheets(assessment)}
    made |= {f"post-{post.id}": free_body_scale(assessment, post) for post in assessment.posts}
    return made | {anchor_figure(run): anchor_scales(run, display) for run in assessment.anchors}


def figure_set(assessment: Assessment) -> dict[str, Drawing]:
    """Every figure of a job by name; each is a function that draws it (the same figure when called again).

    ``layout`` and ``tie-off-map`` show all phases; ``layout-<phase>`` and ``tie-off-map-<phase>`` one;
    ``tie-off-map-<phase>-<language>`` the same in each other language that the crew reads, and
    ``tie-off-map-<phase>-en-<language>`` with both;
    a layout that takes several sheets goes on as ``layout:2`` and ``layout-<phase>:2``;
    ``elevation-<line>`` and ``envelope-<line>`` a line with a stance; ``sag-<line>`` every line;
    ``anchor-<anchor>-<task>-<stance>`` a stance on an anchorage; ``drilling-map`` every base, which
    goes on as ``drilling-map:2`` where it takes several sheets;
    ``guys`` the names of all guys, which goes on as ``guys:2`` alike;
    ``post-<post>`` the free body of every post that could be reckoned; ``tags-<n>`` the pages of tags.
    """
    display = Display(assessment.job.site.units)
    figures = {name: Drawing(partial(_paper, draw)) for name, draw in _drawn(assessment).items()}
    figures |= {name: Drawing(draw) for name, draw in tag_pages(assessment).items()}
    for result in assessment.lines:
        figures[f"sag-{result.id}"] = Drawing(partial(sag_card_drawing, result, display))
        if result.runs:
            figures[f"envelope-{result.id}"] = Drawing(partial(envelope, assessment, result))
    return figures


def _paper(draw: Callable[[], Drawn]) -> Paper:
    return draw().paper
