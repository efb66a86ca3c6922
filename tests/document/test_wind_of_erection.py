"""The wind that stops erection stands where posts and lines go up or come down, beside that of work."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.document.context_crew_pages import crew_pages, erecting_phases
from planforge.document.voice import LocalPrinted

from .packets import DATE, Pages, squeezed


def index(*phases: list[str]) -> Index:
    """A job of three phases with lines that stand in those given."""
    lines = [SimpleNamespace(phases=own) for own in phases]
    layout = SimpleNamespace(posts=[], lines=lines, anchors=[])
    job = SimpleNamespace(layout=layout)
    return cast("Index", SimpleNamespace(job=job, shared_phases=lambda: ["a", "b", "c", "d"]))


@pytest.mark.parametrize(
    ("stated", "found"),
    [
        ([[]], ("a", "d")),
        ([["a", "b"]], ("a", "b", "c")),
        ([["a", "b", "c", "d"], ["b"]], ("a", "b", "c", "d")),
        ([["d"]], ("c", "d")),
        ([], ()),
    ],
)
def test_both_phases_beside_a_change_name_it(stated: list[list[str]], found: tuple[str, ...]) -> None:
    assert erecting_phases(index(*stated)) == found


def test_it_is_on_crew_pre_task_and_erection_sheets(heron: Assessment, heron_pages: Pages) -> None:
    weather = heron.job.weather
    assert weather is not None
    assert weather.wind_stops_erection is not None
    assert weather.wind_stops_erection != weather.wind_stops_work
    local = cast("LocalPrinted", crew_pages(heron, DATE, "es")["local"])
    limit = local.speed(weather.wind_stops_erection)
    erecting = cast("tuple[str, ...]", crew_pages(heron, DATE, "en")["erecting"])
    whole = squeezed(" ".join(heron_pages.page(n) for n in range(len(heron_pages.reader.pages))))
    for text, count in (
        ("posts or lines up or down: 20 mph", 2 * len(erecting)),
        (f"montar o quitar postes, líneas: {limit}", len(erecting)),
        ("posts or lines up or down: 20 mph stops that", len(erecting)),
        ("Wind that stops erection and removal: 20 mph", 1),
        (f"Viento que detiene el montaje y el desmontaje: {limit}", 1),
    ):
        assert whole.count(squeezed(text)) >= count >= 1, text
