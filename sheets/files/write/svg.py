"""A sheet into an SVG whose numbers are millimetres: width and height in mm, a viewBox of the same size.

Labels are single strokes, as plotters want them, each character once and used wherever it stands, or else
text, set as long as the strokes are. Running text is outlines of its face, kept in the same way; a form's
fields are boxes without ink that bear the fields' names and what they are filled with. Only sheets without
either are delivered as files.

Its second line is a comment that seals it. One root group turns the page over, once, so that y runs up
inside it. Inside lies one group a layer, in the order in which the sheet first uses them, which editors that
know the convention show as layers.
"""

import itertools
import pathlib
import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Any
from xml.etree.ElementTree import Element, SubElement

from fonts.drafting import laid, width
from sheets.files import seal
from sheets.files.write.fields import CROSS_PEN, cross_in, rows_in
from sheets.files.write.svg_path import path_data, short
from sheets.ink.marks import MITRE_LIMIT, polyline
from sheets.ink.outlines import outlines, typed
from sheets.ink.records import Field, Label, Path, Sheet, Style, Text
from sheets.words.tell import tell

_CAPITAL = 0.7
"""Height of a capital to the type size in most sans-serif faces; common practice, no source."""
_LAYERS = "http://www.inkscape.org/namespaces/inkscape"


def write_svg(sheet: Sheet, file: pathlib.Path) -> None:
    """Write `sheet` to `file`; raises ValueError as `svg` does, OSError where it cannot be written."""
    file.write_bytes(svg(sheet))


def svg(sheet: Sheet, about: str = "", *, text: bool = False) -> bytes:
    """Return `sheet` as the bytes of a file, which says `about` itself; the same sheet gives the same bytes.

    Its labels are strokes, or else `text`, which can be searched and edited. Raises ValueError for a path
    that no ink would show.
    """
    # Loading the library takes longer than most commands run, and only drawing needs it.
    from svgwrite import Drawing

    wide, height = short(sheet.paper.width), short(sheet.paper.height)
    # Without debug=False every attribute runs through the library's validator, far slower than the writing.
    drawing = Drawing(
        size=(f"{wide}mm", f"{height}mm"), viewBox=f"0 0 {wide} {height}", profile="full", debug=False
    )
    drawing["xmlns:inkscape"] = _LAYERS
    drawing.set_desc(title=_printable(sheet.title), desc=_printable(about) or None)
    # Without it a browser prints the page within margins of its own, and shrinks it by a tenth.
    drawing.defs.add(drawing.style(f"@page{{size:{wide}mm {height}mm;margin:0}}"))
    root = drawing.g(
        transform=f"matrix(1 0 0 -1 0 {height})",
        fill="none",
        stroke="black",
        fill_rule="evenodd",
        stroke_miterlimit=MITRE_LIMIT,
    )
    drawing.add(root)
    ids = _Ids()
    pen = _Pen(drawing, ids, text)
    layers: dict[str, list[Path]] = {}
    for path in sheet.paths:
        if path.commands:
            layers.setdefault(path.layer, []).append(path)
    for name, paths in layers.items():
        root.add(_inked(drawing, name, paths, ids, pen))
    if sheet.texts:
        root.add(_Lines(drawing, "text", sheet.texts, ids))
    if sheet.fields:
        root.add(_boxes(drawing, sheet.fields, ids))
    # Written here, not by the library, so that line ends are the same on every machine.
    return seal.sealed(f"{seal.xml_head()}{drawing.tostring()}\n".encode())


def written_before_seals(data: bytes) -> bool:
    """Tell whether an SVG is laid out as it was written here before it was sealed: all on one line.

    No editor that saves an SVG leaves it so.
    """
    head, _, rest = data.partition(b"\n")
    mark = f'xmlns:inkscape="{_LAYERS}"'.encode()
    one_line = rest.startswith(b'<svg baseProfile="full"') and rest.find(b"\n") == len(rest) - 1
    return head.startswith(b"<?xml ") and one_line and mark in rest


class _Ids:
    """Ids already given out in one file: an id may stand only once, whatever layers and paths are called."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def take(self, name: str) -> str:
        slug = _slug(name)
        tries = (slug if n == 1 else f"{slug}-{n}" for n in itertools.count(1))
        free = next(candidate for candidate in tries if candidate not in self._taken)
        self._taken.add(free)
        return free


def _layer(drawing: Any, name: str, ids: _Ids) -> Any:
    group = drawing.g(id=ids.take(name))
    group["inkscape:groupmode"] = "layer"
    group["inkscape:label"] = _printable(name)
    return group


def _inked(drawing: Any, name: str, paths: Iterable[Path], ids: _Ids, pen: "_Pen") -> Any:
    """Return a layer, in which paths that follow each other in one ink share a group that says it once."""
    layer = _layer(drawing, name, ids)
    runs = [(ink, tuple(run)) for ink, run in itertools.groupby(paths, lambda path: dict(_ink(path)))]
    for ink, run in runs:
        group = layer
        if len(runs) == 1:
            layer.update(ink)
        else:
            group = layer.add(drawing.g(**ink))
        for path in run:
            group.add(pen.lettered(path) if path.labels else _path(drawing, path, ids))
    return layer


def _path(drawing: Any, path: Path, ids: _Ids) -> Any:
    element = drawing.path(d=path_data(path.commands))
    if path.name:
        element["id"] = ids.take(path.name)
        element.set_desc(title=_printable(path.name))
    return element


class _Pen:
    """What letters labels: each character's strokes are kept once a height in the definitions."""

    def __init__(self, drawing: Any, ids: _Ids, text: bool) -> None:
        self._drawing, self._ids, self._text = drawing, ids, text
        self._known: dict[tuple[str, float], str] = {}

    def lettered(self, path: Path) -> "_Made":
        """Return a path's labels as a group, each under its words."""
        group = Element("g")
        if self._text:
            group.attrib = {"fill": "black", "stroke": "none", "font-family": "Arial,sans-serif"}
        for label in path.labels:
            (self._typed if self._text else self._stroked)(group, label)
        return _Made(group)

    def _stroked(self, group: Element, label: Label) -> None:
        a, b, c, d, e, f = label.matrix
        line = SubElement(group, "g", {"aria-label": _printable(label.text)})
        if (a, b, c, d) == (1.0, 0.0, 0.0, 1.0):
            line.set("transform", f"translate({short(e)} {short(f)})")
        else:
            line.set("transform", _matrix(label.matrix))
        for character, strokes, x in laid(label.text, label.height):
            key = character, label.height
            if key not in self._known:
                self._known[key] = self._ids.take(f"c{len(self._known)}")
                self._drawing.defs.add(self._drawing.path(d=path_data(strokes), id=self._known[key]))
            used = {"x": short(x)} if short(x) != "0" else {}
            SubElement(line, "use", {**used, "xlink:href": f"#{self._known[key]}"})

    def _typed(self, group: Element, label: Label) -> None:
        a, b, c, d, e, f = label.matrix
        line = SubElement(group, "text", {"transform": _matrix((a, b, -c, -d, e, f))})
        # Whatever face is there, the line is as long as the strokes are.
        line.set("textLength", short(width(label.text, label.height)))
        line.set("lengthAdjust", "spacingAndGlyphs")
        line.set("font-size", short(label.height / _CAPITAL))
        line.text = _printable(label.text)


