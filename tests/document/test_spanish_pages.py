"""The Spanish pages: behind the English ones, with the same values, signed by those who read them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.document.context import packet_context
from planforge.document.context_crew_pages import crew_pages
from planforge.figures import figure_set
from planforge.languages import templates_folder
from planforge.register.fingerprint import fingerprint, plan_fingerprint

from .packets import DATE, FINGERPRINT, Pages, demo, pages_of, printed, squeezed


@pytest.fixture
def pages(heron_pages: Pages) -> Pages:
    return heron_pages


def only(pages: Pages, beginning: str) -> str:
    """The text of a part's own pages, each of which it begins."""
    titles = list(pages.parts)
    n = next(n for n, title in enumerate(titles) if title.startswith(beginning))
    start = pages.parts[titles[n]][0]
    end = pages.parts[titles[n + 1]][0] if n + 1 < len(titles) else len(pages.reader.pages)
    return " ".join(pages.page(number) for number in range(start, max(end, start + 1)))


def test_each_stands_right_behind_the_english_one(pages: Pages) -> None:
    titles = [title.split(" · ")[0] if "Append" not in title else title for title in pages.parts]
    for english, spanish in (
        ("Crew sheet", "Hoja de la cuadrilla"),
        ("Erection sheet", "Hoja de montaje"),
        ("Inspection logs", "Parte 10"),
        ("16 Training and authorised workers", "Parte 15"),
        ("20 Revision history", "Parte 19"),  # no English part begins on a Spanish page,
    ):
        assert titles.index(spanish) == titles.index(english) + 1
    for phase, name in (("Second-storey walls", "Paredes del segundo nivel"),):
        own = [t for t in pages.parts if phase in t or name in t]
        assert own[0].startswith("Appendix D · Crew sheet")
        assert any(t.startswith("Apéndice D · Hoja de la cuadrilla") for t in own)


def test_values_are_those_of_the_english_sheet(heron: Assessment) -> None:
    english = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    spanish = crew_pages(heron, DATE, "es")
    for ours, theirs in zip(
        (spanish["crew_sheet"], *spanish["other_sheets"]),  # type: ignore[misc]
        (english["crew_sheet"], *english["other_sheets"]),  # type: ignore[misc]
        strict=True,
    ):
        for mine, other in zip(ours.guards, theirs.guards, strict=True):
            assert [(f.mark, f.height) for f in mine.falls] == [(f.mark, f.height) for f in other.falls]
            assert (mine.thing is None) == (other.thing is None)
            if mine.thing:
                assert mine.thing.allowed == other.thing.allowed
            for text, same in zip((*mine.bands, mine.reach), (*other.bands, other.reach), strict=True):
                assert text.replace(" pulg", " in").replace(" pies", " ft") == same
        assert [m.reached for m in ours.means] == [m.reached for m in theirs.means]
        assert [z.id for z in ours.zones] == [z.id for z in theirs.zones]


def test_the_sheet_reads_in_spanish_throughout(pages: Pages, heron: Assessment) -> None:
    sheet = only(pages, "Hoja de la cuadrilla")
    assert "en inglés" not in sheet
    assert "30 nov 2026 – 4 dic 2026" in sheet
    assert "Grite, pare el trabajo y que nadie más use esa línea." in sheet
    assert "1 1/2 – 4 5/8 pulg" in sheet
    assert "NOT RELEASED FOR USE · USO NO AUTORIZADO" in sheet
    assert "Plan de protección contra caídas" in sheet
    for english in ("Tie on", "Don't", "lifeline", "Shout", "qualified person", "confirm "):
        assert english not in sheet


@pytest.mark.parametrize("code", ["en", "es"])
def test_what_rescues_is_kept_where_the_map_says(heron: Assessment, code: str) -> None:
    """The layout's ids are on no map that the crew holds."""
    sheet = crew_pages(heron, DATE, code)["crew_sheet"]
    suffix = "" if code == "en" else f"-{code}"
    texts = {text.text for text in figure_set(heron)[f"tie-off-map-deck{suffix}"].paper.texts}
    assert len(sheet.means) == 3  # type: ignore[attr-defined]
    assert {means.kept_at for means in sheet.means} <= texts  # type: ignore[attr-defined]


