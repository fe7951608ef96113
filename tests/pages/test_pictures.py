"""The samples' files as pictures by programs that know nothing of each other.

The limits are the project's own: antialiasing of thin lines alone measured 2 to 5 % of the inked pixels.
"""

import itertools
import pathlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import ndimage

from sheets.actions.draw import plan
from sheets.actions.pages import pdf
from sheets.ink.records import Path
from sheets.job.read import load
from tests import raster
from tests.pages.conftest import Delivered
from tests.pages.jobs import SAMPLES, sample

All = dict[tuple[str, str], Delivered]
FULL_SIZE = [
    *((name, "template") for name in SAMPLES),
    # A post, and a slotted flat mount from inboard; the other faces are drawn by the same strokes.
    *((name, "face") for name in ("avocet", "greenshank")),
]
MEASURED = [
    ("dunlin", "outboard", "template"),
    ("godwit", "outboard", "face"),
    ("redshank", "outboard", "template"),
]
"""A tab, a post's face and a flat mount, on A4 and on Letter."""


@pytest.mark.parametrize(("name", "sheet"), FULL_SIZE)
def test_mupdf_poppler_and_librsvg_show_the_same(
    delivered: All, name: str, sheet: str, tmp_path: pathlib.Path
) -> None:
    # Each sample in the view that its file asks for.
    job = delivered[name, sample(name).paper.view]
    number = next(page["number"] for page in job.pdf_pages if page["sheet"] == sheet)
    svg = next(file for file, page in job.svgs if page["sheet"] == sheet)
    page = raster.mupdf(job.pdf, number)
    # The packet's page alone says which of how many it is: there, and nowhere else, is more ink.
    alone = next(each for each in plan(load(SAMPLES[name]), None).sheets if each.kind == sheet)
    assert alone.number_at is not None
    right, low = alone.number_at[0], alone.paper.height - alone.number_at[1]
    place = np.s_[
        int((low - 5.0) * raster.MM) : int((low + 1.5) * raster.MM), : int((right + 1.0) * raster.MM)
    ]
    left = int((right - 36.0) * raster.MM)
    assert page[place][:, left:].max() > 0.5
    page[place][:, left:] = 0.0
    shown = raster.librsvg(svg)
    # The packet's labels are type, which is mostly edge: 0.09 was measured. Poppler sets large type on whole
    # pixels, up to one astray, and so is shown the same sheet lettered in strokes.
    assert raster.differences(page, shown, share=0.12) == []
    stroked = [replace(each, labels=()) if isinstance(each, Path) else each for each in alone.records]
    (tmp_path / "stroked.pdf").write_bytes(pdf([replace(alone, records=tuple(stroked))]))
    assert raster.differences(raster.poppler(tmp_path / "stroked.pdf"), shown) == []


@pytest.mark.parametrize(("name", "view", "sheet"), MEASURED)
def test_three_programs_agree_on_holes_and_bars(delivered: All, name: str, view: str, sheet: str) -> None:
    job = delivered[name, view]
    for page in job.pdf_pages:
        if page["sheet"] != sheet:
            continue
        renders = (raster.poppler, raster.mupdf, raster.ghostscript)
        pictures = [render(job.pdf, page["number"]) for render in renders]
        holes, bars = 0, 0
        for feature in page["features"]:
            if feature["kind"] == "circle":
                found = [_circle(picture, feature, page) for picture in pictures]
                holes += 1
                for centre in found:
                    assert centre == pytest.approx(tuple(feature["centre"]), abs=0.05), feature["name"]
                for one, two in itertools.combinations(found, 2):
                    assert one == pytest.approx(two, abs=0.05), feature["name"]
            elif feature["name"] in ("bar across", "bar down"):
                bars += 1
                for picture in pictures:
                    assert _bar(picture, feature, page) == pytest.approx(150.0, abs=0.05)
        assert (holes >= 2, bars) == (True, 2)


def test_the_ruler_for_bars_sees_a_tenth_of_a_millimetre(delivered: All) -> None:
    job = delivered["dunlin", "outboard"]
    page = job.pdf_pages[0]
    picture = raster.poppler(job.pdf, 1)
    across, down = (
        next(f for f in page["features"] if f["name"] == f"bar {way}") for way in ("across", "down")
    )
    # One column and one row more within each bar: a tenth of a millimetre at 254 dpi.
    longer = np.insert(picture, int((across["from"][0] + 71.5) * raster.MM), 0.0, axis=1)
    assert _bar(longer, across | {"to": [across["to"][0] + 0.1, across["to"][1]]}, page) == pytest.approx(
        150.1, abs=0.02
    )
    longer = np.insert(picture, int((page["height"] - down["from"][1] - 71.5) * raster.MM), 0.0, axis=0)
    taller = page | {"height": page["height"] + 0.1}
    assert _bar(longer, down | {"to": [down["to"][0], down["to"][1] + 0.1]}, taller) == pytest.approx(
        150.1, abs=0.02
    )


def _circle(picture: raster.Picture, feature: dict[str, Any], page: dict[str, Any]) -> raster.Point:
    centre = tuple(feature["centre"])
    return raster.circle_in(picture, centre, feature["diameter"], page["height"])[0]


def _bar(picture: raster.Picture, feature: dict[str, Any], page: dict[str, Any]) -> float:
    """Return a bar's length from the middle of its first to the middle of its last millimetre tick.

    The spine goes on to six inches, so the ticks are measured: 3 mm and more to their side of it, where only
    every tenth stands.
    """
    (x1, y1), (x2, y2) = feature["from"], feature["to"]
    run = complex(x2 - x1, y2 - y1) / 150.0
    # Millimetre ticks stand to the left of the run.
    out, along = 1j * run * np.linspace(3.0, 3.6, 13)[:, None], run * np.arange(-0.7, 0.7, 0.01)
    ticks = []
    for foot in (complex(x1, y1), complex(x2, y2)):
        places = foot + out + along
        # A pixel's value belongs to its middle, half a pixel from its corner.
        rows, columns = (page["height"] - places.imag) * raster.MM - 0.5, places.real * raster.MM - 0.5
        dark = ndimage.map_coordinates(picture, np.stack((rows, columns)), order=1)
        assert dark.max() > 0.5, "no tick stands there"
        ticks.append(foot + run * (dark * np.arange(-0.7, 0.7, 0.01)).sum() / dark.sum())
    return abs(ticks[1] - ticks[0])
