"""The pictures of fields: one may be written anew where it belongs to one field alone, as a picture."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from planforge.register.additions import additions
from planforge.register.issuing import issue

from .appended import append, stream
from .conftest import DATE, MENDED, Shelf

_PICTURE = b"/Type /XObject /Subtype /Form /BBox [0 0 60 10]"


@pytest.fixture(scope="module")
def plan(kept_shelf: Shelf) -> bytes:
    return (kept_shelf.folder / kept_shelf.second.path.name).read_bytes()


def _pictures(plan: bytes, kind: str) -> list[int]:
    fields = [held.get_object() for held in PdfReader(BytesIO(plan)).trailer["/Root"]["/AcroForm"]["/Fields"]]  # type: ignore[index]
    shown = [field["/AP"] for field in fields if field["/FT"] == kind]
    if kind == "/Btn":
        return [states["/N"].raw_get("/Yes").idnum for states in shown]
    return [states.raw_get("/N").idnum for states in shown]


def test_the_picture_of_one_field_is_filled_in(plan: bytes) -> None:
    """As programs do that write into the picture that is there; it counts as one field, filled in."""
    first, second = _pictures(plan, "/Tx")[:2]
    data = append(plan, {first: stream(b"BT ET", _PICTURE), second: stream(b"BT ET", _PICTURE)})
    found = additions(plan, data)
    assert (found.filled, found.signed, found.faults) == (2, 0, ())


def test_it_is_still_a_picture(plan: bytes) -> None:
    (first, *_) = _pictures(plan, "/Tx")
    for other in (b"<< /Type /Page >>", stream(b"x", b"/Type /EmbeddedFile")):
        (fault,) = additions(plan, append(plan, {first: other})).faults
        assert fault == f"the picture of a field, object {first}, was written anew as something else"


@pytest.mark.usefixtures("whole_packet")
def test_a_picture_that_many_boxes_share_stays(tmp_path: Path) -> None:
    plan = issue(MENDED, tmp_path, date=DATE).path.read_bytes()  # its pick list has boxes
    shared = _pictures(plan, "/Btn")[0]
    assert _pictures(plan, "/Btn").count(shared) > 1
    fault, *_ = additions(plan, append(plan, {shared: stream(b"", _PICTURE)})).faults
    assert fault.startswith(f"object {shared} of the issued file was written anew")
