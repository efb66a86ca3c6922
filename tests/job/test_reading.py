"""A job file to a model: every fault in plain words with its line."""

from __future__ import annotations

from datetime import date
from textwrap import dedent

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planforge.errors import JobFileError, Problem
from planforge.job.fields import known_keys
from planforge.job.positions import Locator
from planforge.job.reading import load_model
from planforge.job.remedies import MAX_TRANSLATED

from .small_model import Job, System, faults, loaded


@pytest.mark.usefixtures("folder")
class TestValues:
    def test_texts_become_what_the_model_asks_for(self) -> None:
        job = loaded(
            """\
            lot: 0012
            system: lifeline
            slab: {thickness: 4 in, pour_date: 2026-11-25}
            lines:
              - {id: north, start: P1, to: P2, workers: 2, rating: 8 kN}
            reach: full
            at: [12'-6", 3']
            dry: yes
            ratio: 1.5
            province: 010
            """
        ).model
        assert (job.lot, job.system, job.state) == ("0012", System.LINE, "010")
        assert job.slab is not None and job.slab.pour_date == date(2026, 11, 25)
        assert job.slab.thickness == pytest.approx(0.1016)
        assert job.lines[0].workers == 2
        assert job.lines[0].rating is not None and job.lines[0].rating.value == pytest.approx(8000)
        assert job.at == pytest.approx((3.81, 0.9144))
        assert (job.reach, job.dry, job.ratio) == ("full", True, 1.5)

    @pytest.mark.parametrize(
        ("line", "message"),
        [
            (
                "system: guard rail",
                'system: found "guard rail"; expected "guardrail", "lifeline" or "net". Did you mean '
                '"guardrail"?',
            ),
            (
                "system: tape",
                'system: found "tape"; expected "guardrail", "lifeline" or "net". Write one of these words.',
            ),
            ("dry: maybe", 'dry: found "maybe"; expected true or false. Write true or false.'),
            (
                "ratio: high",
                'ratio: found "high"; expected a number such as 3 or 3.5. Write digits, with a point for '
                "decimals.",
            ),
            (
                "ratio: nan",
                'ratio: found "nan"; expected a number such as 3 or 3.5. Write digits, with a point for '
                "decimals.",
            ),
            (
                "notes: {a: 010.5}",
                'notes.a: found "010.5"; expected a whole number such as 3. Write digits only.',
            ),
            (
                "slab: {thickness: 4 in, pour_date: 11/25/2026}",
                'slab.pour_date: found "11/25/2026"; expected a date such as 2026-11-25. Write year, '
                "month and day with hyphens.",
            ),
            (
                "slab: 4 in",
                'slab: found "4 in"; expected a group of fields. Write its fields on the lines below, '
                "indented by two spaces.",
            ),
            (
                "slab:\n  thickness:4",
                'slab: found "thickness:4"; expected a group of fields. Put a space after the colon.',
            ),
            (
                "slab: {thickness: 4}",
                'slab.thickness: found "4" (a unit is needed); expected a length such as 12\'-6 1/2", 60 '
                "ft, 6 in or 3.8 m. Correct the value.",
            ),
            (
                "slab: {thickness: 4 lbf}",
                "slab.thickness: found \"4 lbf\" ('lbf' is not a unit of length); expected a length such "
                "as 12'-6 1/2\", 60 ft, 6 in or 3.8 m. Correct the value.",
            ),
            (
                "slab: {pour_date: 2026-11-25}",
                "slab.thickness: found nothing; expected this field (how thick it is). Add the line "
                '"thickness:" under slab.',
            ),
            ("at: [1 ft]", "at: found a list of 1; expected a list of 2. Add what is lacking."),
            (
                "at: [1 ft, 1 ft, 1 ft]",
                "at: found a list of 3; expected two values in brackets, such as [3 ft, 12'-6\"]. Write "
                "both in brackets, a comma between them.",
            ),
            (
                "at: 1 ft",
                'at: found "1 ft"; expected two values in brackets, such as [3 ft, 12\'-6"]. Write both in '
                "brackets, a comma between them.",
            ),
            (
                "tags: new",
                'tags: found "new"; expected a list. Write [new]; several stand between commas, or '
                "one a line "
                "after a dash.",
            ),
            (
                "short: [a]",
                "short: found a list of 1; expected a text. Write one value without brackets; a text that "
                "has them goes in single quotes.",
            ),
            (
                "lines: [{id: n, start: P1, to: P2, rating: {value: 8,000 lbf}}]",
                'lines[0 "n"].rating.000 lbf: found the unknown field "000 lbf"; expected a field '
                "known here. "
                "Inside { } a comma begins another field: put a text with a comma in single quotes, and "
                "write a number without it.",
            ),
            (
                "slab: {thickness: 4 in, scan: radar, twice}",
                'slab.twice: found the unknown field "twice"; expected a field known here. Inside { } '
                "a comma "
                "begins another field: put a text with a comma in single quotes, and write a number without "
                "it.",
            ),
            (
                "lines: north",
                'lines: found "north"; expected a list. Write one entry per line, each after a dash and a '
                "space.",
            ),
            (
                "lines:",
                "lines: found nothing; expected a list. Write a value after the colon, or delete the line "
                "if the field is optional.",
            ),
            (
                "tags: [a, b, c]",
                "tags: found a list of 3; expected a list of at most 2 entries. Shorten the list.",
            ),
            ("tags: [true]", "tags[0]: found true; expected a text. Put it in single quotes."),
            (
                "short: too long",
                'short: found "too long"; expected a text of at most 5 characters. Shorten it.',
            ),
            (
                "lines: [{id: n, start: P1, to: P2, workers: 5}]",
                'lines[0 "n"].workers: found "5"; expected 4 or less. Correct the value.',
            ),
            (
                "lines: [{id: a b, start: P1, to: P2}]",
                'lines[0 "a b"].id: found "a b"; expected a short name of letters, digits, hyphens, '
                "points or underscores (40 at most, no spaces). Shorten it or join its words with hyphens.",
            ),
            (
                "lines: [{id: n, start: P1, to: P2, rating: 8}]",
                'lines[0 "n"].rating: found "8" (a unit is needed); expected a force such as 1,800 lbf or '
                "8 kN. Correct the value.",
            ),
            (
                "lines: [{id: n, start: P1, to: P2, rating: {source: x}}]",
                'lines[0 "n"].rating.value: found nothing; expected this field (the value itself). Add '
                'the line "value:" '
                'under lines[0 "n"].rating.',
            ),
            (
                "phases: [{begins: 2026-11-02, ends: 2026-11-01}]",
                "phases[0]: found ends before it begins; expected dates in their order. Correct the value.",
            ),
            (
                "reach: some",
                'reach: found "some" (not a length); expected a length such as 12\'-6 1/2", 60 ft, 6 in '
                'or 3.8 m or "full". Correct the value.',
            ),
            (
                "guards: [{kind: ney, mesh: 4 in}]",
                'guards[0]: found a group of fields; expected "net" or "rail" as its "kind", not "ney". '
                'Did you mean "net"?',
            ),
            (
                "guards: [{mesh: 4 in}]",
                'guards[0]: found a group of fields; expected the field "kind", which tells what kind of '
                'entry this is. Add the line "kind:".',
            ),
            (
                "guards: [{kind: net, mesh: 4}]",
                'guards[0].mesh: found "4" (a unit is needed); expected a length such as 12\'-6 1/2", 60 '
                "ft, 6 in or 3.8 m. Correct the value.",
            ),
            (
                "guards: [{kind: rail, net: a, height: tall}]",
                'guards[0].height: found "tall"; expected a number such as 3 or 3.5. Write digits, with a '
                "point for decimals.",
            ),
            (
                "guards: [{kind: net, mesh: 4 in, hight: 4}]",
                'guards[0].hight: found the unknown field "hight"; expected a field known here. Known '
                "here: kind and mesh.",
            ),
            (
                "either: {kind: rail, height: x}",
                'either.height: found "x"; expected a number such as 3 or 3.5. Write digits, with a point '
                "for decimals.",
            ),
            (
                "Sytem: net",
                'Sytem: found the unknown field "Sytem"; expected a field known here. Did you mean "system"?',
            ),
            (
                "pour date: 2026-11-25",
                'pour date: found the unknown field "pour date"; expected a field known here. It belongs '
                "under slab.",
            ),
            (
                "provinse: X",
                'provinse: found the unknown field "provinse"; expected a field known here. Did you mean '
                '"province"?',
            ),
        ],
    )
    def test_fault_in_plain_words(self, line: str, message: str) -> None:
        assert faults(f"lot: A\n{line}\n")[0].split(": ", 1)[1] == message

    def test_all_faults_in_order_of_line(self) -> None:
        assert faults(
            """\
            system: nett
            slab:
              thickness: 4
              pour_dat: 2026-11-25
            lines:
              - id: north
                start: P1
            """
        ) == [
            'lot.yaml:1: lot: found nothing; expected this field. Add the line "lot:".',
            'lot.yaml:1: system: found "nett"; expected "guardrail", "lifeline" or "net". Did you mean '
            '"net"?',
            'lot.yaml:3: slab.thickness: found "4" (a unit is needed); '
            "expected a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m. Correct the value.",
            'lot.yaml:4: slab.pour_dat: found the unknown field "pour_dat"; expected a field known here. '
            'Did you mean "pour_date"?',
            'lot.yaml:6: lines[0 "north"].to: found nothing; expected this field. '
            'Add the line "to:" under lines[0 "north"].',
        ]

    def test_a_misspelt_field_is_not_called_missing_as_well(self) -> None:
        assert faults("lot: A\nslab: {thicknes: 4 in}\n") == [
            'lot.yaml:2: slab.thicknes: found the unknown field "thicknes"; expected a field known here. '
            'Did you mean "thickness"?'
        ]

    def test_a_blank_field_that_nobody_knows_is_no_cut_text(self) -> None:
        """Ensures that only inside braces a comma is blamed, and what stands above keeps its fault."""
        lines = faults("lot: A\nslab:\n  thickness: 4\n  weight:\n")
        assert [line.split(": ")[1] for line in lines] == ["slab.thickness", "slab.weight"]
        assert "comma" not in lines[1]

    def test_faults_of_syntax_and_of_fields_in_one_run(self) -> None:
        lines = faults("lot: A\nlot: B\nsystem: tape\ndry: &x true\n")
        assert [line.split(":")[1] for line in lines] == ["2", "3", "4"]

    def test_very_many_faults_say_how_many_more(self) -> None:
        lines = faults("lot: A\n" + "".join(f"x{i}: 1\n" for i in range(MAX_TRANSLATED + 7)))
        assert len(lines) == MAX_TRANSLATED + 1
        assert (
            lines[0]
            == "lot.yaml: found 7 more faults; expected a job file. Correct those listed, then check again."
        )

    def test_no_library_words_reach_the_reader(self) -> None:
        text = "\n".join(
            faults("lot: true\neither: 5\nreach: [1]\nguards: x\nnotes: 3\nat: 5\nphases: [3]\n")
        )
        for word in ("pydantic", "http", "Input", "validat", "dictionary", "instance", "tagged"):
            assert word not in text


