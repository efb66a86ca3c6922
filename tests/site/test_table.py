"""A table of lots: what its columns and cells state, and where a fault of one is said to stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl.utils import get_column_letter

from planforge.job.model import Job
from planforge.job.reference import fields
from planforge.site import cells
from planforge.site.columns import HeaderError, column
from planforge.site.lots import load_lot
from planforge.site.reading import read_site

from .sites import HEAD, SOUND, faults, jobs, of_table, own_text, put, refused, shared_text

ROW = "id,job,site.permit\none,lot.yaml,EX-1\n"


def test_cells_are_laid_over_the_job_that_the_row_names(tmp_path: Path) -> None:
    table = (
        "id,job,plan.number,site.lot,site.address,phases.walls.end,hazards[H1].height,layout.levels.floor2,"
        "slab.strength.value,slab.strength.source,slab.strength.dated,people.wren.name,# mine\n"
        'one,lot.yaml,P-9,Lot 9,"9 Example Row, Example County",2026-12-10,9 ft,10 ft,3000 psi,Report 1,'
        "2026-11-01,W. Wren II,call first\n"
    )
    (job,) = jobs(of_table(tmp_path, table))
    assert (job.plan.number, job.site.lot) == ("P-9", "Lot 9")
    assert job.site.address == "9 Example Row, Example County"
    assert [str(phase.end) for phase in job.phases] == ["2026-12-04", "2026-12-10"]
    assert job.hazards[0].height == pytest.approx(9 * 0.3048)
    assert job.slab is not None
    assert job.slab.strength is not None
    assert (job.slab.strength.source, str(job.slab.strength.dated)) == ("Report 1", "2026-11-01")
    assert [person.name for person in job.people] == ["F. Finch", "W. Wren II"]
    assert job.people[0].training


def test_a_row_states_what_an_entry_of_the_site_file_would(tmp_path: Path) -> None:
    """One rule of merging: a row, an entry and a small job file that say the same make the same job."""
    put(tmp_path, shared_yaml=shared_text())
    lot = own_text().replace("lot: Lot 1", "lot: Lot 7").replace("end: 2026-12-12", "end: 2026-12-11")
    small = "format: planforge job 1\nextends: [shared.yaml]\n" + own_text()
    put(tmp_path, small_yaml=small, changed_yaml="format: planforge job 1\nextends: [shared.yaml]\n" + lot)
    put(
        tmp_path,
        lots_csv="id,job,site.lot,phases.walls.end\na,small.yaml,Lot 7,2026-12-11\nb,changed.yaml,,\n",
    )
    entry = "  - {id: c, job: lot.yaml, site: {lot: Lot 7}, phases: [{id: walls, end: 2026-12-11}]}\n"
    put(tmp_path, lot_yaml=SOUND, site_yaml=HEAD + "table: lots.csv\nlots:\n" + entry)
    from_entry, from_row, from_file = jobs(read_site(tmp_path / "site.yaml"))
    assert from_row == from_file == from_entry


def test_an_empty_cell_states_nothing_and_null_removes(tmp_path: Path) -> None:
    lot = SOUND.replace("lot: Lot 1}", "lot: Lot 1, permit: EX-1, gate: Gate 1}")
    (tmp_path / "own.yaml").write_text(lot, "utf-8")
    site = of_table(tmp_path, "id,job,site.permit,site.gate\none,own.yaml,,null\n")
    (job,) = jobs(site)
    assert (job.site.permit, job.site.gate) == ("EX-1", None)


def test_several_values_in_a_cell(tmp_path: Path) -> None:
    table = (
        "id,job,work_parts.W1.phases,layout.places.kit.at,layout.posts.P3.at\n"
        'one,lot.yaml,"deck, walls","[3 ft, 2 ft]",20 ft; 11 ft\n'
    )
    (job,) = jobs(of_table(tmp_path, table))
    assert job.work_parts[0].phases == ["deck", "walls"]
    assert job.layout.places[0].at == pytest.approx((3 * 0.3048, 2 * 0.3048))
    assert job.layout.posts[2].at == pytest.approx((20 * 0.3048, 11 * 0.3048))


def test_a_row_without_a_job_builds_upon_files(tmp_path: Path) -> None:
    put(tmp_path, shared_yaml=shared_text(), more_yaml="company: {name: Other (invented)}\n")
    site = of_table(tmp_path, "id,extends,site.lot\none,shared.yaml; more.yaml,Lot 3\n")
    found = faults(site)
    assert "lots.csv:2: site.project: found nothing" in " ".join(found)
    assert not [fault for fault in found if "company" in fault]


FAULTS = [
    (
        "id,job,phases.walls.end\none,lot.yaml,12/12/2026\n",
        'lots.csv:2: phases.walls.end (cell C2): found "12/12/2026" (not a date); expected '
        "year-month-day, such "
        "as 2026-11-30. Correct the value.",
    ),
    (
        "id,job,site.permit\none,lot.yaml,2.02612E+11\n",
        'lots.csv:2: site.permit (cell C2): found "2.02612E+11", a number cut to fit its cell; expected the '
        "whole number. Format the column as text, type it again.",
    ),
    (
        "id,site.permit,job,hazards.H1.height\none,,lot.yaml,9\n",
        'lots.csv:2: hazards.H1.height (cell D2): found "9" (a unit is needed); expected ',
    ),
    (
        "id,job,site.permit,site.gate\none,lot.yaml,=B2&1,#REF!\n",
        "lots.csv:2: site.gate (cell D2): found the error #REF!; expected a value. Correct the "
        "formula behind "
        "it and put its value there.",
    ),
    (
        "id,job,site.permit\none,lot.yaml,=B2&1\n",
        'lots.csv:2: site.permit (cell C2): found the formula "=B2&1"; expected a value. Copy the cells and '
        "paste them as values: what a formula last showed may be out of date.",
    ),
    (
        "id,job,site.permit\none,lot.yaml,EX-1,Gate 1\n",
        'lots.csv:2: (cell D2): found "Gate 1" under no header; expected cells under headers. '
        "Write a header over it, or move it under the one that it belongs to.",
    ),
    (
        "id,job\none,no.yaml\n",
        'lots.csv:2: job (cell B2): found "no.yaml", which does not exist; expected the name of a job file. '
        "Correct the name, or put the file there.",
    ),
    (
        "id,job,extends\none,lot.yaml,shared.yaml\n",
        "lots.csv:2: extends (cell C2): found extends beside job; expected one of the two. "
        "Name the files under extends in the job file, or delete job.",
    ),
    (
        "id,job,plan.number\none,lot.yaml,null\n",
        "lots.csv:2: plan.number (cell C2): found nothing; expected this field (the plan's number in the "
        "contractor's own series). Fill in the cell.",
    ),
    (
        "id,job,phases.dek.end\none,lot.yaml,2026-12-10\n",
        'lots.csv:2: phases[2 "dek"].name: found nothing; expected this field (what it is called on site). '
        'Correct "dek" in the header phases.dek.end if an entry of a file is meant; otherwise add a column '
        "phases.dek.name.",
    ),
    (
        "id,extends,plan.number\none,shared.yaml,P-1\n",
        "lots.csv:2: plan.revision: found nothing; expected this field (this revision, counted from 0). "
        "Add a column plan.revision, or state it in a job file that the row names under job.",
    ),
    (
        "id,plan.number\none,P-1\n",
        "lots.csv:2: company: found nothing; expected this field (the contractor). State it in a file that "
        "the row names under job or extends, or the site file under shared.",
    ),
    (
        "id,plan.number\none,P-1\n",
        "lots.csv:2: phases: found nothing; expected this field (the phases of the framing). Add columns for "
        "its fields, or state it in a job file that the row names under job.",
    ),
    (
        'id,job,site.gate\none,lot.yaml,"' + "x" * 10_001 + '"\n',
        "lots.csv:2: site.gate (cell C2): found a text of 10,001 characters; expected at most 10,000 "
        "characters. "
        "Shorten it; look for a quote left open.",
    ),
    (
        "id,job,phases.deck.start,phases.deck.end\n\none,lot.yaml,2026-12-04,2026-12-01\n",
        "lots.csv:3: phases.deck.end (cell D3): found ",
    ),
]


@pytest.mark.parametrize(("table", "message"), FAULTS)
def test_a_fault_names_row_column_and_cell(table: str, message: str, tmp_path: Path) -> None:
    put(tmp_path, shared_yaml=shared_text())
    found = faults(of_table(tmp_path, table))
    assert [fault for fault in found if fault.startswith(message)], found


HEADERS = [
    ("site.permitt", 'the unknown column "site.permitt"', "Did you mean site.permit?"),
    ("phases.deck.strat", 'the unknown column "phases.deck.strat"', "Did you mean phases.deck.start?"),
    ("sit.permit", 'the unknown column "sit.permit"', "Did you mean site.permit?"),
    ("ID", 'the unknown column "ID"', "Did you mean id?"),
    ("permit", 'the unknown column "permit"', "Did you mean site.permit?"),
    ("site.lot number", 'the unknown column "site.lot number"', "Known here: site.project, site.lot, "),
    ("site", '"site", a group of fields', "Name site.project, site.lot, site.address"),
    ("phases", '"phases"', "Write phases.ID.name, with the id of an entry for ID."),
    ("phases.deck", '"phases.deck", a group of fields', "Name phases.deck.name, phases.deck.start"),
    ("phases.deck.id", '"phases.deck.id"', None),
    ("phases.id", '"phases.id"', "Write phases.ID.name, with the id of an entry for ID."),
    ("rescue.contacts.1.phone", '"rescue.contacts.1.phone", in a list whose entries have no id', None),
    ("layout.footprint", '"layout.footprint", which holds a list of points or groups', None),
    ("layout.levels", '"layout.levels"', "Write layout.levels.NAME."),
    ("site.lot.name", '"site.lot.name", which goes on after a single value', "Did you mean site.lot?"),
    (
        "slab.strength.sauce",
        'the unknown column "slab.strength.sauce"',
        "Did you mean slab.strength.source?",
    ),
    (".site", '".site"', None),
    ("Site.Permit", 'the unknown column "Site.Permit"', "Did you mean site.permit?"),
    (
        "Phases[deck.1].Strat",
        'the unknown column "Phases[deck.1].Strat"',
        "Did you mean phases[deck.1].start?",
    ),
    ("slab.Strength.Sauce", 'the unknown column "slab.Strength.Sauce"', "Did you mean slab.strength.source?"),
    ("elevation", 'the unknown column "elevation"', "Did you mean layout.posts.ID.guys.ID.elevation, "),
    ("arrives", 'the unknown column "arrives"', "Did you mean delivery.arrives?"),
]


@pytest.mark.parametrize(("header", "found", "remedy"), HEADERS)
def test_a_header_that_no_cell_can_state(header: str, found: str, remedy: str | None, tmp_path: Path) -> None:
    with pytest.raises(HeaderError) as error:
        column(header)
    assert error.value.fault.found == found
    assert error.value.fault.remedy.startswith(remedy or "")
    put(tmp_path, lots_csv=f"id,job,{header}\none,lot.yaml,x\n")
    (fault,) = refused(tmp_path, HEAD + "table: lots.csv\n")
    assert fault.startswith(f"lots.csv:1: (cell C1): found {found}; expected ")


def test_every_single_field_of_a_job_is_a_column() -> None:
    """Each field that holds one value and has no list without ids above it can be a header."""
    taken = [name for name in fields() if name not in ("extends",)]
    columns = 0
    for name in taken:
        try:
            columns += column(name).field == name
        except HeaderError as error:
            assert "unknown" not in error.fault.found or "." in name
    assert columns > 60
    assert column("site.permit").field in taken
    assert set(Job.model_fields) <= set(taken)


@pytest.mark.parametrize(
    ("header", "messages"),
    [
        (
            "id,site.lot,site.lot",
            ['(cell C1): found "site.lot" beside "site.lot" (cell B1); expected each field in one'],
        ),
        (
            "id,phases.deck.end,phases[deck].end",
            ['(cell C1): found "phases[deck].end" beside "phases.deck.end"'],
        ),
        (
            "id,slab.strength,slab.strength.value",
            ['(cell C1): found "slab.strength.value" beside "slab.strength"'],
        ),
        (
            "site.lot,job,site.gate",
            ['id: found the columns "site.lot", "job" and "site.gate"; expected a column id. '],
        ),
        (
            "id," + "x" * 201,
            ["(cell B1): found a header of 201 characters; expected a field of a lot. Shorten it."],
        ),
        (
            "id,=A1,sitee.lot",
            ['(cell B1): found the formula "=A1"', '(cell C1): found the unknown column "sitee.lot"'],
        ),
    ],
)
def test_a_faulty_header_is_the_tables_fault(header: str, messages: list[str], tmp_path: Path) -> None:
    put(tmp_path, lots_csv=f"{header}\none,x,y\n")
    found = refused(tmp_path, HEAD + "table: lots.csv\n")
    assert len(found) == len(messages)
    for message in messages:
        assert any(fault.startswith(f"lots.csv:1: {message}") for fault in found), found


@pytest.mark.parametrize(
    ("rows", "messages"),
    [
        (
            "one,lot.yaml\n,other.yaml\nthe third,x.yaml\n",
            [
                "lots.csv:3: id (cell A3): found nothing; expected the lot's short name. Fill in the "
                "id, or empty the row.",
                'lots.csv:4: id (cell A4): found "the third"; expected a short name of letters, '
                "digits, hyphens, "
                "points or underscores (40 at most, no spaces). Shorten it or join its words with hyphens.",
            ],
        ),
        (
            "one,lot.yaml\n\nOne,other.yaml\n",
            [
                'lots.csv:4: id: found the id "One" a second time (first at lots.csv:2); expected '
                "each lot once in "
                "a site. Give one of the two another id, or delete it."
            ],
        ),
        (
            "=B2,lot.yaml\n",
            [
                'lots.csv:2: id (cell A2): found the formula "=B2"; expected a value. Copy the cells '
                "and paste them as values: what a formula last showed may be out of date."
            ],
        ),
    ],
)
def test_rows_that_no_lot_can_be_named_by(rows: str, messages: list[str], tmp_path: Path) -> None:
    put(tmp_path, lots_csv="id,job\n" + rows)
    assert refused(tmp_path, HEAD + "table: lots.csv\n") == messages


def test_a_lot_stands_in_the_site_file_or_in_the_table(tmp_path: Path) -> None:
    put(tmp_path, lots_csv="id,job\none,lot.yaml\n")
    (fault,) = refused(tmp_path, HEAD + "table: lots.csv\nlots:\n  - {id: one, job: lot.yaml}\n")
    assert fault.startswith('lots.csv:2: id: found the id "one" a second time (first at site.yaml:5)')


@pytest.mark.parametrize(
    "table",
    [
        ROW.encode("utf-8-sig"),
        ROW.replace(",", ";").encode(),
        ROW.replace(",", "\t").encode(),
        ROW.replace("\n", "\r\n").encode(),
        ROW.replace("\n", "\r").encode(),
        b"sep=;\r\n" + ROW.replace(",", ";").replace("\n", "\r\n").encode(),
        b"\n,,\n" + ROW.encode() + b",,\n\n,,,,,\n",
        b"id,job,site.permit,,\none,lot.yaml,EX-1,,\n",
        b'"id","job","site.permit"\n"one" ,"lot.yaml","EX-1"\n'.replace(b'" ,', b'",'),
        "id , job,\u00a0site.permit\n one,lot.yaml , EX-1\n".encode(),
    ],
)
def test_csv_as_spreadsheets_and_people_write_it(table: bytes, tmp_path: Path) -> None:
    (job,) = jobs(of_table(tmp_path, table))
    assert job.site.permit == "EX-1"


def test_rows_count_as_a_spreadsheet_counts_them(tmp_path: Path) -> None:
    for begin in (b"", b"sep=;\n"):
        site = of_table(tmp_path, begin + b"\nid;job\n\none;no.yaml\n")
        assert faults(site)[0].startswith("lots.csv:4: job (cell B4)")


def test_a_text_over_several_lines_is_one_row(tmp_path: Path) -> None:
    table = 'id,job,phases.deck.work\none,lot.yaml,"Rims, ""joists"";\r\nsheathing"\r\ntwo,no.yaml,\r\n'
    site = of_table(tmp_path, table)
    assert load_lot(site.lots[0]).model.phases[0].work == 'Rims, "joists";\nsheathing'
    assert faults(site, 1)[0].startswith("lots.csv:3: job (cell B3)")


@pytest.mark.parametrize(
    ("table", "message"),
    [
        (
            b"",
            "lots.csv: found an empty table; expected a header and a row for each lot. List the lots in it.",
        ),
        (
            "id,job,site.gate\none,lot.yaml,Gate Espa\u00f1a\n".encode("cp1252"),
            "lots.csv:2: found the byte 0xF1 at byte 39; expected plain text in UTF-8. Save the table "
            "as CSV UTF-8, or as an XLSX workbook.",
        ),
        (ROW.encode("utf-16"), "lots.csv: found a file saved as UTF-16; expected plain text in UTF-8. "),
        (
            b'id,job,site.gate\none,lot.yaml,"Gate 1\ntwo,b.yaml,x\n',
            'lots.csv:2: found a quote " left open; expected a cell in quotes that is closed at its '
            "end. Put the "
            'whole cell in quotes, with each " inside it written twice; or save the table anew.',
        ),
        (
            b'id,job,site.gate\none,lot.yaml,"Gate" 1\n',
            'lots.csv:2: found text after a closing quote "; expected ',
        ),
        (
            b"\xd0\xcf\x11\xe0rest",
            "lots.csv: found an old or a locked workbook; expected a CSV file or an XLSX ",
        ),
        (
            b"id,job\none,a\x00b\n",
            "lots.csv:2: found the hidden character U+0000 at byte 12; expected plain text",
        ),
        (
            ("id,job,site.gate\none,lot.yaml,Gate\u200b 1\n").encode(),
            "lots.csv:2: found the hidden character U+200B at byte 34; expected plain text in UTF-8. ",
        ),
        (
            b'id,job\none,"' + b"x" * 140_000 + b'"\n',
            "lots.csv:2: found a cell of more than 131,072 characters; expected at most 10,000 characters. ",
        ),
    ],
)
def test_a_csv_file_that_cant_be_read(table: bytes, message: str, tmp_path: Path) -> None:
    (tmp_path / "lots.csv").write_bytes(table)
    (fault,) = refused(tmp_path, HEAD + "table: lots.csv\n")
    assert fault.startswith(message)


def test_a_table_has_bounds_that_a_large_site_keeps_to(tmp_path: Path) -> None:
    large = "id,job,site.permit\n" + "".join(f"lot-{n},lots/{n}.yaml,EX-{n}\n" for n in range(2_000))
    assert len(of_table(tmp_path, large).lots) == 2_000
    over = "id,job\n" + "".join(f"lot-{n},{n}.yaml\n" for n in range(cells.MAX_ROWS))
    wide = "id" + ",#x" * cells.MAX_COLUMNS + "\none\n"
    for table, message in (
        (over, "lots.csv:5002: found more than 5,001 rows; expected at most 5,001 rows. "),
        (wide, "lots.csv:1: found more than 256 columns; expected at most 256 columns. "),
        ("#" * ((16 << 20) + 1), "lots.csv: found more than 16 MiB; expected a table of at most 16 MiB. "),
    ):
        put(tmp_path, lots_csv=table)
        (fault,) = refused(tmp_path, HEAD + "table: lots.csv\n")
        assert fault.startswith(message)


def test_a_sheet_is_a_workbooks(tmp_path: Path) -> None:
    put(tmp_path, lots_csv=ROW)
    (fault,) = refused(tmp_path, HEAD + "table: {file: lots.csv, sheet: Lots}\n")
    assert fault == (
        'lots.csv: found the sheet "Lots" of a CSV file; expected a workbook with that sheet. '
        "Delete sheet, or name a workbook."
    )


@pytest.mark.parametrize(
    ("number", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (255, "IV"), (701, "ZZ"), (702, "AAA")]
)
def test_letters_of_columns(number: int, name: str) -> None:
    """As openpyxl names them, which numbers from 1."""
    assert cells.letters(number) == name == get_column_letter(number + 1)


def test_the_other_faults_of_a_row_are_told_beside_a_cells(tmp_path: Path) -> None:
    """Ensures that one run tells both, and calls nothing missing that the faulty cell may state."""
    shared = f"{HEAD}shared: [shared.yaml]\ntable: lots.csv\n"
    rows = "id,plan.number,plan.revision,phases.walls.end,slab.kind\none,=A2,one,2026-12-12,\n"
    put(tmp_path, shared_yaml=shared_text(), lots_csv=rows, site_yaml=shared)
    found = faults(read_site(tmp_path / "site.yaml"))
    assert [fault.split(": found")[0] for fault in found] == [
        "lots.csv:2: plan.number (cell B2)",
        "lots.csv:2: plan.revision (cell C2)",
    ]
