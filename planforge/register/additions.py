"""What was added to a plan after it was issued, from the parts that were appended to its file.

A reader that fills in or signs appends new versions of single objects to a PDF (ISO 32000-1, 7.5.6). Most
objects may not have a new version: pages, their contents, fonts and pictures must be the very objects that
were issued. A field of the form may have a new value, and another picture inside the rectangle it always had
(some programs write into the picture that is there), unless it was signed before; the form and the pages'
lists may gain signatures without a picture of their own. Whatever else was written anew is a fault. The
content of signatures is not checked here.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final

import pypdf
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NullObject, StreamObject

from planforge.register.pdf import NotReadableError

_DEFINITION: Final = re.compile(rb"(?<![\d.])(\d{1,10})\s+\d{1,5}\s+obj\b")
_FILLED: Final = {"/V", "/AS", "/AP", "/M"}
"""What filling in changes in a field (ISO 32000-1, 12.7.4 and 12.5.2)."""
_ROOT: Final = {"/AcroForm", "/DSS", "/Extensions", "/Perms", "/Metadata", "/Version"}
_FORM: Final = {"/Fields", "/SigFlags", "/NeedAppearances", "/DR"}
_INFO: Final = {"/ModDate", "/Producer"}
_DICTIONARY_END: Final = re.compile(rb"\bendobj\b|\bstream\r?\n")
_ESCAPED_NAME: Final = re.compile(rb"/[^\s/<>\[\]()]*#")
_MOST_PACKED: Final = 4 << 20
_DEEPEST: Final = 60


@dataclass(frozen=True, slots=True)
class Additions:
    """What was appended to the file as issued. ``faults`` say in words what is more than filling in."""

    filled: int
    """Fields whose value, or what they show, was filled in or changed."""
    signed: int
    """Signatures, old fields that were signed and new ones alike."""
    faults: tuple[str, ...]


def additions(issued: bytes, data: bytes) -> Additions:
    """Compare a file, object by object, with the issued file at its head.

    Raises :class:`NotReadableError` where what was appended can't be followed.
    """
    try:
        before, now = (pypdf.PdfReader(BytesIO(each)) for each in (issued, data))
        return _Comparison(before, now, data[len(issued) :]).result()
    except Exception as error:  # appended by anyone: it can raise anything in the reader
        raise NotReadableError(f"what was appended can't be followed ({type(error).__name__})") from error


class _Comparison:
    def __init__(self, before: Any, now: Any, appended: bytes) -> None:
        self.before, self.now, self.appended = before, now, appended
        self.size = int(before.trailer["/Size"])
        self.pages = {page.indirect_reference.idnum: n for n, page in enumerate(before.pages, start=1)}
        self.fields = set(_numbers(_form(before), "/Fields"))
        self.pictures = _pictures(before, self.fields)
        self.root = before.trailer.raw_get("/Root").idnum
        self.info = before.trailer.raw_get("/Info").idnum
        root = before.trailer["/Root"]
        parts = (root.raw_get(key) for key in ("/AcroForm", "/Metadata") if key in root)
        # The form is compared by itself, wherever it stands now; metadata show on no page.
        self.apart = {part.idnum for part in parts if isinstance(part, IndirectObject)}
        self.filled: set[int] = set()
        self.signed = 0
        self.new_fields: set[int] = set()

    def result(self) -> Additions:
        faults = list(dict.fromkeys(self._faults()))
        return Additions(len(self.filled), self.signed, tuple(faults))

    def _faults(self) -> Iterator[str]:
        trailer = self.now.trailer
        if "/Encrypt" in trailer:
            yield "the file was encrypted"
        if trailer.raw_get("/Root").idnum != self.root:
            yield "the file was given another catalogue"
            return
        yield from self._gained()
        for number in range(1, self.size):
            yield from self._object(number)
        yield from self._scanned()

    def _object(self, number: int) -> Iterator[str]:
        old, new = (_raw(reader, number) for reader in (self.before, self.now))
        if number in self.apart or _frozen(old) == _frozen(new):
            return
        if number in self.fields:
            yield from self._field(number, old, new)
        elif number in self.pictures:
            self.filled.add(self.pictures[number])
            if not isinstance(new, StreamObject) or new.get("/Subtype") != "/Form":
                yield f"the picture of a field, object {number}, was written anew as something else"
        elif number in self.pages:
            yield from self._page(self.pages[number], old, new)
        elif number == self.root:
            yield from _but(old, new, _ROOT, "the catalogue")
        elif number == self.info:
            yield from _but(old, new, _INFO, "the document information")
        else:
            yield f"object {number} of the issued file was written anew ({_kind(old)})"

    def _field(self, number: int, old: Any, new: Any) -> Iterator[str]:
        name = f"the field {old.get('/T', '')}"
        if _is_signed(old):
            yield from _but(old, new, set(), f"{name}, signed before,")
            return
        yield from _but(old, new, _FILLED, name)
        if old.get("/FT") == "/Sig" and "/V" in new:
            self.signed += 1
        else:
            self.filled.add(number)

    def _page(self, page: int, old: Any, new: Any) -> Iterator[str]:
        yield from _but(old, new, {"/Annots"}, f"page {page}")
        kept, listed = _numbers(old, "/Annots"), _numbers(new, "/Annots")
        if listed[: len(kept)] != kept:
            yield f"fields of page {page} were taken off it"
        for number in listed[len(kept) :]:
            if number not in self.new_fields:
                yield f"something was laid over page {page}: a note, a stamp or a field of someone else's"

    def _gained(self) -> Iterator[str]:
        """The form may gain fields for signatures that show nothing on the page."""
        old, new = _form(self.before), _form(self.now)
        yield from _but(old, new, _FORM, "the form")
        kept, listed = _numbers(old, "/Fields"), _numbers(new, "/Fields")
        if [number for number in listed if number in set(kept)] != kept:
            yield "fields of the form were taken away"
        for number in (number for number in listed if number not in set(kept)):
            field = self.now.get_object(IndirectObject(number, 0, self.now))
            if number >= self.size and field.get("/FT") == "/Sig" and _shows_nothing(field):
                self.new_fields.add(number)
                self.signed += "/V" in field
            else:
                yield "the form was given a field that can cover the page"

    def _scanned(self) -> Iterator[str]:
        """Readers that mend a file scan it for objects: none may stand in it that the lists don't show."""
        allowed = self.fields | self.pictures.keys() | self.pages.keys() | self.apart | {self.root, self.info}
        found = {int(match[1]) for match in _DEFINITION.finditer(self.appended)} | _packed(self.appended)
        for number in sorted(n for n in found if n < self.size and n not in allowed):
            yield f"object {number} of the issued file stands in it a second time"