def test_the_sheet_names_each_fall_with_its_height(heron: Assessment) -> None:
    """A bare mark would send a Spanish reader to part 3, which is in English; two pages hold the names."""
    drawn = {k: v for k, v in figure_set(heron).items() if k.startswith("tie-off-map")}
    sheets = Pages(printed(heron, drawn=drawn))
    own = {title: at for title, at in sheets.parts.items() if "Hoja de la cuadrilla" in title}
    local = crew_pages(heron, DATE, "es")
    for title, sheet in zip(own, (local["crew_sheet"], *local["other_sheets"]), strict=True):  # type: ignore[misc]
        text = squeezed(only(sheets, title))
        assert own[title][1] - own[title][0] == 2
        assert all(squeezed(str(fall)) in text for guard in sheet.guards for fall in guard.falls)
        assert [w.things for w in sheet.waiting] == [""]


def test_the_erection_sheet_reads_in_spanish_throughout(pages: Pages, heron: Assessment) -> None:
    sheet = only(pages, "Hoja de montaje")
    assert "en inglés" not in sheet.replace("está también en inglés", "").replace("la hoja en inglés", "")
    say = crew_pages(heron, DATE, "es")["say"]
    assert heron.job.erection is not None
    for step in heron.job.erection.sequence:
        assert say(step.do) in sheet  # type: ignore[operator]
    holds = sum(step.hold for step in heron.job.erection.sequence)
    assert sheet.count("PARE") == holds > 0
    for line in packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})["lines"]:  # type: ignore[attr-defined]
        for row in line.card:
            assert row.set_and_band.replace(" in", " pulg") in sheet
    for english in ("HOLD", "Erection lead", "plumb", "turnbuckle", "lifeline", " ft ", "qualified person"):
        assert english not in sheet
    assert "85 ft-lbf" in sheet


def test_what_stands_with_the_kit_is_in_spanish(pages: Pages, heron: Assessment) -> None:
    sheet = only(pages, "Parte 10")
    assert "hasta el último día del trabajo, 18 dic 2026" in sheet
    assert "apto, última 18 nov 2026" in sheet
    assert "sirve hasta 6 may 2034" in sheet
    assert "HA-021 a HA-024" in sheet
    for english in ("found fit", "serves to", "no fixed life", "Line absorber", "a crack"):
        assert english not in sheet
    assert not re.search(r"\b\d{4}-\d\d-\d\d\b", sheet)
    for row in crew_pages(heron, DATE, "en")["ages"]:  # type: ignore[attr-defined]
        own = [
            f for f in heron.findings if f.where == row.item and f.id in {"kit.inspected", "kit.service_life"}
        ]
        assert {row.inspected, row.life} == {f.value for f in own}


def test_the_removal_keeps_its_order_in_spanish(pages: Pages, heron: Assessment) -> None:
    sheet = only(pages, "Parte 15")
    say = crew_pages(heron, DATE, "es")["say"]
    assert heron.job.removal is not None
    places = [sheet.index(say(step.do)) for step in heron.job.removal.sequence]  # type: ignore[operator]
    assert places == sorted(places)
    assert sheet.count("PARE") == sum(step.hold for step in heron.job.removal.sequence)
    stages = ("todos fuera", "la máquina toma el poste", "línea suelta", "base suelta", "hoyos tapados")
    headings = [squeezed(sheet).index(squeezed(stage)) for stage in stages]
    assert headings == sorted(headings)
    assert "en inglés" not in sheet.replace("está también en inglés", "")


def test_one_instruction_for_the_anchors_by_kind(pages: Pages, heron: Assessment) -> None:
    """As its maker or the engineer states it for the kind, in both languages; else it is theirs to write."""
    every = pages.part("15 Removal") + pages.part("Parte 15")
    assert "back it out, fill the hole (Evaluation report ER-X12 section 5 (invented))" in every
    assert "sáquelo girando, rellene el hoyo (Evaluation report ER-X12" in every
    for said in ("cut or plugged", "cortados o rellenos"):
        assert said not in every
    kit = heron.job.equipment
    anchors = [anchor.model_copy(update={"removal": None}) for anchor in kit.base_anchors]
    kit = kit.model_copy(update={"base_anchors": anchors})
    open_ = crew_pages(assess(heron.job.model_copy(update={"equipment": kit})), DATE, "en")
    assert [(row.way, row.source) for row in open_["anchor_removals"]] == [("", "")]  # type: ignore[attr-defined]


