"""A PDF as PDFium reads it: pages, their boxes and the paths with ink, in mm; and what the file carries.

This is the only importer of pypdfium2. It shares nothing with the writers but the file.
"""

import ctypes
import functools
import math
import pathlib
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import repeat
from typing import Any

import numpy as np

from geometry.core.errors import RefusedError, why
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.files.read.pieces import CURVE, LINE, MOVE, Floats, RawPath, ReadLine, ReadPage, read_page

_MM = 25.4 / 72
_HYPHEN = "\x02"
_BOXES = ("MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox")
# PDFium counts line 0, curve 1, move 2 (fpdf_edit.h, FPDF_SEGMENT_*).
_KINDS = np.array((LINE, CURVE, MOVE), np.int8)


@dataclass(frozen=True, slots=True)
class ReadField:
    """A form field as read: page from 1, full name, its value, and left, low, right, top in mm."""

    page: int
    name: str
    value: str
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class ReadPdf:
    """A PDF as read: its pages, whether it asks not to be scaled in print, and its attachments by name.

    `fields` are in the order in which they are tabbed.
    """

    pages: tuple[ReadPage, ...]
    unscaled: bool
    attachments: dict[str, bytes]
    fields: tuple[ReadField, ...] = ()


def read_pdf(file: pathlib.Path) -> ReadPdf:
    """Return what `file` holds; lengths in mm, y up. Raises ValueError where it is no readable PDF."""
    return _read(file.read_bytes())