def _packed(appended: bytes) -> set[int]:
    """The numbers of the objects that stand packed in streams (ISO 32000-1, 7.5.7).

    Raises ValueError for a stream of them that can't be looked into within bounds, and for a spelling of
    names (#) that could hide one.
    """
    found: set[int] = set()
    for place in _DEFINITION.finditer(appended):
        end = _DICTIONARY_END.search(appended, place.end())
        if end is None:
            continue
        entries = appended[place.end() : end.start()]
        if _ESCAPED_NAME.search(entries):
            raise ValueError("a name in another spelling")
        if b"/ObjStm" in entries:
            (first,) = re.findall(rb"/First\s+(\d+)", entries)
            content = zlib.decompressobj().decompress(appended[end.end() :], _MOST_PACKED)
            found |= {int(number) for number in content[: int(first)].split()[::2]}
    return found


def _raw(reader: Any, number: int) -> Any:
    return reader.get_object(IndirectObject(number, 0, reader))


def _frozen(value: Any, depth: int = 0) -> Any:
    """A value for comparison; references stay references, streams are compared as packed."""
    if depth > _DEEPEST:
        raise ValueError("nested too deep")
    match value:
        case IndirectObject():
            return ("reference", value.idnum, value.generation)
        case StreamObject():
            return ("stream", _entries(value, depth), bytes(value._data))
        case DictionaryObject():
            return ("group", _entries(value, depth))
        case ArrayObject():
            return ("list", tuple(_frozen(list.__getitem__(value, n), depth + 1) for n in range(len(value))))
        case None | NullObject():
            return None
    return (type(value).__name__, str(value))


def _entries(value: Any, depth: int) -> tuple[tuple[str, Any], ...]:
    # How long a packed stream is may stand elsewhere in the file; the packed bytes themselves are compared.
    return tuple((key, _frozen(value.raw_get(key), depth + 1)) for key in sorted(value) if key != "/Length")


def _but(old: Any, new: Any, allowed: set[str], what: str) -> Iterator[str]:
    """A fault for each entry that differs and may not."""
    if not isinstance(old, DictionaryObject) or not isinstance(new, DictionaryObject):
        yield f"{what} was written anew as something else"
        return
    for key in sorted({*old, *new} - allowed):
        before, after = (_entry(each, key) for each in (old, new))
        if _frozen(before) != _frozen(after):
            yield f"{key[1:]} of {what} was changed"


def _form(reader: Any) -> Any:
    root = reader.trailer["/Root"]
    return root["/AcroForm"] if "/AcroForm" in root else DictionaryObject()


def _numbers(holder: Any, key: str) -> list[int]:
    """The object numbers of a list of references; 0 for an entry that is none."""
    held = holder[key] if key in holder else ArrayObject()
    raw = [list.__getitem__(held, n) for n in range(len(held))]
    return [each.idnum if isinstance(each, IndirectObject) else 0 for each in raw]


def _is_signed(field: Any) -> bool:
    return bool(field.get("/FT") == "/Sig" and "/V" in field)


def _pictures(reader: Any, fields: set[int]) -> dict[int, int]:
    """The pictures that one field alone shows, with its number (ISO 32000-1, 12.5.5); none of signed ones."""
    owners: dict[int, list[int]] = {}
    for field in fields:
        held = _raw(reader, field)
        shown = DictionaryObject() if _is_signed(held) else held.get("/AP", DictionaryObject())
        normal = shown.raw_get("/N") if "/N" in shown else None
        if isinstance(normal, IndirectObject):
            owners.setdefault(normal.idnum, []).append(field)
    return {picture: owned[0] for picture, owned in owners.items() if len(owned) == 1}


def _entry(holder: Any, key: str) -> Any:
    """An entry as it stands: a reference stays one."""
    return holder.raw_get(key) if key in holder else None


def _shows_nothing(field: Any) -> bool:
    """True for a field without an area, or hidden (ISO 32000-1, 12.7.4.5 and table 165)."""
    left, bottom, right, top = (float(n) for n in field.get("/Rect", [0, 0, 0, 0]))
    return left == right or bottom == top or bool(int(field.get("/F", 0)) & 2)


def _kind(value: Any) -> str:
    if isinstance(value, StreamObject):
        return "page contents, a picture, a font or an attachment"
    kind = value.get("/Type") if isinstance(value, DictionaryObject) else None
    return str(kind)[1:] if kind else "a part of it"
