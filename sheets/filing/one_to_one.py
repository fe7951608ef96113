"""Whether a packet prints at true size: its settings, its boxes against its papers, and its drawn lines."""

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from geometry.core.errors import RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.printing.distortion import Distortion
from sheets.files.contents import Seen
from sheets.files.read.measure import measure
from sheets.files.read.pdf import read_pdf
from sheets.files.read.pieces import ReadPage
from sheets.files.read.readback import LIMIT
from sheets.files.record import paired
from sheets.filing.replay import pages
from sheets.ink.corrected import on_paper
from sheets.ink.records import Arc, Circle, Curve, Feature, Paper, Point, Segment, Sheet, Slot
from sheets.words.tell import tell

_MM = 25.4 / 72
_BARS = ("bar across", "bar down")
_SURE, _LEAST = 0.0002, 0.1
"""How closely lines have to tell one scale for it to be named, and the smallest that is. Own judgement."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The manifest's features as measured in a file: how many, the largest miss in mm, what is off."""

    features: int
    largest: float
    problems: tuple[str, ...]


def misses(seen: Seen, record: Mapping[str, Any], manifest: Mapping[str, Any] | None) -> Iterator[str]:
    """Yield what keeps a packet from printing 1:1: settings, boxes against papers, turns, user units."""
    if seen.print_scaling != "None":
        yield tell("verify.scaled", given=seen.print_scaling or say("verify.not_set"))
    sized = list(record["pages"])
    for index, said in enumerate(pages(manifest) if manifest else ()):
        if index < len(sized) and any(abs(sized[index][k] - said[k]) > LIMIT for k in ("width", "height")):
            yield tell("verify.papers_differ", page=index + 1)
    for here, there in paired(seen.pages, sized):
        page, wanted, number = seen.pages[here], sized[there], here + 1
        for name, box in page.boxes.items():
            sides = [side * _MM for side in box]
            width, height = sides[2] - sides[0], sides[3] - sides[1]
            if max(abs(width - wanted["width"]), abs(height - wanted["height"])) > LIMIT:
                paper = f"{wanted['paper']}, {wanted['width']:g} × {wanted['height']:g}"
                yield tell("verify.box_off", page=number, box=name, width=width, height=height, paper=paper)
        if page.rotate % 360:
            yield tell("verify.turned", page=number, degrees=page.rotate)
        if page.user_unit != 1.0:
            yield tell("verify.user_unit", page=number, unit=page.user_unit)


def measured(file: Path, manifest: Mapping[str, Any], pairs: Sequence[tuple[int, int]]) -> Measured:
    """Return how the features of a manifest measure in a file, by a reader that had no part in writing it.

    `pairs` say which page of the file, from 0, is which of the manifest. Raise ValueError where the file
    cannot be read.
    """
    read = read_pdf(file)
    count, largest, problems = 0, 0.0, []
    said = pages(manifest)
    for here, there in pairs:
        if here >= len(read.pages) or there >= len(said):
            continue
        page, number = read.pages[here], here + 1
        sheet, distortion = _sheet(said[there])
        deviations = measure(page, sheet, distortion)[: len(sheet.features)]
        count += len(deviations)
        largest = max([largest, *(each.amount for each in deviations)])
        off = [each for each in deviations if not each.amount <= LIMIT]
        if off:
            more = say("verify.more_off", count=len(off) - 1) if len(off) > 1 else ""
            scale = _scale(page, sheet.features) or 0.0
            problems.append(
                tell(
                    "verify.scaled_by" if scale else "verify.off",
                    page=number,
                    feature=off[0].feature,
                    what=off[0].what,
                    more=more,
                    scale=scale,
                )
            )
    return Measured(count, largest, tuple(problems))


def _sheet(page: Mapping[str, Any]) -> tuple[Sheet, Distortion | None]:
    """Return a page of a manifest as a sheet of bare features, as they shall be on the paper."""
    paper = Paper(page["paper"], page["width"], page["height"])
    distortion = None
    if "scale" in page:
        across, down = page["scale"]
        distortion = Distortion(1.0 / across, 1.0 / down, page.get("skew", 0.0))
    features = tuple(_feature(each, paper, distortion) for each in page["features"])
    axle = (page["axle"][0], page["axle"][1])
    # Which pages are at full size is not told there. Of those that were corrected it is sure, and for others
    # it does not matter here.
    full_size = distortion is not None
    return Sheet(page["sheet"], "", paper, 0.0, page["view"], axle, full_size, (), features), distortion


def _feature(said: Mapping[str, Any], paper: Paper, distortion: Distortion | None) -> Feature:
    def at(point: Sequence[float]) -> Point:
        if distortion is None:
            return float(point[0]), float(point[1])
        x, y = on_paper(np.array(point[:2], dtype=np.float64), paper, distortion)
        return float(x), float(y)

    name = said["name"]
    match said["kind"]:
        case "circle":
            return Circle(name, at(said["centre"]), said["diameter"])
        case "segment":
            return Segment(name, at(said["from"]), at(said["to"]))
        case "arc":
            return Arc(name, at(said["centre"]), said["diameter"], said["from"], said["to"])
        case "slot":
            return Slot(name, at(said["from"]), at(said["to"]), said["width"])
        case "curve":
            return Curve(name, tuple(at(point) for point in said["points"]))
        case kind:
            raise RefusedError(say("verify.unknown_feature", kind=repr(kind)))


def _scale(page: ReadPage, features: Sequence[Feature]) -> float | None:
    """Return by what a page's bars were scaled, None where no scale explains both."""
    bars = {each.name: each for each in features if isinstance(each, Segment) and each.name in _BARS}
    if len(bars) < len(_BARS):
        return None
    steps = np.abs(page.corners[~page.curved, 3] - page.corners[~page.curved, 0])
    wide, high = (
        steps[steps[:, 1 - axis] < LIMIT][:, axis] / abs(bars[name].end[axis] - bars[name].start[axis])
        for axis, name in enumerate(_BARS)
    )
    close = np.argwhere(np.abs(wide[wide > _LEAST][:, None] - high[high > _LEAST][None, :]) < _SURE)
    lengths = np.hypot(*steps.T)
    drawn = np.array([math.dist(each.start, each.end) for each in features if isinstance(each, Segment)])
    best = (0, 0.0, 0.0)
    for scale in np.unique(wide[wide > _LEAST][close[:, 0]].round(6)):
        # Other pairs of lines may agree by chance, but not with the card's outline and the inches too.
        fits = int((np.abs(lengths[:, None] - scale * drawn[None, :]).min(0) < _SURE * drawn).sum())
        best = max(best, (fits, -abs(scale - 1.0), float(scale)))
    return best[2] if best[0] > len(_BARS) and -best[1] > _SURE else None
