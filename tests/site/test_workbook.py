"""A workbook's sheet: what a reader of it sees is what is read; where that is in doubt the row says so."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900
from openpyxl.worksheet.worksheet import Worksheet

from planforge.errors import JobFileError
from planforge.site import workbook
from planforge.site.lots import load_lot
from planforge.site.reading import Site, read_site

from .sites import HEAD, SOUND, faults, jobs, of_table, put, refused

HEADER = ["id", "job", "site.permit", "phases.walls.end", "plan.revision", "hazards.H1.height"]
ROW = ["one", "lot.yaml", "EX-1", dt.date(2026, 12, 10), 1, "9 ft"]


def saved(fill: Callable[[Worksheet], Any], *more: str) -> bytes:
    """A workbook with one filled sheet, and empty ones after it."""
    book = openpyxl.Workbook()
    fill(book.active)
    for name in more:
        book.create_sheet(name)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def of_rows(folder: Path, *rows: list[Any], fill: Callable[[Worksheet], Any] = lambda _: None) -> Site:
    def write(sheet: Worksheet) -> None:
        for row in rows:
            sheet.append(row)
        fill(sheet)

    return of_table(folder, saved(write), "lots.xlsx")


def changed(raw: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one part of its archive rewritten, as other programs write it."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, change(data) if name == part else data)
    return stream.getvalue()


def test_a_workbook_states_what_the_same_csv_does(tmp_path: Path) -> None:
    text = ",".join(HEADER) + "\n" + ",".join(str(value) for value in ROW) + "\n"
    (tmp_path / "a").mkdir()
    from_csv = jobs(of_table(tmp_path / "a", text))
    from_workbook = jobs(of_rows(tmp_path, HEADER, ROW))
    assert from_workbook == from_csv
    assert from_workbook[0].phases[1].end == dt.date(2026, 12, 10)


@pytest.mark.parametrize(
    ("epoch", "serial"), [(CALENDAR_WINDOWS_1900, 46366), (CALENDAR_MAC_1904, 46366 - 1462)]
)
def test_a_date_is_the_day_that_the_sheet_shows(epoch: dt.datetime, serial: int, tmp_path: Path) -> None:
    """2026-12-10 is day 46366 of the 1900 date system, 1462 less in that of 1904 (ECMA-376 18.17.4.1)."""

    def fill(sheet: Worksheet) -> None:
        sheet.parent.epoch = epoch
        sheet["D2"] = serial
        sheet["D2"].number_format = "m/d/yyyy"

    (job,) = jobs(of_rows(tmp_path, HEADER, ["one", "lot.yaml"], fill=fill))
    assert job.phases[1].end == dt.date(2026, 12, 10)


@pytest.mark.parametrize(
    ("column", "value", "shape", "message"),
    [
        (
            "C",
            dt.date(2026, 3, 4),
            None,
            "lots.xlsx:2: site.permit (cell C2): found a date (2026-03-04), which spreadsheets make "
            "of texts such "
            "as 3-4; expected what this column holds. Format the cell as text and type it again.",
        ),
        (
            "D",
            dt.datetime(2026, 12, 10, 7, 30),
            None,
            "lots.xlsx:2: phases.walls.end (cell D2): found the time 2026-12-10 07:30:00; expected a "
            "day without an "
            "hour. Type the day alone.",
        ),
        (
            "D",
            dt.date(2026, 1, 4),
            "d-mmm",
            "lots.xlsx:2: phases.walls.end (cell D2): found the day 2026-01-04, which the cell shows in part"
            "; expected a whole date. Format the cell to show year, month and day, and look at it.",
        ),
        (
            "D",
            dt.date(2026, 12, 1),
            '[$-409]mmm\\-yy "day"',
            "lots.xlsx:2: phases.walls.end (cell D2): found the day 2026-12-01, which the cell shows in part",
        ),
        (
            "C",
            7,
            "0000",
            "lots.xlsx:2: site.permit (cell C2): found the number 7, which the cell shows otherwise; "
            "expected what "
            "the cell shows. Format the cell as text and type it again.",
        ),
        (
            "C",
            0.5,
            "0%",
            "lots.xlsx:2: site.permit (cell C2): found the number 0.5, which the cell shows otherwise",
        ),
        (
            "C",
            2.6,
            "0",
            "lots.xlsx:2: site.permit (cell C2): found the number 2.6, which the cell shows otherwise",
        ),
        (
            "C",
            202612101234,
            None,
            "lots.xlsx:2: site.permit (cell C2): found the number 202612101234, which ",
        ),
        (
            "F",
            9,
            None,
            'lots.xlsx:2: hazards.H1.height (cell F2): found "9" (a unit is needed); expected a length ',
        ),
        (
            "E",
            1.5,
            None,
            'lots.xlsx:2: plan.revision (cell E2): found "1.5"; expected a whole number such as 3. ',
        ),
        (
            "D",
            46366,
            "General",
            'lots.xlsx:2: phases.walls.end (cell D2): found "46366" (not a date); expected ',
        ),
        (
            "C",
            "=B2",
            None,
            'lots.xlsx:2: site.permit (cell C2): found the formula "=B2"; expected a value. Copy the '
            "cells and paste "
            "them as values: what a formula last showed may be out of date.",
        ),
        (
            "C",
            "#REF!",
            None,
            "lots.xlsx:2: site.permit (cell C2): found the error #REF!; expected a value. Correct "
            "the formula behind "
            "it and put its value there.",
        ),
        (
            "C",
            "Gate\u200b 1",
            None,
            "lots.xlsx:2: site.permit (cell C2): found the hidden character U+200B; expected ",
        ),
        ("G", "x", None, 'lots.xlsx:2: (cell G2): found "x" under no header; expected cells under headers. '),
    ],
)
def test_a_cell_that_is_not_what_it_looks_like(
    column: str, value: Any, shape: str | None, message: str, tmp_path: Path
) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet[f"{column}2"] = value
        if shape is not None:
            sheet[f"{column}2"].number_format = shape

    (fault,) = faults(of_rows(tmp_path, HEADER, ROW, fill=fill))
    assert fault.startswith(message)


def test_numbers_and_switches_read_as_they_show(tmp_path: Path) -> None:
    header = ["id", "job", "site.permit", "plan.revision", "people.wren.authorised"]
    site = of_rows(tmp_path, header, ["one", "lot.yaml", 20260414, 1.0, True])
    (job,) = jobs(site)
    assert (job.site.permit, job.plan.revision) == ("20260414", 1)
    assert job.people[1].authorised is True


def test_a_hidden_row_is_not_passed_over(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.row_dimensions[2].hidden = True

    site = of_rows(tmp_path, ["id", "job"], ["one", "lot.yaml"], ["two", "no.yaml"], fill=fill)
    assert faults(site) == [
        "lots.xlsx:2: found a hidden row; expected rows that show. "
        "Show the row (clear the filter) and look at it, or delete it."
    ]
    assert "hidden" not in faults(site, 1)[0]


def test_merged_cells_are_refused_in_every_row_over_which_they_show(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.merge_cells("C2:C3")
        sheet.merge_cells("A9:F9")  # empty, below the lots

    rows = (["one", "lot.yaml", "EX-1"], ["two", "b.yaml", None], ["three", "no.yaml"])
    site = of_rows(tmp_path, ["id", "job", "site.permit"], *rows, fill=fill)
    put(tmp_path, b_yaml=SOUND)
    for number in (0, 1):
        assert faults(site, number) == [
            f"lots.xlsx:{number + 2}: site.permit (cell C{number + 2}): found the merged cells C2:C3; "
            "expected a "
            "cell for each column and row. Unmerge them and fill in each cell."
        ]
    assert len(site.lots) == 3


def test_a_merged_title_is_no_header(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.merge_cells("A1:B1")

    raw = saved(lambda sheet: (sheet.append(["Lots of the row"]), sheet.append(["id", "job"]), fill(sheet)))
    put(tmp_path, site_yaml=HEAD + "table: lots.xlsx\n")
    (tmp_path / "lots.xlsx").write_bytes(raw)
    assert "lots.xlsx:1: (cell A1): found the merged cells A1:B1; expected" in refused(tmp_path)[0]


def test_blank_rows_and_formats_without_values_are_no_lots(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["B7"].number_format = "0.00"
        sheet["C9000"].number_format = "0.00"
        sheet["ZZ2"].number_format = "0.00"
        sheet["A8"] = "  "

    site = of_rows(tmp_path, [], HEADER, [], ROW, fill=fill)
    assert [(lot.id, lot.where.line) for lot in site.lots] == [("one", 4)]
    assert jobs(site)


def test_a_cell_of_a_named_sheet_is_named_with_it(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["a table of something else"])
    for name in ("Lots", "Row 2"):
        sheet = book.create_sheet(name)
        sheet.append(HEADER)
        sheet.append([*ROW[:3], "soon"])
    book.save(tmp_path / "lots.xlsx")
    for name, cell in (("Lots", "Lots!D2"), ("Row 2", "'Row 2'!D2")):
        put(tmp_path, lot_yaml=SOUND, site_yaml=f"{HEAD}table: {{file: lots.xlsx, sheet: {name}}}\n")
        (fault,) = faults(read_site(tmp_path / "site.yaml"))
        assert fault.startswith(f'lots.xlsx:2: phases.walls.end (cell {cell}): found "soon"')


def test_a_sheet_that_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "lots.xlsx").write_bytes(saved(lambda sheet: sheet.append(HEADER), "Lots"))
    (fault,) = refused(tmp_path, HEAD + "table: {file: lots.xlsx, sheet: Lot}\n")
    assert fault == (
        'lots.xlsx: found no sheet "Lot"; expected the name of a sheet of the workbook. Did you mean "Lots"?'
    )


def test_a_hidden_first_sheet_is_not_taken_for_the_lots(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(HEADER)
        sheet.sheet_state = "hidden"

    (tmp_path / "lots.xlsx").write_bytes(saved(fill, "Lots"))
    (fault,) = refused(tmp_path, HEAD + "table: lots.xlsx\n")
    assert fault.startswith(
        'lots.xlsx: found the hidden sheet "Sheet" as the first; expected a sheet that shows. '
    )


DAMAGE = [
    (lambda raw: raw[: len(raw) // 2], "found a damaged or locked workbook"),
    (lambda raw: b"id,job\none,lot.yaml\n", "found something else under a workbook's name"),
    (lambda raw: b"", "found something else under a workbook's name"),
    (
        lambda raw: changed(raw, "xl/worksheets/sheet1.xml", lambda x: x[: len(x) // 2]),
        "found a workbook in disorder (ParseError)",
    ),
    (
        lambda raw: changed(raw, "xl/workbook.xml", lambda x: x.replace(b"sheets", b"shoots")),
        "found a workbook without a sheet of cells",
    ),
    (
        lambda raw: changed(
            raw,
            "xl/worksheets/sheet1.xml",
            lambda x: b'<!DOCTYPE w [<!ENTITY a "aaaa">]>' + x,
        ),
        "found a workbook with definitions of its own",
    ),
    (
        lambda raw: changed(raw, "docProps/app.xml", lambda x: b" " * (workbook.MAX_UNPACKED + 1)),
        "found a workbook that unpacks to more than 64 MiB or 500 parts",
    ),
]


@pytest.mark.parametrize(("damage", "message"), DAMAGE, ids=[message for _, message in DAMAGE])
def test_a_workbook_that_cant_be_read(damage: Callable[[bytes], bytes], message: str, tmp_path: Path) -> None:
    raw = saved(lambda sheet: (sheet.append(HEADER), sheet.append(ROW)))
    (tmp_path / "lots.xlsx").write_bytes(damage(raw))
    (fault,) = refused(tmp_path, HEAD + "table: lots.xlsx\n")
    assert fault.startswith(f"lots.xlsx: {message}")


def test_an_empty_workbook(tmp_path: Path) -> None:
    (tmp_path / "lots.xlsx").write_bytes(saved(lambda sheet: None))
    (fault,) = refused(tmp_path, HEAD + "table: lots.xlsx\n")
    assert fault.startswith("lots.xlsx: found an empty table; expected a header and a row for each lot.")


def test_rows_and_columns_far_away_cost_nothing(tmp_path: Path) -> None:
    for place, what in (("A1048576", "5,001 rows"), ("XFD2", "256 columns")):

        def fill(sheet: Worksheet, place: str = place) -> None:
            sheet.append(HEADER)
            sheet[place] = "x"

        (tmp_path / "lots.xlsx").write_bytes(saved(fill))
        (fault,) = refused(tmp_path, HEAD + "table: lots.xlsx\n")
        assert f"found more than {what}; expected at most {what}." in fault


def test_what_a_workbook_says_of_its_extent_is_not_believed(tmp_path: Path) -> None:
    raw = saved(lambda sheet: (sheet.append(HEADER), sheet.append(ROW)))
    short = changed(
        raw,
        "xl/worksheets/sheet1.xml",
        lambda x: x.replace(b'<dimension ref="A1:F2"', b'<dimension ref="A1:A1"'),
    )
    assert short != raw
    site = of_table(tmp_path, short, "lots.xlsx")
    assert load_lot(site.lots[0]).model.site.permit == "EX-1"


def test_what_other_programs_write_otherwise(tmp_path: Path) -> None:
    """Targets from the part's own folder, texts in the cells, places left out (ECMA-376 part 1, 18.3.1.4)."""
    raw = saved(lambda sheet: sheet.append(HEADER))
    names = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in ("id", "job", "site.permit"))
    cells = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in ("one", "lot.yaml", "EX-7"))
    xmlns = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    page = f"<worksheet {xmlns}><sheetData><row>{names}</row><row>{cells}</row></sheetData></worksheet>"
    raw = changed(raw, "xl/worksheets/sheet1.xml", lambda _: page.encode())
    raw = changed(raw, "xl/_rels/workbook.xml.rels", lambda x: x.replace(b"/xl/worksheets", b"worksheets"))
    (job,) = jobs(of_table(tmp_path, raw, "lots.xlsx"))
    assert job.site.permit == "EX-7"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (b'r="A1"', b'r="' + b"A" * 1_000_000 + b'1"', "found a workbook in disorder (ValueError)"),
        (
            b"</worksheet>",
            b"<mergeCells>" + b'<mergeCell ref="A1:B2"/>' * 1_001 + b"</mergeCells></worksheet>",
            "found 1,001 merged cells; expected a cell for each column and row. Unmerge them",
        ),
    ],
)
def test_a_sheet_made_to_cost_much(old: bytes, new: bytes, message: str, tmp_path: Path) -> None:
    raw = saved(lambda sheet: (sheet.append(HEADER), sheet.append(ROW)))
    (tmp_path / "lots.xlsx").write_bytes(
        changed(raw, "xl/worksheets/sheet1.xml", lambda x: x.replace(old, new))
    )
    (fault,) = refused(tmp_path, HEAD + "table: lots.xlsx\n")
    assert fault.startswith(f"lots.xlsx: {message}")


@pytest.mark.parametrize("seed", range(4))
def test_damage_of_any_kind_is_refused_in_words(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    raw = saved(lambda sheet: (sheet.append(HEADER), sheet.append(ROW)))
    text = (",".join(HEADER) + "\n" + ",".join(map(str, ROW)) + "\n").encode()
    put(tmp_path, lot_yaml=SOUND)
    for number in range(30):
        name, whole = (("lots.csv", text), ("lots.xlsx", raw))[number % 2]
        at = chance.randrange(len(whole))
        (tmp_path / name).write_bytes(whole[:at] + chance.randbytes(2) + whole[at + chance.randrange(4) :])
        put(tmp_path, site_yaml=f"{HEAD}table: {name}\n")
        with contextlib.suppress(JobFileError):  # any other error is a defect
            jobs(read_site(tmp_path / "site.yaml"))
