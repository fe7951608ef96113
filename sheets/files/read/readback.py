"""Files opened again and measured: what does not measure what its sheet says is not delivered.

The readers share no code with the writers. Each function returns the largest deviation in mm, for the
record, and raises ReadBackError with one line for each miss of more than LIMIT. A file is called by its bare
name, because it is measured where it was written and not yet where its reader will look for it.
"""

import math
import pathlib
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fonts.drafting import ends
from fonts.faces import face_of, run
from geometry.core.errors import Problem, ReadBackError, why
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from sheets.files.read.labels import labels_lost
from sheets.files.read.measure import measure, worst
from sheets.files.read.pdf import ReadField, read_pdf
from sheets.files.read.pieces import Floats, ReadPage
from sheets.files.read.svg import read_svg
from sheets.ink.corrected import on_paper
from sheets.ink.records import Point, Sheet

_Places = tuple[Point, Point, Point]

LIMIT = 0.01
"""The largest deviation of a feature, a page box or the border that is let through, in mm."""


def verify_pdf(
    file: pathlib.Path,
    sheets: Sequence[Sheet],
    attachments: Sequence[tuple[str, bytes]] = (),
    distortion: Distortion | None = None,
) -> float:
    """Return the largest deviation in mm of the PDF `file` from `sheets`, one page each.

    A file that was corrected for a printer is measured as that printer will print it, after its `distortion`.
    The file must also ask to be printed unscaled, hold the attachments byte for byte, and have every form
    field at its box, in order, with its first value. Raises ReadBackError for every miss.
    """
    try:
        read = read_pdf(file)
    except ValueError as error:
        raise ReadBackError(Problem(file.name, why(error))) from error
    problems = []
    if not read.unscaled:
        problems.append(Problem(file.name, say("readback.scaling")))
    for name, content in attachments:
        if read.attachments.get(name) != content:
            code = "readback.differs" if name in read.attachments else "readback.missing"
            problems.append(Problem(file.name, say(code, name=name)))
    if len(read.pages) != len(sheets):
        problems.append(
            Problem(file.name, say("readback.page_count", now=len(read.pages), wanted=len(sheets)))
        )
    for number, (sheet, page) in enumerate(zip(sheets, read.pages, strict=False), start=1):
        where = say("readback.page", file=file.name, page=number)
        problems += _text_problems(where, sheet, page, distortion)
    problems += _field_problems(file.name, sheets, read.fields)
    pages = list(enumerate(zip(read.pages, sheets, strict=False), start=1))
    named: list[tuple[Say | str, ReadPage, Sheet]] = [
        (say("readback.page", file=file.name, page=number), page, sheet) for number, (page, sheet) in pages
    ]
    return _judge(named, problems, distortion)


def verify_svg(
    file: pathlib.Path, sheet: Sheet, distortion: Distortion | None = None, *, text: bool = False
) -> float:
    """Return the largest deviation in mm of the SVG `file` from `sheet`; raises ReadBackError for a miss.

    `distortion` as in `verify_pdf`; `text` tells that labels shall be text.
    """
    try:
        page = read_svg(file)
    except ValueError as error:
        raise ReadBackError(Problem(file.name, why(error))) from error
    lost = labels_lost(file.name, sheet, page, LIMIT, distortion) if text else ()
    return _judge([(file.name, page, sheet)], [*lost], distortion)


def _text_problems(
    where: Say, sheet: Sheet, page: ReadPage, distortion: Distortion | None
) -> Iterator[Problem]:
    """Yield a problem for each line, lettered or running, that a search misses, or that lies elsewhere."""
    held = page.lines
    if distortion is not None and sheet.full_size:
        held = tuple(replace(line, places=on_paper(line.places, sheet.paper, distortion)) for line in held)
    found: dict[str, list[Floats]] = {}
    for line in held:
        found.setdefault("".join(line.text.split()), []).append(line.places)
    wanted = [*_wanted(sheet)]
    there = [found.get("".join(unicodedata.normalize("NFC", text).split()), ()) for text, _ in wanted]
    for (text, _), each, off in zip(
        wanted, there, _offs([places for _, places in wanted], there), strict=True
    ):
        if not each:
            yield Problem(where, say("readback.text_lost", text=text))
        elif not off <= LIMIT:
            yield Problem(where, say("readback.text_off", text=text, off=off, limit=LIMIT))