def attached(data: bytes, name: str) -> bytes | None:
    """Return one attachment of the PDF in some bytes, None where there is none or no PDF that opens."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError:
        return None
    with closing(document):
        held = map(document.get_attachment, range(document.count_attachments()))
        found = next((each for each in held if each.get_name() == name), None)
        return None if found is None else bytes(found.get_data())


# Sizes, joins and views are judged one after the other on one file, which need not be taken apart thrice; and
# a job that is drawn again gives the same bytes.
@functools.lru_cache(maxsize=4)
def _read(data: bytes) -> ReadPdf:
    # Loading the library takes longer than most commands run, and only drawing needs it.
    import pypdfium2
    from pypdfium2 import raw

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        raise RefusedError(say("readback.no_pdf", reason=why(error))) from error
    with closing(document):
        calls = _Calls.load(raw)
        held = [document.get_attachment(index) for index in range(document.count_attachments())]
        return ReadPdf(
            pages=tuple(_page(raw, calls, document.raw, index) for index in range(len(document))),
            unscaled=not raw.FPDF_VIEWERREF_GetPrintScaling(document.raw),
            attachments={file.get_name(): bytes(file.get_data()) for file in held},
            fields=tuple(_fields(raw, document)) if document.get_formtype() else (),
        )


@dataclass(frozen=True, slots=True)
class _Calls:
    """The functions called once a point or character, with plain addresses for arguments.

    The binding's own versions wrap every address in an object, which takes longer than the call.
    """

    segment: Callable[[int, int], int]
    point: Callable[[int, int, int], int]
    kind: Callable[[int], int]
    close: Callable[[int], int]
    owner: Callable[[int, int], int]
    code: Callable[[int, int], int]
    origin: Callable[[int, int, int, int], int]
    box: Callable[[int, int, int, int, int, int], int]

    @classmethod
    def load(cls, raw: Any) -> "_Calls":
        def plain(function: Any, result: Any, *arguments: Any) -> Callable[..., int]:
            call: Callable[..., int] = ctypes.PYFUNCTYPE(result, *arguments)(_address(function))
            return call

        pointer, whole = ctypes.c_void_p, ctypes.c_int
        return cls(
            plain(raw.FPDFPath_GetPathSegment, pointer, pointer, whole),
            plain(raw.FPDFPathSegment_GetPoint, whole, pointer, pointer, pointer),
            plain(raw.FPDFPathSegment_GetType, whole, pointer),
            plain(raw.FPDFPathSegment_GetClose, whole, pointer),
            plain(raw.FPDFText_GetTextObject, pointer, pointer, whole),
            plain(raw.FPDFText_GetUnicode, ctypes.c_uint, pointer, whole),
            plain(raw.FPDFText_GetCharOrigin, whole, pointer, whole, pointer, pointer),
            plain(raw.FPDFText_GetCharBox, whole, pointer, whole, pointer, pointer, pointer, pointer),
        )


@contextmanager
def _loaded(raw: Any, document: Any, index: int) -> Iterator[Any]:
    page = raw.FPDF_LoadPage(document, index)
    if not page:
        raise RefusedError(say("readback.page_unreadable", page=index + 1))
    try:
        yield page
    finally:
        raw.FPDF_ClosePage(page)


def _page(raw: Any, calls: _Calls, document: Any, index: int) -> ReadPage:
    with _loaded(raw, document, index) as page:
        paths, blocks, types = [], [], {}
        for number in range(raw.FPDFPage_CountObjects(page)):
            thing = raw.FPDFPage_GetObject(page, number)
            kind = raw.FPDFPageObj_GetType(thing)
            if kind == raw.FPDF_PAGEOBJ_PATH:
                paths.append(_path(raw, calls, thing))
            elif kind == raw.FPDF_PAGEOBJ_TEXT:
                types[_address(thing)] = thing
            else:
                blocks.append(_four(raw.FPDFPageObj_GetBounds, thing))
        lines, inked = _type(raw, calls, page, types)
        width, height = raw.FPDF_GetPageWidthF(page) * _MM, raw.FPDF_GetPageHeightF(page) * _MM
        boxes = [("page", 0.0, 0.0, width, height)]
        for name in _BOXES:
            # A box that is not given is the next larger one, which is checked by itself.
            if box := _four(getattr(raw, f"FPDFPage_Get{name}"), page):
                boxes.append((name, *box))
        return read_page(boxes, paths, [*(block for block in blocks if block), *inked], lines)


def _fields(raw: Any, document: Any) -> Iterator[ReadField]:
    """Yield the form fields of a document, page by page."""
    document.init_forms()
    form = document.formenv.raw
    for index in range(len(document)):
        with _loaded(raw, document.raw, index) as page:
            for number in range(raw.FPDFPage_GetAnnotCount(page)):
                place = raw.FPDFPage_GetAnnot(page, number)
                try:
                    if raw.FPDFAnnot_GetSubtype(place) != raw.FPDF_ANNOT_WIDGET:
                        continue
                    box = raw.FS_RECTF()
                    raw.FPDFAnnot_GetRect(place, box)
                    sides = (box.left * _MM, box.bottom * _MM, box.right * _MM, box.top * _MM)
                    name, value = (
                        _text(call, form, place)
                        for call in (raw.FPDFAnnot_GetFormFieldName, raw.FPDFAnnot_GetFormFieldValue)
                    )
                    yield ReadField(index + 1, name, value, sides)
                finally:
                    raw.FPDFPage_CloseAnnot(place)


def _text(call: Callable[..., int], form: Any, place: Any) -> str:
    """Return what a function of the form gives into a buffer of two-byte characters, which ends in a zero."""
    size = call(form, place, None, 0)
    held = (ctypes.c_ushort * (size // 2))()
    call(form, place, held, size)
    return bytes(held)[:-2].decode("utf-16-le", "replace")


def _type(
    raw: Any, calls: _Calls, page: Any, types: dict[int, Any]
) -> tuple[list[ReadLine], list[tuple[float, float, float, float]]]:
    """Return the lines of type that a search of the page would find, and the box of each one's ink, mm."""
    layer = raw.FPDFText_LoadPage(page) if types else None
    try:
        return _characters(raw, calls, _address(layer), types) if types else ([], [])
    finally:
        if types:
            raw.FPDFText_ClosePage(layer)


def _characters(
    raw: Any, calls: _Calls, layer: int, types: dict[int, Any]
) -> tuple[list[ReadLine], list[tuple[float, float, float, float]]]:
    count = raw.FPDFText_CountChars(ctypes.cast(layer, raw.FPDF_TEXTPAGE))
    owners = [*map(calls.owner, repeat(layer), range(count))]
    # A hyphen at a line's end is handed out as a sign of its own.
    whole = "".join(map(chr, map(calls.code, repeat(layer), range(count)))).replace(_HYPHEN, "-")
    sides = _boxes_of(calls, layer, whole)
    owned: dict[int, list[int]] = {}
    for number, owner in enumerate(owners):
        # What the reader adds of itself, blanks and line ends, belongs to no object.
        if owner in types:
            owned.setdefault(owner, []).append(number)
    if not owned:
        return [], []
    firsts = np.cumsum([0, *map(len, owned.values())])[:-1]
    several = [number for held in owned.values() for number in held]
    inked = zip(
        *(
            which.reduceat(side[several], firsts).tolist()
            for which, side in zip((np.minimum, np.minimum, np.maximum, np.maximum), sides, strict=True)
        ),
        strict=True,
    )
    # A blank at the end keeps words apart for who hears the line, and is no part of it.
    texts = ["".join([whole[number] for number in held]).rstrip(" ") for held in owned.values()]
    places, sizes = _places_of(raw, calls, layer, types, owned, texts)
    lines = [
        ReadLine(_paired(text), size, place) for text, size, place in zip(texts, sizes, places, strict=True)
    ]
    return lines, [each for each in inked if math.isfinite(each[0])]


