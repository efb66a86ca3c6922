"""What a job, a drawing, a plan or a certificate of a stranger says is shown, and does nothing."""

from __future__ import annotations

import datetime as dt
import io
import random
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject

import planforge.cad  # noqa: F401 - first: it keeps the library out of the home
from planforge import cli

import ezdxf  # isort: skip

from planforge.assess.assessment import assess
from planforge.cad.drawing import layout_dxf
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.register.database import FILE_NAME
from planforge.register.decision import Wanted
from planforge.register.issuing import issue
from planforge.register.pdf import identity
from planforge.register.place import place_of
from planforge.register.register import Register
from tests.cad.plans import FOOTPRINT, outline, write_dxf, write_job
from tests.register.processes import enter, entry

from .mutations import demo, written
from .odd import ODD_TEXTS
from .rewritten import with_texts
from .test_pages import ACTIVE, active, odd_texts

DATE = dt.date(2026, 12, 1)
ONE_LINE = [text for text in ODD_TEXTS if "\n" not in text]
ELSEWHERE = [
    "../../x",
    "/etc/x",
    "..\\..\\x",
    "C:\\x",
    "\\\\host\\share\\x",
    "~/x",
    ".",
    "..",
    ".hidden",
    "-rf",
    "CON",
    "a:stream",
    "a/b.pdf",
    "%2e%2e%2fx",
    "$(reboot)",
    "x\ty",
]


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as stopped:
        cli.main(list(arguments))
    out, err = capsys.readouterr()
    return int(stopped.value.code or 0), out + err


def job_of(folder: Path, tree: dict[str, Any]) -> Path:
    path = folder / "job.yaml"
    path.write_bytes(written(tree))
    return path


@pytest.fixture(scope="module")
def lot(tmp_path_factory: pytest.TempPathFactory) -> Loaded[Job]:
    return load(job_of(tmp_path_factory.mktemp("lot"), demo("heron_lot_17")))


@pytest.mark.parametrize("number", [*ELSEWHERE, *(text[:60] for text in ONE_LINE)])
def test_a_plan_s_number_names_no_place(lot: Loaded[Job], tmp_path: Path, number: str) -> None:
    """The file lies in the folder that was asked for, under a name of letters, digits, - and _."""
    plan = lot.model.plan.model_copy(update={"number": number.strip()})
    numbered = replace(lot, model=lot.model.model_copy(update={"plan": plan}))
    target = place_of(tmp_path / "out", Wanted(numbered, "0" * 64, draft=False).file_name).target
    assert target.parent == tmp_path / "out"
    assert re.fullmatch(r"\w[\w-]*-r1\.pdf", target.name)
    assert len(target.name.encode()) <= 255
    target.touch()


