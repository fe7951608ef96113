"""Sheets into a PDF of exact page boxes, drawn in thousandths of a millimetre under one matrix a page.

Operators after ISO 32000-1, 8.4.4 (graphics state), 8.5 (paths) and 9.4 (text): one painting a Path, however
many subpaths it has, and of the state no more than what changes. Lines of text, lettered or running, are set
as type in fonts of which the file holds what it uses.
"""

import itertools
import pathlib
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fonts.outlined import lead
from fonts.subsets import Subset, in_western, split, taken, western
from sheets.files import objects, record
from sheets.files.objects import Stream
from sheets.files.packing import packed
from sheets.files.write import tags, typefaces
from sheets.ink.marks import MITRE_LIMIT
from sheets.ink.records import Commands, Label, Part, Path, Sheet, Text

POINTS_A_MM = 72 / 25.4
_PARTS = 1000
"""Numbers in a page's content are whole thousandths of a millimetre: a printer's dot is forty of them."""

_ROOT = f"{POINTS_A_MM / _PARTS:.15f} 0 0 {POINTS_A_MM / _PARTS:.15f} 0 0 cm {MITRE_LIMIT} M"
_LETTERS = {"M": "%.0s%d %d m", "L": "%.0s%d %d l", "C": "%.0s%d %d %d %d %d %d c", "Z": "%.0sh"}
_Line = tuple[str, pathlib.Path | None, float, tuple[float, float, float, float, float, float]]
"""Text, its face or None for the drafting alphabet, size in mm, and how it lies on the page."""
_BOX = re.compile(
    r"(?P<left>\S+) (?P<low>\S+) m\n(?P<right>\S+) (?P=low) l\n(?P=right) (?P<top>\S+) l\n"
    r"(?P=left) (?P=top) l\nh"
)
_LEVEL = "1 0 0 1"
_BOXES = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox")


def write_pdf(sheets: Sequence[Sheet], file: pathlib.Path, *, title: str, subject: str) -> None:
    """Write one page a sheet to `file`; raises ValueError as `pdf` does, OSError as files do."""
    file.write_bytes(pdf(sheets, title=title, subject=subject))


def pdf(sheets: Sequence[Sheet], *, title: str, subject: str) -> bytes:
    """Return a file's bytes, one page a sheet; the same sheets give the same bytes.

    Raises ValueError for no sheets or for a path that no ink would show.
    """
    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    document = objects.empty()
    subsets: list[Subset] = []
    contents = [_content(sheet, subsets) for sheet in sheets]
    fonts = {
        f"/F{number}": typefaces.add(document, each.embedded(), each.codes)
        for number, each in enumerate(subsets)
    }
    if any(typefaces.FORM in used for _, used in contents):
        fonts[typefaces.FORM] = typefaces.add(document, western())
    for sheet, (content, used) in zip(sheets, contents, strict=True):
        box = [0, 0, sheet.paper.width * POINTS_A_MM, sheet.paper.height * POINTS_A_MM]
        named = {name: fonts[name] for name in sorted(used)}
        entries = dict.fromkeys(_BOXES, box) | {"/Resources": {"/Font": named} if named else {}}
        objects.new_page(document, entries | {"/Contents": objects.add(document, Stream({}, content))})
    objects.describe(document, title, subject, "", "")
    return packed(objects.loose(document), record.HEADER, b"")