def test_a_line_is_released_in_one_place_alone(pages: Pages) -> None:
    """A release that could be signed on two sheets could be read as given on one and missing on the other."""
    fields = pages.reader.get_fields() or {}
    roles = [str(field.get("/TU", "")) for field in fields.values() if field.get("/FT") == "/Sig"]
    releases = [role for role in roles if role.startswith("release of ")]
    assert releases
    assert len(releases) == len(set(releases))
    assert "El uso se autoriza solo en la hoja en inglés." in only(pages, "Hoja de montaje")


def test_sheets_to_fill_in_stand_behind_the_english_ones(pages: Pages) -> None:
    titles = list(pages.parts)
    for english, spanish in (
        ("Appendix E · Pre-task · Trusses", "Apéndice E · Antes de empezar · Piso"),
        ("Appendix E · Tag-out", "Apéndice E · Fuera de uso"),
        ("Appendix E · Tags", "Apéndice E · Etiquetas"),
    ):
        (at,) = [n for n, title in enumerate(titles) if title.startswith(english)]
        assert titles[at + 1].startswith(spanish)
    assert not any("Filing" in title or "pick list" in title for title in titles if "Apéndice" in title)


def test_everyone_signs_once(heron: Assessment, pages: Pages) -> None:
    english, spanish = only(pages, "Crew sheet"), only(pages, "Hoja de la cuadrilla")
    english = english.partition("Sign in:")[2]
    for person in heron.job.people:
        if person.authorised:
            reads = person.language == "Spanish"
            assert (squeezed(person.name) in squeezed(spanish.partition("Firme:")[2])) == reads
            assert (squeezed(person.name) in squeezed(english)) != reads
    assert "The same sheet in Spanish comes next; 2 of the crew sign there." in english
    assert "Crew sheet also in Spanish (2 of the crew)." in pages.page(0)


def test_a_language_without_a_folder_keeps_its_open_line(heron: Assessment) -> None:
    people = [*heron.job.people[:-1], heron.job.people[-1].model_copy(update={"language": "Tagalog"})]
    other = Pages(printed(assess(heron.job.model_copy(update={"people": people}))))
    wanted = "No sheet is printed in Tagalog (1 of the crew): interpreter"
    assert wanted in other.page(0)
    assert wanted in only(other, "Crew sheet")
    assert squeezed(people[-1].name) in squeezed(only(other, "Crew sheet").partition("Sign in:")[2])


def test_untranslated_words_are_marked() -> None:
    sheet = only(pages_of("linnet_lot_3_trusses"), "Hoja de la cuadrilla")
    assert "Truss setting and bracing (en inglés)" in sheet
    assert "Grite, pare el trabajo" in sheet


def test_page_one_says_where_a_sheet_is_translated_in_part(heron: Assessment) -> None:
    """The heron is translated throughout; the linnet's own words are not."""
    linnet = demo("linnet_lot_3_trusses")
    assert [s.in_part for s in crew_pages(heron, DATE, "en")["sheets"]] == [False]  # type: ignore[attr-defined]
    assert [s.in_part for s in crew_pages(linnet, DATE, "en")["sheets"]] == [True]  # type: ignore[attr-defined]
    assert "Spanish in part (the rest in English)" in pages_of("linnet_lot_3_trusses").page(0)


def test_nobody_reads_it_nothing_is_printed(heron: Assessment) -> None:
    people = [p.model_copy(update={"language": "English"}) for p in heron.job.people]
    assessment = assess(heron.job.model_copy(update={"people": people}))
    assert not any("-es" in name for name in figure_set(assessment))
    titles = " ".join(Pages(printed(assessment)).parts)
    assert "Hoja" not in titles
    assert "Parte" not in titles


def test_the_map_has_spanish_labels(heron: Assessment) -> None:
    drawings = figure_set(heron)
    words = {text.text for text in drawings["tie-off-map-deck-es"].paper.texts}
    assert "No entrar Z-GREAT" in words and any(word.startswith("Portón") for word in words)
    assert not any(word.startswith(("Gate", "No entry", "Rescue kit")) for word in words)


def test_pages_say_their_language_where_it_is_not_the_documents(pages: Pages) -> None:
    """ISO 32000-1, 14.9.2: one /Lang in the catalogue, and marked content for what differs."""
    assert pages.reader.root_object["/Lang"] == "en"
    for page, text in zip(pages.reader.pages, pages.pages, strict=True):
        content = page.get_contents()
        assert content is not None
        data = content.get_data()
        spanish = "Página" in text
        assert (b"/Span <</Lang (es)>> BDC" in data) == spanish
        assert len(re.findall(rb"\bBDC\b", data)) == len(re.findall(rb"\bEMC\b", data)) == int(spanish)


