"""Make the README's pictures from the samples: run `python samples/pictures.py` from the top of the project.

Each is a page as drawn, in grey and small; the list says which page of which job. The traveller is shown as
it comes back from the bench: what is written on it is invented. They are pictures only: nothing is measured
on them.
"""

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw, ImageFont

TOP = Path(__file__).parents[1]
PICTURES = TOP / "samples" / "pictures"
SCALE = 0.82
"""Pixels a point: an A4 page comes out 488 wide."""

# Picture, job or command, sheet, and which of its kind.
PAGES = (
    ("template", "dunlin", "template", 0),
    ("face", "avocet", "face", 0),
    ("wrap", "avocet", "wrap", 0),
    ("card", "dunlin", "card", 0),
    ("loads", "curlew", "loads", 0),
    ("traveller", "dunlin", "traveller", 0),
    ("plate", "avocet", "plate", 0),
    ("proof", "proof", "proof", 0),
    ("measuring-sheet", "blank", "blank", 0),
)


READINGS = ("", "150.0", "", "", "0.00", "", "", "", "no 5", "", "", "135.0")
"""What is written beside the steps, from the first on."""
DAY = "12-{:02}"
"""The days of an invented December on which the steps were done."""
HAND = 15
"""Height of what is written, pixels."""


def drawn(name: str, folder: Path) -> Path:
    """Draw a sample with its fixture, or a sheet that needs no job; return the PDF."""
    from sheets.cli import main

    job = TOP / "samples" / f"{name}.toml"
    arguments = ["draw", str(job), "--plate"] if job.is_file() else [name]
    status = main([*arguments, "--out", str(folder / name)])
    if status:
        raise SystemExit(f"{name} was not drawn: {status}")
    return next((folder / name).glob("*.pdf"))


def pages(pdf: Path) -> Iterator[tuple[str, Image.Image]]:
    """Give each page's sheet, by the packet's own record or for want of one its name, and its picture."""
    document = pypdfium2.PdfDocument(pdf)
    kinds = _kinds(pdf, len(document))
    for number, (kind, page) in enumerate(zip(kinds, document, strict=True), start=1):
        image = page.render(scale=SCALE, may_draw_forms=False).to_pil().convert("L")
        if kind == "traveller":
            _write(image, pdf, number)
        yield kind, image


def _write(image: Image.Image, pdf: Path, number: int) -> None:
    """Write by hand into the boxes beside the steps on a page, and what the job has filled in itself."""
    from sheets.files.read.form import read_form

    pen = ImageDraw.Draw(image)
    face = ImageFont.truetype(str(TOP / "fonts" / "OpenSans-Regular.ttf"), HAND)
    form = read_form(pdf)
    for field in form.record["fields"]:
        name, box = str(field["name"]), [float(each) * SCALE for each in field["box"]]
        table, _, rest = name.partition(".")
        said = form.values[name]
        if table == "step":
            place, _, column = rest.partition(".")
            step = int(place)
            given = READINGS[step - 1] if step <= len(READINGS) else ""
            said = {"reading": given, "initials": "hb", "date": DAY.format(1 + step // 3), "done": "x"}[
                column
            ]
        if field["page"] == number and said:
            line, size = said.splitlines()[0], HAND if table == "step" else 11
            while face.font_variant(size=size).getlength(line) > box[2] - box[0] - 3.0 and size > 6:
                size -= 1
            at = box[0] + 2.0, image.height - box[1] - 4.0
            pen.text(at, line, 90, face.font_variant(size=size), "ls")


def _kinds(pdf: Path, count: int) -> list[str]:
    from sheets.files.read.form import read_form

    try:
        return [str(page["sheet"]) for page in read_form(pdf).record["pages"]]
    except Exception:  # a proof is no packet
        return [pdf.parent.name] * count


def make(target: Path) -> list[Path]:
    """Write every picture into a folder and return them."""
    target.mkdir(parents=True, exist_ok=True)
    made = []
    with tempfile.TemporaryDirectory() as scratch:
        found: dict[str, list[tuple[str, Image.Image]]] = {}
        for picture, source, kind, which in PAGES:
            if source not in found:
                found[source] = list(pages(drawn(source, Path(scratch))))
            image = [each for sheet, each in found[source] if sheet == kind][which]
            file = target / f"{picture}.png"
            # Sixteen greys keep lettering legible and the file small.
            image.quantize(16).save(file, optimize=True)
            made.append(file)
    return made


if __name__ == "__main__":
    sys.path.insert(0, str(TOP))
    for path in make(PICTURES):
        print(f"{path.relative_to(TOP)}: {path.stat().st_size // 1024} kB")  # noqa: T201
