"""The traveller's code, and the traveller as a copier leaves it: what a shop has in hand a year later.

Rasters by poppler, codes read by zxing; neither shares code with the writers.
"""

import itertools
from pathlib import Path

import numpy as np
import pytest
import segno
import zxingcpp
from PIL import Image

from sheets.actions.draw import plan
from sheets.files.write.pdf import write_pdf
from sheets.ink.qr import LEAST, QUIET, qr
from sheets.ink.records import Sheet
from sheets.job.identity import REVISION, job_digest, qr_text
from sheets.job.read import JobFile, load
from tests.outside_tools import run as outside
from tests.pages.jobs import SAMPLES
from tests.pages.test_traveller import boxes_of, overlap, text_box

DPI = 150


def drawn(name: str, folder: Path) -> tuple[JobFile, list[Sheet], list[np.ndarray]]:
    """Return a sample's job file, its traveller as `draw` makes it, and a grey raster of each page."""
    source = load(SAMPLES[name])
    sheets = [sheet for sheet in plan(source, None).sheets if sheet.kind == "traveller"]
    file = folder / "t.pdf"
    write_pdf(sheets, file, title="t", subject="s")
    outside("pdftoppm", "-r", str(DPI), "-gray", file, folder / "page")
    found = []
    for image in sorted(folder.glob("page*.pgm")):
        with Image.open(image) as opened:
            found.append(np.asarray(opened))
    return source, sheets, found


@pytest.mark.parametrize("name", ["avocet", "redshank"])
def test_the_code_is_read_from_a_crooked_scan(name: str, tmp_path: Path) -> None:
    source, _, rasters = drawn(name, tmp_path)
    page = Image.fromarray(rasters[0])
    turned = page.rotate(3.0, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    (found,) = zxingcpp.read_barcodes(np.asarray(turned))
    frame = source.job.frame.id
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.text == qr_text(frame, job_digest(source.raw), REVISION)
    assert frame in found.text and job_digest(source.raw) in found.text
    assert found.text.endswith(f"{REVISION}")


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_enters_the_codes_white(name: str) -> None:
    sheets = [sheet for sheet in plan(load(SAMPLES[name]), None).sheets if sheet.kind == "traveller"]
    (code,) = [path for path in sheets[0].paths if path.layer == "code"]
    xs, ys = ([c[i] for c in code.commands if len(c) > 2] for i in (1, 2))
    # The finder pattern at a corner is seven modules wide.
    module = min(b - a for a, b in itertools.pairwise(sorted(set(np.round(xs, 6)))))
    assert module >= LEAST - 1e-6
    white = QUIET * module - 1e-3
    around = (min(xs) - white, min(ys) - white, max(xs) + white, max(ys) + white)
    for text in sheets[0].texts:
        assert not overlap(text_box(text), around), text.text
    for path in sheets[0].paths:
        if path is code:
            continue
        for command in path.commands:
            if command[0] in "ML":
                x, y = command[1:3]
                assert not (around[0] < x < around[2] and around[1] < y < around[3])


@pytest.mark.parametrize("text", ["A", "DROPLEAF x JOB 0123456789 REV 1", "x" * 110])
def test_the_outlines_are_the_codes_modules(text: str) -> None:
    """Each module's middle by the even-odd rule, against what segno says and zxing reads."""
    commands, side = qr(text, (10.0, 20.0), 24.0)
    matrix = np.array([[bool(cell) for cell in row] for row in segno.make_qr(text, error="m").matrix])
    count = len(matrix)
    module = side / (count + 2 * QUIET)
    edges = []
    here = first = (0.0, 0.0)
    for command in commands:
        there = first if command[0] == "Z" else (command[1], command[2])
        if command[0] == "M":
            first = there
        elif here[0] == there[0]:
            edges.append((here[0], min(here[1], there[1]), max(here[1], there[1])))
        else:
            assert here[1] == there[1]
        here = there
    x0, y0 = 10.0 + QUIET * module, 20.0 + QUIET * module
    seen = np.zeros_like(matrix)
    for row, column in np.ndindex(matrix.shape):
        x, y = x0 + (column + 0.5) * module, y0 + (count - row - 0.5) * module
        seen[row, column] = sum(at > x and low < y < high for at, low, high in edges) % 2
    assert (seen == matrix).all()
    grown = np.kron(np.pad(~seen.astype(bool), QUIET, constant_values=True), np.ones((4, 4), dtype=bool))
    (found,) = zxingcpp.read_barcodes(grown.astype(np.uint8) * 255)
    assert found.text == text


def test_a_copy_keeps_its_boxes_its_letters_and_its_code(tmp_path: Path) -> None:
    """A copier that keeps 150 dots an inch in black and white, from a noisy scan; threshold and noise are
    own judgement, no source.
    """
    source, sheets, rasters = drawn("greenshank", tmp_path)
    noise = np.random.default_rng(7)
    for number, (sheet, grey) in enumerate(zip(sheets, rasters, strict=True)):
        black = grey + noise.normal(0.0, 12.0, grey.shape) < 150.0
        assert black.mean() < 0.2
        scale = DPI / 25.4
        lost = []
        for left, low, right, top in boxes_of(sheet):
            for (x0, y0), (x1, y1) in (
                ((left, low), (right, low)),
                ((left, top), (right, top)),
                ((left, low), (left, top)),
                ((right, low), (right, top)),
            ):
                share = np.linspace(0.02, 0.98, 60)
                columns = ((x0 + share * (x1 - x0)) * scale).astype(int)
                rows = ((sheet.paper.height - (y0 + share * (y1 - y0))) * scale).astype(int)
                near = [
                    black[np.clip(rows + dy, 0, len(black) - 1), columns + dx]
                    for dx, dy in itertools.product((-1, 0, 1), repeat=2)
                ]
                lost.append(1.0 - np.any(near, axis=0).mean())
        assert lost and max(lost) < 0.05
        for text in sheet.texts:
            x, y = text.at
            rows = slice(
                int((sheet.paper.height - y - 0.8 * text.size) * scale),
                int((sheet.paper.height - y) * scale),
            )
            ink = black[rows, int(x * scale) : int((x + text.width) * scale)].mean()
            # Strokes are there, and have not run into a blot.
            assert 0.05 < ink < 0.6, text.text
        if number == 0:
            copy = np.where(black, 0, 255).astype(np.uint8)
            (found,) = zxingcpp.read_barcodes(copy)
            assert found.text == qr_text(source.job.frame.id, job_digest(source.raw), REVISION)