def test_odd_names_are_issued_entered_and_known_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Number, lot and project with everything that means something to SQL, to PDF or to a shell."""
    tree = demo("heron_lot_17")
    tree = tree | {
        "plan": {**tree["plan"], "number": "../AF'); DROP TABLE plans;-- (é屋🏗) \\("},
        "site": {
            **tree["site"],
            "lot": ") /JS (app.alert(1)) <</S /Launch>>",
            "project": "$(reboot) %s {x} '\"",
        },
    }
    job = job_of(tmp_path, tree)
    issued = issue(job, tmp_path / "out", date=DATE)
    register = Register(tmp_path / "out" / FILE_NAME)
    (kept,) = register.entries()
    assert (kept.number, kept.lot, kept.project) == (
        tree["plan"]["number"],
        tree["site"]["lot"],
        tree["site"]["project"],
    )
    assert register.job(kept)
    reader = PdfReader(issued.path)
    assert active(reader) == set()
    stated = identity(reader)
    assert stated is not None
    assert (stated.number, stated.fingerprint) == (tree["plan"]["number"], issued.fingerprint)
    assert run(capsys, "verify", str(issued.path))[0] == cli.SHORT  # a draft, and known
    assert run(capsys, "compare", str(issued.path), str(job))[0] == cli.MEETS
    code, listed = run(capsys, "register", str(tmp_path / "out"), "--all")
    assert code == 0
    assert tree["plan"]["number"] in listed
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.yaml", "out"]


@pytest.mark.parametrize("text", ODD_TEXTS)
def test_no_text_is_sql(tmp_path: Path, text: str) -> None:
    register = Register(tmp_path / FILE_NAME)
    first = entry(0, number=text, lot=text, project=text, prepared_by=text, changes=text, file="a.pdf")
    enter(register, first)
    enter(register, entry(1, number=text, file="b.pdf"))
    assert register.entries()[0].lot == text
    assert [made.status.value for made in register.entries()] == ["superseded", "issued"]


def test_no_text_is_a_thing_of_a_drawing(tmp_path: Path) -> None:
    """The DXF holds the same things with odd texts as with plain ones, and its library finds no fault."""

    def drawn(job: Job) -> Any:
        data = layout_dxf(assess(job), "0" * 64)
        path = tmp_path / "drawn.dxf"
        path.write_bytes(data)
        return ezdxf.readfile(path)  # type: ignore[attr-defined]

    def things(document: Any) -> Counter[tuple[str, str]]:
        return Counter((thing.dxftype(), thing.dxf.layer) for thing in document.modelspace())

    name = "linnet_lot_3_trusses"
    plain = drawn(load(job_of(tmp_path, demo(name))).model)
    odd = drawn(load(job_of(tmp_path, with_texts(name, odd_texts(name, random.Random(3))))).model)
    assert things(odd) == things(plain)
    assert {layer.dxf.name for layer in odd.layers} == {layer.dxf.name for layer in plain.layers}
    assert not odd.audit().has_errors
    texts = [thing.dxf.text for thing in odd.modelspace().query("TEXT")]
    assert not [text for text in texts if re.search(r"%%[a-z]|\^[A-Z]|\\U\+", text)]


ESCAPE = "\x1b[2J\x07"


def test_a_drawing_s_layers_do_not_act_on_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A layer may be named by characters that a terminal obeys, and by quotes and marks of YAML."""
    names = ("EVIL\x1b[2J\x07", "EVIL\u202e", "EVIL' #x {{ 1 }}")

    def draw(_: object, space: Any) -> None:
        outline(space)
        for number, _name in enumerate(names):
            space.add_circle((20, 25), 1, dxfattribs={"layer": f"EVIL{number}"})

    path = write_dxf(tmp_path, draw)
    text = path.read_text("utf-8")
    for number, name in enumerate(names):
        text = text.replace(f"\nEVIL{number}\n", f"\n{name}\n")
    path.write_text(text, "utf-8")
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": [FOOTPRINT]})
    code, told = run(capsys, "import", str(job), "-o", str(tmp_path / "part.yaml"))
    assert code == 0, told
    assert "EVIL" in told
    assert not {"\x1b", "\x07", "\u202e"} & set(told)
    assert not {"\x1b", "\x07", "\u202e"} & set((tmp_path / "part.yaml").read_text("utf-8"))
    job.write_text(f"extends: part.yaml\n{job.read_text('utf-8')}", "utf-8")
    assert load(job).model.layout.footprint


def test_a_stranger_s_plan_does_not_act_on_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    stated = f"plan A{ESCAPE}, revision 1, fingerprint {'0' * 64}"
    writer.add_metadata({"/Keywords": stated, "/CreationDate": "D:20261201000000+00'00'"})
    writer.write(tmp_path / "plan.pdf")
    code, told = run(capsys, "verify", str(tmp_path / "plan.pdf"))
    assert code in (cli.ALTERED, cli.UNKNOWN)
    assert "plan A<U+001B>[2J<U+0007>" in told or "A<U+001B>[2J<U+0007> revision 1" in told
    assert not {"\x1b", "\x07"} & set(told)


def test_what_is_looked_for_would_be_found() -> None:
    """The search for active names does find them, wherever they stand in a file."""
    writer = PdfWriter()
    page = writer.add_blank_page(100, 100)
    act = DictionaryObject({NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): NumberObject(1)})
    page[NameObject("/Hidden")] = ArrayObject([writer._add_object(act)])
    made = io.BytesIO()
    writer.write(made)
    assert {"/JS", "/JavaScript"} <= active(PdfReader(made)) <= ACTIVE
