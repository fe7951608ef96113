"""What renderers show of a packet that share no code, and what is filled in there."""

import contextlib
import io
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from tests.outside_tools import tool

DPI = 60
DARK = 128
"""The lightest grey, of 255, that a tick is seen by."""


def _by(command: Callable[[Path, Path], list[str]]) -> Callable[[Path], list[bytes]]:
    def shown(file: Path) -> list[bytes]:
        with tempfile.TemporaryDirectory() as folder:
            arguments = command(file, Path(folder))
            with contextlib.suppress(subprocess.TimeoutExpired):
                subprocess.run(
                    [tool(arguments[0]), *arguments[1:]], capture_output=True, timeout=60, check=False
                )
            return [each.read_bytes() for each in sorted(Path(folder).iterdir())]

    return shown


def pdfium(file: Path) -> list[bytes]:
    """Return the pages as PDFium shows them, with their forms, as portable graymaps."""
    try:
        document = pypdfium2.PdfDocument(file)
    except pypdfium2.PdfiumError:
        return []
    with contextlib.closing(document):
        document.init_forms()
        pictures = [page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L") for page in document]
        return [b"P5 %d %d 255\n" % picture.size + picture.tobytes() for picture in pictures]


RENDERERS: dict[str, Callable[[Path], list[bytes]]] = {
    "poppler": _by(lambda file, to: ["pdftoppm", "-r", str(DPI), "-gray", str(file), f"{to}/p"]),
    "mupdf": _by(
        lambda file, to: [
            *("mutool", "draw", "-q", "-r", str(DPI), "-c", "gray"),
            *("-o", f"{to}/%02d.pgm", str(file)),
        ]
    ),
    "ghostscript": _by(
        lambda file, to: [
            *("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", f"-r{DPI}"),
            *("-o", f"{to}/%02d.pgm", str(file)),
        ]
    ),
    "pdfium": pdfium,
}


@dataclass(frozen=True, slots=True)
class Filled:
    """Where something is filled in: page from 0, left, low, right and top in points, and its text or TICK."""

    page: int
    box: tuple[float, float, float, float]
    text: str

    def cut(self, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Return what a picture of the page shows there."""
        left, low, right, top = (round(side * DPI / 72) for side in self.box)
        height = picture.shape[0]
        return picture[height - top - 2 : height - low + 2, left - 2 : right + 2]


TICK = "/Yes"


def filled_in(file: Path) -> list[Filled]:
    """Return the texts and ticks that are filled in."""
    found = []
    for number, page in enumerate(pypdf.PdfReader(file).pages):
        for each in page.get("/Annots", ()):
            field = each.get_object()
            if field["/V"] not in ("", "/Off"):
                left, low, right, top = map(float, field["/Rect"])
                found.append(Filled(number, (left, low, right, top), str(field["/V"])))
    return found


def beside(pages: Sequence[bytes], filled: Sequence[Filled]) -> list[bytes]:
    """Return pictures of pages with white where something is filled in, black for a tick that is seen."""
    found = []
    for number, page in enumerate(pages):
        picture = np.array(Image.open(io.BytesIO(page)))
        for each in (each for each in filled if each.page == number):
            place = each.cut(picture)
            place[:] = 0 if each.text == TICK and place.min() < DARK else 255
        found.append(picture.tobytes())
    return found


def readable(file: Path, filled: Sequence[Filled]) -> bool:
    """Tell whether every text can be read from its place on the page, as poppler finds it there."""
    heights = [float(page.mediabox.height) for page in pypdf.PdfReader(file).pages]
    for each in (each for each in filled if each.text != TICK):
        left, low, right, top = each.box
        places = (left, heights[each.page] - top, right - left, top - low)
        where = [word for key, at in zip("xyWH", places, strict=True) for word in (f"-{key}", str(round(at)))]
        pages = ("-f", str(each.page + 1), "-l", str(each.page + 1))
        text = subprocess.run(
            [tool("pdftotext"), "-r", "72", *pages, *where, str(file), "-"], capture_output=True, check=False
        ).stdout.decode("utf-8", "replace")
        if "".join(text.split()) != "".join(each.text.split()):
            return False
    return True
