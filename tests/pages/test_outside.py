"""Every feature of every page, found in the delivered files by readers that the project does not use.

PDF is read by MuPDF, SVG by svgelements. A feature counts as found where one subpath of the file runs along
the very shape that the manifest states, all of it and nothing more, to 0.01 mm.
"""

import math
from typing import Any

import numpy as np
import pytest
import shapely

from tests.pages.conftest import Delivered
from tests.pages.jobs import DRAWN
from tests.pages.outside_readers import Floats, Seen, pdf_by_mupdf, svg_by_svgelements

LIMIT = 0.01
every_sample = pytest.mark.parametrize(("name", "view"), DRAWN)
All = dict[tuple[str, str], Delivered]


@every_sample
def test_mupdf_finds_every_feature_of_the_pdf(delivered: All, name: str, view: str) -> None:
    job = delivered[name, view]
    pages = pdf_by_mupdf(job.pdf)
    assert len(pages) == len(job.pdf_pages)
    for seen, page in zip(pages, job.pdf_pages, strict=True):
        assert missed(seen, page) == []


@every_sample
def test_svgelements_finds_every_feature_of_the_svgs(delivered: All, name: str, view: str) -> None:
    for file, page in delivered[name, view].svgs:
        assert missed(svg_by_svgelements(file), page) == []


def test_the_svgs_of_the_first_sample_are_small(delivered: All) -> None:
    assert all(file.stat().st_size <= 120_000 for file, _ in delivered["dunlin", "outboard"].svgs)


def test_a_feature_out_of_place_is_missed(delivered: All) -> None:
    """The search itself can fail: each feature moved, or stretched, by 0.02 mm is not found."""
    job = delivered["avocet", "outboard"]
    for file, page in job.svgs:
        seen = svg_by_svgelements(file)
        names = [feature["name"] for feature in page["features"]]
        moved = [line + np.array([0.02, 0.0]) for line in seen.lines]
        assert [name for name in missed(seen._replace(lines=moved), page) if name in names] == names
        grown = [line * 1.0006 for line in seen.lines]
        assert missed(seen._replace(lines=grown), page) == names


def missed(seen: Seen, page: dict[str, Any]) -> list[str]:
    """Return the names of a page's features that no line runs along; also the page, if its size is off."""
    wrong = []
    if max(abs(seen.width - page["width"]), abs(seen.height - page["height"])) > LIMIT:
        wrong.append(f"page of {seen.width:.3f} by {seen.height:.3f}")
    low = np.array([line.min(axis=0) for line in seen.lines])
    high = np.array([line.max(axis=0) for line in seen.lines])
    for feature in page["features"]:
        shape = outline(feature)
        # What runs along a shape has its extent too; few lines are left to follow.
        alike = (np.abs(low - shape.min(axis=0)).max(axis=1) <= LIMIT) & (
            np.abs(high - shape.max(axis=0)).max(axis=1) <= LIMIT
        )
        if not any(apart(shape, seen.lines[i]) <= LIMIT for i in np.flatnonzero(alike)):
            wrong.append(feature["name"])
    return wrong


def apart(shape: Floats, line: Floats) -> float:
    """Return how far two lines lie apart at most, either from the other."""
    one, two = shapely.LineString(shape), shapely.LineString(line)
    both = [shapely.segmentize(each, 1.0) for each in (one, two)]
    return max(
        float(shapely.distance(shapely.points(both[0].coords), two).max()),
        float(shapely.distance(shapely.points(both[1].coords), one).max()),
    )


def outline(feature: dict[str, Any]) -> Floats:
    """Return the line that a feature of the manifest stands for."""
    match feature["kind"]:
        case "segment":
            return np.array([feature["from"], feature["to"]])
        case "curve":
            return np.array(feature["points"])
        case "circle":
            return _arc(feature["centre"], feature["diameter"], 0.0, 360.0)
        case "arc":
            return _arc(feature["centre"], feature["diameter"], feature["from"], feature["to"])
        case "slot":
            run = complex(*feature["to"]) - complex(*feature["from"])
            turn = math.degrees(math.atan2(run.imag, run.real))
            ends = (
                _arc(feature["to"], feature["width"], turn - 90.0, turn + 90.0),
                _arc(feature["from"], feature["width"], turn + 90.0, turn + 270.0),
            )
            return np.concatenate([*ends, ends[0][:1]])
    raise AssertionError(feature["kind"])


def _arc(centre: list[float], diameter: float, start: float, end: float) -> Floats:
    angles = np.radians(np.linspace(start, end, max(2, int(abs(end - start) * 4) + 1)))
    return np.array(centre) + diameter / 2.0 * np.column_stack([np.cos(angles), np.sin(angles)])