def test_the_fingerprint_covers_every_language_printed(heron: Assessment) -> None:
    english, spanish = templates_folder("en"), templates_folder("es")
    assert plan_fingerprint(heron.job) == fingerprint(heron.job, english, spanish)
    assert plan_fingerprint(heron.job) != fingerprint(heron.job, english)
    people = [p.model_copy(update={"language": "English"}) for p in heron.job.people]
    alone = heron.job.model_copy(update={"people": people})
    assert plan_fingerprint(alone) == fingerprint(alone, english)


@pytest.mark.parametrize(("code", "title"), [("en", "Crew sheet"), ("es", "Hoja de la cuadrilla")])
def test_the_sheet_says_of_page_one_what_its_reader_needs(
    pages: Pages, heron: Assessment, code: str, title: str
) -> None:
    """Page 1 is in English: what is released, who stops the work and its words stand on the sheet."""
    own = [name for name in pages.parts if title in name]
    assert len(own) == 3
    for name in own:
        sheet = only(pages, name)
        assert ("Released as issued: none." if code == "en" else "Autorizadas al emitirse: ninguna.") in sheet
        assert ("Anyone stops the work" if code == "en" else "Cualquiera puede parar el trabajo") in sheet
        assert "Juniper Siskin, 555-0101" in sheet
        words = (
            "ON HOLD, nobody until released again"
            if code == "en"
            else "«ON HOLD», en espera; «confirm», por confirmar"
        )
        assert words in sheet


def test_side_by_side_in_two_pages_where_both_fit(heron: Assessment) -> None:
    company = heron.job.company.model_copy(update={"briefing": "side by side"})
    assessment = assess(heron.job.model_copy(update={"company": company}))
    drawn = figure_set(assessment)
    both = Pages(printed(assessment, drawn={k: v for k, v in drawn.items() if k.startswith("tie-off-map")}))
    titles = list(both.parts)
    assert titles[1].startswith("Crew sheet · Hoja de la cuadrilla")
    assert both.parts[titles[2]][0] - both.parts[titles[1]][0] <= 2
    sheet = only(both, "Crew sheet · Hoja")
    for step in heron.job.rescue.steps if heron.job.rescue else []:
        assert step in sheet
        assert crew_pages(heron, DATE, "es")["say"](step) in sheet  # type: ignore[operator]
    for words in ("Hook on before you leave the way up.", "Enganche antes de dejar la subida."):
        assert words in sheet
    names = [
        (fall, other)
        for code, other_code in (("en", "es"), ("es", "en"))
        for guard, its in zip(
            *(crew_pages(heron, DATE, c)["crew_sheet"].guards for c in (code, other_code)), strict=True
        )  # type: ignore[attr-defined]
        for fall, other in zip(guard.falls, its.falls, strict=True)
    ]
    assert len(names) == 16
    for fall, other in names:  # a bare mark stands on no crew map, and part 3 is English only
        assert squeezed(fall.name) in squeezed(sheet)
        assert fall.height == other.height and f"({fall.height})" in sheet
    signed = squeezed(sheet + only(both, "Sign-in · Firmas"))
    for person in heron.job.people:
        if person.authorised:
            assert squeezed(person.name) in signed
    starts = [start for start, _ in both.parts.values()]
    trusses = next(title for title in titles if "Trusses and first course" in title)
    assert trusses.startswith("Appendix D · Crew sheet · Hoja de la cuadrilla")
    # those of the walls, which have the most to say, fit as well; none takes a third page
    walls = next(title for title in titles if "Second-storey walls" in title)
    assert walls.startswith("Appendix D · Crew sheet · Hoja de la cuadrilla")
    for title in (trusses, walls):
        at = titles.index(title)
        assert starts[at + 1] - starts[at] <= 2


@pytest.mark.parametrize("template", sorted(templates_folder("es").glob("*.md")), ids=lambda path: path.stem)
def test_what_stops_the_work_is_not_for_the_work(template: Path) -> None:
    """A limit with "para el trabajo" reads "for the work", as one to work up to."""
    assert "para el trabajo" not in template.read_text("utf-8")
