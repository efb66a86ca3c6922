"""The languages of the crew: a sheet for each with a folder, else an interpreter; the words in it."""

from __future__ import annotations

import datetime as dt

from planforge.assess.assessment import assess
from planforge.assess.briefing import crew_texts, sheet_languages, translated
from planforge.assess.finding import Verdict
from planforge.assess.index import Index
from planforge.job.model import Job
from planforge.languages import languages

from .jobs import demo, finding


def _reading(job: Job, language: str) -> Job:
    """The job with its last authorised worker reading another language."""
    people = [*job.people[:-1], job.people[-1].model_copy(update={"language": language})]
    assert people[-1].authorised
    return job.model_copy(update={"people": people})


def test_a_language_with_a_folder_has_a_sheet() -> None:
    job = demo("heron_lot_14")
    found = finding(assess(job), "briefing.language", "Spanish")
    assert found.verdict is Verdict.MEETS
    assert found.value == "sheet in Spanish"
    assert found.limit == "read by 2 of the crew"
    assert [one.code for one in sheet_languages(job)] == ["es"]


def test_a_language_without_a_folder_asks_for_an_interpreter() -> None:
    job = _reading(demo("heron_lot_14"), "Tagalog")
    found = finding(assess(job), "briefing.language", "Tagalog")
    assert found.verdict is Verdict.CONFIRM
    assert found.decides == "competent person"
    assert found.note == "Name an interpreter. Sheets can be printed in: English, Spanish."
    assert [one.code for one in sheet_languages(job)] == ["es"]


def test_nobody_who_ties_on_reads_it_no_sheet() -> None:
    job = demo("heron_lot_14")
    readers = [
        p.model_copy(update={"authorised": p.language != "Spanish" and p.authorised}) for p in job.people
    ]
    assert sheet_languages(job.model_copy(update={"people": readers})) == ()


def test_every_text_translated_and_checked() -> None:
    found = finding(assess(demo("heron_lot_14")), "briefing.translated", "Spanish")
    assert found.verdict is Verdict.MEETS
    assert found.value == found.limit == float(len(crew_texts(Index(demo("heron_lot_14")))))


def test_a_text_without_translation_is_named() -> None:
    job = demo("heron_lot_14")
    step = job.rescue.steps[0] if job.rescue else ""
    groups = [
        g.model_copy(update={"texts": [t for t in g.texts if t.text != step]}) for g in job.translations
    ]
    found = finding(assess(job.model_copy(update={"translations": groups})), "briefing.translated", "Spanish")
    assert found.verdict is Verdict.CONFIRM
    assert found.value == found.limit - 1.0  # type: ignore[operator]
    assert found.note == f"Printed in English: {step}."
    assert found.decides == "competent person"


def test_translations_that_nobody_checked_are_to_be_confirmed() -> None:
    job = demo("heron_lot_14")
    groups = [g.model_copy(update={"checked_by": None}) for g in job.translations]
    found = finding(assess(job.model_copy(update={"translations": groups})), "briefing.translated", "Spanish")
    assert found.verdict is Verdict.CONFIRM
    assert found.note == "Nobody is named who checked translations alder-es, heron-es, lot-14-es."


def test_line_breaks_of_a_folded_text_do_not_count() -> None:
    job = demo("heron_lot_14")
    says = translated(job, languages()["es"])
    task = next(t for t in job.tasks if t.id == "T-BEARING")
    assert " ".join((task.note or "").split()) in says


def test_a_check_is_dated_before_the_plan() -> None:
    assert all(g.on and g.on <= dt.date(2026, 11, 20) for g in demo("heron_lot_14").translations)


def test_a_turned_house_takes_the_translation_of_its_turned_words() -> None:
    """What the design calls the north edge is the west one here, and so it is in Spanish."""
    job = demo("heron_lot_15")
    name = next(h.name for h in job.hazards if h.id == "H1")
    assert name == "West edge of the second-floor deck"
    assert translated(job, languages()["es"])[name] == "Borde oeste del piso del segundo nivel"
    assert finding(assess(job), "briefing.translated", "Spanish").verdict is Verdict.MEETS
    assert not any("translations" in left.field for left in job.house.to_restate)  # type: ignore[union-attr]
