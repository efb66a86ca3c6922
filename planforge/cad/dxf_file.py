"""A DXF file within bounds: read once, whole, from the job's own folder; nothing in it is repaired by guess.

Text and binary DXF from R12 on. Paths are resolved through links before they are trusted.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf
from ezdxf.document import Drawing as DxfDocument
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader

from planforge.cad.problems import DrawingError, drawn

MAX_BYTES = 32 << 20
"""A drawing of more is refused: the library's copy in memory is many times as large."""

BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"
_VERSION = re.compile(rb"\$ACADVER\s+1\s+(AC\d{4})")
_VERSIONS = {
    "AC1009": "R12",
    "AC1012": "R13",
    "AC1014": "R14",
    "AC1015": "R2000",
    "AC1018": "R2004",
    "AC1021": "R2007",
    "AC1024": "R2010",
    "AC1027": "R2013",
    "AC1032": "R2018",
}
_SAVE_AGAIN = "Save it again in the CAD program as a DXF of release R2010, after its own audit."
_ABSOLUTE = re.compile(r"^[/\\]|^[A-Za-z]:|://")


@dataclass(frozen=True)
class Lost:
    """Something drawn whose data make no sense, so that an audit drops it."""

    kind: str
    layer: str
    handle: str


@dataclass(frozen=True)
class DxfFile:
    """A drawing that was read, with what identifies the file."""

    name: str  # as the job states it
    document: DxfDocument
    sha256: str
    release: str
    notes: tuple[str, ...]  # what the library mended while reading
    lost: tuple[Lost, ...]  # what it dropped, its data making no sense


def read_dxf(folder: Path, name: str) -> DxfFile:
    """Read the drawing ``name`` from ``folder`` or below it.

    Raises :class:`DrawingError` for a path that leads outside, a file that is none, is too large, is of
    another form or version, or is damaged.
    """
    raw = _bytes(folder, name)
    digest = hashlib.sha256(raw).hexdigest()
    _refuse_other_forms(name, raw)
    release = _release(name, raw)
    with _damage(name):
        document = _parsed(raw)
        held = _shapes(document)
        auditor = document.audit()
    if auditor.has_errors:
        first = auditor.errors[0]
        handle = str(first.entity.dxf.handle) if first.entity is not None else ""
        found = f"{len(auditor.errors)} fault(s) in its structure, the first: {first.message}"
        raise DrawingError([drawn(name, found, "a sound DXF file", _SAVE_AGAIN, handle=handle)])
    lost = tuple(Lost(*told) for entity, *told in held if not entity.is_alive)
    notes = tuple(dict.fromkeys(f"mended while reading: {fix.message}" for fix in auditor.fixes))
    return DxfFile(name, document, digest, release, notes, lost)


def _shapes(document: DxfDocument) -> list[tuple[Any, str, str, str]]:
    """Everything drawn, in any space or block, with DXF name, layer and handle: an audit may destroy some."""
    return [
        (entity, entity.dxftype(), str(entity.dxf.get("layer", "0")), str(entity.dxf.get("handle", "")))
        for block in document.blocks
        for entity in block
    ]


def _bytes(folder: Path, name: str) -> bytes:
    def refuse(found: str, expected: str, remedy: str) -> DrawingError:
        return DrawingError([drawn(name, found, expected, remedy)])

    where = "a DXF file in the folder of the file that names it, or below it"
    if _ABSOLUTE.search(name):
        raise refuse("a path that is not relative", where, "Write its path from that folder: plan.dxf.")
    try:
        root, path = Path(os.path.realpath(folder)), Path(os.path.realpath(folder / name))
        if not path.is_relative_to(root):
            raise refuse("a path that leads outside", where, "Copy the drawing beside the job file.")
        if not path.exists():
            raise refuse("no file of this name", where, "Correct drawing.file, or put the file there.")
        if not path.is_file():
            raise refuse("no ordinary file", where, "Name the DXF file itself.")
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name can't be used"
        raise refuse(f"a file that can't be read ({reason})", where, "Correct its name or rights.") from None
    if len(raw) > MAX_BYTES:
        most = f"{MAX_BYTES >> 20} MiB"
        remedy = "Purge it, or write only the layers that are needed to a drawing of their own."
        raise refuse(f"more than {most}", f"a drawing of at most {most}", remedy)
    return raw


def _refuse_other_forms(name: str, raw: bytes) -> None:
    remedy = "Save it as DXF of release R2010 in the CAD program."
    if re.match(rb"AC10\d\d", raw):
        raise DrawingError([drawn(name, "a DWG file", "a DXF file", remedy)])
    if raw.startswith(BINARY):
        return
    if not re.match(rb"(?:\xef\xbb\xbf)?(?:\s*999[ \t]*\r?\n[^\n]*\n)*\s*0[ \t]*\r?\n\s*SECTION", raw):
        raise DrawingError([drawn(name, "a file that does not begin as DXF does", "a DXF file", remedy)])


def _release(name: str, raw: bytes) -> str:
    match = _VERSION.search(raw[: 1 << 16]) or re.search(rb"\$ACADVER\x00?.{1,4}?(AC\d{4})", raw[: 1 << 16])
    version = match[1].decode() if match else "AC1009"  # a file without one is R12 by DXF's own rule
    if version not in _VERSIONS:
        found = f"the version {version}, which is not known here"
        expected = "DXF of a release from R12 to R2018"
        raise DrawingError([drawn(name, found, expected, "Save it as DXF of release R2010.")])
    return _VERSIONS[version]


@contextmanager
def _damage(name: str) -> Iterator[None]:
    """Word whatever the library stumbles over; on damaged input it raises far more than its own errors."""
    try:
        yield
    except (DrawingError, MemoryError):
        raise
    except DXFError as error:
        raise DrawingError(
            [drawn(name, f"a damaged file ({error})", "a sound DXF file", _SAVE_AGAIN)]
        ) from None
    except Exception as error:
        found = f"a damaged file ({type(error).__name__}: {error})"
        raise DrawingError([drawn(name, found, "a sound DXF file", _SAVE_AGAIN)]) from None


def _parsed(raw: bytes) -> DxfDocument:
    if raw.startswith(BINARY):
        return DxfDocument.load(binary_tags_loader(raw))
    # ASCII does for finding the encoding; names in it are read afterwards
    info = ezdxf.filemanagement.dxf_stream_info(io.StringIO(raw.decode("ascii", "ignore")))
    return ezdxf.read(io.StringIO(raw.decode(info.encoding, "surrogateescape")))  # type: ignore[attr-defined]
