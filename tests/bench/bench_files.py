"""How long a job's pages take to write and to read as PDF, beside other libraries doing the same.

Run: python tests/bench/bench_files.py [SAMPLE]
Writers draw the same paths and set the same lines, with the same face cut to what is set: ours, reportlab,
fpdf2, and cairo by its binding (pycairo or cairocffi). Making a packet of the pages, with tags, form and
record, which none of the others does, is told by itself. Readers give the points of all paths and the text
of all pages of our packet: ours by PDFium, pypdf, PDFium by pypdfium2's own objects, and MuPDF. What is not
installed is named and left out: python -m pip install "dropleaf[bench]" brings all. A plain script and no
test; what it prints depends on the machine, the ratios less so.
"""

import importlib
import io
import math
import statistics
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from fonts import subsets
from fonts.faces import face
from sheets.actions import attached, draw
from sheets.files.read import pdf as reader
from sheets.files.write.packet import assembled
from sheets.files.write.pdf import pdf
from sheets.home.jobs import load
from sheets.ink.records import Commands, Sheet, Style, Text
from tests.bench.timing import took

ROOT = Path(__file__).parents[2]
MM = 72 / 25.4


class Line(NamedTuple):
    """A line of type: where it begins, mm, its turn in degrees, and its size in mm."""

    text: str
    x: float
    y: float
    turn: float
    size: float


class Page(NamedTuple):
    """What every writer puts on a page, in mm, y up."""

    width: float
    height: float
    paths: list[tuple[Commands, Style]]
    lines: list[Line]


def page(sheet: Sheet) -> Page:
    """Return a sheet as plain paths and lines; lettering is set in the face, a capital as high."""
    labels = [label for path in sheet.paths for label in path.labels]
    cap = face("regular").cap_height
    lines = [
        Line(each.text, *each.matrix[4:], math.degrees(math.atan2(*each.matrix[1::-1])), each.height / cap)
        for each in labels
    ]
    lines += [Line(each.text, *each.at, 0.0, each.size) for each in sheet.records if isinstance(each, Text)]
    paths = [(path.commands, path.style) for path in sheet.paths if not path.labels]
    return Page(sheet.paper.width, sheet.paper.height, paths, lines)


def by_reportlab(pages: Iterable[Page]) -> bytes:
    """Write pages with reportlab."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    pdfmetrics.registerFont(TTFont("Face", str(face("regular").file)))
    out = io.BytesIO()
    canvas = Canvas(out, invariant=True, pageCompression=1)
    for one in pages:
        canvas.setPageSize((one.width * MM, one.height * MM))
        canvas.scale(MM, MM)
        for commands, style in one.paths:
            canvas.setLineWidth(style.width)
            canvas.setLineCap(int(style.cap == "round"))
            canvas.setDash(list(style.dash), style.phase)
            path = canvas.beginPath()
            steps = {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}
            for command in commands:
                steps[command[0]](*command[1:])
            canvas.drawPath(path, stroke=int(style.width > 0), fill=int(style.fill), fillMode=0)
        for line in one.lines:
            text, turn = canvas.beginText(), math.radians(line.turn)
            text.setTextTransform(
                math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), line.x, line.y
            )
            text.setFont("Face", line.size)
            text.textOut(line.text)
            canvas.drawText(text)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def by_fpdf2(pages: Iterable[Page]) -> bytes:
    """Write pages with fpdf2."""
    from fpdf import FPDF
    from fpdf.drawing import PaintedPath

    made = FPDF(unit="mm")
    made.add_font("Face", fname=str(face("regular").file))
    for one in pages:
        made.add_page(format=(one.width, one.height))
        for commands, style in one.paths:
            with made.drawing_context() as context:
                path = PaintedPath()
                path.style.stroke_width, path.style.auto_close = style.width, False
                path.style.stroke_dash_pattern = list(style.dash) or None
                path.style.fill_color = "#000" if style.fill else None
                steps = {"M": path.move_to, "L": path.line_to, "C": path.curve_to}
                for kind, *numbers in commands:
                    if kind == "Z":
                        path.close()
                        continue
                    places = [one.height - each if i % 2 else each for i, each in enumerate(numbers)]
                    steps[kind](*places)
                context.add_item(path)
        for line in one.lines:
            made.set_font("Face", size=line.size * MM)
            with made.rotation(line.turn, line.x, one.height - line.y):
                made.text(line.x, one.height - line.y, line.text)
    return bytes(made.output())


def by_cairo(pages: Iterable[Page]) -> bytes:
    """Write pages with cairo, through whichever binding there is."""
    cairo: Any = _cairo()
    out = io.BytesIO()
    surface = cairo.PDFSurface(out, 1, 1)
    for one in pages:
        surface.set_size(one.width * MM, one.height * MM)
        context = cairo.Context(surface)
        context.scale(MM, -MM)
        context.translate(0, -one.height)
        context.set_fill_rule(cairo.FILL_RULE_EVEN_ODD)
        for commands, style in one.paths:
            context.set_line_width(style.width)
            context.set_line_cap(cairo.LINE_CAP_ROUND if style.cap == "round" else cairo.LINE_CAP_BUTT)
            context.set_dash(list(style.dash), style.phase)
            steps = {"M": context.move_to, "L": context.line_to, "C": context.curve_to}
            for kind, *numbers in commands:
                steps[kind](*numbers) if kind != "Z" else context.close_path()
            if style.fill:
                context.fill_preserve()
            context.stroke() if style.width else context.new_path()
        # It takes the system's own face: a file can be had only through another library.
        context.select_font_face("Open Sans")
        for line in one.lines:
            context.save()
            context.translate(line.x, line.y)
            context.rotate(math.radians(line.turn))
            context.scale(1, -1)
            context.set_font_size(line.size)
            context.move_to(0, 0)
            context.show_text(line.text)
            context.restore()
        context.show_page()
    surface.finish()
    return out.getvalue()


def _cairo() -> Any:
    try:
        return importlib.import_module("cairo")
    except ImportError:
        return importlib.import_module("cairocffi")


def with_pypdf(data: bytes) -> int:
    """Read all pages with pypdf; return how many characters of text and operators there are."""
    import pypdf

    found = 0
    for each in pypdf.PdfReader(io.BytesIO(data)).pages:
        contents = each.get_contents()
        found += len(each.extract_text()) + (len(contents.operations) if contents else 0)
    return found


def with_pypdfium2(data: bytes) -> int:
    """Read all pages through pypdfium2's own objects."""
    import pypdfium2
    from pypdfium2 import raw

    found = 0
    document = pypdfium2.PdfDocument(data)
    for each in document:
        found += len(each.get_textpage().get_text_range())
        for thing in each.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            x, y = raw.c_float(), raw.c_float()
            for number in range(raw.FPDFPath_CountSegments(thing.raw)):
                raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(thing.raw, number), x, y)
                found += 1
    document.close()
    return found


