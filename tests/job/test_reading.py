"""A job file to a model: merging of what it extends, and every fault in plain words with its line."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from pathlib import Path
from textwrap import dedent
from typing import Annotated, Literal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, model_validator

from planforge.errors import JobFileError, Problem
from planforge.job import base
from planforge.job.base import Id, Point, Rated
from planforge.job.descriptions import description
from planforge.job.fields import choices, known_keys
from planforge.job.positions import Locator
from planforge.job.quantities import Force, Length
from planforge.job.reading import Loaded, load_model, read_model
from planforge.job.remedies import _PATTERNS, MAX_TRANSLATED
from planforge.job.wording import listed, nearest, shown


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid")


class System(StrEnum):
    RAIL = "guardrail"
    LINE = "lifeline"
    NET = "net"


class Slab(Part):
    thickness: Length
    """How thick it is. Measured, not drawn."""
    pour_date: date | None = None
    """The day the slab was placed. Not the day it was ordered."""
    scan: str | None = None


class Line(Part):
    id: Id
    start: str
    to: str
    workers: int = Field(default=1, ge=1, le=4)
    rating: Rated[Force] | None = None


class Net(Part):
    kind: Literal["net"]
    mesh: Length


class Rail(Part):
    kind: Literal["rail"]
    net: str = ""
    height: float


class Phase(Part):
    begins: date
    ends: date

    @model_validator(mode="after")
    def _order(self) -> Phase:
        if self.ends < self.begins:
            raise ValueError("ends before it begins; write dates in their order")
        return self


class Job(Part):
    lot: str
    system: System = System.RAIL
    slab: Slab | None = None
    lines: list[Line] = []
    guards: list[Annotated[Net | Rail, Field(discriminator="kind")]] = []
    reach: Length | Literal["full"] | None = None
    either: Net | Rail | None = None
    phases: list[Phase] = []
    at: Point | None = None
    dry: bool | None = None
    notes: dict[str, int] = {}
    ratio: float | None = Field(default=None, allow_inf_nan=False)
    tags: list[str] = Field(default=[], max_length=2)
    short: str = Field(default="", max_length=5)
    state: str = Field(default="", validation_alias="province")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def put(name: str, text: str) -> Path:
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(dedent(text), encoding="utf-8")
    return Path(name)


def loaded(text: str, **options: object) -> Loaded[Job]:
    return load_model(put("lot.yaml", text), Job, **options)  # type: ignore[arg-type]


def faults(text: str, **options: object) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        loaded(text, **options)
    return str(caught.value).splitlines()


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


@pytest.mark.usefixtures("folder")
class TestExtends:
    HOUSE = """\
        system: net
        slab:
          thickness: 4 in
        lines:
          - {id: north, start: P1, to: P2, workers: 2}
          - {id: south, start: P3, to: P4}
        tags: [a, b]
        """

    def test_the_file_that_extends_wins_field_by_field(self) -> None:
        put("shared/house.yaml", self.HOUSE)
        result = loaded(
            """\
            extends: shared/house.yaml
            lot: A
            slab:
              pour_date: 2026-11-25
            lines:
              - {id: south, to: P5}
              - {id: east, start: P1, to: P3}
            tags: [c]
            """
        )
        assert result.data == {
            "system": "net",
            "lot": "A",
            "slab": {"thickness": "4 in", "pour_date": "2026-11-25"},
            "lines": [
                {"id": "north", "start": "P1", "to": "P2", "workers": "2"},
                {"id": "south", "start": "P3", "to": "P5"},
                {"id": "east", "start": "P1", "to": "P3"},
            ],
            "tags": ["c"],
        }
        house = str(Path("shared/house.yaml"))
        assert result.files == ("lot.yaml", house)
        where = result.locator.where
        assert (where(("system",)).file, where(("system",)).line) == (house, 1)
        assert (where(("slab", "thickness")).file, where(("slab", "thickness")).line) == (house, 3)
        assert (where(("slab", "pour_date")).file, where(("slab", "pour_date")).line) == ("lot.yaml", 4)
        assert (where(("lines", 1, "to")).file, where(("lines", 1, "to")).line) == ("lot.yaml", 6)
        assert (where(("lines", 1, "start")).file, where(("lines", 1, "start")).line) == (house, 6)

    def test_later_parents_win_and_null_removes(self) -> None:
        put("firm.yaml", "system: lifeline\nreach: full\nshort: x\n")
        put("house.yaml", self.HOUSE)
        job = loaded("extends: [firm.yaml, house.yaml]\nlot: A\nslab: null\nshort: null\n")
        assert job.data["system"] == "net"
        assert job.data["reach"] == "full"
        assert "slab" not in job.data
        assert job.model.short == ""

    def test_a_blank_value_does_not_remove(self) -> None:
        put("house.yaml", self.HOUSE)
        assert faults("extends: house.yaml\nlot: A\nslab:\n") == [
            "lot.yaml:3: slab: found nothing after the colon; expected a value. "
            "Write null to remove what house.yaml:2 states, or delete the line to keep it."
        ]

    def test_faults_stand_in_the_file_that_states_them(self) -> None:
        put("house.yaml", "system: tape\nslab:\n  thicknes: 4 in\n")
        assert faults("extends: house.yaml\ndry: maybe\nslab:\n  pour_date: 2026-11-25\n") == [
            'house.yaml:1: system: found "tape"; expected "guardrail", "lifeline" or "net". Write one of '
            "these words.",
            'house.yaml:3: slab.thicknes: found the unknown field "thicknes"; expected a field known here. '
            'Did you mean "thickness"?',
            'lot.yaml:1: lot: found nothing; expected this field. Add the line "lot:".',
            'lot.yaml:2: dry: found "maybe"; expected true or false. Write true or false.',
        ]

    def test_what_belongs_to_one_lot_is_not_inherited(self) -> None:
        put("house.yaml", "slab:\n  thickness: 4 in\n  scan: none\nlines:\n  - {id: n, start: P1, to: P2}\n")
        lines = faults("extends: house.yaml\nlot: A\n", lot_only=frozenset({"slab.scan", "lines.to", "lot"}))
        assert lines == [
            "house.yaml:3: slab.scan: found a field of one lot; expected only what lots share in a file "
            "that others "
            "extend. State it in the lot's own file and delete it here.",
            "house.yaml:5: lines[0].to: found a field of one lot; expected only what lots share in a file "
            "that others "
            "extend. State it in the lot's own file and delete it here.",
        ]

    def test_ids_twice_and_entries_without_id(self) -> None:
        put("house.yaml", self.HOUSE)
        assert faults(
            "extends: house.yaml\nlot: A\nlines:\n  - {start: P1}\n  - {id: e, start: P1, to: P2}\n"
        ) == [
            "lot.yaml:4: lines[0]: found an entry without an id; expected an id, to match it with the "
            "entries of "
            "house.yaml. Add the id. To drop the list as a whole, write null."
        ]
        twice = "lot: A\nlines:\n  - {id: e, start: P1, to: P2}\n  - {id: e, start: P1, to: P2}\n"
        assert faults(twice) == [
            'lot.yaml:4: lines[1].id: found the id "e" a second time (first on line 3); expected each id '
            "once in a "
            "list. Give one of the two another id."
        ]

    @pytest.mark.parametrize(
        ("stated", "message"),
        [
            (
                "no.yaml",
                'found "no.yaml", which does not exist; expected the name of a job file. Correct the '
                "name, or put the file there.",
            ),
            (
                "/etc/x.yaml",
                'found "/etc/x.yaml"; expected a path relative to this file. Write the path from this '
                "file's folder, such as ../house.yaml.",
            ),
            (
                "C:x.yaml",
                'found "C:x.yaml"; expected a path relative to this file. Write the path from this '
                "file's folder, such as ../house.yaml.",
            ),
            (
                "https://example.org/x.yaml",
                'found "https://example.org/x.yaml"; expected a path relative to this file. Write the '
                "path from this file's folder, such as ../house.yaml.",
            ),
            (
                "",
                "found nothing; expected the name of a job file. Write a relative path such as "
                "../house.yaml, or a list of them; or delete the line.",
            ),
            (
                "[{a: b}]",
                "found a group of fields; expected the name of a job file. Write a relative path such as "
                "../house.yaml, or a list of them; or delete the line.",
            ),
            (
                "lot.yaml",
                'found "lot.yaml", which comes back to itself (lot.yaml -> lot.yaml); expected files in '
                "no loop. Delete one of the extends lines in the loop.",
            ),
            (
                "[house.yaml, house.yaml]",
                'found "house.yaml" a second time; expected each file once. Delete one of the two.',
            ),
        ],
    )
    def test_extends_in_plain_words(self, stated: str, message: str) -> None:
        put("house.yaml", "dry: true\n")
        assert faults(f"lot: A\nextends: {stated}\n") == [f"lot.yaml:2: extends: {message}"]

    def test_a_loop_through_another_file(self) -> None:
        put("sub/house.yaml", "extends: ../lot.yaml\n")
        house = Path("sub/house.yaml")
        assert faults("lot: A\nextends: sub/house.yaml\n") == [
            f'{house}:1: extends: found "../lot.yaml", which comes back to itself (lot.yaml -> {house} -> '
            f"lot.yaml); "
            "expected files in no loop. Delete one of the extends lines in the loop."
        ]

    def test_depth_and_number_are_bounded(self) -> None:
        for i in range(9):
            put(f"f{i}.yaml", f"extends: f{i + 1}.yaml\n")
        put("f9.yaml", "dry: true\n")
        assert loaded("extends: f2.yaml\nlot: A\n").model.dry is True
        assert faults("extends: f1.yaml\nlot: A\n") == [
            "f8.yaml:1: extends: found more than 8 files above another; expected at most 8. "
            "Let the lot's file extend the shared files directly."
        ]
        for i in range(20):
            put(f"g{i}.yaml", f"notes: {{n{i}: 1}}\n")
        lines = faults("lot: A\nextends: [" + ", ".join(f"g{i}.yaml" for i in range(20)) + "]\n")
        assert len(lines) == 5
        assert "beyond 16 files" in lines[0]

    def test_one_parent_reached_twice_is_read_once(self) -> None:
        put("firm.yaml", "dry: true\n")
        put("a.yaml", "extends: firm.yaml\nshort: a\n")
        put("b.yaml", "extends: firm.yaml\nreach: full\n")
        result = loaded("lot: A\nextends: [a.yaml, b.yaml]\n")
        assert result.files == ("lot.yaml", "a.yaml", "firm.yaml", "b.yaml")
        assert (result.model.dry, result.model.short, result.model.reach) == (True, "a", "full")

    def test_faults_of_a_parent_beside_those_of_the_lot(self) -> None:
        put("house.yaml", "lot: 'A'B\n")
        lines = faults("extends: house.yaml\nsystem: tape\n")
        assert [line.split(" ")[0] for line in lines] == ["house.yaml:1:", "lot.yaml:2:"]

    def test_null_for_what_no_parent_states_is_left_to_the_model(self) -> None:
        put("house.yaml", "dry: true\n")
        assert loaded("extends: house.yaml\nlot: A\nslab: null\n").model.slab is None


def test_helpers() -> None:
    assert known_keys(Job)[:3] == ("lot", "system", "slab")
    assert known_keys(Job)[-1] == "province"
    assert choices(System | Literal["none"] | None) == ("guardrail", "lifeline", "net", "none")
    assert shown("x" * 70) == '"' + "x" * 59 + '…"'
    assert nearest("Pour-Date", ["pour_date"]) == "pour_date"
    assert nearest("x" * 1000, ["x"]) is None
    assert listed(["a", "b", "c"]) == "a, b or c"
    assert listed([str(i) for i in range(32)]).endswith("29 and 2 more")


def test_fields_are_described_from_their_docstrings() -> None:
    assert description(Slab, "pour_date") == "The day the slab was placed. Not the day it was ordered."
    assert description(Slab, "scan") == ""
    assert description(Rated[Force], "value") == "The value itself."


def test_patterns_of_the_models_have_words() -> None:
    class Named(BaseModel):
        id: base.Id

    assert Named.model_json_schema()["properties"]["id"]["pattern"] in _PATTERNS


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
        read_model(path, Job)
    except JobFileError as error:
        for problem in error.problems:
            assert problem.expected and problem.remedy and problem.line
            assert "Input" not in str(problem)