def _content(sheet: Sheet, subsets: list[Subset]) -> tuple[bytes, set[str]]:
    """Return a page's content, and the names of the fonts that it sets type in."""
    marks = _Marks()
    parts = [_ROOT.encode(), *_inked(sheet, marks)]
    lines = [*tags.lines(sheet)]
    used: set[str] = set()
    parts += [b"BT"] if lines else []
    font, way, place = ("", 0.0), _LEVEL, (0, 0)
    for i, (part, line) in enumerate(lines):
        text, file, size, matrix = _lettered(line) if isinstance(line, Label) else _running(line)
        parts += marks.to(part)
        # Who listens to a part has the words of its lines run on, but for this.
        text += " " if not part[-1][1] or part in [each for each, _ in lines[i + 1 : i + 2]] else ""
        codes = in_western(text, file)
        name = typefaces.FORM
        if codes is None:
            number, codes = taken(subsets, text, file)
            name = f"/F{number}"
        used.add(name)
        if font != (name, size):
            font = (name, size)
            parts.append(f"{name} {_whole(size)} Tf".encode())
        *turn, x, y = matrix
        x, y = round(x * _PARTS), round(y * _PARTS)
        was, way = way, " ".join(f"{round(each, 6) + 0.0:g}" for each in turn)
        # A level line's place is counted from that of the level line before it.
        level = way == was == _LEVEL
        parts.append(f"{x - place[0]} {y - place[1]} Td".encode() if level else f"{way} {x} {y} Tm".encode())
        parts[-1] += _string(codes) + b"Tj"
        place = (x, y)
    parts += [*marks.to(None), b"ET"] if lines else []
    return b"\n".join(parts), used


class _Marks:
    """Where a page's content goes on from one part of it to the next."""

    def __init__(self) -> None:
        self._part: Part | None = None
        self._number = 0

    def to(self, part: Part | None) -> Iterator[bytes]:
        """Yield what ends the part at hand and begins another, or none."""
        if part == self._part:
            return
        if self._part is not None:
            yield b"EMC"
        if part is not None:
            yield tags.begins(part, self._number)
            self._number += tags.counted(part)
        self._part = part


def _inked(sheet: Sheet, marks: _Marks) -> Iterator[bytes]:
    state = ("", "", "")
    for part, path in tags.inked(sheet):
        yield from marks.to(part)
        style = path.style
        wanted = (
            f"{_whole(style.width)} w",
            "1 J 1 j" if style.cap == "round" else "0 J 0 j",
            f"[{' '.join(map(_whole, style.dash))}] {_whole(style.phase)} d",
        )
        changed = [each for each, before in zip(wanted, state, strict=True) if each != before]
        state = wanted
        yield "\n".join((*changed, _steps(path.commands), _paint(path))).encode()
    yield from marks.to(None)


def _lettered(label: Label) -> _Line:
    a, b, c, d, e, f = label.matrix
    # A line starts with ink, and its first letter's white lies before that.
    white = lead(split(label.text, None)[0]) * label.height
    return label.text, None, label.height, (a, b, c, d, e - a * white, f - b * white)


def _running(text: Text) -> _Line:
    return text.text, text.face, text.size, (1.0, 0.0, 0.0, 1.0, *text.at)


def _whole(value: float) -> str:
    return str(round(value * _PARTS))


def _steps(commands: Commands) -> str:
    """Return commands as operators; raise ValueError for a number that is not finite."""
    pattern = "\n".join([_LETTERS[command[0]] for command in commands])
    # A command's own letter takes its turn among the numbers, and is printed with none of its characters.
    values: Iterable[Any] = itertools.chain.from_iterable(commands)
    try:
        steps = pattern % tuple([each if type(each) is str else round(each * _PARTS) for each in values])
    except (ValueError, OverflowError) as error:
        raise ValueError("a coordinate is not a finite number") from error
    return _BOX.sub(_box, steps)


def _box(found: re.Match[str]) -> str:
    """Return four sides as the one operator that there is for them."""
    left, low, right, top = (int(found[name]) for name in ("left", "low", "right", "top"))
    return f"{left} {low} {right - left} {top - low} re"


def _string(codes: bytes) -> bytes:
    return b"(" + re.sub(rb"[()\\]", rb"\\\g<0>", codes) + b")"


def _paint(path: Path) -> str:
    if path.style.fill:
        return "B*" if path.style.width else "f*"
    if not path.style.width:
        raise ValueError(f"path {path.name!r} on layer {path.layer!r} has neither stroke nor fill")
    return "S"