class _Made:
    """An element made here, because a page has thousands and the library takes several times as long."""

    def __init__(self, element: Element) -> None:
        self._element = element

    def get_xml(self) -> Element:
        """Return the element, as the library asks for it."""
        return self._element


def _matrix(matrix: Iterable[float]) -> str:
    *turn, x, y = matrix
    # Finer than lengths, because a whole line is as long and as straight as this says.
    parts = [*(f"{each:.6f}".rstrip("0").rstrip(".") for each in turn), short(x), short(y)]
    return f"matrix({' '.join(parts)})"


class _Lines:
    """Lines of running text as a group of their own, each glyph's outline kept once in the definitions.

    Its elements are made here, because a page has thousands and the library takes several times as long.
    """

    def __init__(self, drawing: Any, name: str, texts: Iterable[Text], ids: _Ids) -> None:
        self._group: Element = _layer(drawing, name, ids).get_xml()
        self._group.set("fill", "black")
        self._group.set("fill-rule", "nonzero")
        self._group.set("stroke", "none")
        known: dict[str, str] = {}
        for text in texts:
            # Finer than other numbers, because a whole line is as long as this says.
            scale = f"{text.size / 1000.0:.9f}".rstrip("0")
            at = f"{short(text.at[0])} {short(text.at[1])}"
            line = SubElement(self._group, "g", {"transform": f"matrix({scale} 0 0 {scale} {at})"})
            line.set("aria-label", _printable(text.text))
            for outline, along in outlines(text):
                if outline not in known:
                    known[outline] = ids.take("glyph")
                    drawing.defs.add(drawing.path(d=outline, id=known[outline]))
                SubElement(line, "use", {"x": f"{along:.1f}", "xlink:href": f"#{known[outline]}"})

    def get_xml(self) -> Element:
        """Return the group, as the library asks for it."""
        return self._group


def _boxes(drawing: Any, fields: Iterable[Field], ids: _Ids) -> Any:
    """Return the fields' boxes, and in ink what they are filled with from the start."""
    group = _layer(drawing, "fields", ids)
    typed_in: list[Text] = []
    for field in fields:
        left, low, right, top = field.box
        box = drawing.rect((short(left), short(low)), (short(right - left), short(top - low)))
        box["id"], box["stroke"] = ids.take(f"field {field.name}"), "none"
        box.set_desc(title=_printable(field.label))
        group.add(box)
        if field.kind != "tick":
            typed_in += (typed(*row) for row in rows_in(field))
        elif field.value == "yes":
            x0, y0, x1, y1 = cross_in(field)
            (a, b), (c, d) = (left + x0, low + y0), (left + x1, low + y1)
            strokes = (*polyline(((a, b), (c, d))), *polyline(((a, d), (c, b))))
            cross = Path(strokes, Style(CROSS_PEN, cap="round"), "")
            group.add(drawing.path(d=path_data(strokes), **dict(_ink(cross))))
    if typed_in:
        group.add(_Lines(drawing, tell("svg.filled_in"), typed_in, ids))
    return group


def _ink(path: Path) -> Iterator[tuple[str, str]]:
    """Yield the attributes in which a path differs from the root group: unfilled, black, solid, butt ends."""
    style: Style = path.style
    if style.fill:
        yield "fill", "black"
    elif not style.width:
        raise ValueError(f"path {path.name!r} on layer {path.layer!r} has neither stroke nor fill")
    if not style.width:
        yield "stroke", "none"
        return
    yield "stroke_width", short(style.width)
    if style.dash:
        yield "stroke_dasharray", ",".join(short(length) for length in style.dash)
        if style.phase:
            yield "stroke_dashoffset", short(style.phase)
    if style.cap == "round":
        yield "stroke_linecap", "round"
        yield "stroke_linejoin", "round"


def _slug(name: str) -> str:
    """Return `name` in lower-case ASCII letters, digits and hyphens, beginning with a letter as ids must."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    return slug if slug[:1].isalpha() else f"n-{slug}".rstrip("-")


def _printable(text: str) -> str:
    """Return `text` without the control characters that XML cannot carry in any form."""
    return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]", "", text)