@pytest.mark.usefixtures("folder")
class TestChecks:
    TEXT = """\
        lot: A
        lines:
          - id: north
            start: P1
            to: P9
        """

    @staticmethod
    def posts(job: Job, locator: Locator) -> list[Problem]:
        remedy = "Add a post P9 under layout.posts or correct the id."
        expected = "the id of one of the posts (P1, P2, P3)"
        return [
            locator.problem(("lines", i, "to"), expected=expected, remedy=remedy)
            for i, line in enumerate(job.lines)
            if line.to not in {"P1", "P2", "P3"}
        ]

    def test_a_check_names_line_and_entry(self) -> None:
        assert faults(self.TEXT, checks=self.posts) == [
            'lot.yaml:5: lines[0 "north"].to: found "P9"; expected the id of one of the posts (P1, P2, P3). '
            "Add a post P9 under layout.posts or correct the id."
        ]

    def test_checks_pass_and_wait_for_right_fields(self) -> None:
        assert loaded(self.TEXT.replace("P9", "P2"), checks=self.posts).model.lines[0].to == "P2"
        assert len(faults(dedent(self.TEXT) + "system: tape\n", checks=self.posts)) >= 1


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.recursive(
        st.sampled_from(["1", "4 in", "true", "null", "''", "net", "rail", "x y", "2026-11-25"]),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3).map(lambda items: "[" + ", ".join(items) + "]"),
            st.dictionaries(
                st.sampled_from([*known_keys(Job), "id", "kind", "to", "value", "net", "height", "x"]),
                inner,
                max_size=4,
            ).map(lambda items: "{" + ", ".join(f"{k}: {v}" for k, v in items.items()) + "}"),
        ),
        max_leaves=12,
    ),
    st.sampled_from(known_keys(Job)),
)
def test_any_content_gives_a_model_or_worded_faults(
    tmp_path_factory: pytest.TempPathFactory, content: str, key: str
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz-lot.yaml"
    path.write_text(f"{key}: {content}\n", encoding="utf-8")
    try:
        load_model(path, Job)
    except JobFileError as error:
        for problem in error.problems:
            assert problem.expected and problem.remedy and problem.line
            assert "Input" not in str(problem)