def with_mupdf(data: bytes) -> int:
    """Read all pages with MuPDF."""
    import pymupdf

    found = 0
    for each in pymupdf.open(stream=data, filetype="pdf"):
        found += len(each.get_drawings()) + len(each.get_text("rawdict")["blocks"])
    return found


def row(name: str, work: Callable[[], object], beside: float | None) -> float | None:
    """Print a line, and return the median in ms; None, with the reason, where a library is missing."""
    try:
        times = took(work)
    except ImportError as error:
        sys.stdout.write(f"| {name} | not installed ({error.name}) | | |\n")
        return None
    middle = statistics.median(times)
    ratio = "" if beside is None else f"{middle / beside:.2f}"
    sys.stdout.write(f"| {name} | {middle:.1f} ms | {min(times):.1f} to {max(times):.1f} | {ratio} |\n")
    sys.stdout.flush()
    return middle


def main(sample: str) -> None:
    """Print the table for one sample."""
    with TemporaryDirectory() as folder:
        plan = draw.plan(load(ROOT / "samples" / f"{sample}.toml"), Path(folder))
    sheets = list(plan.packet.sheets)
    pages = [page(each) for each in sheets]

    def fresh() -> bytes:
        # What a process keeps of fonts would spare us what the others do.
        subsets._embedded.cache_clear()
        subsets.western.cache_clear()
        return pdf(sheets, title=sample, subject=sample)

    def packet() -> bytes:
        given = {"title": sample, "subject": sample, "attachments": (), "sheets": sheets}
        return assembled(bare, **given, base=attached.base(plan.source, plan.placement, ()))

    bare = fresh()
    whole = packet()

    def read() -> object:
        reader._read.cache_clear()
        return reader._read(whole)

    sys.stdout.write(f"| {len(sheets)} pages of {sample} | median | least to most | others / ours |\n")
    sys.stdout.write("|---|---|---|---|\n")
    ours = row("written by us", fresh, None)
    row("made a packet, which only we do", packet, ours)
    for name, write in (("reportlab", by_reportlab), ("fpdf2", by_fpdf2), ("cairo", by_cairo)):
        row(f"written by {name}", lambda write=write: write(pages), ours)
    ours = row("read by us", read, None)
    for name, work in (("pypdf", with_pypdf), ("pypdfium2", with_pypdfium2), ("MuPDF", with_mupdf)):
        row(f"read by {name}", lambda work=work: work(whole), ours)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "dunlin")