def _boxes_of(calls: _Calls, layer: int, whole: str) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the lefts, feet, rights and tops of a page's characters, mm, endless inside out for blanks."""
    count = len(whole)
    boxes = np.empty((4, count))
    long = boxes.strides[0]
    starts = (boxes.ctypes.data + long * side for side in range(4))
    rows = (range(start, start + long, boxes.itemsize) for start in starts)
    known = np.fromiter(map(calls.box, repeat(layer), range(count), *rows), bool, count)
    boxes *= _MM
    left, right, low, high = boxes
    nothing = ~known | np.fromiter(map(str.isspace, whole), bool, count)
    left[nothing] = low[nothing] = math.inf
    right[nothing] = high[nothing] = -math.inf
    return left, low, right, high


def _places_of(
    raw: Any,
    calls: _Calls,
    layer: int,
    types: dict[int, Any],
    owned: dict[int, list[int]],
    texts: list[str],
) -> tuple[Floats, list[float]]:
    """Return how each line lies, (n, 3, 2) as `ReadLine` has it, and its type size, mm."""
    places = np.zeros((len(owned), 3, 2))
    ups = np.zeros((len(owned), 2))
    start, each = places.ctypes.data, places.itemsize
    matrix, size = raw.FS_MATRIX(), ctypes.c_float()
    for row, ((owner, held), text) in enumerate(zip(owned.items(), texts, strict=True)):
        for place, number in enumerate((held[0], held[len(text) - 1])):
            at = start + row * places.strides[0] + 2 * place * each
            calls.origin(layer, number, at, at + each)
        raw.FPDFPageObj_GetMatrix(types[owner], matrix)
        raw.FPDFTextObj_GetFontSize(types[owner], size)
        ups[row] = matrix.c * size.value, matrix.d * size.value
    places *= _MM
    ups *= _MM
    # The third lies up from the first.
    places[:, 2] = places[:, 0] + ups
    return places, np.hypot(*ups.T).tolist()


def _paired(text: str) -> str:
    """Return a text whose characters beyond 16 bits are one again."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _four(call: Callable[..., int], thing: Any) -> tuple[float, float, float, float] | None:
    """Return the left, bottom, right and top that `call` gives, in mm, or None where it gives none."""
    left, bottom, right, top = (ctypes.c_float() for _ in range(4))
    if not call(thing, left, bottom, right, top):
        return None
    return left.value * _MM, bottom.value * _MM, right.value * _MM, top.value * _MM


def _path(raw: Any, calls: _Calls, thing: Any) -> RawPath:
    # PDFium makes no object of a path that is neither filled nor stroked, so whatever is here has ink.
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(thing, fill, stroke)
    count = raw.FPDFPath_CountSegments(thing)
    segments = list(map(calls.segment, repeat(_address(thing)), range(count)))
    points = np.empty((count, 2), np.float32)
    x = points.ctypes.data
    if not all(map(calls.point, segments, range(x, x + 8 * count, 8), range(x + 4, x + 4 + 8 * count, 8))):
        raise RefusedError(say("readback.path_unreadable"))
    matrix, width = raw.FS_MATRIX(), ctypes.c_float()
    raw.FPDFPageObj_GetMatrix(thing, matrix)
    raw.FPDFPageObj_GetStrokeWidth(thing, width)
    turn = np.array(((matrix.a, matrix.b), (matrix.c, matrix.d))) * _MM
    scale = abs(matrix.a * matrix.d - matrix.b * matrix.c) ** 0.5 * _MM
    return RawPath(
        points=points.astype(float) @ turn + np.array((matrix.e, matrix.f)) * _MM,
        kinds=_KINDS[np.fromiter(map(calls.kind, segments), np.intp, count)],
        closes=np.fromiter(map(calls.close, segments), bool, count),
        reach=float(width.value * scale / 2) if stroke.value else 0.0,
    )


def _address(pointer: Any) -> int:
    return ctypes.cast(pointer, ctypes.c_void_p).value or 0
