"""Files that extend others: which statement wins, what is not inherited, loops and bounds."""

from __future__ import annotations

from pathlib import Path

import pytest

from .small_model import faults, loaded, put


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