def _offs(wanted: Sequence[_Places], there: Sequence[Sequence[Floats]]) -> list[float]:
    """Return how far off the nearest of the lines that are there lies from each that is wanted, mm.

    Worked out for all at once: a page has a hundred lines.
    """
    counts = [len(each) for each in there]
    nearest = np.full(len(counts), math.inf)
    if any(counts):
        away = np.concatenate([*filter(len, there)]) - np.repeat(np.array(wanted), counts, axis=0)
        firsts = np.cumsum([0, *filter(None, counts)])[:-1]
        off = np.hypot(away[..., 0], away[..., 1]).max(axis=1)
        nearest[np.array(counts) > 0] = np.minimum.reduceat(off, firsts)
    return [float(each) for each in nearest]


def _wanted(sheet: Sheet) -> Iterator[tuple[str, _Places]]:
    """Yield the text of each line of a sheet, and its places as `ReadLine` has them."""
    for path in sheet.paths:
        for label in path.labels:
            a, b, c, d, x, y = label.matrix
            first, last = ends(label.text, label.height)
            start, up = (x + a * first, y + b * first), label.height
            yield label.text, (start, (x + a * last, y + b * last), (start[0] + c * up, start[1] + d * up))
    for text in sheet.texts:
        last = text.width - run(text.text[-1:], text.size, face_of(text.face))
        x, y = text.at
        yield text.text, ((x, y), (x + last, y), (x, y + text.size))


def _field_problems(name: str, sheets: Sequence[Sheet], found: Sequence[ReadField]) -> list[Problem]:
    """Return a problem for each form field that is missing, elsewhere, out of order, or filled otherwise."""
    wanted = [(number, field) for number, sheet in enumerate(sheets, start=1) for field in sheet.fields]
    if [(page, field.name) for page, field in wanted] != [(each.page, each.name) for each in found]:
        gone = {field.name for _, field in wanted} - {each.name for each in found}
        counts = {"wanted": len(wanted), "found": len(found)}
        if gone:
            return [Problem(name, say("readback.fields_missing", names=", ".join(sorted(gone)), **counts))]
        return [Problem(name, say("readback.fields_elsewhere", **counts))]
    problems = []
    for (page, field), each in zip(wanted, found, strict=True):
        off = max(abs(a - b) for a, b in zip(field.box, each.box, strict=True))
        where = say("readback.field_place", file=name, page=page, field=field.name)
        if not off <= LIMIT:
            problems.append(Problem(where, say("readback.field_off", off=off, limit=LIMIT)))
        value = {"yes": "Yes"}.get(field.value, "Off") if field.kind == "tick" else field.value
        if each.value.replace("\r\n", "\n").replace("\r", "\n") != value:
            problems.append(Problem(where, say("readback.field_value", found=each.value, wanted=value)))
    return problems


def _judge(
    pages: Sequence[tuple[Say | str, ReadPage, Sheet]], problems: list[Problem], distortion: Distortion | None
) -> float:
    largest = 0.0
    for where, page, sheet in pages:
        deviations = measure(page, sheet, distortion)
        largest = max(largest, worst(deviations))
        problems += [
            Problem(
                say("readback.of", where=where, what=deviation.feature),
                say("readback.limit", what=deviation.what, limit=LIMIT),
            )
            for deviation in deviations
            # Turned round so that a number that is none is a miss too.
            if not deviation.amount <= LIMIT
        ]
    if problems:
        raise ReadBackError(*problems)
    return largest
