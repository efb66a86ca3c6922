"""The drawings of a plan: an :class:`~planforge.assess.assessment.Assessment` in, sheets of paper out.

A figure's inch is an inch of paper. Where things go is decided by pure functions (``labels``,
``scale``, ``plan_content``); what draws is plain. :func:`figure_set` names every figure of a job;
called, each gives a matplotlib figure.
"""

from __future__ import annotations

from planforge.figures.drilling_map import drilling_sheets
from planforge.figures.figure_set import figure_scales, figure_set
from planforge.figures.guy_sheet import guy_sheets
from planforge.figures.hang_tags import tag_names
from planforge.figures.layout_sheet import layout_names

__all__ = ["drilling_sheets", "figure_scales", "figure_set", "guy_sheets", "layout_names", "tag_names"]
