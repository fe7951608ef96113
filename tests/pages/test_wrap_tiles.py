"""A wrap too large for its page on tiles: read by others, laid together, and still on its tube in space."""

import math
import re
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

from geometry.core.errors import FitError, ReadBackError
from sheets.files.read.joins import verify_joins
from sheets.files.read.readback import verify_svg
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from sheets.ink.records import Curve, Sheet
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.wraps.sheet import wraps
from sheets.setup.setup import set_up
from tests.pages.jobs import on_paper
from tests.pages.outside_readers import pdf_by_mupdf
from tests.pages.wrapped import Skin, mount, stay

JOIN = 0.02
ON = 0.005
"""How far a point may lie off the tube, mm, as for a wrap on one page."""
SAGITTA = 0.07
"""How far the chord of a 48th of a turn lies within a tube of 60, mm: 30 (1 - cos 3.75 degrees), 0.064."""
DIAMETER = 60.0


def wide(size: str = "A4", diameter: float = DIAMETER, **paper: str) -> Job:
    """Return a flat mount on a tube whose girth no page of the size holds."""
    tubes = stay([[20, diameter], [390, diameter]])
    return on_paper(mount("flat-rear-160-chainstay", tubes=tubes), size=size, **paper)


def tiles_of(job: Job) -> list[Sheet]:
    placement, tubes = place_job(job), tubes_of(job)
    made = wraps(job, placement, tubes, set_up(job, placement, tubes))
    assert {sheet.kind for sheet in made.sheets} == {"wrap"}
    return [sheet for sheet in made.sheets if sheet.tile is not None]


def saved(sheets: list[Sheet], file: File) -> File:
    write_pdf(sheets, file, title="wraps", subject="wraps")
    return file


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_wrap_too_wide_is_tiled_and_joins_by_an_outside_reader(size: str, tmp_path: File) -> None:
    sheets = tiles_of(wide(size))
    file = saved(sheets, tmp_path / "wraps.pdf")
    assert verify_joins(file, sheets) < JOIN
    for sheet in sheets:
        write_svg(sheet, tmp_path / "wrap.svg")
        assert verify_svg(tmp_path / "wrap.svg", sheet) < 0.01
    # The lower edge as others read it, laid together: one line as long as the paper's girth.
    spans = []
    for page, sheet in zip(pdf_by_mupdf(file), sheets, strict=True):
        assert sheet.tile is not None
        origin = np.array(sheet.tile.origin)
        lines = [line - origin for line in page.lines if len(line) > 20]
        for feature in sheet.features:
            if not isinstance(feature, Curve) or "lower edge" not in feature.name:
                continue
            want = np.array(feature.points) - origin
            (read,) = [line for line in lines if len(line) == len(want) and np.abs(line - want).max() < JOIN]
            spans.append((read[:, 0].min(), read[:, 0].max(), read[:, 1]))
    assert len(spans) == 2
    (a, b, first), (c, d, second) = sorted(spans, key=lambda span: span[0])
    assert c < b
    # Half of a tenth of paper outside the tube, as the sheet says: own arithmetic.
    assert d - a == pytest.approx(math.pi * (DIAMETER + 0.1), abs=JOIN)
    assert np.ptp(np.concatenate((first, second))) < JOIN


def test_the_pieces_of_a_line_stay_on_the_tube_in_space() -> None:
    job = wide()
    skin = Skin(place_job(job).host, job)
    pieces = 0
    for sheet in tiles_of(job):
        for feature in sheet.features:
            if not isinstance(feature, Curve):
                continue
            assert len(feature.space) == len(feature.points), feature.name
            off = skin.off(np.array(feature.space))
            cut = "piece" in feature.name
            pieces += cut
            # Where a line is cut the point lies on the chord between two points of the tube.
            assert off[1:-1].max(initial=0.0) < ON, feature.name
            assert off.max() < (SAGITTA if cut else ON), feature.name
            # Unrolled, every step is as long as in space, but for the paper's own thickness.
            flat = np.hypot(*np.diff(feature.points, axis=0).T)
            bent = np.linalg.norm(np.diff(feature.space, axis=0), axis=1)
            assert flat == pytest.approx(bent, rel=0.003, abs=1e-3), feature.name
    assert pieces > 4


def test_every_outline_to_be_cut_is_whole_on_a_tile() -> None:
    names = [feature.name for sheet in tiles_of(wide()) for feature in sheet.features]
    assert {"boss near, mount side", "boss far, mount side"} <= set(names)


def test_of_two_wraps_each_is_joined_with_its_own_tiles(tmp_path: File) -> None:
    first, second = tiles_of(wide()), tiles_of(wide(diameter=70.0))
    assert verify_joins(saved([*first, *second], tmp_path / "both.pdf"), [*first, *second]) < JOIN
    # The first's error must be seen, though the second has tiles at the same places.
    bad = first[1]
    assert bad.tile is not None
    off = replace(bad, tile=replace(bad.tile, origin=(bad.tile.origin[0] + 0.05, bad.tile.origin[1])))
    sheets = [off if sheet is bad else sheet for sheet in [*first, *second]]
    with pytest.raises(ReadBackError) as told:
        verify_joins(tmp_path / "both.pdf", sheets)
    joins = re.findall(
        r"page_alone\(page=(\d+)\), two=.*page_alone\(page=(\d+)\)\).*amount=([\d.]+)", str(told.value)
    )
    assert {(one, two) for one, two, _ in joins} >= {("1", "2")}
    # Numbers in the file are thousandths of a mm, of which each end of a difference has one.
    assert [float(amount) for *_, amount in joins] == pytest.approx([0.05] * len(joins), abs=1e-3)


def test_never_refuses_with_the_overshoot_and_larger_paper_needs_no_tiles() -> None:
    with pytest.raises(
        FitError, match=r"too_large\(title='chainstay wrap', over=\(wrap\.over\.wide.* size='A4'"
    ):
        tiles_of(wide(tile="never"))
    assert tiles_of(wide("A3")) == []


def test_no_sheet_on_top_covers_half_a_word(tmp_path: File) -> None:
    # Found among random jobs: in the first place tried, a sheet's edge ran through a strip's lettering.
    job = parse(
        {
            "frame": {"id": "x", "name": "Gåsö Ångström", "maker": "Ateliér Žižkov É"},
            "mount": {
                "end": "front", "interface": "flat-front", "rotor": 160, "native": 160, "host": "fork-leg",
                "tilt": 34.84,
            },
            "axle": {"system": "100x12", "dummy": 8},
            "dropout": {"thickness": 5.86},
            "tubes": {
                "fork-leg": {
                    "diameters": [[54, 34.84], [204, 39.47, 34.31], [434, 34.84]], "offset": 3.66,
                    "outset": 0, "splay": 1.27,
                }
            },
            "paper": {"size": "Letter", "margin": 12.7},
        }
    )  # fmt: skip
    sheets = tiles_of(job)
    assert sheets
    # A word that is cut stands on one of two tiles alone, and so its strokes do not go on under the edge.
    assert verify_joins(saved(sheets, tmp_path / "wraps.pdf"), sheets) < JOIN
